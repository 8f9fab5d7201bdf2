//! The command line: what is asked for, where results go, and the exit code.

mod build;
mod comparing;
mod recipes;

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use clap::{Parser, Subcommand, ValueEnum};
use comparing::Comparing;
use serde_json::{Value as Json, json};

use crate::letters::wants_plain_letters;
use crate::outside::{Aside, Outside, RealOutside, reason};
use crate::plan::Plan;
use crate::script::domain::{PlanValue, json_of, open};
use crate::script::{Fault, Limits, Outcome, Session, diagnostic, reference};
use crate::sheet;

/// Everything is fine.
const FINE: i32 = 0;
/// The plan has a finding that must be changed before building.
const PLAN_STOPS: i32 = 1;
/// The command or the script is wrong.
const WRONG: i32 = 2;
/// A file cannot be read or written.
const FILE_TROUBLE: i32 = 3;

/// Lay small brickwork unit by unit: what to buy, how it comes out, and what will go wrong.
///
/// Without a command it opens the shell, or runs what is piped in.
#[derive(Parser, Debug)]
#[command(name = "perpend", version, about)]
struct Arguments {
    #[command(subcommand)]
    command: Option<Command>,
    /// Folder that scripts may write into.
    #[arg(long, global = true, value_name = "FOLDER", default_value = ".")]
    out: PathBuf,
    /// Folder of your own recipes, looked in before the built-in ones.
    #[arg(long, global = true, value_name = "FOLDER")]
    recipes: Option<PathBuf>,
    /// Raises or lowers a limit, such as `operations=200_000_000` or `wall_clock=600`.
    #[arg(long, global = true, value_name = "NAME=NUMBER")]
    limit: Vec<String>,
}

#[derive(Subcommand, Debug)]
enum Command {
    /// Runs a script and prints its last value; `-` reads standard input.
    Run {
        /// The script.
        file: PathBuf,
        /// How to print.
        #[arg(long, value_enum, default_value = "text")]
        format: Format,
    },
    /// Prints the laid work of the plan that a script ends with, and nothing else of it.
    Lay {
        /// The script.
        file: PathBuf,
        /// How to print.
        #[arg(long, value_enum, default_value = "json")]
        format: Format,
    },
    /// Prints what a beginner would get wrong; exits with 1 when something must be changed.
    Review {
        /// The script.
        file: PathBuf,
        /// How to print.
        #[arg(long, value_enum, default_value = "text")]
        format: Format,
    },
    /// Lays every variant of a recipe or plan and prints them side by side.
    Compare(Box<Comparing>),
    /// Prints the reference of the language, or of one name; `definitions` are for editors that know rhai.
    Reference {
        /// The function, method or property.
        name: Option<String>,
        /// How to print.
        #[arg(long, value_enum, default_value = "text")]
        format: ReferenceFormat,
    },
    /// Builds a recipe with options of your own and prints the plan, what to buy, and what the review finds.
    Build {
        /// The recipe: its name, or the path of its file.
        recipe: String,
        /// Sets an option of the recipe, such as `courses=6`, `joint=12.mm`, `unit=uk` or `outside=[4, 3]`.
        #[arg(long, value_name = "KEY=VALUE")]
        set: Vec<String>,
        /// Saves the plan as this file in the output folder.
        #[arg(long, value_name = "FILE")]
        save: Option<String>,
        /// How to print.
        #[arg(long, value_enum, default_value = "text")]
        format: Format,
    },
    /// Lists the recipes, or the parameters of one.
    Recipes {
        /// The recipe.
        name: Option<String>,
        /// How to print.
        #[arg(long, value_enum, default_value = "text")]
        format: Format,
    },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Format {
    /// For people.
    Text,
    /// For programs.
    Json,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum TableFormat {
    /// For people.
    Text,
    /// For programs.
    Json,
    /// For spreadsheets.
    Csv,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum ReferenceFormat {
    /// For people at a terminal.
    Text,
    /// Markdown.
    Md,
    /// For programs.
    Json,
    /// For editors, as a `.d.rhai` file.
    Definitions,
}

/// Whether a file is a saved plan and no script, by its ending.
fn is_saved_plan(file: &Path) -> bool {
    file.extension().is_some_and(|kind| kind == "json")
}

/// The question after the nearest known name, ready to go before a remedy; empty where none is near.
fn near_name<'n>(name: &str, known: impl Iterator<Item = &'n str>) -> String {
    crate::masonry::nearest(name, known)
        .map(|near| format!("did you mean `{near}`? "))
        .unwrap_or_default()
}

/// A script as messages name it.
fn named(file: &Path) -> String {
    if file == Path::new("-") {
        "the script".to_owned()
    } else {
        format!("`{}`", file.display())
    }
}

/// Runs the program with its arguments and returns its exit code.
pub fn run<I, T>(arguments: I) -> i32
where
    I: IntoIterator<Item = T>,
    T: Into<OsString> + Clone,
{
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(error) => {
            // Help and version go to standard output with 0; the rest to standard error.
            let _ = error.print();
            return if error.use_stderr() { WRONG } else { FINE };
        }
    };
    let limits = match limits(&arguments.limit) {
        Ok(limits) => limits,
        Err(message) => {
            eprintln!("{message}");
            return WRONG;
        }
    };
    let work = move || {
        let allowed = limits.clone();
        allowed.allowing_pieces(|| perform(&arguments, limits))
    };
    crate::shell::run_on_large_stack(work).unwrap_or_else(|error| {
        eprintln!("error[file-trouble]: cannot start: {error}");
        FILE_TROUBLE
    })
}

fn limits(given: &[String]) -> Result<Limits, String> {
    let mut limits = Limits::default();
    for text in given {
        let Some((name, number)) = text.split_once('=') else {
            return Err(format!(
                "error[wrong-type]: `--limit {text}` is no limit\n  = write --limit operations=200_000_000"
            ));
        };
        limits.set(name, number).map_err(|fault| {
            format!(
                "error[{}]: {}\n  = {}",
                fault.code,
                fault.message,
                fault.remedy.join("; ")
            )
        })?;
    }
    Ok(limits)
}

fn perform(arguments: &Arguments, limits: Limits) -> i32 {
    let outside = RealOutside::new(&arguments.out)
        .with_recipes(arguments.recipes.clone().or_else(recipe_folder))
        .with_state(state_folder())
        .with_plain_letters(wants_plain_letters(|name| std::env::var(name).ok()));
    let outside: Rc<dyn Outside> = Rc::new(outside);
    match &arguments.command {
        None => crate::shell::run(&mut open(outside, limits)),
        Some(Command::Run { file, format }) => {
            // A program that reads the result must not stumble over what the script shows on the way.
            let scripts: Rc<dyn Outside> = match format {
                Format::Text => Rc::clone(&outside),
                Format::Json => Rc::new(Aside::reporting(Rc::clone(&outside))),
            };
            Job::with(outside, scripts, limits, *format).run(file)
        }
        Some(Command::Lay { file, format }) => Job::silent(outside, limits, *format).lay(file),
        Some(Command::Review { file, format }) => {
            Job::silent(outside, limits, *format).review(file)
        }
        Some(Command::Compare(task)) => {
            let job_format = match task.format {
                TableFormat::Json => Format::Json,
                TableFormat::Text | TableFormat::Csv => Format::Text,
            };
            Job::silent(outside, limits, job_format).compare(task)
        }
        Some(Command::Reference { name, format }) => {
            let job_format = match format {
                ReferenceFormat::Json => Format::Json,
                _ => Format::Text,
            };
            Job::new(outside, limits, job_format).reference(name.as_deref(), *format)
        }
        Some(Command::Build {
            recipe,
            set,
            save,
            format,
        }) => Job::silent(outside, limits, *format).build(recipe, set, save.as_deref()),
        Some(Command::Recipes { name, format }) => {
            Job::new(outside, limits, *format).recipes(name.as_deref())
        }
    }
}

/// The user's own recipes, by the XDG base directory specification.
fn recipe_folder() -> Option<PathBuf> {
    let base = std::env::var_os("XDG_DATA_HOME")
        .map(PathBuf::from)
        .or_else(|| {
            std::env::var_os("HOME").map(|home| PathBuf::from(home).join(".local/share"))
        })?;
    Some(base.join("perpend/recipes"))
}

/// Where the history is kept, by the XDG base directory specification.
fn state_folder() -> Option<PathBuf> {
    let base = std::env::var_os("XDG_STATE_HOME")
        .map(PathBuf::from)
        .or_else(|| {
            std::env::var_os("HOME").map(|home| PathBuf::from(home).join(".local/state"))
        })?;
    Some(base.join("perpend"))
}

/// One command on one session.
struct Job {
    outside: Rc<dyn Outside>,
    session: Session,
    format: Format,
}

impl Job {
    fn new(outside: Rc<dyn Outside>, limits: Limits, format: Format) -> Job {
        Job::with(Rc::clone(&outside), outside, limits, format)
    }

    /// Only the command's own result is printed, not what the script shows.
    fn silent(outside: Rc<dyn Outside>, limits: Limits, format: Format) -> Job {
        let scripts = Rc::new(Aside::silent(Rc::clone(&outside)));
        Job::with(outside, scripts, limits, format)
    }

    fn with(
        outside: Rc<dyn Outside>,
        scripts: Rc<dyn Outside>,
        limits: Limits,
        format: Format,
    ) -> Job {
        let session = open(scripts, limits);
        let interrupt = session.interrupt_flag();
        // A second handler cannot be set; then Ctrl-C keeps its usual meaning.
        let _ = ctrlc::set_handler(move || {
            interrupt.store(true, std::sync::atomic::Ordering::Relaxed);
        });
        Job {
            outside,
            session,
            format,
        }
    }

    /// Runs a script to its value, or reports what is wrong and gives the exit code.
    fn outcome(&mut self, file: &Path) -> Result<Outcome, i32> {
        let text = if file == Path::new("-") {
            std::io::read_to_string(std::io::stdin()).map_err(|error| {
                self.complain(
                    "file-trouble",
                    &format!("cannot read standard input: {}", reason(&error)),
                    "pipe a script in as UTF-8 text",
                );
                FILE_TROUBLE
            })
        } else {
            self.outside.read_script(file).map_err(|error| {
                self.complain("file-trouble", &error.message, &error.remedy);
                FILE_TROUBLE
            })
        }?;
        let outcome = self.session.run(&file.to_string_lossy(), &text);
        self.whole(outcome)
    }

    /// An outcome without faults, or reports what is wrong and gives the exit code.
    fn whole(&self, outcome: Outcome) -> Result<Outcome, i32> {
        if !outcome.failed() {
            return Ok(outcome);
        }
        Err(self.failure(&outcome))
    }

    /// Tells what went wrong, and gives the exit code.
    fn failure(&self, outcome: &Outcome) -> i32 {
        match self.format {
            Format::Text => self.outside.report(&self.session.render(outcome)),
            Format::Json => self.print_json(&diagnostic::to_json(&outcome.diagnostics)),
        }
        let file_trouble = outcome.diagnostics.iter().any(|d| d.code == "file-trouble");
        if file_trouble { FILE_TROUBLE } else { WRONG }
    }

    fn complain(&self, code: &str, message: &str, remedy: &str) {
        match self.format {
            Format::Text => {
                let remedy = if remedy.is_empty() {
                    String::new()
                } else {
                    format!("\n  = {remedy}")
                };
                self.outside
                    .report(&format!("error[{code}]: {message}{remedy}"));
            }
            Format::Json => self.print_json(&json!({
                "schema": "perpend.diagnostics/1",
                "diagnostics": [{ "code": code, "message": message, "remedy": [remedy] }],
            })),
        }
    }

    fn print_json(&self, value: &Json) {
        self.outside.print_data(&value.to_string());
    }

    /// The plan that a script ends with, or a plan that was saved.
    fn plan(&mut self, file: &Path) -> Result<PlanValue, i32> {
        if is_saved_plan(file) {
            return self.saved_plan(file);
        }
        let outcome = self.outcome(file)?;
        let value = outcome.value.unwrap_or_default();
        let plan = value.read_lock::<PlanValue>().map(|plan| plan.clone());
        plan.ok_or_else(|| {
            let kind = self.session.vocabulary().kind_of(&value);
            self.complain(
                "not-a-plan",
                &format!("{} ends with {kind}, not with a plan", named(file)),
                "let the script's last line be the plan, such as `p`, with no `;` after it",
            );
            WRONG
        })
    }

    fn saved_plan(&mut self, file: &Path) -> Result<PlanValue, i32> {
        let text = self.outside.read_script(file).map_err(|error| {
            self.complain("file-trouble", &error.message, &error.remedy);
            FILE_TROUBLE
        })?;
        let plan = Plan::from_saved(&text).map_err(Fault::from);
        self.fine(plan.and_then(PlanValue::new))
    }

    fn run(&mut self, file: &Path) -> i32 {
        let outcome = if is_saved_plan(file) {
            self.saved_plan(file).map(|plan| {
                let value = rhai::Dynamic::from(plan);
                Outcome {
                    shown: Some(self.session.show(&value)),
                    value: Some(value),
                    ..Outcome::default()
                }
            })
        } else {
            self.outcome(file)
        };
        let outcome = match outcome {
            Ok(outcome) => outcome,
            Err(code) => return code,
        };
        // A plan is measured as it is written, but only laying shows whether all of it has room.
        let plan = outcome
            .value
            .as_ref()
            .and_then(|value| value.read_lock::<PlanValue>().map(|plan| plan.clone()));
        if let Some(Err(fault)) = plan.map(|plan| plan.laid()) {
            return self.fine::<()>(Err(fault)).err().unwrap_or(WRONG);
        }
        match self.format {
            Format::Text => {
                if let Some(shown) = &outcome.shown {
                    self.outside.print(shown);
                }
            }
            Format::Json => {
                let value = json_of(&outcome.value.unwrap_or_default());
                if value.get("schema").is_some() {
                    self.print_json(&value);
                } else {
                    self.print_json(&sheet::document(
                        "perpend.value/1",
                        json!({ "value": value }),
                    ));
                }
            }
        }
        FINE
    }

    fn lay(&mut self, file: &Path) -> i32 {
        let laid = match self.plan(file).and_then(|plan| self.fine(plan.laid())) {
            Ok(laid) => laid,
            Err(code) => return code,
        };
        match self.format {
            Format::Json => self.print_json(&sheet::laid_json(&laid)),
            Format::Text => self
                .outside
                .print(sheet::courses_table(&laid).text().trim_end()),
        }
        FINE
    }

    fn review(&mut self, file: &Path) -> i32 {
        let plan = match self.plan(file) {
            Ok(plan) => plan,
            Err(code) => return code,
        };
        let work = plan.laid().and_then(|laid| Ok((laid, plan.review()?)));
        let (laid, review) = match self.fine(work) {
            Ok(work) => work,
            Err(code) => return code,
        };
        match self.format {
            Format::Json => self.print_json(&sheet::review_json(&laid, &review)),
            Format::Text => self
                .outside
                .print(sheet::review_text(&laid, &review).trim_end()),
        }
        if review.stops() { PLAN_STOPS } else { FINE }
    }

    fn fine<T>(&self, result: Result<T, Fault>) -> Result<T, i32> {
        result.map_err(|fault| {
            self.complain(fault.code, &fault.message, &fault.remedy.join("; "));
            WRONG
        })
    }

    fn reference(&self, name: Option<&str>, format: ReferenceFormat) -> i32 {
        let vocabulary = self.session.vocabulary();
        if let Some(name) = name
            && vocabulary.named(name).is_empty()
            && reference::errors_json(Some(name)) == json!([])
        {
            let names = vocabulary.names(|_| true);
            let near = near_name(name, names.iter().copied());
            self.complain(
                "unknown-name",
                &format!("there is nothing called `{name}`"),
                &format!("{near}`perpend reference` prints everything there is"),
            );
            return WRONG;
        }
        match format {
            ReferenceFormat::Text => {
                let text = reference::text(&vocabulary, name, self.outside.width());
                self.outside.print(&text);
            }
            ReferenceFormat::Md => self
                .outside
                .print_data(&reference::markdown(&vocabulary, name)),
            ReferenceFormat::Definitions => self
                .outside
                .print_data(&reference::definitions(&vocabulary)),
            ReferenceFormat::Json => self.print_json(&sheet::document(
                "perpend.reference/1",
                json!({
                    "declarations": reference::json(&vocabulary, name),
                    "errors": reference::errors_json(name),
                }),
            )),
        }
        FINE
    }
}
