//! Figures in the plane of the picture, and how far a place is from them.

use crate::layout::Profile;
use crate::quantity::Length;

/// A place in the picture, to the right and up, in nanometres.
pub(super) type Place = (f64, f64);
/// From and to.
pub(super) type Span = (f64, f64);

/// A length as pictures have it.
pub(super) fn nm(length: Length) -> f64 {
    length.nm() as f64
}

/// A figure in the plane of the picture.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Outline {
    Box(Span, Span),
    /// A box less what lies within outlines of arches.
    Raked(Span, Span, Vec<Profile>),
    /// Convex, either way round.
    Polygon(Vec<Place>),
    Circle(Place, f64),
    Profile(Profile),
}

impl Outline {
    /// The box round it: from left to right and from below upwards.
    pub(super) fn bounds(&self) -> (Span, Span) {
        match self {
            Outline::Box(u, v) | Outline::Raked(u, v, _) => (*u, *v),
            Outline::Polygon(corners) => {
                let hull = |pick: fn(&Place) -> f64| {
                    let places = corners.iter().map(pick);
                    places.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), place| {
                        (low.min(place), high.max(place))
                    })
                };
                (hull(|corner| corner.0), hull(|corner| corner.1))
            }
            Outline::Circle(centre, radius) => (
                (centre.0 - radius, centre.0 + radius),
                (centre.1 - radius, centre.1 + radius),
            ),
            Outline::Profile(profile) => {
                let half = nm(profile.widest_half());
                let middle = nm(profile.middle);
                (
                    (middle - half, middle + half),
                    (nm(profile.bottom), nm(profile.top())),
                )
            }
        }
    }

    /// How far a place is from it; nothing within, and none for a place that an arch takes.
    pub(super) fn distance(&self, place: Place) -> Option<f64> {
        let beyond = |at: f64, span: Span| (span.0 - at).max(at - span.1).max(0.0);
        let from_box = |u: Span, v: Span| beyond(place.0, u).hypot(beyond(place.1, v));
        match self {
            Outline::Box(u, v) => Some(from_box(*u, *v)),
            Outline::Raked(u, v, profiles) => {
                let taken = profiles.iter().any(|profile| within(profile, place));
                (!taken).then(|| from_box(*u, *v))
            }
            Outline::Polygon(corners) => Some(from_polygon(corners, place)),
            Outline::Circle(centre, radius) => {
                let far = (place.0 - centre.0).hypot(place.1 - centre.1);
                Some((far - radius).max(0.0))
            }
            Outline::Profile(profile) => within(profile, place).then_some(0.0),
        }
    }
}

fn within(profile: &Profile, (u, v): Place) -> bool {
    profile
        .half_at(v.round() as i64)
        .is_some_and(|half| (u - nm(profile.middle)).abs() <= half)
}

fn from_polygon(corners: &[Place], place: Place) -> f64 {
    let edges = || corners.iter().zip(corners.iter().cycle().skip(1));
    let side =
        |(a, b): (&Place, &Place)| (b.0 - a.0) * (place.1 - a.1) - (b.1 - a.1) * (place.0 - a.0);
    if edges().all(|edge| side(edge) >= 0.0) || edges().all(|edge| side(edge) <= 0.0) {
        return 0.0;
    }
    let from_edge = |(a, b): (&Place, &Place)| {
        let (du, dv) = (b.0 - a.0, b.1 - a.1);
        let along = (place.0 - a.0) * du + (place.1 - a.1) * dv;
        let share = (along / (du * du + dv * dv).max(1.0)).clamp(0.0, 1.0);
        (place.0 - a.0 - share * du).hypot(place.1 - a.1 - share * dv)
    };
    edges().map(from_edge).fold(f64::INFINITY, f64::min)
}
