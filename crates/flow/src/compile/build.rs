//! A sound network made into a plan.

use crate::distribution::Sampler;
use crate::model::{Gives, Lots, Network, Release, Station, Stop, Takes, Work};
use crate::plan::{
    Carriers, Each, Intake, ItemPlan, LotsPlan, NONE, Outlets, PartPlan, Plan, Pool, QualityPlan,
    ReleasePlan, Released, StopPlan, Way,
};

pub(super) fn build(network: &Network) -> Plan {
    let classes = network.classes.len().max(1);
    let stations = network.stations.len();
    let mut links: Vec<Way> = network
        .links
        .iter()
        .map(|link| Way::new(link.from.0, link.to.0, link.holds, link.move_s))
        .collect();
    for (i, arrival) in network.arrivals.iter().enumerate() {
        links.push(Way::new(
            (stations + i) as u32,
            arrival.station.0,
            None,
            0.0,
        ));
    }
    for station in &network.stations {
        if let Work::Lots(lots) = &station.work {
            for item in &lots.items {
                links[item.to.at()].watched = true;
            }
        }
    }
    let mut pools = Vec::with_capacity(stations + network.arrivals.len());
    let mut first_unit = 0;
    let mut capped = 0;
    for (at, station) in network.stations.iter().enumerate() {
        pools.push(pool(network, at, station, first_unit, &mut capped, classes));
        first_unit += station.units;
    }
    for (i, arrival) in network.arrivals.iter().enumerate() {
        pools.push(arrival_pool(network, i, arrival, first_unit));
        first_unit += 1;
    }
    mark_whole(&mut pools, &links);
    Plan {
        station_count: stations,
        unit_count: first_unit as usize,
        link_count: network.links.len(),
        fleets: network
            .fleets
            .iter()
            .map(|f| Carriers {
                count: f.count,
                return_time: crate::clock::ticks(f.return_s),
            })
            .collect(),
        crews: network.crews.iter().map(|c| c.count).collect(),
        calendars: network.calendars.clone(),
        class_names: if network.classes.is_empty() {
            vec!["job".to_owned()]
        } else {
            network.classes.clone()
        },
        capped,
        pools,
        links,
    }
}

/// Marks the pools whose jobs may themselves leave for good, from the ways out
/// back against the flow, past no place where a job becomes part of another.
fn mark_whole(pools: &mut [Pool], links: &[Way]) {
    let mut into: Vec<Vec<usize>> = vec![Vec::new(); pools.len()];
    for (from, pool) in pools.iter().enumerate() {
        for link in pool.onward() {
            let to = links[link as usize].to_pool as usize;
            if !pools[to].joins(link) {
                into[to].push(from);
            }
        }
    }
    let leaves = |pool: &Pool| matches!(pool.outlets, Outlets::Leave) && pool.lots.is_none();
    let mut back: Vec<usize> = (0..pools.len()).filter(|&p| leaves(&pools[p])).collect();
    while let Some(at) = back.pop() {
        if !std::mem::replace(&mut pools[at].whole, true) {
            back.extend(&into[at]);
        }
    }
}

fn arrival_pool(
    network: &Network,
    i: usize,
    arrival: &crate::model::Arrival,
    first_unit: u32,
) -> Pool {
    Pool {
        name: format!(
            "arrival {i} at {}",
            network.stations[arrival.station.at()].name
        ),
        first_unit,
        units: 1,
        intake: Intake::Released(Released::fresh(release_plan(&Release::Mix(
            arrival.mix.clone(),
        )))),
        samplers: vec![Sampler::new(&arrival.between)],
        of_class: Vec::new(),
        stops: Vec::new(),
        wear: 1.0,
        calendar: NONE,
        outlets: Outlets::One((network.links.len() + i) as u32),
        quality: QualityPlan::perfect(),
        takes_carrier: Vec::new(),
        returns_carrier: Vec::new(),
        lots: None,
        batch: arrival.batch,
        arrival: true,
        whole: false,
    }
}

impl QualityPlan {
    fn perfect() -> Self {
        Self {
            perfect: true,
            first_time_ok: 1.0,
            scrap: 0.0,
            rework: NONE,
            attempts: u32::MAX,
            counter: 0,
            later: None,
        }
    }
}

fn class_mask(classes: usize, open: &[crate::model::ClassIdx]) -> Vec<bool> {
    if open.is_empty() {
        return Vec::new();
    }
    (0..classes)
        .map(|c| open.iter().any(|o| o.at() == c))
        .collect()
}

fn release_plan(release: &Release) -> ReleasePlan {
    match release {
        Release::Mix(shares) => {
            let total: f64 = shares.iter().sum();
            let mut sum = 0.0;
            ReleasePlan::Mix(
                shares
                    .iter()
                    .map(|s| {
                        sum += s / total;
                        sum
                    })
                    .collect(),
            )
        }
        Release::Order(order) => ReleasePlan::Order(order.iter().map(|c| c.0 as u16).collect()),
    }
}

fn pool(
    network: &Network,
    at: usize,
    station: &Station,
    first_unit: u32,
    capped: &mut u32,
    classes: usize,
) -> Pool {
    let quality = quality(station, capped);
    let (samplers, of_class, lots) = match &station.work {
        Work::Cycle(cycles) => (
            cycles.distributions.iter().map(Sampler::new).collect(),
            cycles.of_class.clone(),
            None,
        ),
        Work::Lots(lots) => (Vec::new(), Vec::new(), Some(lots_plan(network, lots))),
    };
    let intake = if lots.is_some() {
        Intake::Lots
    } else {
        intake(network, at, station, classes)
    };
    let outlets = outlets(network, at, station, classes);
    let fleet_at = |taken: bool| -> Vec<u32> {
        (0_u32..)
            .zip(&network.fleets)
            .filter(|(_, f)| {
                if taken {
                    f.taken_at.at() == at
                } else {
                    f.returned_at.at() == at
                }
            })
            .map(|(i, _)| i)
            .collect()
    };
    let stops = station.stops.iter().map(stop).collect();
    let takes_carrier = fleet_at(true);
    Pool {
        name: station.name.clone(),
        first_unit,
        units: station.units,
        intake,
        samplers,
        of_class,
        stops,
        wear: station.wear,
        calendar: station.calendar.map_or(NONE, |c| c.0),
        outlets,
        quality,
        takes_carrier,
        returns_carrier: fleet_at(false),
        lots,
        batch: 1,
        arrival: false,
        whole: false,
    }
}

fn quality(station: &Station, capped: &mut u32) -> QualityPlan {
    let own = &station.quality;
    let counter = *capped;
    if own.attempts.is_some() {
        *capped += 1;
    }
    QualityPlan {
        perfect: own.first_time_ok >= 1.0 && own.scrap <= 0.0,
        first_time_ok: own.first_time_ok,
        scrap: own.scrap,
        rework: own.rework.map_or(NONE, |link| link.0),
        attempts: own.attempts.unwrap_or(u32::MAX),
        counter,
        later: None,
    }
}

fn stop(stop: &Stop) -> StopPlan {
    StopPlan {
        cause: stop.cause.clone(),
        basis: stop.basis,
        between: Sampler::new(&stop.between),
        repair: Sampler::new(&stop.repair),
        crew: stop.crew.map_or(NONE, |crew| crew.0),
        in_breaks: stop.in_breaks,
        shared: None,
    }
}

fn lots_plan(network: &Network, lots: &Lots) -> LotsPlan {
    let reachable = |link: crate::model::LinkIdx| -> u32 {
        // The most material that can ever lie before the station: what the
        // link holds, or what the station above refills up to.
        let way = &network.links[link.at()];
        let holds = way.holds.unwrap_or(u32::MAX);
        match &network.stations[way.from.at()].work {
            Work::Lots(above) => above
                .items
                .iter()
                .filter(|item| item.to == link)
                .map(|item| item.lot.saturating_add(item.start_below))
                .min()
                .map_or(holds, |most| most.min(holds)),
            Work::Cycle(_) => holds,
        }
    };
    LotsPlan {
        items: lots
            .items
            .iter()
            .map(|item| ItemPlan {
                class: u16::try_from(item.class.0).unwrap_or(0),
                from: item.from.map_or(NONE, |l| l.0),
                to: item.to.0,
                cycle: Sampler::new(&item.cycle),
                piece_h: item.cycle.mean() / 3_600.0,
                scrap: item.scrap,
                lot: item.lot,
                start_below: item.start_below,
                drawn_per_hour: item.drawn_per_hour.max(1e-9),
                at_start: item.at_start,
                born_here: item.born_here,
                needed_at_once: network.links[item.to.at()].needs,
                material: item.from.map_or(0, |l| item.lot.min(reachable(l))),
            })
            .collect(),
        changeover: Sampler::new(&lots.changeover),
        rule: lots.rule.clone(),
        changeover_h: lots.changeover.mean() / 3_600.0,
    }
}

/// The link over which a station sends jobs back to itself, if it does its own
/// rework. It feeds the station with nothing new.
pub(super) fn own_rework(network: &Network, at: usize) -> Option<usize> {
    let back = network.stations.get(at)?.quality.rework?.at();
    let link = network.links.get(back)?;
    (link.from.at() == at && link.to.at() == at).then_some(back)
}

fn intake(network: &Network, at: usize, station: &Station, classes: usize) -> Intake {
    let mut incoming: Vec<u32> = (0_u32..)
        .zip(&network.links)
        .filter(|(_, l)| l.to.at() == at)
        .map(|(i, _)| i)
        .collect();
    let none = || ReleasePlan::Mix(Vec::new());
    if station.takes == Takes::Any {
        for (i, arrival) in network.arrivals.iter().enumerate() {
            if arrival.station.at() == at {
                incoming.push((network.links.len() + i) as u32);
            }
        }
        let own = own_rework(network, at);
        return match incoming.as_slice() {
            [] => Intake::Released(Released::fresh(
                station.release.as_ref().map_or_else(none, release_plan),
            )),
            [one] if own == Some(*one as usize) => Intake::Released(Released {
                plan: station.release.as_ref().map_or_else(none, release_plan),
                back: *one,
            }),
            [one] => Intake::Link(*one),
            _ => Intake::Any(incoming),
        };
    }
    let release = station.release.as_ref().map(release_plan);
    if incoming.is_empty() {
        return Intake::Released(Released::fresh(release.unwrap_or_else(none)));
    }
    let main = if release.is_some() {
        NONE
    } else {
        incoming.remove(0)
    };
    let parts: Vec<PartPlan> = incoming
        .into_iter()
        .map(|link| {
            let model = &network.links[link as usize];
            PartPlan {
                link,
                needs: model.needs,
                classes: class_mask(classes, &model.needed_for),
            }
        })
        .collect();
    if parts.is_empty() {
        return if main == NONE {
            Intake::Released(Released::fresh(release.unwrap_or_else(none)))
        } else {
            Intake::Link(main)
        };
    }
    Intake::Each(Each {
        main,
        release,
        parts,
        as_they_come: station.takes == Takes::OneOfEachAsTheyCome,
    })
}

fn outlets(network: &Network, at: usize, station: &Station, classes: usize) -> Outlets {
    let ways: Vec<(u32, f64, Vec<bool>)> = (0_u32..)
        .zip(&network.links)
        .filter(|(i, l)| l.from.at() == at && station.quality.rework.is_none_or(|r| r.0 != *i))
        .map(|(i, l)| (i, l.share, class_mask(classes, &l.classes)))
        .collect();
    match ways.as_slice() {
        [] => Outlets::Leave,
        [(one, _, mask)] if mask.is_empty() => Outlets::One(*one),
        _ if station.gives == Gives::OneToEach => Outlets::Each(ways.iter().map(|w| w.0).collect()),
        _ => Outlets::Share(ways),
    }
}
