//! Every code block of README.md and DEVELOPERS.md is run, and shows what stands beside it.
//!
//! A `rhai` block goes into one session a file, as an input of the shell; a `text` block right after it is what it
//! shows. A `console` block runs the program; lines after the command are what it prints. With `PERPEND_BLESS=1` the
//! shown text is rewritten.
#![expect(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::path::Path;
use std::process::Command;
use std::rc::Rc;

use perpend::outside::MemoryOutside;
use perpend::script::{Limits, domain};

struct Block {
    language: String,
    body: Vec<String>,
    /// Line of the closing fence, from 0.
    end: usize,
    start: usize,
}

fn blocks(text: &str) -> Vec<Block> {
    let mut found = Vec::new();
    let mut open: Option<Block> = None;
    for (at, line) in text.lines().enumerate() {
        if let Some(rest) = line.strip_prefix("```") {
            match open.take() {
                Some(block) => found.push(Block { end: at, ..block }),
                None => {
                    open = Some(Block {
                        language: rest.trim().to_owned(),
                        body: Vec::new(),
                        start: at,
                        end: at,
                    });
                }
            }
        } else if let Some(block) = &mut open {
            block.body.push(line.to_owned());
        }
    }
    found
}

fn run_blocks(name: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(name);
    let text = std::fs::read_to_string(&path).expect("the page");
    let all = blocks(&text);
    let shown = perpend::shell::run_on_large_stack(|| {
        let outside = Rc::new(MemoryOutside::new().with_recipes("recipes"));
        let mut session = domain::open(
            Rc::clone(&outside) as Rc<dyn perpend::outside::Outside>,
            Limits::default(),
        );
        all.iter()
            .map(|block| {
                if block.language != "rhai" {
                    return None;
                }
                let outcome = session.input(&block.body.join("\n"));
                let mut parts: Vec<String> = outside.printed();
                parts.extend(outcome.shown.clone());
                if outcome.failed() {
                    parts.push(session.render(&outcome));
                }
                Some(parts.join("\n").trim_end().to_owned())
            })
            .collect::<Vec<_>>()
    })
    .expect("a thread");
    let mut wanted: Vec<(usize, usize, String)> = Vec::new();
    for (index, block) in all.iter().enumerate() {
        match block.language.as_str() {
            "rhai" => {
                let next = all.get(index + 1).filter(|next| next.language == "text");
                let output = shown.get(index).cloned().flatten().unwrap_or_default();
                match next {
                    Some(next) => wanted.push((next.start + 1, next.end, output)),
                    None => assert!(
                        !output.contains("error["),
                        "{name}:{}: {output}",
                        block.start + 1
                    ),
                }
            }
            "console" => {
                let command = block.body.first().expect("a command");
                let arguments = command
                    .strip_prefix("$ perpend")
                    .expect("a perpend command");
                let output = Command::new(env!("CARGO_BIN_EXE_perpend"))
                    .args(arguments.split_whitespace())
                    .current_dir(env!("CARGO_MANIFEST_DIR"))
                    .env("LC_ALL", "C.UTF-8")
                    .output()
                    .expect("the program");
                let mut text = String::from_utf8(output.stdout).expect("text");
                text.push_str(&String::from_utf8(output.stderr).expect("text"));
                // A page shows the beginning of a long line.
                let lines: Vec<String> = text
                    .trim_end()
                    .lines()
                    .map(|line| match line.char_indices().nth(160) {
                        Some((cut, _)) => format!("{}...", line.get(..cut).unwrap_or(line)),
                        None => line.to_owned(),
                    })
                    .collect();
                wanted.push((block.start + 2, block.end, lines.join("\n")));
            }
            // Commands of other programs are run by the CI script, not from within a test.
            other => assert!(
                ["sh", "text"].contains(&other),
                "{name}:{}: a block of `{other}`",
                block.start + 1
            ),
        }
    }
    let lines: Vec<&str> = text.lines().collect();
    if std::env::var_os("PERPEND_BLESS").is_some() {
        let mut out: Vec<String> = Vec::new();
        let mut at = 0;
        for (from, to, output) in &wanted {
            out.extend(
                lines
                    .get(at..*from)
                    .unwrap_or_default()
                    .iter()
                    .map(|l| (*l).to_owned()),
            );
            out.extend(output.lines().map(str::to_owned));
            at = *to;
        }
        out.extend(
            lines
                .get(at..)
                .unwrap_or_default()
                .iter()
                .map(|l| (*l).to_owned()),
        );
        std::fs::write(&path, out.join("\n") + "\n").expect("written");
        return;
    }
    for (from, to, output) in wanted {
        let here = lines.get(from..to).unwrap_or_default().join("\n");
        assert_eq!(
            here, output,
            "{name}:{from} no longer shows what is printed"
        );
    }
}

#[test]
fn every_block_of_the_readme_shows_what_it_says() {
    run_blocks("README.md");
}

#[test]
fn every_block_of_the_developers_page_shows_what_it_says() {
    run_blocks("DEVELOPERS.md");
}

#[test]
fn the_pages_of_help_show_what_they_say() {
    for (name, _) in perpend::script::pages::PAGES {
        run_blocks(&format!("stdlib/help/{name}.md"));
    }
}
