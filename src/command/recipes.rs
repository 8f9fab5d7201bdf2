//! `perpend recipes`: what can be built, and what may be set.

use std::path::Path;

use serde_json::{Value as Json, json};

use super::{FINE, Format, Job, WRONG, near_name};
use crate::script::{Outcome, Recipe, RecipeParameter};
use crate::sheet;

impl Job {
    pub(super) fn recipes(&mut self, name: Option<&str>) -> i32 {
        let names = self.session.recipes_known();
        let asked = match name {
            None => names,
            Some(name)
                if names.iter().any(|known| known == name)
                    || Path::new(name).extension().is_some() =>
            {
                vec![name.to_owned()]
            }
            Some(name) => {
                let near = near_name(name, names.iter().map(String::as_str));
                self.complain(
                    "no-such-recipe",
                    &format!("there is no recipe `{name}`"),
                    &format!("{near}recipes: {}", names.join(", ")),
                );
                return WRONG;
            }
        };
        let (mut listed, mut code) = (Vec::new(), FINE);
        for known in &asked {
            match self.session.recipe(known) {
                Ok(recipe) => listed.push(recipe),
                // One's own folder may hold modules that are no recipes; asked for by name, they are told.
                Err(outcome) if name.is_none() && is_no_recipe(&outcome) => {}
                // A broken one must not hide the others.
                Err(outcome) if name.is_none() && self.format == Format::Text => {
                    self.outside.report(&self.session.render(&outcome));
                    code = WRONG;
                }
                Err(outcome) => return self.failure(&outcome),
            }
        }
        match self.format {
            Format::Json => {
                let recipes: Vec<Json> = listed.iter().map(to_json).collect();
                self.print_json(&sheet::document(
                    "perpend.recipes/1",
                    json!({ "recipes": recipes }),
                ));
            }
            Format::Text => {
                let whole = name.is_some();
                let texts: Vec<String> = listed
                    .iter()
                    .map(|recipe| text(recipe, whole, self.outside.width()))
                    .collect();
                self.outside.print(texts.join("\n").trim_end());
            }
        }
        code
    }
}

fn is_no_recipe(outcome: &Outcome) -> bool {
    outcome.diagnostics.iter().all(|d| d.code == "no-recipe")
}

fn to_json(recipe: &Recipe) -> Json {
    let parameters: Vec<Json> = recipe
        .parameters
        .iter()
        .map(|p| {
            json!({
                "name": p.name,
                "kind": p.kind,
                "usual": p.usual,
                "least": p.least,
                "most": p.most,
                "words": p.words,
                "meaning": p.meaning,
            })
        })
        .collect();
    json!({
        "name": recipe.name,
        "summary": recipe.summary,
        "file": recipe.file,
        "hides_built_in": recipe.hides_builtin,
        "version": recipe.version,
        "language": recipe.language,
        "drawing": recipe.drawing,
        "cautions": recipe.cautions,
        "parameters": parameters,
    })
}

/// Columns for the labels of drawing note and cautions.
const LABEL: usize = 9;

/// What may be given for a parameter.
fn limits(parameter: &RecipeParameter) -> String {
    let ends = match (&parameter.least, &parameter.most) {
        (Some(least), Some(most)) => format!("{least} to {most}"),
        (Some(least), None) => format!("from {least}"),
        (None, Some(most)) => format!("up to {most}"),
        (None, None) => String::new(),
    };
    if parameter.words.is_empty() {
        ends
    } else {
        parameter.words.join(", ")
    }
}

/// A recipe with its parameters, within a width; with drawing note and cautions where it is asked for alone.
fn text(recipe: &Recipe, whole: bool, width: usize) -> String {
    let bounded = recipe.parameters.iter().any(|p| !limits(p).is_empty());
    let headings: &[&str] = if bounded {
        &["parameter", "usual", "limits", "meaning"]
    } else {
        &["parameter", "usual", "meaning"]
    };
    let mut table = sheet::Table::new(
        format!("{}  {}", recipe.name, recipe.summary)
            .trim_end()
            .to_owned(),
        headings,
    );
    for parameter in &recipe.parameters {
        let cells = [
            Some(parameter.name.clone()),
            Some(parameter.usual.clone()),
            bounded.then(|| limits(parameter)),
            Some(parameter.meaning.clone()),
        ];
        table.row(cells.into_iter().flatten());
    }
    let mut out = table.text_within(width);
    let version = match (recipe.version, &recipe.file) {
        (Some(version), Some(file)) => format!("  version {version}, {file}\n"),
        (None, Some(file)) => format!("  {file}\n"),
        (Some(version), None) if whole => format!("  version {version}\n"),
        _ => String::new(),
    };
    out.push_str(&version);
    if recipe.hides_builtin {
        out.push_str("  It comes before the built-in recipe of the same name.\n");
    }
    if whole {
        if let Some(drawing) = &recipe.drawing {
            out.push_str(&sheet::labelled("Drawing:", LABEL, drawing, width));
        }
        for caution in &recipe.cautions {
            out.push_str(&sheet::labelled("Caution:", LABEL, caution, width));
        }
    }
    out
}
