//! How far a pull at one place bends a string.
//!
//! A string of length L and tension T under a force F at x_p takes the shape of two straight lines
//! and moves there by F C, C = x_p (L - x_p) / (T L). The pull depends on where the string ends up;
//! the place of rest is the highest solution of
//!
//! ```text
//! g + C P(g) = g_0        g gap at rest, g_0 gap without the pull, P(g) pull towards the pole
//! ```
//!
//! No place of rest means that the string is drawn onto the pole.

/// Steps of the search: each halves the bracket, 60 exhaust an `f64`.
const HALVINGS: u32 = 60;
/// Places at which the search looks for the first bracket from above.
const LOOKS: u32 = 64;

/// Sideways give of a string at `place` (m from either end), m/N.
///
/// `length` in m, `tension` in N. Zero at the ends.
pub fn compliance(length: f64, tension: f64, place: f64) -> f64 {
    place * (length - place) / (tension * length)
}

/// The gap at which the string comes to rest, m, or `None` where it is drawn onto the pole.
///
/// `free_gap` is the gap without the pull (m), `compliance` in m/N, `pull(gap)` the pull towards the
/// pole (N, positive) on a string at rest at `gap`. Searched from `free_gap` down to `closest`.
///
/// # Errors
/// Those of `pull`.
pub fn rest_gap<E>(
    free_gap: f64,
    compliance: f64,
    closest: f64,
    mut pull: impl FnMut(f64) -> Result<f64, E>,
) -> Result<Option<f64>, E> {
    if free_gap.is_nan() || free_gap < closest {
        return Ok(None);
    }
    // What is left of the way: positive while the string still wants to come down.
    let mut downward = |gap: f64| Ok(gap + compliance * pull(gap)? - free_gap);
    let mut above = free_gap;
    if downward(above)? <= 0.0 {
        // Not pulled at all, or pushed: it stays, which is what small repulsion comes to.
        return Ok(Some(free_gap));
    }
    let step = (free_gap - closest) / f64::from(LOOKS);
    let mut below = None;
    for look in 1..=LOOKS {
        let gap = free_gap - step * f64::from(look);
        if downward(gap)? <= 0.0 {
            below = Some(gap);
            break;
        }
        above = gap;
    }
    let Some(mut below) = below else { return Ok(None) };
    for _ in 0..HALVINGS {
        let middle = 0.5 * (above + below);
        if middle <= below || middle >= above {
            break;
        }
        if downward(middle)? > 0.0 {
            above = middle;
        } else {
            below = middle;
        }
    }
    Ok(Some(0.5 * (above + below)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::convert::Infallible;

    fn rest(free: f64, compliance: f64, pull: impl Fn(f64) -> f64) -> Option<f64> {
        rest_gap(free, compliance, 1e-4, |g| Ok::<f64, Infallible>(pull(g))).unwrap_or(None)
    }

    /// Half way along, C = L / (4 T); a force on a quarter-length bends less by 3/4.
    #[test]
    fn two_straight_lines() {
        assert_eq!(compliance(0.64, 80.0, 0.32).to_bits(), (0.64_f64 / 320.0).to_bits());
        assert!((compliance(0.64, 80.0, 0.16) - 0.75 * 0.64 / 320.0).abs() < 1e-18);
        assert_eq!(compliance(0.64, 80.0, 0.0).to_bits(), 0.0_f64.to_bits());
        // The slopes on the two sides balance the force: T (y/x_p + y/(L - x_p)) = F.
        let y = 0.3 * compliance(0.6477, 74.0, 0.16);
        assert!((74.0 * (y / 0.16 + y / (0.6477 - 0.16)) - 0.3).abs() < 1e-15);
    }

    /// A pull that grows linearly has the closed form s = C F / (1 - C k).
    #[test]
    fn comes_to_rest_where_pull_and_tension_balance() {
        let (free, c, force, k) = (2e-3, 1.6e-3, 0.1, 100.0);
        let found = rest(free, c, |g| force + k * (free - g));
        let sag = c * force / (1.0 - c * k);
        // The bracket ends at neighbouring numbers near 2 mm.
        assert!(found.is_some_and(|g| (g - (free - sag)).abs() < 1e-17), "{found:?} {sag}");
    }

    #[test]
    fn a_strong_pull_draws_the_string_onto_the_pole() {
        // P = F0 exp(-g / l): no rest once C P'(g) reaches 1 before the balance does.
        let pull = |strength: f64| move |g: f64| strength * (-g / 1.5e-3).exp();
        assert!(rest(2e-3, 1.6e-3, pull(0.5)).is_some());
        assert!(rest(2e-3, 1.6e-3, pull(5.0)).is_none());
        assert!(rest(0.5e-4, 1.6e-3, pull(0.5)).is_none());
        assert!(rest(f64::NAN, 1.6e-3, pull(0.5)).is_none());
        assert_eq!(rest(2e-3, 1.6e-3, |_| 0.0), Some(2e-3));
    }

    #[test]
    fn a_failing_pull_is_passed_on() {
        assert_eq!(rest_gap(2e-3, 1e-3, 1e-4, |_| Err("no field")), Err("no field"));
    }
}
