//! A robot that changes tools.

use balance::Watch;
use balance::cell::{Cell, Job, OpenTime, nearest_plan, plan_cell, timed};
use proptest::prelude::*;

use crate::{orders, work};

fn cell() -> impl Strategy<Value = Cell> {
    let tools = prop::collection::vec(prop::option::weighted(0.8, 0_usize..3), 5);
    (
        work(2..6, 9),
        tools,
        1_u32..6,
        8_u32..40,
        0_u32..6,
        any::<bool>(),
    )
        .prop_map(|(work, tools, change, open, stop, bead)| {
            let jobs: Vec<Job> = (0..work.ticks.len())
                .map(|job| Job {
                    ticks: work.ticks[job],
                    tool: tools[job],
                    after: work.after[job].clone(),
                })
                .collect();
            let open_times = match bead {
                true => vec![OpenTime {
                    from: 0,
                    to: jobs.len() - 1,
                    ticks: open,
                }],
                false => vec![],
            };
            let mut cell = Cell {
                jobs,
                change,
                open_times,
                stop,
                cars: 1,
            };
            if bead {
                let last = cell.jobs.len() - 1;
                if !cell.jobs[last].after.contains(&0) {
                    cell.jobs[last].after.push(0);
                }
            }
            cell
        })
}

fn least_by_all(cell: &Cell) -> Option<u64> {
    let jobs: Vec<usize> = (0..cell.jobs.len()).collect();
    let all = orders(&jobs).into_iter().filter_map(|order| {
        let kept = order.iter().enumerate().all(|(at, job)| {
            order[at..]
                .iter()
                .all(|later| !cell.jobs[*job].after.contains(later))
        });
        if !kept {
            return None;
        }
        let steps = timed(cell, &order.iter().map(|job| (*job, 0)).collect::<Vec<_>>());
        let of = |job: usize| steps.iter().find(|step| step.job == job).unwrap();
        let open = cell.open_times.iter().all(|open| {
            of(open.to).end - of(open.from).start + u64::from(cell.stop) <= u64::from(open.ticks)
        });
        let tools: Vec<usize> = order
            .iter()
            .filter_map(|job| cell.jobs[*job].tool)
            .collect();
        let back = tools.first() != tools.last();
        let ticks = steps.last().unwrap().end + if back { u64::from(cell.change) } else { 0 };
        open.then_some(ticks)
    });
    all.min()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn the_cell_takes_no_longer_than_the_best_order(cell in cell()) {
        let plan = plan_cell(&cell, 1_000_000, &Watch::none());
        let least = least_by_all(&cell);
        match plan {
            Ok(plan) => {
                prop_assert_eq!(Some(plan.ticks), least);
                prop_assert!(plan.proven);
                for kept in &plan.kept {
                    prop_assert!(kept.margin >= u64::from(cell.stop));
                }
            }
            Err(_) => prop_assert_eq!(least, None),
        }
    }
}

#[test]
fn a_bead_that_no_order_closes_in_time_is_named_with_the_shortest_path() {
    let job = |ticks, after| Job {
        ticks,
        tool: None,
        after,
    };
    let cell = Cell {
        jobs: vec![job(20, vec![]), job(15, vec![0]), job(30, vec![1])],
        change: 0,
        open_times: vec![OpenTime {
            from: 0,
            to: 1,
            ticks: 90,
        }],
        stop: 60,
        cars: 1,
    };
    let refused = plan_cell(&cell, 1_000, &Watch::none()).unwrap_err();
    let named = balance::Fault::OpenTooShort {
        from: 0,
        to: 1,
        open: 90,
        stop: 60,
        path: 35,
    };
    assert_eq!(refused, vec![named]);
    let nearest = nearest_plan(&cell, 1_000, &Watch::none()).unwrap();
    assert_eq!((nearest.ticks, nearest.kept[0].path), (65, 35));
}
