//! What a script that catches a fault can read of it.

use super::declare::{CallKind, Declaration, Example, Group, Registry};
use super::options::Faults;

const OF_FAULT: Declaration = Declaration {
    name: "",
    group: Group::Session,
    summary: "",
    kind: CallKind::Property { of: "Fault" },
    positional: &[],
    options: &[],
    returns: "A text.",
    examples: &[],
    errors: &[],
    see_also: &[],
};

static MESSAGE: Declaration = Declaration {
    name: "message",
    summary: "What is wrong, of a fault that was caught.",
    examples: &[Example {
        script: "let told = \"\"; try { length(\"3 cubits\") } catch (fault) { told = fault.code; } told",
        shows: "unreadable-quantity",
    }],
    ..OF_FAULT
};

static CODE: Declaration = Declaration {
    name: "code",
    summary: "The short name of a fault that was caught, or of a finding of a review.",
    ..OF_FAULT
};

static REMEDY: Declaration = Declaration {
    name: "remedy",
    summary: "What to do about a fault that was caught, or about a finding of a review.",
    ..OF_FAULT
};

/// Registers them.
pub(super) fn register(registry: &mut Registry) {
    registry.value_type::<Faults>("Fault", "a fault", Faults::message);
    registry.property::<Faults, String>(&MESSAGE, |faults| Ok(faults.message()));
    registry.property::<Faults, String>(&CODE, |faults| {
        Ok(faults
            .faults
            .first()
            .map_or("", |fault| fault.code)
            .to_owned())
    });
    registry.property::<Faults, String>(&REMEDY, |faults| {
        let lines: Vec<String> = faults
            .faults
            .iter()
            .flat_map(|fault| fault.remedy.clone())
            .collect();
        Ok(lines.join("\n"))
    });
}
