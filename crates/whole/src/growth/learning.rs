//! Work in a car by its number since the start, in either model.

use book::LearningModel;

/// A model of learning, with the work that it never falls below.
#[derive(Clone, Copy, Debug)]
pub(super) struct Learning {
    pub(super) model: LearningModel,
    /// Hours of the first car.
    pub(super) first: f64,
    /// What a doubling multiplies by.
    pub(super) rate: f64,
    /// Hours of a car once settled.
    pub(super) settled: f64,
}

impl Learning {
    fn exponent(self) -> f64 {
        libm::log2(self.rate)
    }

    /// Hours of a car, by its number from 1. In the unit model the last car's
    /// time falls by the rate; in the cumulative-average model the mean of all
    /// does, and the last car's with it by what the total grows.
    pub(super) fn hours(self, number: f64) -> f64 {
        let b = self.exponent();
        let learnt = match self.model {
            LearningModel::Unit => self.first * libm::pow(number, b),
            LearningModel::Average => {
                let total = |n: f64| if n <= 0.0 { 0.0 } else { libm::pow(n, 1.0 + b) };
                self.first * (total(number) - total(number - 1.0))
            }
        };
        learnt.max(self.settled)
    }

    /// The first car that takes no more than the settled hours; infinite where
    /// nothing is learnt.
    pub(super) fn settled_with(self) -> f64 {
        let b = self.exponent();
        if self.first <= self.settled {
            return 1.0;
        }
        if b >= 0.0 {
            return f64::INFINITY;
        }
        let ratio = match self.model {
            LearningModel::Unit => self.settled / self.first,
            // Far along the last car's time is (1 + b) times the mean's.
            LearningModel::Average if b > -1.0 => self.settled / (self.first * (1.0 + b)),
            LearningModel::Average => return 2.0,
        };
        libm::pow(ratio, 1.0 / b).ceil().max(1.0)
    }

    /// Hours of the cars after `built` up to `cars` more; a part of a car takes
    /// its part.
    pub(super) fn work(self, built: f64, cars: f64) -> f64 {
        let (mut hours, mut left, mut number) = (0.0, cars, built);
        while left > 0.0 {
            let part = (number.floor() + 1.0 - number).min(left);
            hours += part * self.hours(number.floor() + 1.0);
            left -= part;
            number += part;
        }
        hours
    }

    /// Cars that so many hours make after `built`, at most `most`.
    pub(super) fn cars(self, built: f64, hours: f64, most: f64) -> f64 {
        let (mut left, mut cars, mut number) = (hours, 0.0, built);
        while cars < most && left > 0.0 {
            let each = self.hours(number.floor() + 1.0);
            let part = (number.floor() + 1.0 - number)
                .min(most - cars)
                .min(left / each);
            if part <= 0.0 {
                break;
            }
            left -= part * each;
            cars += part;
            number += part;
        }
        cars
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use units::{Count, Hours, Share};

    use super::*;

    fn learning(model: LearningModel, rate: f64) -> Learning {
        Learning {
            model,
            first: 1.0,
            rate,
            settled: 0.0,
        }
    }

    #[test]
    fn eighty_per_cent_means_less_work_in_the_average_model_than_in_the_unit_model() {
        // 32.65 and 22.71 for 100 units: Crawford's and Wright's model, computed
        let unit = learning(LearningModel::Unit, 0.8).work(0.0, 100.0);
        let average = learning(LearningModel::Average, 0.8).work(0.0, 100.0);
        assert!((unit - 32.65).abs() < 0.01, "{unit}");
        assert!((average - 22.706).abs() < 0.001, "{average}");
    }

    proptest! {
        #[test]
        fn the_models_are_those_of_the_formula_sheet(rate in 0.55..1.0f64, pieces in 1u32..400) {
            let count = || Count(f64::from(pieces));
            let unit = learning(LearningModel::Unit, rate).work(0.0, f64::from(pieces));
            let wanted = formulas::money::learning_unit(Hours(1.0), Share(rate), count()).unwrap();
            prop_assert!((unit - wanted.value.total.0).abs() < 1e-9 * wanted.value.total.0);
            let average = learning(LearningModel::Average, rate).work(0.0, f64::from(pieces));
            let wanted = formulas::money::learning_average(Hours(1.0), Share(rate), count()).unwrap();
            prop_assert!((average - wanted.value.total.0).abs() < 1e-9 * wanted.value.total.0);
        }

        #[test]
        fn cars_made_of_hours_take_those_hours(
            rate in 0.6..0.98f64, built in 0.0..500.0f64, hours in 0.1..50.0f64
        ) {
            let one = Learning { settled: 0.05, ..learning(LearningModel::Unit, rate) };
            let cars = one.cars(built, hours, 1e6);
            prop_assert!((one.work(built, cars) - hours).abs() < 1e-9 * hours.max(1.0));
        }
    }
}
