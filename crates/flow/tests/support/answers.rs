//! What our references say to each case: one arm a model.

use crate::support::Case;
use flow::statistics::{
    UpAndDown, ar1_variance_of_mean, mser5, output_sd, output_variance_rate, student_t_quantile,
};
use flow::theory::line::{Blocking, Line};
use flow::theory::merge::{Loading, Merge};
use flow::theory::queue::{self, OpenStation, Queue};
use flow::theory::slotted::{self, SlottedLine};
use flow::theory::{Refused, bowl, closed, crews, factory, fluid, rework, stops, tandem, transfer};

/// A computed figure: its name and its numbers in reading order.
pub(crate) type Answers = Vec<(&'static str, Vec<f64>)>;

/// The figures of a case; none where no reference applies.
pub(crate) fn answer(case: &Case) -> Option<Result<Answers, Refused>> {
    let answer: fn(&Case) -> Result<Answers, Refused> = match case.model.as_str() {
        "M/M/c" => mmc,
        "M/G/1" => mg1,
        "M/G/1 with stops" => mg1_with_stops,
        "effective process time" => effective_process_time,
        "batch arrivals" => batch_arrivals,
        "visits" => visits,
        "feedback queue" => feedback_queue,
        "main and repair" => main_and_repair,
        "capped repairs" => capped_repairs,
        "starts" => starts,
        "line" => line,
        "two stations" => two_stations,
        "best split" => best_split,
        "sensitivity" => sensitivity,
        "reversed line" => reversed_line,
        "merge" => merge,
        "merge and its line" => merge_and_its_line,
        "slotted line" => slotted_line,
        "storage without limit" => storage_without_limit,
        "in step" => in_step,
        "in step by the clock" => in_step,
        "Bernoulli line" => bernoulli_line,
        "fluid pair" => fluid_pair,
        "transfer line" => transfer_line,
        "loop" => cart_loop,
        "loop of fixed times" => loop_of_fixed_times,
        "loop with units" => loop_with_units,
        "repair crews" => repair_crews,
        "corridor" => corridor,
        "student t" => student_t,
        "ar1" => ar1,
        "mser5" => warm_up,
        "output variance" => output_variance,
        "fixed times" => fixed_times,
        _ => return None,
    };
    Some(answer(case))
}

fn one(name: &'static str, value: f64) -> Answers {
    vec![(name, vec![value])]
}

fn queue_figures(q: &Queue) -> Answers {
    vec![
        ("must wait", vec![q.must_wait]),
        ("waiting", vec![q.waiting]),
        ("jobs", vec![q.jobs]),
        ("wait", vec![q.wait]),
        ("time", vec![q.time]),
    ]
}

fn mmc(c: &Case) -> Result<Answers, Refused> {
    let (arrivals, rate) = (c.number("arrival_rate"), c.number("service_rate"));
    let mut out = queue_figures(&queue::mmc(arrivals, rate, c.whole("units"))?);
    if c.given.get("t").is_some() {
        let longer = queue::mm1_longer_than(arrivals, rate, c.number("t"))?;
        out.push(("longer than t", vec![longer]));
    }
    Ok(out)
}

fn mg1(c: &Case) -> Result<Answers, Refused> {
    let arrivals = c.number("arrival_rate");
    let queue = if c.number("scv") == 0.0 {
        queue::md1(arrivals, c.number("mean"))?
    } else {
        queue::mg1(arrivals, c.number("mean"), c.number("scv"))?
    };
    Ok(queue_figures(&queue))
}

fn effective(c: &Case) -> Result<stops::Effective, Refused> {
    let (mtbf, mttr) = (c.number("mtbf_s"), c.number("mttr_s"));
    stops::effective_process_time(c.number("cycle_s"), 0.0, mtbf, mttr, 1.0)
}

fn mg1_with_stops(c: &Case) -> Result<Answers, Refused> {
    let seen = effective(c)?;
    let arrivals = c.number("arrivals_per_h") / 3600.0;
    Ok(queue_figures(&queue::mg1(arrivals, seen.mean, seen.scv)?))
}

fn effective_process_time(c: &Case) -> Result<Answers, Refused> {
    let seen = effective(c)?;
    Ok(vec![
        ("mean", vec![seen.mean]),
        ("scv", vec![seen.scv]),
        ("availability", vec![seen.availability]),
    ])
}

fn batch_arrivals(c: &Case) -> Result<Answers, Refused> {
    let (rate, service) = (c.number("batch_rate"), c.number("service_rate"));
    Ok(queue_figures(&queue::batch_arrivals(
        c.whole("batch"),
        rate,
        service,
    )?))
}

fn visits(c: &Case) -> Result<Answers, Refused> {
    Ok(one("visits", rework::visits(c.number("again"))?))
}

fn feedback_queue(c: &Case) -> Result<Answers, Refused> {
    let network = queue::open_network(&[OpenStation {
        from_outside: c.number("arrival_rate"),
        service_rate: c.number("service_rate"),
        units: 1,
        goes_to: vec![c.number("again")],
    }])?;
    Ok(vec![
        ("jobs", vec![network.jobs]),
        ("time", vec![network.time]),
    ])
}

fn main_and_repair(c: &Case) -> Result<Answers, Refused> {
    let network = queue::open_network(&[
        OpenStation {
            from_outside: c.number("arrival_rate"),
            service_rate: c.number("main_rate"),
            units: 1,
            goes_to: vec![0.0, c.number("again")],
        },
        OpenStation {
            from_outside: 0.0,
            service_rate: c.number("repair_rate"),
            units: 1,
            goes_to: vec![1.0, 0.0],
        },
    ])?;
    Ok(vec![
        ("rate at main", vec![network.rates[0]]),
        ("rate at repair", vec![network.rates[1]]),
        ("jobs at main", vec![network.stations[0].jobs]),
        ("jobs at repair", vec![network.stations[1].jobs]),
        ("time", vec![network.time]),
    ])
}

fn capped_repairs(c: &Case) -> Result<Answers, Refused> {
    let seen = rework::capped(c.number("fail"), c.whole("repairs"))?;
    Ok(vec![
        ("good", vec![seen.good]),
        ("passes per start", vec![seen.passes_per_start]),
        ("passes per good", vec![seen.passes_per_good]),
        ("starts per good", vec![seen.starts_per_good]),
    ])
}

fn starts(c: &Case) -> Result<Answers, Refused> {
    let starts = rework::starts(c.number("good"), &c.list("yields"))?;
    Ok(one("starts", starts))
}

fn line_of(c: &Case) -> Line {
    let phases = c.given["phases"].as_u64().unwrap_or(1) as u16;
    let means: Vec<f64> = c.list("rates").iter().map(|rate| 1.0 / rate).collect();
    let line = Line::of_means(means, phases, &c.wholes("places"));
    match c.given["blocking"].as_str() {
        Some("before service") => line.blocked_before_service(),
        _ => line,
    }
}

fn line(c: &Case) -> Result<Answers, Refused> {
    let seen = line_of(c).figures()?;
    if c.given.get("states").is_some() {
        // The known count may hold start states that are never seen again.
        assert!(seen.states <= c.whole("states") as usize, "{}", c.name);
    }
    let (above, below) = nearest_fraction(seen.throughput);
    Ok(vec![
        ("throughput", vec![seen.throughput]),
        ("throughput as a fraction", vec![above, below]),
        ("jobs", vec![seen.jobs]),
        ("busy", seen.busy),
        ("blocked", seen.blocked),
        ("starved", seen.starved),
        ("waiting", seen.waiting),
    ])
}

/// The first continued fraction that meets `x` to 1e-13. Two fractions with
/// denominators below a million differ by more, so where a small one exists
/// this finds it exactly.
fn nearest_fraction(x: f64) -> (f64, f64) {
    let (mut above, mut below) = ((1.0, 0.0), (0.0, 1.0));
    let mut rest = x;
    for _ in 0..20 {
        let whole = rest.floor();
        above = (whole * above.0 + above.1, above.0);
        below = (whole * below.0 + below.1, below.0);
        if (above.0 / below.0 - x).abs() < 1e-13 {
            break;
        }
        rest = 1.0 / (rest - whole);
    }
    (above.0, below.0)
}

fn two_stations(c: &Case) -> Result<Answers, Refused> {
    let rates = c.list("rates");
    let out = flow::theory::line::two_stations(rates[0], rates[1], c.wholes("places")[0])?;
    Ok(one("throughput", out))
}

fn best_split(c: &Case) -> Result<Answers, Refused> {
    let best = bowl::best_split(&line_of(c))?;
    Ok(vec![
        ("means", best.means),
        ("throughput", vec![best.throughput]),
    ])
}

fn sensitivity(c: &Case) -> Result<Answers, Refused> {
    Ok(vec![
        ("gradient by mean time", line_of(c).gradient()?),
        ("gain of one more place", line_of(c).gain_of_places()?),
    ])
}

fn reversed_line(c: &Case) -> Result<Answers, Refused> {
    let there = line_of(c).throughput()?;
    let back = line_of(c).reversed().throughput()?;
    Ok(one("difference", there - back))
}

fn merge_of(c: &Case) -> Merge {
    Merge {
        feeders: c.list("feeders"),
        places: c.wholes("places"),
        assembly: c.number("assembly"),
        loading: match c.given["loading"].as_str() {
            Some("together") => Loading::Together,
            _ => Loading::AsTheyCome,
        },
    }
}

fn merge(c: &Case) -> Result<Answers, Refused> {
    let seen = merge_of(c).figures()?;
    Ok(vec![
        ("throughput", vec![seen.throughput]),
        ("feeder 1 blocked", vec![seen.blocked[0]]),
        ("feeder 2 blocked", vec![seen.blocked[1]]),
        ("waits for kind 1", vec![seen.waits_for[0]]),
        ("waits for kind 2", vec![seen.waits_for[1]]),
    ])
}

fn merge_and_its_line(c: &Case) -> Result<Answers, Refused> {
    let merge = merge_of(c);
    let rates = [merge.feeders[0], merge.assembly, merge.feeders[1]];
    let places: Vec<u16> = merge.places.iter().map(|places| places + 2).collect();
    let line = Line::exponential(&rates, &places).blocked_before_service();
    let difference = merge.figures()?.throughput - line.throughput()?;
    Ok(one("difference", difference))
}

fn slotted_line(c: &Case) -> Result<Answers, Refused> {
    let line = SlottedLine {
        repair: c.list("repair"),
        fail: c.list("fail"),
        storage: c.wholes("storage"),
    };
    let seen = line.figures()?;
    if c.given.get("states").is_some() {
        // The known count may hold start states that are never seen again.
        assert!(seen.states <= c.whole("states") as usize, "{}", c.name);
    }
    Ok(vec![
        ("rate", vec![seen.rate]),
        ("content", vec![seen.content[0]]),
        ("starved", vec![seen.starved[1]]),
        ("blocked", vec![seen.blocked[0]]),
    ])
}

fn storage_without_limit(c: &Case) -> Result<Answers, Refused> {
    let alone = c
        .list("repair")
        .iter()
        .zip(c.list("fail"))
        .map(|(&r, p)| stops::in_step_by_clock(&[r], &[p]))
        .collect::<Result<Vec<f64>, _>>()?;
    Ok(one("rate", alone.into_iter().fold(f64::INFINITY, f64::min)))
}

fn in_step(c: &Case) -> Result<Answers, Refused> {
    let machines = c.whole("machines") as usize;
    let repair = vec![c.number("repair"); machines];
    let fail = vec![c.number("fail"); machines];
    let rate = match c.model.as_str() {
        "in step" => stops::in_step(&repair, &fail)?,
        _ => stops::in_step_by_clock(&repair, &fail)?,
    };
    Ok(one("rate", rate))
}

fn bernoulli_line(c: &Case) -> Result<Answers, Refused> {
    let rate = slotted::bernoulli_line(&c.list("up"), &c.wholes("storage"))?;
    Ok(one("rate", rate))
}

fn fluid_pair(c: &Case) -> Result<Answers, Refused> {
    let machine = |i: usize| fluid::FluidMachine {
        speed: c.list("speeds")[i],
        fail: c.list("fail")[i],
        repair: c.list("repair")[i],
    };
    let seen = fluid::two_machines(&machine(0), &machine(1), c.number("size"))?;
    Ok(vec![
        ("throughput", vec![seen.throughput]),
        ("level", vec![seen.level]),
        ("starved", vec![seen.starved]),
        ("blocked", vec![seen.blocked]),
    ])
}

fn transfer_line(c: &Case) -> Result<Answers, Refused> {
    let (cycle, repair) = (c.number("cycle"), c.number("repair"));
    let share = match c.given["repairs"].as_str() {
        None => transfer::efficiency(c.number("stops_per_stage"), cycle, repair)?,
        Some(repairs) => {
            let line = transfer::TwoStages {
                stops_1: c.list("stops")[0],
                stops_2: c.list("stops")[1],
                cycle,
                repair,
            };
            let repairs = match repairs {
                "constant" => transfer::Repairs::Constant,
                _ => transfer::Repairs::Geometric,
            };
            line.efficiency(c.whole("places"), repairs)?
        }
    };
    Ok(one("efficiency", share))
}

fn loop_figures(seen: closed::LoopFigures) -> Answers {
    vec![
        ("throughput", vec![seen.throughput]),
        ("time", vec![seen.time]),
        ("at station", seen.at_station),
    ]
}

fn cart_loop(c: &Case) -> Result<Answers, Refused> {
    let (travel, carts) = (c.number("travel"), c.whole("carts"));
    Ok(loop_figures(closed::mean_values(
        &c.list("times"),
        travel,
        carts,
    )?))
}

fn loop_of_fixed_times(c: &Case) -> Result<Answers, Refused> {
    let (travel, carts) = (c.number("travel"), c.whole("carts"));
    let rate = closed::fixed_times(&c.list("times"), travel, carts)?;
    Ok(one("throughput", rate))
}

fn loop_with_units(c: &Case) -> Result<Answers, Refused> {
    let stations: Vec<closed::LoopStation> = c
        .list("times")
        .iter()
        .zip(c.wholes("units"))
        .map(|(&demand, units)| closed::LoopStation {
            demand,
            units: u32::from(units),
        })
        .collect();
    Ok(loop_figures(closed::convolution(
        &stations,
        0.0,
        c.whole("carts"),
    )?))
}

fn repair_crews(c: &Case) -> Result<Answers, Refused> {
    let (mtbf, mttr) = (c.number("mtbf"), c.number("mttr"));
    let seen = crews::share_crews(c.whole("machines"), mtbf, mttr, c.whole("crews"))?;
    Ok(vec![
        ("availability", vec![seen.availability]),
        ("down", vec![seen.down]),
        ("waiting", vec![seen.waiting]),
        ("wait", vec![seen.wait]),
        ("crew busy", vec![seen.crew_busy]),
    ])
}

fn corridor(c: &Case) -> Result<Answers, Refused> {
    let line = factory::Corridor::new(c.number("bottleneck_rate"), c.number("raw_time"))?;
    let mut out = one("critical jobs", line.critical_jobs());
    if c.given.get("jobs").is_some() {
        let jobs = c.number("jobs");
        let (best, worst) = (line.best(jobs), line.worst(jobs));
        let practical = line.practical_worst(jobs);
        out.extend([
            ("best throughput", vec![best.throughput]),
            ("best time", vec![best.time]),
            ("worst throughput", vec![worst.throughput]),
            ("worst time", vec![worst.time]),
            ("practical worst throughput", vec![practical.throughput]),
            ("practical worst time", vec![practical.time]),
        ]);
    }
    Ok(out)
}

fn student_t(c: &Case) -> Result<Answers, Refused> {
    let t = student_t_quantile(c.number("p"), c.number("degrees"));
    Ok(one("quantile", t))
}

fn ar1(c: &Case) -> Result<Answers, Refused> {
    let n = u64::from(c.whole("n"));
    let variance = ar1_variance_of_mean(c.number("phi"), n, c.number("innovation_sd"));
    Ok(one("variance of the mean", variance))
}

fn warm_up(c: &Case) -> Result<Answers, Refused> {
    let (bias, tau, phi) = (c.number("bias"), c.number("tau"), c.number("phi"));
    let mut stream = SplitMix(u64::from(c.whole("seed")));
    let mut e = 0.0;
    let series: Vec<f64> = (0..c.whole("n"))
        .map(|t| {
            let (u, v) = (stream.next(), stream.next());
            let turn = libm::cos(2.0 * std::f64::consts::PI * v);
            e = phi * e + (-2.0 * libm::log(u)).sqrt() * turn;
            10.0 + bias * libm::exp(-f64::from(t) / tau) + e
        })
        .collect();
    let cut = mser5(&series).unwrap();
    Ok(vec![("cut", vec![cut.at as f64]), ("mean", vec![cut.mean])])
}

/// splitmix64 (Steele, Lea & Flood 2014, from memory), to the open unit
/// interval; written here once more so that the check does not lean on the
/// engine's own streams.
struct SplitMix(u64);

impl SplitMix {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
        ((z >> 11) as f64 + 0.5) / 9_007_199_254_740_992.0
    }
}

fn output_variance(c: &Case) -> Result<Answers, Refused> {
    let machine = UpAndDown {
        mtbf_s: c.number("mtbf_s"),
        up_scv: 1.0,
        mttr_s: c.number("mttr_s"),
        down_scv: 1.0,
        cycle_s: c.number("cycle_s"),
    };
    let month = 30.0 * 86_400.0;
    Ok(vec![
        ("variance rate", vec![output_variance_rate(&machine)]),
        ("sd of 30 days", vec![output_sd(&machine, month)]),
    ])
}

fn fixed_times(c: &Case) -> Result<Answers, Refused> {
    let times: Vec<Vec<f64>> = c.given["times"]
        .as_array()
        .into_iter()
        .flatten()
        .map(crate::support::numbers)
        .collect();
    let blocking = match c.given["blocking"].as_str() {
        Some("before service") => Blocking::BeforeService,
        _ => Blocking::AfterService,
    };
    let out = tandem::departures(&times, c.whole("places") as usize, blocking)?;
    Ok(vec![(
        "departures",
        out.into_iter().flatten().collect::<Vec<f64>>(),
    )])
}
