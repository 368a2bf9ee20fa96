use flow::stream::Stream;
use proptest::prelude::*;

use super::*;

/// NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3: ten failed, ten
/// survived 500 h.
fn nist() -> Times {
    Times {
        ended: vec![
            54.0, 187.0, 216.0, 240.0, 244.0, 335.0, 361.0, 373.0, 375.0, 386.0,
        ],
        cut: vec![500.0; 10],
        ..Times::default()
    }
}

fn close(found: f64, published: f64, within: f64) {
    assert!(
        (found - published).abs() <= within,
        "{found} against {published}"
    );
}

#[test]
fn nists_weibull_case_comes_out() {
    // The handbook gives 1.7208, 606.5280, -75.135, 154.27, mean 540.737.
    let fit = fit(&nist(), &Family::ALL, 0.95);
    let weibull = fit.family(Family::Weibull).unwrap();
    close(weibull.shape.value, 1.7208, 5e-5);
    close(weibull.scale.value, 606.528, 5e-4);
    close(weibull.log_likelihood, -75.135, 5e-4);
    close(weibull.aic, 154.27, 5e-3);
    close(weibull.mean.value, 540.737, 5e-4);
    assert_eq!(fit.best().unwrap().family, Family::Weibull);
}

#[test]
fn nists_lognormal_case_comes_out() {
    // AIC 154.39 is the handbook's; mu 6.226 and sigma 0.90891 computed with
    // SciPy, as `checks/check_fit_scipy.py` does.
    let fit = fit(&nist(), &Family::ALL, 0.95);
    let lognormal = fit.family(Family::Lognormal).unwrap();
    close(lognormal.aic, 154.39, 5e-3);
    close(libm::log(lognormal.scale.value), 6.226, 5e-4);
    close(lognormal.shape.value, 0.90891, 5e-5);
}

#[test]
fn the_exponential_case_has_its_chi_square_limits() {
    // Total 7771 h, ten failures: the limits computed with SciPy.
    let times = nist();
    let fitted = fit(&times, &[Family::Exponential], 0.9);
    close(fitted.families[0].mean.value, 777.1, 1e-9);
    close(fitted.families[0].log_likelihood, -76.556, 5e-4);
    let exact = exact_exponential(times.total(), 10, 0.9);
    close(exact.low, 458.136, 5e-4);
    close(exact.high, 1432.34, 5e-3);
    assert!(fitted.families[0].mean.low > exact.low && fitted.families[0].mean.high < exact.high);
    assert_eq!(exact_exponential(100.0, 0, 0.9).high, f64::INFINITY);
}

#[test]
fn the_ball_bearings_come_out() {
    // Lieblein and Zelen, J. Res. NBS 57, 1956 (data from memory); usual fit
    // 2.10 and 81.9 million revolutions.
    let times = Times {
        ended: vec![
            17.88, 28.92, 33.0, 41.52, 42.12, 45.6, 48.48, 51.84, 51.96, 54.12, 55.56, 67.8, 68.64,
            68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.4,
        ],
        ..Times::default()
    };
    let fit = fit(&times, &Family::ALL, 0.95);
    let weibull = fit.family(Family::Weibull).unwrap();
    close(weibull.shape.value, 2.1021, 5e-5);
    close(weibull.scale.value, 81.8783, 5e-4);
    let lognormal = fit.family(Family::Lognormal).unwrap();
    close(libm::log(lognormal.scale.value), 4.1505, 5e-5);
    close(lognormal.shape.value, 0.52165, 5e-5);
    assert!(weibull.goodness.unwrap().p.unwrap() > 0.2);
    let exponential = fit.family(Family::Exponential).unwrap();
    assert!(
        exponential.goodness.unwrap().p.unwrap() < 0.01,
        "{:?}",
        exponential.goodness
    );
}

#[test]
fn repair_times_are_skewed() {
    // Mean 15.5 min, median 12: computed with SciPy.
    let times = Times {
        ended: vec![4.0, 6.0, 7.0, 9.0, 11.0, 12.0, 15.0, 18.0, 25.0, 48.0],
        ..Times::default()
    };
    let fit = fit(&times, &Family::ALL, 0.95);
    let lognormal = fit.family(Family::Lognormal).unwrap();
    close(libm::log(lognormal.scale.value), 2.48925, 5e-6);
    close(lognormal.shape.value, 0.688678, 5e-7);
    close(lognormal.median, 12.0522, 5e-5);
    close(lognormal.mean.value, 15.2776, 5e-5);
    assert!(lognormal.mean.holds(15.5));
}

#[test]
fn stops_that_come_closer_together_show() {
    let even = Course {
        stops: 10,
        total: 1_000.0,
        when_sum: 5_000.0,
        when_log: 10.0 * (libm::log(1_000.0) - 1.0),
        ends_with_stop: false,
    };
    assert!(trend([even]).unwrap().even(0.05));
    // All in the last tenth of the time.
    let late = Course {
        when_sum: 9_500.0,
        when_log: 10.0 * libm::log(950.0),
        ..even
    };
    let found = trend([late]).unwrap();
    assert!(found.laplace > 3.0 && !found.even(0.01));
    assert!(trend([Course { stops: 3, ..even }]).is_none());
}

/// How many of 100 records of even stops, drawn by `course`, either test calls
/// uneven at 5 %.
fn alarms(course: impl Fn(&mut Stream) -> Course) -> [f64; 2] {
    const RECORDS: u32 = 4_000;
    let mut alarms = [0.0; 2];
    for record in 0..RECORDS {
        let mut luck = Stream::keyed(7, record, "stops", "trend");
        let found = trend([course(&mut luck)]).unwrap();
        alarms[0] += f64::from(u8::from(found.laplace_p <= 0.05));
        alarms[1] += f64::from(u8::from(found.handbook_p <= 0.05));
    }
    alarms.map(|n| 100.0 * n / f64::from(RECORDS))
}

#[test]
fn a_record_that_ends_with_a_stop_raises_no_more_alarms_than_it_may() {
    for stops in [4_u64, 5, 8, 20] {
        let found = alarms(|luck| {
            let (mut at, mut when_sum, mut when_log) = (0.0, 0.0, 0.0);
            for _ in 0..stops {
                at -= libm::log(luck.uniform());
                when_sum += at;
                when_log += libm::log(at);
            }
            Course {
                stops,
                total: at,
                when_sum,
                when_log,
                ends_with_stop: true,
            }
        });
        for share in found {
            assert!((3.8..=6.2).contains(&share), "{stops} stops: {found:?}");
        }
    }
}

#[test]
fn times_one_after_the_other_that_end_with_a_stop_are_tested_so() {
    // Cumulated 10, 30, 60, 100: of the last stop only the instant is used
    // (NIST/SEMATECH e-Handbook 8.2.3.4: 2(r - 1) degrees of freedom).
    let asked = |text: &str| question::parse(text).unwrap().answer().trend.unwrap();
    let found = asked(r#"{"samples_s": [10, 20, 30, 40]}"#);
    close(found.laplace, (100.0 - 150.0) / 50.0, 1e-12);
    let expected = 2.0 * (libm::log(10.0) + libm::log(100.0 / 30.0) + libm::log(100.0 / 60.0));
    close(found.handbook, expected, 1e-12);
    let cut = asked(
        r#"{"samples_s": [10, 20, 30, 40, 50], "censored": [false, false, false, false, true]}"#,
    );
    close(
        cut.laplace,
        (200.0 - 300.0) / (150.0 * (4.0_f64 / 12.0).sqrt()),
        1e-12,
    );
}

#[test]
fn the_survival_curve_steps_down_at_every_end() {
    let curve = survival(&nist());
    assert_eq!(curve.len(), 10);
    close(curve[0].share, 0.95, 1e-12);
    close(curve[9].share, 0.5, 1e-12);
    // Without times cut off before, the binomial's error.
    close(curve[9].error, (0.25_f64 / 20.0).sqrt(), 1e-12);
    let long = Times {
        ended: (1..1_000).map(f64::from).collect(),
        ..Times::default()
    };
    let drawn = survival(&long);
    assert!(drawn.len() <= 101 && drawn.last().unwrap().time == 999.0);
    assert!(survival(&Times::default()).is_empty());
}

#[test]
fn too_little_or_too_even_data_are_not_fitted() {
    let none = fit(&Times::default(), &Family::ALL, 0.95);
    assert!(none.families.is_empty() && none.best().is_none());
    let same = Times {
        ended: vec![60.0; 8],
        ..Times::default()
    };
    let families: Vec<Family> = fit(&same, &Family::ALL, 0.95)
        .families
        .iter()
        .map(|f| f.family)
        .collect();
    assert_eq!(families, [Family::Exponential]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]
    #[test]
    fn fits_follow_the_unit_of_time(seed in 0_u64..500, factor in 0.01..100.0f64) {
        let mut stream = Stream::from_state(seed);
        let mut draw = || -libm::log(stream.uniform());
        let times = Times { ended: (0..12).map(|_| draw()).collect(), cut: (0..3).map(|_| draw()).collect(), ..Times::default() };
        let other = Times {
            ended: times.ended.iter().map(|x| x * factor).collect(),
            cut: times.cut.iter().map(|x| x * factor).collect(),
            ..Times::default()
        };
        prop_assume!(times.ended.iter().chain(&other.ended).all(|x| *x > 2e-3));
        let (a, b) = (fit(&times, &Family::ALL, 0.95), fit(&other, &Family::ALL, 0.95));
        for (a, b) in a.families.iter().zip(&b.families) {
            prop_assert!((a.mean.value * factor / b.mean.value - 1.0).abs() < 1e-6);
            prop_assert!((a.shape.value / b.shape.value - 1.0).abs() < 1e-6);
            prop_assert!((a.mean.low * factor / b.mean.low - 1.0).abs() < 1e-3);
            prop_assert!(a.mean.low <= a.mean.value && a.mean.value <= a.mean.high);
            prop_assert!(a.shape.low <= a.shape.value * (1.0 + 1e-6));
        }
    }
}
