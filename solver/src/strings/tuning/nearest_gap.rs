//! How near a string may come before it is out of tune.
//!
//! In: a gap -> detuning function (largest size over the frets and partials asked for, cents),
//! which falls as the gap grows, and a limit. Out: the smallest gap that keeps the limit, by
//! bisection. A string that is drawn onto the pole has infinite detuning.

use crate::strings::tuning::shift::PullPlace;

/// The search stops when the gap is known to this, m: a tenth of what a pole can be set to.
const RESOLUTION: f64 = 1e-6;

/// Where the limit is reached.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NearestGap {
    /// At this gap, m; any smaller one exceeds the limit.
    At(f64),
    /// Not even at the closest gap looked at, m.
    BelowLimitAt(f64),
    /// Even at the farthest gap looked at, m.
    AboveLimitAt(f64),
}

/// The smallest gap between `closest` and `farthest` (m) at which `detuning` (cents, any sign, may
/// be infinite) stays within `limit` (cents).
///
/// # Errors
/// Those of `detuning`.
pub fn nearest_gap<E>(
    limit: f64,
    closest: f64,
    farthest: f64,
    mut detuning: impl FnMut(f64) -> Result<f64, E>,
) -> Result<NearestGap, E> {
    // What is not a number exceeds.
    let mut exceeds = |gap: f64| {
        let size = detuning(gap)?.abs();
        Ok(size.is_nan() || size > limit)
    };
    if exceeds(farthest)? {
        return Ok(NearestGap::AboveLimitAt(farthest));
    }
    if !exceeds(closest)? {
        return Ok(NearestGap::BelowLimitAt(closest));
    }
    let (mut near, mut far) = (closest, farthest);
    while far - near > RESOLUTION {
        let middle = 0.5 * (near + far);
        if middle <= near || middle >= far {
            break;
        }
        if exceeds(middle)? {
            near = middle;
        } else {
            far = middle;
        }
    }
    Ok(NearestGap::At(far))
}

/// The partial, fret and amount of the largest detuning.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worst {
    /// Change in cents; negative infinity where the string is drawn onto the pole.
    pub cents: f64,
    /// Fret at which it happens.
    pub fret: u32,
    /// Number of the partial.
    pub partial: u32,
}

/// The largest detuning over `frets` and over partials 1 to `partials`.
///
/// Each fret comes with the place on the speaking string and the gradients there (N/m) in the
/// planes of vibration; `None` stands for a string that has no place of rest. Without any fret the
/// detuning is zero.
pub fn worst_detuning(
    frets: impl IntoIterator<Item = (u32, Option<(PullPlace, [f64; 2])>)>,
    partials: u32,
) -> Worst {
    let mut worst = Worst { cents: 0.0, fret: 0, partial: 1 };
    for (fret, found) in frets {
        for partial in 1..=partials.max(1) {
            let all = match found {
                None => [f64::NEG_INFINITY; 2],
                Some((place, gradients)) => {
                    gradients.map(|k| place.cents(k, partial).unwrap_or(f64::NEG_INFINITY))
                }
            };
            for cents in all {
                if cents.abs() > worst.cents.abs() {
                    worst = Worst { cents, fret, partial };
                }
            }
        }
    }
    worst
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::convert::Infallible;

    fn find(limit: f64, detuning: impl Fn(f64) -> f64) -> NearestGap {
        nearest_gap(limit, 0.5e-3, 10e-3, |g| Ok::<f64, Infallible>(detuning(g)))
            .unwrap_or(NearestGap::At(f64::NAN))
    }

    /// -40 exp(-g / 1 mm) reaches -1 at ln 40 mm.
    #[test]
    fn finds_the_gap_of_an_exponential() {
        let NearestGap::At(gap) = find(1.0, |g| -40.0 * (-g / 1e-3).exp()) else {
            unreachable!("not found")
        };
        let want = 40.0_f64.ln() * 1e-3;
        assert!((0.0..=RESOLUTION).contains(&(gap - want)), "{gap} {want}");
    }

    #[test]
    fn says_when_the_limit_lies_outside() {
        assert_eq!(find(1.0, |_| -0.5), NearestGap::BelowLimitAt(0.5e-3));
        assert_eq!(find(1.0, |_| -2.0), NearestGap::AboveLimitAt(10e-3));
        assert_eq!(find(1.0, |_| f64::NAN), NearestGap::AboveLimitAt(10e-3));
        let drawn = |g: f64| if g < 3e-3 { f64::NEG_INFINITY } else { 0.0 };
        let NearestGap::At(gap) = find(1.0, drawn) else { unreachable!("not found") };
        assert!((0.0..=RESOLUTION).contains(&(gap - 3e-3)), "{gap}");
        assert_eq!(nearest_gap(1.0, 0.0, 1.0, |_| Err("no field")), Err("no field"));
    }

    #[test]
    fn the_worst_is_named() {
        let place = |length: f64| PullPlace::new(length, 74.0, 0.16);
        let frets = (0..=3u32).map(|fret| {
            let length = 0.6477 / 2.0_f64.powf(f64::from(fret) / 12.0);
            (fret, place(length).map(|p| (p, [5.0, -1.0])))
        });
        let worst = worst_detuning(frets.clone(), 4);
        let own = place(0.6477).and_then(|p| p.cents(5.0, 1)).unwrap_or(f64::NAN);
        // The shift of the first partial grows towards the middle of the string, faster than 1/L
        // takes it back: the third fret is the worst of these.
        assert_eq!((worst.fret, worst.partial), (3, 1));
        assert!(worst.cents < own && own < 0.0, "{worst:?} {own}");
        let drawn = worst_detuning(frets.chain([(4, None)]), 4);
        assert_eq!((drawn.fret, drawn.cents), (4, f64::NEG_INFINITY));
        assert!(worst_detuning([], 4).cents == 0.0);
    }
}
