use serde::{Deserialize, Serialize};

use super::{Arch, Lintel, PlanError};

/// What carries the work over a duct.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DuctHead {
    /// A lintel in the first bed over its crown.
    Lintel(Lintel),
    /// Half a ring of voussoirs over its crown: a semicircular arch from the bed nearest to its middle.
    Arch(Arch),
    /// A ring of voussoirs all round it, with the rings, standing, cut and number of an arch.
    Ring(Arch),
}

impl DuctHead {
    /// The words for what is laid of voussoirs.
    pub const ARCH_WORDS: &'static [&'static str] = &["semicircular", "ring"];
    /// Most courses of a lintel: our own choice, far above small brickwork.
    const MOST_COURSES: u32 = 20;

    /// # Errors
    /// When a count is beyond what is laid.
    pub fn check(&self) -> Result<(), PlanError> {
        let built = match self {
            DuctHead::Lintel(lintel) => {
                lintel.bar.is_positive() && lintel.courses <= DuctHead::MOST_COURSES
            }
            DuctHead::Arch(arch) | DuctHead::Ring(arch) => {
                (1..=Arch::MOST_RINGS).contains(&arch.rings)
                    && arch
                        .voussoirs
                        .is_none_or(|count| (1..=Arch::MOST_VOUSSOIRS).contains(&count))
            }
        };
        if built {
            return Ok(());
        }
        Err(PlanError::new(
            "size-too-large",
            "what is asked for over the duct has more rings, voussoirs or courses than are laid, or none",
            "leave its counts out",
        )
        .at_key("arch"))
    }
}
