//! Names in a script that stand for nothing, wherever they are: found at once, not one run after another.

use std::collections::BTreeSet;

use rhai::{AST, ASTNode, Expr, FnCallExpr, Position, Stmt};

/// What the engine itself gives a meaning to.
const OF_THE_ENGINE: [&str; 12] = [
    "Fn",
    "call",
    "curry",
    "debug",
    "eval",
    "global",
    "is_def_fn",
    "is_def_var",
    "is_shared",
    "print",
    "this",
    "type_of",
];

/// A name that stands for nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Unknown {
    pub(super) name: String,
    pub(super) at: Position,
    /// Whether it is called as a function.
    pub(super) called: bool,
}

/// Names of a script that nothing in it binds and that are not known otherwise, each once, in their order.
///
/// A name that is bound anywhere counts as known everywhere: what is out of reach shows when the script runs.
pub(super) fn unknown(tree: &AST, is_known: impl Fn(&str, bool) -> bool) -> Vec<Unknown> {
    let mut bound: BTreeSet<String> = BTreeSet::new();
    let mut used: Vec<Unknown> = Vec::new();
    for function in tree.iter_functions() {
        bound.insert(function.name.to_owned());
        bound.extend(function.params.iter().map(|name| (*name).to_owned()));
    }
    tree.walk(&mut |path: &[ASTNode]| {
        match path.last() {
            Some(ASTNode::Stmt(statement)) => {
                bind(statement, &mut bound);
                if let Stmt::FnCall(call, at) = statement {
                    used.extend(called(call, *at));
                }
            }
            Some(ASTNode::Expr(Expr::FnCall(call, at))) => used.extend(called(call, *at)),
            Some(ASTNode::Expr(Expr::Variable(variable, _, at))) if variable.2.is_empty() => {
                used.push(Unknown {
                    name: variable.1.to_string(),
                    at: *at,
                    called: false,
                });
            }
            _ => {}
        }
        true
    });
    used.sort_by_key(|one| (one.at.line(), one.at.position()));
    let mut seen = BTreeSet::new();
    used.retain(|one| {
        !bound.contains(&one.name)
            && !OF_THE_ENGINE.contains(&one.name.as_str())
            && !is_known(&one.name, one.called)
            && seen.insert(one.name.clone())
    });
    used
}

fn bind(statement: &Stmt, bound: &mut BTreeSet<String>) {
    match statement {
        Stmt::Var(variable, ..) => {
            bound.insert(variable.0.name.to_string());
        }
        Stmt::For(parts, _) => {
            bound.insert(parts.0.name.to_string());
            bound.extend(parts.1.iter().map(|counter| counter.name.to_string()));
        }
        Stmt::Import(import, _) => {
            bound.insert(import.1.name.to_string());
        }
        Stmt::TryCatch(flow, _) => {
            if let Expr::Variable(variable, ..) = &flow.expr {
                bound.insert(variable.1.to_string());
            }
        }
        _ => {}
    }
}

fn called(call: &FnCallExpr, at: Position) -> Option<Unknown> {
    let plain = call.op_token.is_none()
        && call.namespace.is_empty()
        && rhai::is_valid_identifier(&call.name)
        && !call.name.starts_with("anon$");
    plain.then(|| Unknown {
        name: call.name.to_string(),
        at,
        called: true,
    })
}
