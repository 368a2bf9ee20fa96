//! What cannot be laid, and what would free it.

use super::Job;
use super::members::{Member, Parts, Variant, flat_angles};
use crate::angles;
use crate::layout::{Cut, Kind, Refusal, Request, Window};
use crate::point::Point;
use crate::search::Limits;
use crate::skyline::Skyline;

/// What makes a request senseless.
pub(super) fn refusals(request: &Request) -> Vec<Refusal> {
    let mut refusals = Refusals(Vec::new());
    refusals.cut(request);
    refusals.strip(request);
    refusals.grain(request);
    refusals.kinds(request);
    refusals.0
}

struct Refusals(Vec<Refusal>);

impl Refusals {
    fn refuse(&mut self, place: &'static str, found: String, expected: &str, mend: &str) {
        self.0.push(Refusal {
            place,
            found,
            expected: expected.to_owned(),
            mend: mend.to_owned(),
        });
    }

    fn cut(&mut self, request: &Request) {
        let lengths: &[(&'static str, f64)] = match &request.cut {
            Cut::Die { web_mm, edge_mm } => &[("web_mm", *web_mm), ("edge_mm", *edge_mm)],
            Cut::Laser {
                web_mm,
                edge_mm,
                kerf_mm,
            } => &[
                ("web_mm", *web_mm),
                ("edge_mm", *edge_mm),
                ("kerf_mm", *kerf_mm),
            ],
            Cut::CutOff => &[],
        };
        for (place, length) in lengths {
            if !length.is_finite() || *length < 0.0 {
                let expected = "a length of 0 mm or more";
                self.refuse(place, length.to_string(), expected, "write 0 or more");
            }
        }
        let clearance = request.cut.clearance_mm();
        let partner = request.partner.iter().map(|partner| &partner.outline);
        for outline in std::iter::once(&request.blank).chain(partner) {
            let narrow = narrowest(&Skyline::of(outline.outer()), &angles::any());
            if clearance > narrow {
                self.refuse(
                    "web_mm",
                    format!("{} between blanks", mm(clearance)),
                    "less than the blank is wide",
                    &format!(
                        "lower it to {} or less, or check the drawing's unit",
                        mm(narrow)
                    ),
                );
            }
        }
    }

    fn strip(&mut self, request: &Request) {
        if let Some(widths) = &request.widths_mm {
            if widths.is_empty() {
                let mend = "name a width, or leave the widths out for any";
                self.refuse(
                    "widths_mm",
                    "an empty list".to_owned(),
                    "one width or more",
                    mend,
                );
            }
            for width in widths {
                if !(width.is_finite() && *width > 0.0) {
                    let expected = "widths above 0 mm";
                    self.refuse("widths_mm", width.to_string(), expected, "take it out");
                }
            }
        }
        if let Some(pitch) = request.max_pitch_mm
            && (pitch.is_nan() || pitch <= 0.0)
        {
            let mend = "leave it out for any pitch";
            self.refuse(
                "max_pitch_mm",
                pitch.to_string(),
                "a length above 0 mm",
                mend,
            );
        }
    }

    fn grain(&mut self, request: &Request) {
        let partner = request.partner.iter().flat_map(|partner| &partner.grain);
        for Window { from_deg, to_deg } in request.grain.iter().chain(partner) {
            if !(from_deg.is_finite() && to_deg.is_finite() && from_deg <= to_deg) {
                self.refuse(
                    "grain",
                    format!("from {from_deg} to {to_deg} degrees"),
                    "two angles in order, so that some angle lies between",
                    &format!("write from {to_deg} to {from_deg}, or add 180 to the second"),
                );
            }
        }
    }

    fn kinds(&mut self, request: &Request) {
        if request.kinds.is_empty() {
            let mend = "name one, such as single";
            self.refuse(
                "layouts",
                "an empty list".to_owned(),
                "one layout or more",
                mend,
            );
        }
        let mixed = request.kinds.contains(&Kind::MixedPair);
        let Some(partner) = &request.partner else {
            if mixed {
                let expected = "a second part for the mixed layout";
                let mend = "add a partner, or leave mixed_pair out";
                self.refuse("partner", "nothing".to_owned(), expected, mend);
            }
            return;
        };
        let (first, second) = partner.ratio;
        if first == 0 || second == 0 || first.saturating_add(second) > 4 {
            self.refuse(
                "ratio",
                format!("{first} to {second}"),
                "one of each part or more, four blanks a pitch at most",
                "write the nearest of 1 to 1, 2 to 1, 3 to 1 and their reverses",
            );
        }
    }
}

/// A length as a person reads it.
fn mm(length: f64) -> String {
    format!("{} mm", (length * 1e3).round() / 1e3)
}

/// A length that must be reached, as a person reads it.
fn mm_or_more(length: f64) -> String {
    format!("{} mm", (length * 1e3 - 1e-6).ceil() / 1e3)
}

/// The least height of a blank over ranges of angles. It bends down between the
/// angles at which a side lies along the feed, so the least is at one of those
/// or at an end of a range; between round sides it is looked for.
pub(super) fn narrowest(skyline: &Skyline, ranges: &angles::Ranges) -> f64 {
    let mut angles = angles::within(skyline.side_angles().map(|a| -a), ranges);
    for (from, to) in ranges {
        angles.extend((0..=360).map(|k| from + (to - from) * f64::from(k) / 360.0));
    }
    angles
        .into_iter()
        .map(|angle| {
            let (low, high) = skyline.span(Point::at_angle(angle));
            high - low
        })
        .fold(f64::INFINITY, f64::min)
}

/// Why no angle suits.
pub(super) fn no_angle(request: &Request, parts: &Parts<'_>) -> String {
    if request.cut != Cut::CutOff {
        return "the grain windows share no angle: widen one of them, or lay the parts apart"
            .to_owned();
    }
    let blank = Member::of(parts, 0, 0.0, false);
    match flat_angles(&[blank], &angles::any()).first() {
        None => "a cut-off blank needs two straight sides that are parallel and its outermost, \
                 and this one has no such pair: lay it with a web"
            .to_owned(),
        Some((angle, _)) => format!(
            "the grain window leaves out the angle at which the straight sides lie along the \
             feed: let it reach {} degrees, or lay the blank with a web",
            (angle.to_degrees() * 1e3).round() / 1e3 + 0.0
        ),
    }
}

/// Why a search found nothing.
pub(super) fn why_none(job: &Job<'_>, parts: &Parts<'_>, variants: &[Variant]) -> String {
    let margin = job.request.cut.margin_mm();
    let tallest = |variant: &Variant| {
        variant
            .members
            .iter()
            .map(|member| narrowest(&member.skyline, &variant.angles))
            .fold(0.0, f64::max)
    };
    let least = variants.iter().map(tallest).fold(f64::INFINITY, f64::min) + 2.0 * margin;
    let widest = job.limits.widths.and_then(<[f64]>::last).copied();
    let widest = widest.unwrap_or(f64::INFINITY);
    if least > widest {
        let window = if angles::is_any(&parts.parts[0].grain) {
            ""
        } else {
            ", or widen the grain window"
        };
        return format!(
            "the widest strip is {} and the least width that fits is {}: hold a strip of that \
             width or more{window}",
            mm(widest),
            mm_or_more(least)
        );
    }
    let free = Limits {
        pitch: f64::INFINITY,
        ..job.limits
    };
    let effort = job.request.effort / 2;
    let shortest = variants
        .iter()
        .filter_map(|variant| job.search(variant, free, effort, &mut |_, _| {}).found)
        .map(|found| found.pitch)
        .fold(f64::INFINITY, f64::min);
    if shortest.is_finite() {
        return format!(
            "the longest pitch is {} and the best layout on these widths feeds {}: feed that \
             much, or hold a wider strip",
            mm(job.limits.pitch),
            mm_or_more(shortest)
        );
    }
    format!(
        "the widest strip is {} and this layout needs more at every angle: hold a wider strip, \
         or lay a single row",
        mm(widest)
    )
}
