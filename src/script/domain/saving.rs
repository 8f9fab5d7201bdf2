//! Saving a plan and taking it up again.

use std::rc::Rc;

use super::values::PlanValue;
use crate::plan::Plan;
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, NameOf, Parameter, Registry, Want, errors,
};

const FILE: Parameter = Parameter::required(
    "file",
    Want::Name(NameOf::File),
    "The name of the file in the output folder, such as \"bed.json\".",
);

const SAVE_PLAN: Declaration = Declaration {
    name: "save_plan",
    group: Group::Sheets,
    summary: "Writes the plan into a file of the output folder, its lengths exact.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[FILE],
    options: &[],
    returns: "The place of the file.",
    examples: &[Example {
        script: "plan(\"stand\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [1, 1], courses: 4 })).save_plan(\"stand.json\")",
        shows: "stand.json",
    }],
    errors: &[errors::these(&[errors::FILE_TROUBLE])],
    see_also: &["load_plan", "save_session"],
};

const LOAD_PLAN: Declaration = Declaration {
    name: "load_plan",
    group: Group::Sheets,
    summary: "A plan that was saved, checked like one that is written in a script.",
    kind: CallKind::Function,
    positional: &[FILE],
    options: &[],
    returns: "A plan.",
    examples: &[Example {
        script: "let p = plan(\"stand\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [1, 1], courses: 4 })); p.save_plan(\"stand.json\"); load_plan(\"stand.json\").height()",
        shows: "300 mm",
    }],
    errors: &[
        errors::SAVING,
        errors::these(&[errors::FILE_TROUBLE]),
        errors::MEASURED,
        errors::MEASURED_TOO,
    ],
    see_also: &["save_plan"],
};

pub(super) fn register(registry: &mut Registry) {
    let outside = registry.outside();
    let to = Rc::clone(&outside);
    registry.method::<PlanValue, String>(&SAVE_PLAN, move |call, plan| {
        let saved = plan.plan.to_saved()?.to_string() + "\n";
        let path = to.write_file(&call.text("file")?, saved.as_bytes())?;
        Ok(path.to_string_lossy().into_owned())
    });
    registry.function::<PlanValue>(&LOAD_PLAN, move |call: &Call| {
        let text = outside
            .read_file(&call.text("file")?)
            .map_err(|trouble| Fault::from(trouble).about("file"))?;
        let plan = Plan::from_saved(&text).map_err(|error| Fault::from(error).about("file"))?;
        PlanValue::new(plan)
    });
}
