//! What bears on a course beside its intervals, in words.

use crate::layout::{ArchReason, Axis, Remark, RingReason, Voussoirs};
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
        Remark::Arch(reason) => arch_words(reason, style),
        Remark::Ring(reason) => ring_words(reason, style),
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

fn arch_words(reason: &ArchReason, style: LengthStyle) -> RemarkWords {
    let of = |one: &Voussoirs| {
        let cut = if one.tapered { "cut to taper" } else { "uncut" };
        format!("{} {}s, {cut}", one.count, reason.standing.word())
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
