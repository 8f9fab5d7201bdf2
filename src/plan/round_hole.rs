//! What openings and vents of rings and curved walls may have.

use super::{Opening, Part, PlanError, Shape, SideRef};

impl Part {
    /// Whether an opening or a vent may go into a side or leg.
    pub(super) fn check_hole_side(&self, side: SideRef) -> Result<(), PlanError> {
        match (&self.shape, side) {
            (Shape::Ring(_), SideRef::Side(_)) | (Shape::Curve(_), SideRef::Leg(0)) => Ok(()),
            (Shape::Ring(_), SideRef::Leg(_)) => Err(PlanError::new(
                "leg-of-a-ring",
                "a ring has no legs",
                "write side: \"front\", \"right\", \"back\" or \"left\", and at: from its middle round the outer face",
            )
            .at_key("leg")),
            (Shape::Curve(_), SideRef::Leg(_)) => Err(PlanError::new(
                "no-such-leg",
                "a curved wall has one leg",
                "leave `leg` out",
            )
            .at_key("leg")),
            (Shape::Curve(_), SideRef::Side(_)) => Err(PlanError::new(
                "side-of-a-wall",
                "a curved wall has no sides",
                "leave `side` out; at: counts from its left end, seen from the side to which it bulges",
            )
            .at_key("side")),
            _ => self.check_side(side),
        }
    }

    /// Refuses what cannot close an opening in round work, or lie in its foot.
    pub(super) fn check_round_opening(&self, opening: &Opening) -> Result<(), PlanError> {
        if !matches!(self.shape, Shape::Ring(_) | Shape::Curve(_)) {
            return Ok(());
        }
        let refused = |what: &str, remedy: &str, key: &'static str| {
            Err(PlanError::new("head-in-round-work", what, remedy).at_key(key))
        };
        if opening.arch.is_some() {
            return refused(
                "an arch in a curved face leans out of it and is not laid",
                "leave the head open: take the opening up to the top, or let units span it",
                "arch",
            );
        }
        if opening.corbel.is_some() {
            return refused(
                "courses that step inwards are laid in straight walls only",
                "leave the head open: take the opening up to the top, or let units span it",
                "head",
            );
        }
        if opening.lintel.is_some() {
            return refused(
                "a straight lintel over a curved wall is not laid",
                "leave the head open: take the opening up to the top, or let units span it",
                "lintel",
            );
        }
        if opening.sill.is_some() {
            return refused(
                "a sill or threshold is straight; in a curved wall it is not laid",
                "leave it out, and cast or cut one to the curve by hand",
                "sill",
            );
        }
        Ok(())
    }
}
