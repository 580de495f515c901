//! The root of a function of one number between two ends.

/// Where `function` crosses zero between `low` and `high`, to `tolerance` on either side; `None` if
/// the two ends do not differ in sign, or if a value is not finite.
///
/// Chandrupatla's method: inverse quadratic steps where they are safe, halving elsewhere, so it ends
/// (T. R. Chandrupatla, Advances in Engineering Software 28 (1997) 145).
pub(crate) fn root(low: f64, high: f64, tolerance: f64, mut function: impl FnMut(f64) -> f64) -> Option<f64> {
    let (mut newest, mut opposite) = (low, high);
    let (mut at_newest, mut at_opposite) = (function(low), function(high));
    if !at_newest.is_finite() || !at_opposite.is_finite() {
        return None;
    }
    if at_newest == 0.0 {
        return Some(low);
    }
    if at_opposite == 0.0 {
        return Some(high);
    }
    if at_newest.signum() == at_opposite.signum() {
        return None;
    }
    let mut share = 0.5;
    for _ in 0..200 {
        let here = newest + share * (opposite - newest);
        let value = function(here);
        if !value.is_finite() {
            return None;
        }
        let (before, at_before);
        if value.signum() == at_newest.signum() {
            (before, at_before) = (newest, at_newest);
        } else {
            (before, at_before) = (opposite, at_opposite);
            (opposite, at_opposite) = (newest, at_newest);
        }
        (newest, at_newest) = (here, value);
        let nearest = if at_newest.abs() < at_opposite.abs() { newest } else { opposite };
        let least_share = tolerance / (opposite - newest).abs();
        if value == 0.0 || least_share > 0.5 {
            return Some(if value == 0.0 { here } else { nearest });
        }
        let xi = (newest - opposite) / (before - opposite);
        let phi = (at_newest - at_opposite) / (at_before - at_opposite);
        share = if phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi {
            at_newest / (at_opposite - at_newest) * at_before / (at_opposite - at_before)
                + (before - newest) / (opposite - newest) * at_newest / (at_before - at_newest) * at_opposite
                    / (at_before - at_opposite)
        } else {
            0.5
        };
        share = share.clamp(least_share, 1.0 - least_share);
    }
    Some(newest)
}

#[cfg(test)]
mod tests {
    use super::root;

    #[test]
    fn smooth_steep_and_kinked_functions_are_solved_in_few_steps() {
        let solve = |wanted: f64, function: &dyn Fn(f64) -> f64| {
            let mut steps = 0;
            let found = root(0.0, 2.0, 1e-12, |x| {
                steps += 1;
                function(x)
            });
            assert!((found.unwrap() - wanted).abs() < 1e-3, "{found:?} for {wanted}");
            assert!(steps < 110, "{steps} steps for {wanted}");
        };
        solve(2f64.sqrt(), &|x| x * x - 2.0);
        solve(1.5, &|x| (x - 1.5).powi(9));
        solve(1.2, &|x| if x < 1.2 { -1e9 } else { x - 1.2 + 1e-9 });
        solve(1.0, &|x| x.powf(1.75) - 1.0);
        assert_eq!(root(0.0, 1.0, 1e-9, |x| x + 1.0), None);
        assert_eq!(root(0.0, 1.0, 1e-9, |_| f64::NAN), None);
    }
}
