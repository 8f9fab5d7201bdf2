//! `perpend build`: a recipe with options of one's own, without a script.

use std::fmt::Write as _;

use serde_json::json;

use super::{FINE, Format, Job, WRONG};
use crate::review::Severity;
use crate::script::Fault;
use crate::script::domain::PlanValue;
use crate::sheet;

/// What messages call the options of the command line.
const SET: &str = "--set";

impl Job {
    pub(super) fn build(&mut self, recipe: &str, set: &[String], save: Option<&str>) -> i32 {
        let plan = match self.built(recipe, set) {
            Ok(plan) => plan,
            Err(code) => return code,
        };
        let work = plan
            .laid()
            .and_then(|laid| Ok((laid, plan.takeoff()?, plan.review()?)));
        let (laid, takeoff, review) = match self.fine(work) {
            Ok(work) => work,
            Err(code) => return code,
        };
        let saved = match save.map(|file| self.save(&plan, file)).transpose() {
            Ok(saved) => saved,
            Err(code) => return code,
        };
        let found = |severity| review.count(severity);
        match self.format {
            Format::Json => self.print_json(&sheet::document(
                "perpend.build/1",
                json!({
                    "recipe": recipe,
                    "plan": plan.plan.name,
                    "takeoff": sheet::takeoff_json(&laid, &takeoff),
                    "review": sheet::review_json(&laid, &review),
                    "saved": saved,
                }),
            )),
            Format::Text => {
                let mut text = sheet::plan_summary(&laid).trim_end().to_owned();
                text.push_str("\n\n");
                text.push_str(sheet::takeoff_text(&laid, &takeoff).trim_end());
                let _ = write!(
                    text,
                    "\n\nREVIEW  {} to change before building, {} to decide, {} to note",
                    found(Severity::Stop),
                    found(Severity::Warn),
                    found(Severity::Note),
                );
                for finding in review
                    .findings
                    .iter()
                    .filter(|finding| finding.severity == Severity::Stop)
                {
                    let _ = write!(text, "\n  {}: {}", finding.place, finding.figure);
                }
                text.push_str("\n  ");
                let place = saved.as_deref().unwrap_or("plan.json");
                if saved.is_none() {
                    text.push_str("add --save plan.json, then ");
                }
                let _ = write!(
                    text,
                    "`perpend review {place}` tells each with its remedy, and the cautions"
                );
                self.outside.print(&text);
            }
        }
        FINE
    }

    fn built(&mut self, recipe: &str, set: &[String]) -> Result<PlanValue, i32> {
        let outcome = match self.session.given_options(SET, set) {
            Ok(options) => self.session.build_given(SET, recipe, options),
            Err(outcome) => outcome,
        };
        let value = self.whole(outcome)?.value.unwrap_or_default();
        let plan = value.read_lock::<PlanValue>().map(|plan| plan.clone());
        plan.ok_or_else(|| {
            let kind = self.session.vocabulary().kind_of(&value);
            self.complain(
                "not-a-plan",
                &format!("`{recipe}` builds {kind}, not a plan"),
                "import it into a script that places what it builds in a plan",
            );
            WRONG
        })
    }

    /// Saves a plan in the output folder and says where.
    fn save(&self, plan: &PlanValue, file: &str) -> Result<String, i32> {
        let written = plan.plan.to_saved().map_err(Fault::from).and_then(|saved| {
            let text = saved.to_string() + "\n";
            let path = self.outside.write_file(file, text.as_bytes())?;
            Ok(path.to_string_lossy().into_owned())
        });
        written.map_err(|fault| {
            self.complain(fault.code, &fault.message, &fault.remedy.join("; "));
            if fault.code == "file-trouble" {
                super::FILE_TROUBLE
            } else {
                WRONG
            }
        })
    }
}
