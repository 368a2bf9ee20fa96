//! All rates of return of a stream of money.
//!
//! The present value of flows `f_t` is the polynomial `p(x) = sum f_t x^t` in
//! the discount `x = 1 / (1 + rate)`, so every rate above -1 is a positive
//! root. Between two neighbouring roots of `q` no function whose derivative
//! has the sign of `q` turns round. Taking for `q` the polynomial with
//! coefficients `(t - m) f_t`, the derivative of `p(x) / x^m` up to a positive
//! factor, with `m` inside a change of sign of the flows, leaves one change
//! fewer (the step in Descartes' rule; Wang, American Mathematical Monthly 111,
//! 2004). So a stream with `v` changes is settled by `v` such steps, bisection
//! does the rest, and none is missed however uneven the flows are.

/// Relative size below which a value at a turning point counts as touching 0.
const TOUCH: f64 = 1e-13;

/// Positive roots of `sum flows[t] x^t`, rising. None for flows all zero.
pub(crate) fn positive_roots(flows: &[f64]) -> Vec<f64> {
    let (Some(first), Some(last)) = (
        flows.iter().position(|flow| *flow != 0.0),
        flows.iter().rposition(|flow| *flow != 0.0),
    ) else {
        return Vec::new();
    };
    let flows = &flows[first..=last];
    let Some(middle) = middle_of_a_change(flows) else {
        return Vec::new();
    };
    let turned: Vec<f64> = flows
        .iter()
        .enumerate()
        .map(|(t, flow)| (t as f64 - middle) * flow)
        .collect();
    let turns = positive_roots(&turned);

    // All roots lie between these two (Cauchy's bound, both ways round).
    let largest = flows.iter().fold(0.0, |m: f64, flow| m.max(flow.abs()));
    let low = 1.0 / (1.0 + largest / flows[0].abs());
    let high = 1.0 + largest / flows[flows.len() - 1].abs();
    if low == 0.0 || !high.is_finite() {
        // Flows so unlike that their quotient is beyond all numbers.
        return vec![f64::NAN];
    }
    let mut bounds = vec![low];
    bounds.extend(turns.into_iter().filter(|turn| *turn > low && *turn < high));
    bounds.push(high);

    let mut roots: Vec<f64> = Vec::new();
    for pair in bounds.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        match (sign(flows, from), sign(flows, to)) {
            (0, _) => push_new(&mut roots, from),
            (_, 0) => push_new(&mut roots, to),
            (a, b) if a != b => push_new(&mut roots, bisect(flows, from, to)),
            _ => {}
        }
    }
    roots
}

fn push_new(roots: &mut Vec<f64>, root: f64) {
    if roots.last() != Some(&root) {
        roots.push(root);
    }
}

/// How often the flows change their sign, zeros passed over.
pub(crate) fn sign_changes(flows: &[f64]) -> usize {
    let told: Vec<bool> = flows
        .iter()
        .filter(|flow| **flow != 0.0)
        .map(|flow| *flow > 0.0)
        .collect();
    told.windows(2).filter(|pair| pair[0] != pair[1]).count()
}

/// Half-way between the two flows of the first change of sign.
fn middle_of_a_change(flows: &[f64]) -> Option<f64> {
    let mut told = flows.iter().enumerate().filter(|(_, flow)| **flow != 0.0);
    let mut before = told.next()?;
    for next in told {
        if (*before.1 > 0.0) != (*next.1 > 0.0) {
            return Some((before.0 + next.0) as f64 / 2.0);
        }
        before = next;
    }
    None
}

/// The sign of the polynomial; 0 where rounding cannot tell it from 0. Above
/// 1 the highest power is divided out, so that long streams do not overflow.
fn sign(flows: &[f64], x: f64) -> i8 {
    let (value, size) = if x <= 1.0 {
        horner(flows.iter().rev(), x)
    } else {
        horner(flows.iter(), 1.0 / x)
    };
    if value.abs() <= TOUCH * size {
        0
    } else if value > 0.0 {
        1
    } else {
        -1
    }
}

/// Value and sum of absolute terms, coefficients from the highest power down.
fn horner<'a>(coefficients: impl Iterator<Item = &'a f64>, x: f64) -> (f64, f64) {
    coefficients.fold((0.0, 0.0), |(value, size), coefficient| {
        (value * x + coefficient, size * x + coefficient.abs())
    })
}

/// The one root between two points of unlike sign, to the last bit or to
/// where rounding hides the sign.
fn bisect(flows: &[f64], mut from: f64, mut to: f64) -> f64 {
    let start = sign(flows, from);
    loop {
        let middle = libm::sqrt(from) * libm::sqrt(to);
        if middle <= from || middle >= to {
            return middle.clamp(from, to);
        }
        match sign(flows, middle) {
            0 => return middle,
            s if s == start => from = middle,
            _ => to = middle,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn close(found: &[f64], wanted: &[f64], slack: f64) -> bool {
        found.len() == wanted.len()
            && found
                .iter()
                .zip(wanted)
                .all(|(a, b)| (a - b).abs() <= slack * b.abs())
    }

    #[test]
    fn every_root_of_a_stream_with_several_changes_is_found() {
        // (x - 0.5)(x - 0.8)(x - 2) = x^3 - 3.3 x^2 + 3 x - 0.8
        assert!(close(
            &positive_roots(&[-0.8, 3.0, -3.3, 1.0]),
            &[0.5, 0.8, 2.0],
            1e-12
        ));
    }

    #[test]
    fn a_stream_that_only_touches_zero_has_that_one_root() {
        // (x - 1)^2
        assert!(close(&positive_roots(&[1.0, -2.0, 1.0]), &[1.0], 1e-6));
    }

    #[test]
    fn a_stream_without_a_change_of_sign_or_without_a_root_has_none() {
        assert!(positive_roots(&[-1.0, -2.0]).is_empty());
        assert!(positive_roots(&[0.0, 0.0]).is_empty());
        assert!(positive_roots(&[]).is_empty());
        // x^2 - x + 1 changes sign twice and never reaches 0.
        assert!(positive_roots(&[1.0, -1.0, 1.0]).is_empty());
    }

    #[test]
    fn thirty_years_of_months_do_not_overflow() {
        let mut flows = vec![-1000.0];
        flows.extend([10.0; 360]);
        let roots = positive_roots(&flows);
        assert_eq!(roots.len(), 1);
        assert!(roots[0] > 0.99 && roots[0] < 1.0);
    }

    proptest! {
        #[test]
        fn the_roots_put_in_come_out(
            mut wanted in proptest::collection::vec(0.3..3.0f64, 1..5)
        ) {
            wanted.sort_by(f64::total_cmp);
            prop_assume!(wanted.windows(2).all(|w| w[1] - w[0] > 0.05));
            let mut flows = vec![1.0];
            for root in &wanted {
                let mut next = vec![0.0; flows.len() + 1];
                for (t, flow) in flows.iter().enumerate() {
                    next[t + 1] += flow;
                    next[t] -= flow * root;
                }
                flows = next;
            }
            prop_assert!(close(&positive_roots(&flows), &wanted, 1e-6));
        }
    }
}
