//! What a joint takes and uses up by each method.

use book::{Join, JoinMethod, JoinValue as V};
use formulas::{
    Figure, KilogramsPerCubicMetre, LitresPerMinute, MetresPerMinute, MetresPerSecond, Refusal,
    Sourced, joining,
};
use joining::JointSeconds;
use units::{Count, Metres, Millimetres, Seconds, Share};

use super::method::Methods;
use super::stack::Stack;

/// A planned stop of the robot.
#[derive(Clone, Debug)]
pub(super) struct Refill {
    pub(super) cause: &'static str,
    /// Joints from one to the next.
    pub(super) every: f64,
    pub(super) seconds: f64,
}

/// Something used up by a joint.
#[derive(Clone, Debug)]
pub(super) struct Used {
    pub(super) item: &'static str,
    pub(super) unit: &'static str,
    pub(super) amount: f64,
    pub(super) money: f64,
}

/// A group made by a method.
pub(super) struct Making {
    /// Joints on a car.
    pub(super) joints: u32,
    /// Gun, rivet and die, or nozzle.
    pub(super) variant: String,
    pub(super) seconds: Figure<JointSeconds>,
    pub(super) refills: Vec<Refill>,
    pub(super) used: Vec<Used>,
}

impl Making {
    pub(super) fn consumables(&self) -> f64 {
        self.used.iter().map(|used| used.money).sum()
    }
}

/// Why a group has no joints by a method.
pub(super) enum Uncounted {
    /// Neither count nor length and pitch.
    NoCount,
    /// A seam or bead without a length.
    NoLength,
    Refused(Refusal),
}

impl From<Refusal> for Uncounted {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(refusal)
    }
}

/// Kept free at each end of a flange, in pitches; half a pitch is common practice.
const END_PITCHES: f64 = 0.5;

impl Methods<'_> {
    /// The bead of a group: its own, or the method's.
    pub(super) fn bead(&self, row: &Join, method: JoinMethod) -> f64 {
        row.bead_mm
            .map_or_else(|| self.value(method, V::Bead), |bead| bead.0)
    }

    /// The group by this method.
    pub(super) fn making(
        &self,
        stack: &Stack<'_>,
        method: JoinMethod,
    ) -> Result<Making, Uncounted> {
        match method {
            JoinMethod::Adhesive => self.beads(stack),
            JoinMethod::Arc => self.seams(stack),
            JoinMethod::Rivet => self.rivets(stack),
            JoinMethod::Spot | JoinMethod::TapeSpot => self.spots(stack, method),
        }
    }

    /// Process, move, turns, care and stops as seconds of a joint.
    fn seconds(
        &self,
        stack: &Stack<'_>,
        (method, process, joints): (JoinMethod, Sourced<Seconds>, u32),
        care: &[(f64, f64)],
        refills: &[Refill],
    ) -> Result<Figure<JointSeconds>, Refusal> {
        let turn_every = match stack.row.turns {
            None => self
                .sourced(method, V::TurnEvery)
                .map(|every| Count(every.max(1.0))),
            Some(0) => Sourced::cell(Count(1.0), "joins", stack.row.at.row as usize, "turns"),
            Some(turns) => Sourced::cell(
                Count(f64::from(joints.max(1)) / f64::from(turns)),
                "joins",
                stack.row.at.row as usize,
                "turns",
            ),
        };
        let turn = match stack.row.turns {
            Some(0) => Sourced::from(Seconds(0.0)),
            _ => self.sourced(method, V::Turn).map(Seconds),
        };
        // The formula's lists have a member where there is nothing to spread.
        let nothing = (Seconds(0.0), Count(1.0));
        let mut cares: Vec<(Seconds, Count)> = care
            .iter()
            .map(|(every, seconds)| (Seconds(*seconds), Count(*every)))
            .collect();
        let mut stops: Vec<(Seconds, Count)> = refills
            .iter()
            .map(|refill| (Seconds(refill.seconds), Count(refill.every)))
            .collect();
        for spread in [&mut cares, &mut stops] {
            if spread.is_empty() {
                spread.push(nothing);
            }
        }
        let (care, care_every): (Vec<_>, Vec<_>) = cares.into_iter().unzip();
        let (stop, stop_every): (Vec<_>, Vec<_>) = stops.into_iter().unzip();
        joining::joint_seconds(
            process,
            self.sourced(method, V::Move).map(Seconds),
            turn,
            turn_every,
            care,
            care_every,
            stop,
            stop_every,
        )
    }

    fn rivets(&self, stack: &Stack<'_>) -> Result<Making, Uncounted> {
        let method = JoinMethod::Rivet;
        let joints = points(stack)?;
        let gaps = stack.row.gap_mm.map_or(0.0, |gap| gap.0);
        let glued = stack.row.adhesive_mm.is_some_and(|far| far.0 == 0.0);
        let total: f64 = stack.gauges.iter().sum::<f64>() + if glued { gaps } else { 0.0 };
        let length = joining::rivet_length(Millimetres(total))?.value.0;
        let life = self.value(method, V::DieLife);
        let refills = vec![
            Refill {
                cause: "rivet refill",
                every: self.value(method, V::Refill),
                seconds: self.value(method, V::RefillTime),
            },
            Refill {
                cause: "die and punch change",
                every: life,
                seconds: self.value(method, V::DieChange),
            },
        ];
        let process = self.sourced(method, V::Process).map(Seconds);
        let used = vec![
            used("rivets", "pieces", 1.0, self.value(method, V::RivetPrice)),
            used(
                "dies and punches",
                "pieces",
                1.0 / life,
                self.value(method, V::DiePrice) / life,
            ),
        ];
        Ok(Making {
            joints,
            variant: format!("rivet gun {} mm", (length - 1e-9).ceil()),
            seconds: self.seconds(stack, (method, process, joints), &[], &refills)?,
            refills,
            used,
        })
    }

    fn spots(&self, stack: &Stack<'_>, method: JoinMethod) -> Result<Making, Uncounted> {
        let joints = points(stack)?;
        let process = self.sourced(method, V::Process).map(Seconds);
        let (mut care, mut refills, mut uses) = (Vec::new(), Vec::new(), Vec::new());
        let variant = if method == JoinMethod::Spot {
            let every = self.value(method, V::DressEvery);
            let caps = every * self.value(method, V::DressesPerCap);
            care.push((every, self.value(method, V::Dress)));
            refills.push(Refill {
                cause: "cap change",
                every: caps,
                seconds: self.value(method, V::CapChange),
            });
            let price = self.value(method, V::CapPrice);
            uses.push(used("caps", "pairs", 1.0 / caps, price / caps));
            "spot gun"
        } else {
            care.push((1.0, self.value(method, V::TapeIndex)));
            let advance = self.value(method, V::TapeAdvance);
            let tape = joining::tape_use(Count(1.0), Millimetres(advance))?.value.0;
            refills.push(Refill {
                cause: "tape spool change",
                every: self.value(method, V::TapeSpool) * 2.0 / tape.max(1e-9),
                seconds: self.value(method, V::TapeChange),
            });
            uses.push(used(
                "tape",
                "m",
                tape,
                tape * self.value(method, V::TapePrice),
            ));
            "tape spot gun"
        };
        Ok(Making {
            joints,
            variant: variant.to_owned(),
            seconds: self.seconds(stack, (method, process, joints), &care, &refills)?,
            refills,
            used: uses,
        })
    }

    fn seams(&self, stack: &Stack<'_>) -> Result<Making, Uncounted> {
        let method = JoinMethod::Arc;
        let (joints, each_mm) = lengths(stack)?;
        let seam = joining::arc_seam(
            self.sourced(method, V::Wire).map(Millimetres),
            self.sourced(method, V::WireRatio).map(Share),
            self.sourced(method, V::WireYield).map(Share),
            self.sourced(method, V::WireDensity)
                .map(KilogramsPerCubicMetre),
            Metres(each_mm / 1000.0),
            self.sourced(method, V::Speed)
                .map(|mm_s| MetresPerMinute(mm_s * 0.06)),
            self.sourced(method, V::Gas).map(LitresPerMinute),
        )?
        .value;
        let (arc, kg) = (seam.time.0, seam.wire_mass.0 / 1000.0);
        let tips = self.value(method, V::TipEvery) / arc;
        let refills = vec![
            Refill {
                cause: "wire spool change",
                every: self.value(method, V::WireSpool) / kg,
                seconds: self.value(method, V::WireChange),
            },
            Refill {
                cause: "contact tip change",
                every: tips,
                seconds: self.value(method, V::TipChange),
            },
        ];
        let care = [(
            self.value(method, V::NozzleEvery) / arc,
            self.value(method, V::NozzleCare),
        )];
        let start = self.value(method, V::StartStop);
        let gas = seam.gas_used.0 / 1000.0;
        Ok(Making {
            joints,
            variant: "arc torch".to_owned(),
            seconds: self.seconds(
                stack,
                (method, Sourced::from(Seconds(arc + start)), joints),
                &care,
                &refills,
            )?,
            refills,
            used: vec![
                used("wire", "kg", kg, kg * self.value(method, V::WirePrice)),
                used("gas", "m3", gas, gas * self.value(method, V::GasPrice)),
                used(
                    "contact tips",
                    "pieces",
                    1.0 / tips,
                    self.value(method, V::TipPrice) / tips,
                ),
            ],
        })
    }

    fn beads(&self, stack: &Stack<'_>) -> Result<Making, Uncounted> {
        let method = JoinMethod::Adhesive;
        let (joints, each_mm) = lengths(stack)?;
        let diameter = self.bead(stack.row, method);
        let density = self.value(method, V::AdhesiveDensity);
        let bead = joining::adhesive_bead(
            Millimetres(diameter),
            Metres(each_mm / 1000.0),
            KilogramsPerCubicMetre(density),
            Millimetres(stack.row.gap_mm.map_or(0.25, |gap| gap.0.max(0.01))),
            self.sourced(method, V::Speed)
                .map(|mm_s| MetresPerSecond(mm_s / 1000.0)),
        )?
        .value;
        let kg = bead.mass.0 / 1000.0;
        let purge_every = self.value(method, V::PurgeEvery);
        let purged = self.value(method, V::Purge) * 1e-6 * density / purge_every;
        let refills = vec![Refill {
            cause: "adhesive drum change",
            every: self.value(method, V::Drum) / (kg + purged),
            seconds: self.value(method, V::DrumChange),
        }];
        let care = [(purge_every, self.value(method, V::PurgeTime))];
        let price = self.value(method, V::AdhesivePrice);
        let process = Sourced::from(Seconds(bead.time.0 + self.value(method, V::StartStop)));
        Ok(Making {
            joints,
            variant: format!("nozzle {diameter} mm"),
            seconds: self.seconds(stack, (method, process, joints), &care, &refills)?,
            refills,
            used: vec![
                used("adhesive", "kg", kg, kg * price),
                used("adhesive purged", "kg", purged, purged * price),
            ],
        })
    }
}

fn used(item: &'static str, unit: &'static str, amount: f64, money: f64) -> Used {
    Used {
        item,
        unit,
        amount,
        money,
    }
}

/// Points of a group: its count, or those that fit its length at its pitch.
fn points(stack: &Stack<'_>) -> Result<u32, Uncounted> {
    let row = stack.row;
    let by_length = row.length_mm.zip(row.pitch_mm);
    match (row.count, by_length) {
        // A count beside a length is that of its seams or beads.
        (Some(count), _) if !along(row.method) => Ok(count),
        (_, Some((length, pitch))) => {
            let margin = pitch * END_PITCHES;
            let fit = joining::flange_joints(length, margin, pitch)?;
            Ok(fit.value.joints.0 as u32)
        }
        _ => Err(Uncounted::NoCount),
    }
}

/// Whether a method runs along a line.
fn along(method: JoinMethod) -> bool {
    matches!(method, JoinMethod::Adhesive | JoinMethod::Arc)
}

/// Seams or beads of a group, and the length of each.
fn lengths(stack: &Stack<'_>) -> Result<(u32, f64), Uncounted> {
    let row = stack.row;
    let length = row.length_mm.ok_or(Uncounted::NoLength)?;
    let count = if along(row.method) {
        row.count.unwrap_or(1)
    } else {
        1
    }
    .max(1);
    Ok((count, length.0 / f64::from(count)))
}
