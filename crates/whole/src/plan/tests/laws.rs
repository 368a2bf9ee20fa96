//! Laws that hold for every plan.

use proptest::prelude::*;

use super::{near, planned, value};
use crate::plan::RatePlan;

fn loop_of(cars: f64, oks: (f64, f64), scrap: f64) -> RatePlan {
    planned(&format!(
        "[shifts]
        shop,shift,days,start,end
        body,night,mon-fri,22:00,06:00
        [products]
        product,cars_per_week
        van,{cars}
        [stations]
        station,shop,cycle_s,first_time_ok,rework_to,scrap,source
        weld,body,50,{},mend,{scrap},yes
        check,body,40,{},weld,0,
        mend,body,60,1,,0,
        [links]
        from,to
        weld,check
        weld,mend
        check,weld
        mend,check",
        oks.0, oks.1
    ))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn twice_the_cars_halve_takt_and_double_every_load(
        cars in 1.0..2_000.0f64, a in 0.5..1.0f64, b in 0.5..1.0f64, scrap in 0.0..0.3f64,
    ) {
        let (one, two) = (loop_of(cars, (a, b), scrap), loop_of(2.0 * cars, (a, b), scrap));
        prop_assert!(near(value(&one.shops[0].takt_s), 2.0 * value(&two.shops[0].takt_s)));
        for (one, two) in one.stations.iter().zip(&two.stations) {
            prop_assert!(near(two.load.value, 2.0 * one.load.value) || one.load.value == 0.0);
        }
        prop_assert!(near(value(&one.capable), value(&two.capable)));
    }

    #[test]
    fn better_work_never_loads_a_station_more(
        a in 0.5..1.0f64, b in 0.5..1.0f64, gain in 0.0..1.0f64, scrap in 0.0..0.3f64,
    ) {
        let before = loop_of(500.0, (a, b), scrap);
        let after = loop_of(500.0, (a + (1.0 - a) * gain, b), scrap);
        for (before, after) in before.stations.iter().zip(&after.stations) {
            prop_assert!(after.load.value <= before.load.value + 1e-9);
        }
    }
}
