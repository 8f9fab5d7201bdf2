//! `perpend compare`: variants of a recipe or of a plan, side by side.

use std::path::{Path, PathBuf};

use clap::Args;
use rhai::Dynamic;

use super::{FILE_TROUBLE, FINE, Job, TableFormat, is_saved_plan};
use crate::script::Fault;
use crate::script::domain::ComparisonValue;
use crate::script::varying::{Varied, split_list};
use crate::sheet;

/// What messages call the options that say what to vary.
const SOURCE: &str = "--vary";

/// What is compared, and how it is shown.
#[derive(Args, Debug)]
pub(super) struct Comparing {
    /// A recipe by its name, or a file: a recipe, a script that ends with a plan, or a saved plan.
    subject: String,
    /// What to vary and its values: `joint=8.mm,10.mm`, `courses=4..12:2`; once for each.
    #[arg(long, value_name = "KEY=VALUES", required = true)]
    vary: Vec<String>,
    /// What to read off, apart by commas: units, cuts, mortar, height ..., or a question such as `inside("cabinet").volume`.
    #[arg(long, value_name = "COLUMNS")]
    show: Option<String>,
    /// First values go with first values, second with second, instead of each with each.
    #[arg(long)]
    paired: bool,
    /// Keeps the rows for which this holds, such as `row.cuts < 50`.
    #[arg(long, value_name = "CONDITION")]
    only: Option<String>,
    /// Keeps the rows that no other beats in all of these columns.
    #[arg(long, value_name = "COLUMNS")]
    front: Option<String>,
    /// Columns of which more is better.
    #[arg(long, value_name = "COLUMNS")]
    most: Option<String>,
    /// Further columns of which less is better.
    #[arg(long, value_name = "COLUMNS")]
    least: Option<String>,
    /// Sorts by this column.
    #[arg(long, value_name = "COLUMN")]
    sort: Option<String>,
    /// The greatest comes first.
    #[arg(long)]
    greatest_first: bool,
    /// Shows what each row differs by from this one.
    #[arg(long, value_name = "ROW")]
    against: Option<i64>,
    /// Keeps so many rows.
    #[arg(long, value_name = "COUNT")]
    first: Option<i64>,
    /// Also draws a chart into this file of the output folder.
    #[arg(long, value_name = "FILE.svg")]
    chart: Option<String>,
    /// What runs across the chart.
    #[arg(long, value_name = "COLUMN", requires = "chart")]
    across: Option<String>,
    /// What runs up the chart.
    #[arg(long, value_name = "COLUMN", requires = "chart")]
    up: Option<String>,
    /// What makes the lines of the chart.
    #[arg(long, value_name = "COLUMN", requires = "chart")]
    by: Option<String>,
    /// How to print.
    #[arg(long, value_enum, default_value = "text")]
    pub(super) format: TableFormat,
}

/// The columns of a list apart by commas.
fn columns(text: Option<&str>) -> Result<Vec<String>, Fault> {
    split_list(text.unwrap_or_default())
}

impl Comparing {
    fn varied(&self) -> Result<Varied, Fault> {
        Ok(Varied {
            vary: self.vary.clone(),
            show: columns(self.show.as_deref())?,
            paired: self.paired,
            most: columns(self.most.as_deref())?,
            least: columns(self.least.as_deref())?,
            only: self.only.clone(),
            front: columns(self.front.as_deref())?,
            sort: self.sort.clone(),
            greatest_first: self.greatest_first,
            against: self.against,
            first: self.first,
            chart: self.chart.clone().map(|file| {
                (
                    file,
                    [self.across.clone(), self.up.clone(), self.by.clone()],
                )
            }),
        })
    }
}

impl Job {
    /// Compares, and prints the table.
    pub(super) fn compare(&mut self, task: &Comparing) -> i32 {
        let subject = match self.subject(&task.subject) {
            Ok(subject) => subject,
            Err(code) => return code,
        };
        let varied = match self.fine(task.varied()) {
            Ok(varied) => varied,
            Err(code) => return code,
        };
        let outcome = self.session.compare_given(SOURCE, subject, &varied);
        if outcome.failed() {
            return self.failure(&outcome);
        }
        let value = outcome.value.unwrap_or_default();
        let Some(made) = value.read_lock::<ComparisonValue>() else {
            return FINE;
        };
        match task.format {
            TableFormat::Text => {
                let text = sheet::comparison_text(made.comparison(), made.style(), usize::MAX);
                self.outside.print(text.trim_end());
            }
            TableFormat::Json => self.print_json(&sheet::comparison_json(made.comparison())),
            TableFormat::Csv => {
                let text = sheet::comparison_csv(made.comparison());
                self.outside.print_data(text.trim_end());
            }
        }
        FINE
    }

    /// A plan, or the name of a recipe.
    fn subject(&mut self, name: &str) -> Result<Dynamic, i32> {
        let file = PathBuf::from(name);
        let is_file = file.extension().is_some() || self.outside.exists(&file);
        if !is_file {
            return Ok(name.to_owned().into());
        }
        if !is_saved_plan(&file) && self.holds_recipe(&file)? {
            return Ok(name.to_owned().into());
        }
        self.plan(&file).map(Dynamic::from)
    }

    fn holds_recipe(&self, file: &Path) -> Result<bool, i32> {
        let text = self.outside.read_script(file).map_err(|error| {
            self.complain("file-trouble", &error.message, &error.remedy);
            FILE_TROUBLE
        })?;
        Ok(self.session.is_recipe(&text))
    }
}
