//! The blanks of one pitch, each as it stands to the others.

use std::f64::consts::PI;
use std::rc::Rc;
use std::sync::atomic::AtomicBool;

use crate::angles::{self, Ranges};
use crate::forbidden::{Forbidden, Stopped};
use crate::layout::{Cut, Kind, Request};
use crate::outline::{Outline, placed};
use crate::piece::Piece;
use crate::point::Point;
use crate::search::{Offsets, Rows};
use crate::skyline::{Skyline, height};

/// A blank as it is put in the pattern, before the pattern is turned.
#[derive(Clone, Debug)]
pub(crate) struct Member {
    pub(crate) part: usize,
    /// Turned from the drawing, radians.
    pub(crate) base: f64,
    pub(crate) mirrored: bool,
    pub(crate) path: Vec<Piece>,
    pub(crate) skyline: Skyline,
    /// Metal net of holes, mm2.
    pub(crate) area: f64,
    /// Covered at least when grown by half the clearance, mm2.
    pub(crate) grown: f64,
    /// Angles of the pattern that the grain allows.
    pub(crate) angles: Ranges,
}

impl Member {
    pub(crate) fn of(parts: &Parts<'_>, part: usize, base: f64, mirrored: bool) -> Self {
        let Part { outline, grain } = &parts.parts[part];
        let path = placed(outline.outer(), mirrored, base, Point::default());
        let half = 0.5 * parts.clearance;
        let outer = outline.outer_area_mm2();
        let length: f64 = path.iter().map(Piece::length).sum();
        // Steiner's formula; a blank with a bay may grow by less.
        let grown = if outline.is_convex() {
            outer + length * half + PI * half * half
        } else {
            outer
        };
        let own = if mirrored {
            angles::mirrored(grain)
        } else {
            grain.clone()
        };
        Self {
            part,
            base,
            mirrored,
            skyline: Skyline::of(&path),
            path,
            area: outline.area_mm2(),
            grown,
            angles: angles::shifted(&own, -base),
        }
    }

    fn straight_sides(&self) -> impl Iterator<Item = f64> {
        self.path
            .iter()
            .filter(|piece| piece.arc.is_none())
            .map(|piece| -(piece.to - piece.from).angle())
    }

    /// The height of the blank between two sides along the feed; none if it has
    /// no side there at the top or the bottom.
    fn flat_height(&self, angle: f64) -> Option<f64> {
        let by = Point::at_angle(angle);
        let (low, high) = self.skyline.span(by);
        let slack = 1e-9 * (high - low);
        let flat = |level: f64| {
            self.path.iter().any(|piece| {
                piece.arc.is_none()
                    && (height(piece.from, by) - level).abs() <= slack
                    && (height(piece.to, by) - level).abs() <= slack
            })
        };
        (flat(low) && flat(high)).then_some(high - low)
    }
}

/// One part with its grain.
pub(crate) struct Part {
    pub(crate) outline: Outline,
    pub(crate) grain: Ranges,
}

/// The parts of a request, and what each forbids itself.
pub(crate) struct Parts<'a> {
    pub(crate) parts: Vec<Part>,
    pub(crate) clearance: f64,
    /// By part and whether it is turned over.
    alone: Vec<[Option<Rc<Forbidden>>; 2]>,
    /// The search was told to stop.
    pub(crate) stop: &'a AtomicBool,
}

impl<'a> Parts<'a> {
    /// The parts of a request, to be laid with a clearance.
    pub(crate) fn of(request: &Request, clearance: f64, stop: &'a AtomicBool) -> Self {
        let mut parts = vec![Part {
            outline: request.blank.clone(),
            grain: angles::of(&request.grain),
        }];
        if let Some(partner) = &request.partner {
            parts.push(Part {
                outline: partner.outline.clone(),
                grain: angles::of(&partner.grain),
            });
        }
        Self {
            alone: vec![[None, None]; parts.len()],
            parts,
            clearance,
            stop,
        }
    }

    /// What a blank forbids others of its row. Turned half round with its row it
    /// forbids the same.
    pub(crate) fn own(&mut self, member: &Member) -> Result<Rc<Forbidden>, Stopped> {
        let half_turns = member.base == 0.0 || member.base == PI;
        let kept = &mut self.alone[member.part][usize::from(member.mirrored)];
        if let (true, Some(set)) = (half_turns, &kept) {
            return Ok(Rc::clone(set));
        }
        let set = Rc::new(Forbidden::between(
            &member.path,
            &member.path,
            self.clearance,
            self.stop,
        )?);
        if half_turns {
            *kept = Some(Rc::clone(&set));
        }
        Ok(set)
    }

    /// The ways to lay one kind: the blank as drawn, and where it may be turned
    /// over those that this adds.
    pub(crate) fn variants(
        &mut self,
        request: &Request,
        kind: Kind,
    ) -> Result<Vec<Variant>, Stopped> {
        let cut_off = request.cut == Cut::CutOff;
        let (rows, second) = match kind {
            Kind::Single => (Rows::One, None),
            Kind::OpposedPair => (Rows::Two, Some(PI)),
            Kind::TwoRow => (Rows::Two, Some(0.0)),
            Kind::ThreeRow => (Rows::Three, Some(0.0)),
            Kind::MixedPair => return Ok(Vec::new()),
        };
        let mut sets: Vec<(bool, Option<(f64, bool)>)> =
            vec![(false, second.map(|base| (base, false)))];
        if request.mirror_allowed {
            // Turned over, another part of the angles is within the grain.
            if !angles::is_any(&self.parts[0].grain) {
                sets.push((true, second.map(|base| (base, true))));
            }
            // A row of blanks as drawn beside one of blanks turned over.
            match kind {
                Kind::OpposedPair => sets.push((false, Some((PI, true)))),
                Kind::TwoRow => sets.push((false, Some((0.0, true)))),
                _ => {}
            }
        }
        sets.into_iter()
            .filter_map(|(over, second)| {
                let mut members = vec![Member::of(self, 0, 0.0, over)];
                members.extend(second.map(|(base, over)| Member::of(self, 0, base, over)));
                Variant::of(self, members, rows, cut_off).transpose()
            })
            .collect()
    }
}

/// One way to lay a kind.
pub(crate) struct Variant {
    /// One for each row that differs.
    pub(crate) members: Vec<Member>,
    pub(crate) rows: Rows,
    pub(crate) offsets: Offsets,
    pub(crate) own: Vec<Rc<Forbidden>>,
    pub(crate) cross: Option<Rc<Forbidden>>,
    pub(crate) area: f64,
    pub(crate) grown: f64,
    pub(crate) angles: Ranges,
    pub(crate) events: Vec<f64>,
    pub(crate) clearance: f64,
}

impl Variant {
    /// The members as rows; none if no angle suits all.
    pub(crate) fn of(
        parts: &mut Parts<'_>,
        members: Vec<Member>,
        rows: Rows,
        cut_off: bool,
    ) -> Result<Option<Self>, Stopped> {
        let mut angles = members.iter().fold(angles::any(), |both, member| {
            angles::shared(&both, &member.angles)
        });
        if cut_off {
            angles = flat_angles(&members, &angles);
        }
        if angles.is_empty() {
            return Ok(None);
        }
        let first = &members[0];
        let second = members.get(1);
        let same_shape = |m: &Member| m.part == first.part && m.mirrored == first.mirrored;
        let half_turns = |m: &Member| m.base == first.base || m.base - first.base == PI;
        let mut own = vec![parts.own(first)?];
        if let Some(second) = second.filter(|m| !(same_shape(m) && half_turns(m))) {
            own.push(parts.own(second)?);
        }
        let alike = second.is_some_and(|m| same_shape(m) && m.base == first.base);
        let cross = match second {
            None => None,
            Some(_) if alike => Some(Rc::clone(&own[0])),
            Some(second) => {
                let (clearance, stop) = (parts.clearance, parts.stop);
                let set = Forbidden::between(&first.path, &second.path, clearance, stop)?;
                Some(Rc::new(set))
            }
        };
        let offsets = match (cut_off, alike) {
            (true, _) => Offsets::Flush,
            (false, true) => Offsets::Above,
            (false, false) => Offsets::Free,
        };
        let events = if cut_off {
            Vec::new()
        } else {
            events(&members, &own, &angles)
        };
        // Three rows are three of the first member.
        let counted: Vec<&Member> = match rows {
            Rows::Three => vec![first; 3],
            _ => members.iter().collect(),
        };
        let area = counted.iter().map(|m| m.area).sum();
        let grown = counted.iter().map(|m| m.grown).sum();
        Ok(Some(Self {
            rows,
            offsets,
            area,
            grown,
            members,
            own,
            cross,
            angles,
            events,
            clearance: parts.clearance,
        }))
    }

    pub(crate) fn skylines(&self) -> [&Skyline; 2] {
        let first = &self.members[0].skyline;
        [first, self.members.get(1).map_or(first, |m| &m.skyline)]
    }
}

/// Angles at which a side lies along the feed, or the feed passes a corner of
/// what a row forbids itself.
fn events(members: &[Member], own: &[Rc<Forbidden>], angles: &Ranges) -> Vec<f64> {
    let corners = own
        .iter()
        .flat_map(|set| set.edges.iter().map(|edge| -edge.from.angle()));
    let sides = members
        .iter()
        .flat_map(|member| member.skyline.side_angles().map(|angle| -angle));
    let edges = members.iter().flat_map(Member::straight_sides);
    angles::within(sides.chain(corners).chain(edges), angles)
}

/// Angles at which every member lies between two straight sides along the feed,
/// all equally high: as ranges of one angle each.
pub(super) fn flat_angles(members: &[Member], ranges: &Ranges) -> Ranges {
    let sides = members.iter().flat_map(Member::straight_sides);
    angles::within(sides, ranges)
        .into_iter()
        .filter(|angle| {
            let tall: Vec<f64> = members
                .iter()
                .filter_map(|member| member.flat_height(*angle))
                .collect();
            tall.len() == members.len()
                && tall.iter().all(|h| (h - tall[0]).abs() <= 1e-9 * tall[0])
        })
        .map(|angle| (angle, angle))
        .collect()
}
