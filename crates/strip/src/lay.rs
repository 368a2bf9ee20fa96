//! From a request to its layouts: members, what they forbid each other, the
//! search of each kind, and the finished layout measured anew.

mod boxes;
mod finish;
mod limits;
mod members;
mod mixed;

use std::cell::Cell;

use crate::forbidden::Stopped;
use crate::layout::{Best, Kind, NoLayout, Outcome, Progress, Refusal, Request, Watch};
use crate::search::{Found, Limits, Searched, Setting, search};
use members::{Parts, Variant};

/// Lays the blank of a request on a strip in every kind asked for.
///
/// Each layout found is measured anew by a way that shares nothing with the
/// search, and comes with a bound on the utilisation of any layout of its kind.
///
/// # Errors
///
/// What makes the request senseless: a web wider than the blank, a width or
/// window that is no number. A kind that cannot be laid within the limits is no
/// error: it stands in [`Outcome::without`] with the reason.
///
/// ```
/// use strip::{Kind, Outline, Request, Vertex, Watch, lay};
///
/// // An L of 400 mm, legs 100 mm wide, webs and margins of 6 mm.
/// let corners = [(0., 0.), (400., 0.), (400., 100.), (100., 100.), (100., 400.), (0., 400.)];
/// let corners = corners.map(|(x, y)| Vertex::corner(x, y));
/// let outline = Outline::new(&corners, &[]).map_err(|faults| faults[0].to_string())?;
/// let mut request = Request::die(outline, 6.0, 6.0);
/// request.kinds = vec![Kind::Single];
/// let outcome = lay(&request, &Watch::none()).map_err(|refusals| refusals[0].to_string())?;
/// let layout = outcome.best().ok_or("no layout")?;
/// // Turned by 45 degrees the Ls stand in each other: (100 + 6) sqrt(2) apart.
/// assert!((layout.pitch_mm - 149.90664).abs() < 1e-4);
/// assert!((layout.utilisation - 0.8083245).abs() < 1e-6);
/// assert!(layout.clearance_mm > 6.0 - 1e-6);
/// # Ok::<(), String>(())
/// ```
pub fn lay(request: &Request, watch: &Watch<'_>) -> Result<Outcome, Vec<Refusal>> {
    let refusals = limits::refusals(request);
    if !refusals.is_empty() {
        return Err(refusals);
    }
    let mut parts = Parts::of(request, request.cut.clearance_mm(), watch.cancel);
    let mut outcome = Outcome {
        layouts: Vec::new(),
        without: Vec::new(),
        cancelled: false,
    };
    let widths = sorted(request.widths_mm.as_deref());
    let best: Cell<Option<Best>> = Cell::new(None);
    for (done, kind) in request.kinds.iter().enumerate() {
        let reached = Cell::new(0.0_f64);
        let took = |utilisation: f64| {
            let now = Best {
                kind: *kind,
                utilisation: utilisation.min(1.0),
            };
            best.set(Best::better(best.get(), now));
        };
        let told = |share: f64, cost: f64| {
            if cost.is_finite() {
                took(1.0 / cost);
            }
            // A kind that is searched again does not go back.
            reached.set(reached.get().max(share.min(1.0)));
            (watch.progress)(Progress {
                kind: *kind,
                share: (done as f64 + reached.get()) / request.kinds.len() as f64,
                best: best.get(),
            });
        };
        let limits = Limits {
            widths: widths.as_deref(),
            pitch: request.max_pitch_mm.unwrap_or(f64::INFINITY),
        };
        let job = Job {
            request,
            kind: *kind,
            limits,
            watch,
            told: &told,
        };
        match job.lay(&mut parts) {
            Ok((layout, cancelled)) => {
                took(layout.utilisation);
                outcome.layouts.push(layout);
                outcome.cancelled |= cancelled;
            }
            Err(Unlaid::Cancelled) => {
                outcome.cancelled = true;
                outcome.layouts.extend(boxes::lay(&job, &parts));
            }
            Err(Unlaid::Because(why)) => outcome.without.push(NoLayout { kind: *kind, why }),
        }
        told(1.0, f64::INFINITY);
    }
    Ok(outcome)
}

fn sorted(widths: Option<&[f64]>) -> Option<Vec<f64>> {
    let mut widths = widths?.to_vec();
    widths.sort_unstable_by(f64::total_cmp);
    widths.dedup();
    Some(widths)
}

/// Why a kind has no layout.
pub(crate) enum Unlaid {
    Cancelled,
    Because(String),
}

impl From<Stopped> for Unlaid {
    fn from(_: Stopped) -> Self {
        Self::Cancelled
    }
}

/// One kind of layout to be laid.
pub(crate) struct Job<'a> {
    request: &'a Request,
    kind: Kind,
    limits: Limits<'a>,
    watch: &'a Watch<'a>,
    /// Told the share done, and the strip for each unit of metal of the best so far,
    /// infinite while there is none.
    told: &'a dyn Fn(f64, f64),
}

/// Webs tried before a kind is given up, each wider by a hair than the last.
const ATTEMPTS: u32 = 5;

impl Job<'_> {
    /// Lays the kind. A layout that does not keep its distances when measured anew
    /// owes them to rounding where edges all but touch: with a hair more web it
    /// is searched again, and the bound is then the metal's own.
    fn lay(&self, parts: &mut Parts<'_>) -> Result<(crate::Layout, bool), Unlaid> {
        let clearance = self.request.cut.clearance_mm();
        let sides = self.request.blank.extent().size();
        let size = sides.x.max(sides.y);
        for attempt in 0..ATTEMPTS {
            let laid = if attempt == 0 {
                self.attempt(parts)
            } else {
                let wider = clearance + 3e-5 * f64::from(attempt) * size;
                self.attempt(&mut Parts::of(self.request, wider, self.watch.cancel))
            };
            let (mut layout, cancelled) = laid?;
            if layout.clearance_mm < clearance - 1e-7 * size {
                continue;
            }
            if attempt > 0 {
                layout.bound = mixed::area_bound(self, parts, &layout);
            }
            return Ok((layout, cancelled));
        }
        Err(Unlaid::Because(
            "the outline has edges that all but touch each other, and no layout of it could \
             be proven to keep its distances: simplify it there, or allow another angle"
                .to_owned(),
        ))
    }

    fn attempt(&self, parts: &mut Parts<'_>) -> Result<(crate::Layout, bool), Unlaid> {
        if self.kind == Kind::MixedPair {
            return mixed::lay(self, parts);
        }
        let variants = parts.variants(self.request, self.kind)?;
        if variants.is_empty() {
            return Err(Unlaid::Because(limits::no_angle(self.request, parts)));
        }
        let mut best: Option<(&Variant, Found)> = None;
        let mut bound = f64::INFINITY;
        let mut cancelled = false;
        for (n, variant) in variants.iter().enumerate() {
            let mut ticked = |share: f64, cost: f64| {
                (self.told)((n as f64 + share) / variants.len() as f64, cost);
            };
            let effort = self.request.effort / variants.len();
            let searched = self.search(variant, self.limits, effort, &mut ticked);
            bound = bound.min(searched.bound);
            cancelled |= searched.cancelled;
            if let Some(found) = searched.found
                && best.is_none_or(|(_, best)| found.cost < best.cost * (1.0 - 1e-12))
            {
                best = Some((variant, found));
            }
        }
        match best {
            Some((variant, found)) => {
                let rows = finish::rows(variant, &found);
                Ok((finish::layout(self, parts, &rows, &found, bound), cancelled))
            }
            None if cancelled => Err(Unlaid::Cancelled),
            None => Err(Unlaid::Because(limits::why_none(self, parts, &variants))),
        }
    }

    /// Searches one variant of the kind.
    fn search(
        &self,
        variant: &Variant,
        limits: Limits<'_>,
        effort: usize,
        ticked: &mut dyn FnMut(f64, f64),
    ) -> Searched {
        let setting = Setting {
            rows: variant.rows,
            own: variant.own.iter().map(|set| &**set).collect(),
            cross: variant.cross.as_deref(),
            skylines: variant.skylines(),
            offsets: variant.offsets,
            area: variant.area,
            grown: variant.grown,
            web: variant.clearance,
            edge: self.request.cut.margin_mm(),
            limits,
            angles: &variant.angles,
            events: &variant.events,
            effort,
        };
        search(&setting, self.watch.cancel, ticked)
    }
}
