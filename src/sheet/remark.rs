//! What bears on a course beside its intervals, in words.

use super::explain::side_words;
use crate::layout::{
    ArchReason, Axis, CopingLoss, CopingReason, CorbelReason, CurveReason, LiningReason, Price,
    Remark, RingReason, SillReason, Voussoirs,
};
use crate::plan::{CopingKind, Laying, LintelKind, SillKind};
use crate::quantity::{Length, LengthStyle};

/// A remark in the words of the table of an explanation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RemarkWords {
    /// What it is about, in a word.
    pub about: &'static str,
    /// Where that is.
    pub place: String,
    /// How it was laid.
    pub laid: String,
    /// Its joints, empty for none.
    pub joint: String,
    /// Why so.
    pub why: String,
    /// What came next: how it would be laid, its joints, and why it was not.
    pub next: Option<(String, String, String)>,
}

/// A remark in words.
pub fn remark_words(remark: &Remark, style: LengthStyle) -> RemarkWords {
    let show = |length: Length| style.show(length);
    let plain = |about, place: &str, laid: String, joint: String, why: String| RemarkWords {
        about,
        place: place.to_owned(),
        laid,
        joint,
        why,
        next: None,
    };
    match remark {
        Remark::Bed { thick, usual } => plain(
            "bed",
            "bed under the course",
            String::new(),
            show(*thick),
            format!("asked for by `beds`; {} elsewhere", show(*usual)),
        ),
        Remark::Split { to, unit } => plain(
            "split",
            "the whole course",
            format!("units split to {}", show(*to)),
            String::new(),
            format!("asked for by `split`; a whole unit is {} high", show(*unit)),
        ),
        Remark::Corners { leading } => {
            let (lead, follow) = match leading {
                Axis::X => ("front and back", "left and right"),
                Axis::Y => ("left and right", "front and back"),
            };
            plain(
                "corners",
                "corners",
                format!("walls {lead} pass"),
                String::new(),
                format!(
                    "their units turn the corner, those {follow} butt against them; the bond's order decides"
                ),
            )
        }
        Remark::Turns { laid, next } => turns_words(*laid, *next),
        Remark::Junction {
            names,
            passes,
            laid,
            next,
        } => RemarkWords {
            about: "junction",
            place: format!("\"{}\"", names.join("\", \"")),
            laid: if *passes {
                "passes into the wall".to_owned()
            } else {
                "butts against the wall".to_owned()
            },
            joint: String::new(),
            why: format!(
                "they take turns; {} in the lowest courses",
                price_words(*laid)
            ),
            next: Some((
                "the other way round".to_owned(),
                String::new(),
                price_loss(*next, *laid),
            )),
        },
        Remark::Arch(reason) => arch_words(reason, style),
        Remark::Corbel(reason) => corbel_words(reason, style),
        Remark::Lintel {
            name,
            kind,
            bearings,
            asked,
        } => plain(
            "lintel",
            &format!("over \"{name}\""),
            match kind {
                LintelKind::Steel => "a steel bar in the bed under the course".to_owned(),
                LintelKind::Stone | LintelKind::Concrete => kind.word().to_owned(),
            },
            String::new(),
            format!(
                "bears {} and {}, {}",
                show(bearings.0),
                show(bearings.1),
                match (asked, kind) {
                    (Some(asked), _) => format!("asked for as {}", show(*asked)),
                    (None, LintelKind::Steel) =>
                        "the usual bearing as far as the wall gives it".to_owned(),
                    (None, _) => "the usual bearing brought to the bond's joints".to_owned(),
                }
            ),
        ),
        Remark::Sill(reason) => sill_words(reason, style),
        Remark::Ring(reason) => ring_words(reason, style),
        Remark::Curve(reason) => curve_words(reason, style),
        Remark::Upright { laid, rows } => plain(
            "upright",
            "the whole course",
            format!(
                "{}s, {rows} row{} through the wall",
                laid.word(),
                plural(*rows)
            ),
            String::new(),
            match laid {
                Laying::Shiner => "asked for by `laid`; as stretchers on edge, but no lap is kept",
                _ => "asked for by `laid`; joints take up what is left, no lap is kept",
            }
            .to_owned(),
        ),
        Remark::Leaves { space, filled } => plain(
            "leaves",
            "two leaves",
            format!(
                "{} {}",
                show(*space),
                if *filled {
                    "filled with mortar"
                } else {
                    "left open"
                }
            ),
            String::new(),
            "asked for by `leaves`; each leaf is bonded by itself".to_owned(),
        ),
        Remark::Core { clear, units } => plain(
            "core",
            "middle",
            if *units { "units" } else { "concrete" }.to_owned(),
            String::new(),
            format!(
                "{} × {} within the faces{}",
                show(clear.0),
                show(clear.1),
                if *units {
                    "; rows across and along in turn where both fit"
                } else {
                    ""
                }
            ),
        ),
        Remark::Lining(reason) => lining_words(reason, style),
        Remark::Coping(reason) => coping_words(reason, style),
        Remark::Ties {
            count,
            at_jambs,
            asked,
        } => {
            let jambs = match at_jambs {
                0 => String::new(),
                jambs => format!("; {jambs} beside jambs and ends"),
            };
            plain(
                "ties",
                "bed over the course",
                format!("{count} tie{}", if *count == 1 { "" } else { "s" }),
                String::new(),
                format!(
                    "at most {} apart along and {} up{jambs}",
                    show(asked.across),
                    show(asked.up)
                ),
            )
        }
    }
}

fn plural(count: usize) -> &'static str {
    if count == 1 { "" } else { "s" }
}

fn price_words(price: Price) -> String {
    let many = |count: i64, one: &str, many: &str| match count {
        0 => format!("no {one}"),
        1 => format!("1 {one}"),
        count => format!("{count} {many}"),
    };
    let cuts = many(price.cuts, "cut", "cuts");
    if price.missed == 0 {
        return cuts;
    }
    format!("{}, {cuts}", many(price.missed, "breach", "breaches"))
}

fn price_loss(next: Price, laid: Price) -> String {
    if next.missed != laid.missed {
        return format!(
            "loses by limits missed: {} against {}",
            next.missed, laid.missed
        );
    }
    if next.cuts != laid.cuts {
        return format!("loses by cuts: {} against {}", next.cuts, laid.cuts);
    }
    "costs the same; the first found is laid".to_owned()
}

fn turns_words(laid: Price, next: Option<Price>) -> RemarkWords {
    RemarkWords {
        about: "corners",
        place: "corners".to_owned(),
        laid: "walls pass in turn".to_owned(),
        joint: String::new(),
        why: format!(
            "each course over the other's joint; {} in two courses",
            price_words(laid)
        ),
        next: next.map(|next| {
            let what = "corners turned the other way".to_owned();
            (what, String::new(), price_loss(next, laid))
        }),
    }
}

fn corbel_words(reason: &CorbelReason, style: LengthStyle) -> RemarkWords {
    let show = |length: Length| style.show(length);
    let closes = reason.number == reason.courses;
    let (half, third) = reason.limits;
    RemarkWords {
        about: "corbel",
        place: format!(
            "head of \"{}\", {} of {}",
            reason.name, reason.number, reason.courses
        ),
        laid: if closes {
            format!("closes the gap of {}", show(reason.open))
        } else {
            format!(
                "steps in by {} a side, {} left open",
                show(reason.step),
                show(reason.open)
            )
        },
        joint: String::new(),
        why: format!(
            "{}; at most half a unit's height, {}, and a third of the shortest piece, {}",
            if reason.asked {
                "the step asked for"
            } else {
                "the largest step that keeps to the bond"
            },
            show(half),
            show(third)
        ),
        next: reason.next.map(|(step, courses)| {
            let loss = if reason.asked {
                format!(
                    "not asked for; {courses} courses against {}",
                    reason.courses
                )
            } else if courses == reason.courses {
                "takes as many courses; the larger step is laid".to_owned()
            } else {
                format!("loses by courses: {courses} against {}", reason.courses)
            };
            (format!("steps of {}", show(step)), String::new(), loss)
        }),
    }
}

fn sill_words(reason: &SillReason, style: LengthStyle) -> RemarkWords {
    let show = |length: Length| style.show(length);
    let about = if reason.threshold {
        "threshold"
    } else {
        "sill"
    };
    let (across, rows) = reason.units;
    let (least, most) = reason.limits;
    let off = |joint: Length| (joint - reason.nominal).abs();
    let units = |count: usize| {
        let deep = if rows > 1 {
            format!(", {rows} rows")
        } else {
            String::new()
        };
        format!("{count} units on edge{deep}")
    };
    RemarkWords {
        about,
        place: format!("{about} of \"{}\"", reason.name),
        laid: match reason.kind {
            SillKind::Rowlock => units(across),
            SillKind::Slab(kind) => format!("a slab of {}", kind.word()),
        },
        joint: show(reason.joint),
        why: match reason.kind {
            SillKind::Rowlock => format!(
                "joints {} off nominal, {} to {} allowed; {} high on its bed",
                show(off(reason.joint)),
                show(least),
                show(most),
                show(reason.height)
            ),
            SillKind::Slab(_) => format!(
                "fills the opening but for a joint at each jamb; {} high on its bed",
                show(reason.height)
            ),
        },
        next: reason.next.map(|(count, joint)| {
            let loss = format!(
                "loses by joint width: {} off nominal against {}",
                show(off(joint)),
                show(off(reason.joint))
            );
            (units(count), show(joint), loss)
        }),
    }
}

fn curve_words(reason: &CurveReason, style: LengthStyle) -> RemarkWords {
    let of = |one: &Voussoirs| {
        let cut = if one.tapered {
            "cut to taper"
        } else {
            "not tapered"
        };
        format!("{} stones, {cut}", one.count)
    };
    let kept = (reason.limits, reason.joint);
    let bats = match reason.bats {
        0 => String::new(),
        count => format!(", {count} of them bat{}", plural(count)),
    };
    RemarkWords {
        about: "curve",
        place: format!("round a radius of {}", style.show(reason.radius)),
        laid: format!("{}{bats}", of(&reason.laid)),
        joint: joints_words(&reason.laid, style),
        why: laid_words(&reason.laid, kept, style),
        next: reason.next.as_ref().map(|next| {
            let loss = loss_words(next, &reason.laid, kept, style);
            (of(next), joints_words(next, style), loss)
        }),
    }
}

fn lining_words(reason: &LiningReason, style: LengthStyle) -> RemarkWords {
    let show = |length: Length| style.show(length);
    let (gap, asked) = reason.gap;
    let (course, off) = reason.nearest;
    let level = if reason.meets {
        format!("level with course {course} of the walls")
    } else if off.is_negative() {
        format!("{} under course {course} of the walls", show(-off))
    } else {
        format!("{} over course {course} of the walls", show(off))
    };
    RemarkWords {
        about: "lining",
        place: format!("within \"{}\"", reason.host),
        laid: format!("{}s", reason.laid.word()),
        joint: String::new(),
        why: format!(
            "{} clear of the walls, {} asked for; its top is {level}{}",
            show(gap),
            show(asked),
            match reason.bed {
                Some((bed, usual)) => format!(
                    "; beds {} instead of {} so that courses meet",
                    show(bed),
                    show(usual)
                ),
                None => String::new(),
            }
        ),
        next: None,
    }
}

fn coping_words(reason: &CopingReason, style: LengthStyle) -> RemarkWords {
    let what = |pieces: &[Length], cut: usize| {
        let (one, many) = match reason.kind {
            CopingKind::Rowlock => ("rowlock", "rowlocks"),
            CopingKind::Stone | CopingKind::Concrete => ("slab", "slabs"),
        };
        let word = if pieces.len() == 1 { one } else { many };
        let cut = match cut {
            0 => String::new(),
            count => format!(", {count} cut"),
        };
        let shortest = pieces
            .iter()
            .min()
            .filter(|_| reason.kind != CopingKind::Rowlock);
        let shortest = shortest.map_or(String::new(), |least| {
            format!(", shortest {}", style.show(*least))
        });
        format!("{} {word}{cut}{shortest}", pieces.len())
    };
    let joint = |joint: Option<Length>| joint.map(|joint| style.show(joint)).unwrap_or_default();
    RemarkWords {
        about: "coping",
        place: match reason.side {
            Some(side) => format!("coping over {}", side_words(side)),
            None => "coping".to_owned(),
        },
        laid: what(&reason.laid, reason.cut),
        joint: joint(reason.joint),
        why: match reason.kind {
            CopingKind::Rowlock => format!(
                "joints {} to {} allowed",
                style.show(reason.limits.0),
                style.show(reason.limits.1)
            ),
            CopingKind::Stone | CopingKind::Concrete => {
                "cut slabs in the middle, none under half a slab".to_owned()
            }
        },
        next: reason.next.as_ref().map(|(pieces, cut, width)| {
            let loss = match reason.loses_by {
                CopingLoss::Cuts => format!("loses by cuts: {cut} against {}", reason.cut),
                CopingLoss::ShortPiece => "loses by a slab under half its length".to_owned(),
                CopingLoss::Joints => "loses by joint width".to_owned(),
                CopingLoss::Limits => "loses by limits missed".to_owned(),
            };
            (what(pieces, *cut), joint(*width), loss)
        }),
    }
}

fn arch_words(reason: &ArchReason, style: LengthStyle) -> RemarkWords {
    let of = |one: &Voussoirs| {
        let cut = if one.tapered { "cut to taper" } else { "uncut" };
        let bonded = match &reason.bonded {
            None => String::new(),
            Some((one, other)) => {
                let sizes = |lengths: &[Length]| {
                    let words: Vec<String> =
                        lengths.iter().map(|length| style.show(*length)).collect();
                    words.join(" + ")
                };
                format!(", of pieces {} and {} in turn", sizes(one), sizes(other))
            }
        };
        format!("{} {}s, {cut}{bonded}", one.count, reason.standing.word())
    };
    let kept = (reason.limits, reason.joint);
    RemarkWords {
        about: "arch",
        place: format!("arch over \"{}\", ring {}", reason.name, reason.ring),
        laid: of(&reason.laid),
        joint: joints_words(&reason.laid, style),
        why: laid_words(&reason.laid, kept, style),
        next: reason.next.as_ref().map(|next| {
            let loss = loss_words(next, &reason.laid, kept, style);
            (of(next), joints_words(next, style), loss)
        }),
    }
}

fn ring_words(reason: &RingReason, style: LengthStyle) -> RemarkWords {
    let of = |one: &Voussoirs| {
        let cut = if one.tapered { "cut to taper" } else { "uncut" };
        format!("{} units, {cut}", one.count)
    };
    let kept = (reason.limits, reason.joint);
    RemarkWords {
        about: "ring",
        place: "round".to_owned(),
        laid: of(&reason.laid),
        joint: joints_words(&reason.laid, style),
        why: laid_words(&reason.laid, kept, style),
        next: reason.next.as_ref().map(|next| {
            let loss = loss_words(next, &reason.laid, kept, style);
            (of(next), joints_words(next, style), loss)
        }),
    }
}

fn joints_words(one: &Voussoirs, style: LengthStyle) -> String {
    let (low, high) = one.joints;
    if low == high {
        style.show(low)
    } else {
        format!("{} to {}", style.show(low), style.show(high))
    }
}

type Kept = ((Length, Length), Length);

fn laid_words(laid: &Voussoirs, ((least, most), joint): Kept, style: LengthStyle) -> String {
    let (beyond, off) = laid.off((least, most), joint);
    let range = format!("{} to {}", style.show(least), style.show(most));
    if beyond.is_positive() {
        format!("joints {} beyond {range}", style.show(beyond))
    } else {
        format!("joints within {range}, {} off nominal", style.show(off))
    }
}

fn loss_words(
    next: &Voussoirs,
    laid: &Voussoirs,
    (limits, joint): Kept,
    style: LengthStyle,
) -> String {
    let (theirs, ours) = (next.off(limits, joint), laid.off(limits, joint));
    if next.tapered != laid.tapered {
        let what = if next.tapered {
            "its units must be cut"
        } else {
            "its units are not cut"
        };
        return format!("loses: {what}");
    }
    // A ring is as wide as its thinnest joints ask.
    let thin = (next.too_thin(limits.0), laid.too_thin(limits.0));
    if theirs.0 <= ours.0 && thin.0 > thin.1 {
        let (theirs, ours) = (style.show(thin.0), style.show(thin.1));
        return format!("loses by joints too thin to fill: {theirs} against {ours}");
    }
    if theirs.0 != ours.0 {
        let (theirs, ours) = (style.show(theirs.0), style.show(ours.0));
        return format!("loses by joints beyond limits: {theirs} against {ours}");
    }
    if theirs.1 != ours.1 {
        let (theirs, ours) = (style.show(theirs.1), style.show(ours.1));
        return format!("loses by joint width: {theirs} against {ours}");
    }
    format!("loses by cuts: {} against {}", next.count, laid.count)
}
