//! From data as stated to a law that can be evaluated.
//!
//! In: a [`LawSpec`] and the temperature of the magnets. Out: the [`Law`] and, where the data had
//! to be moved to make a curve, a remark that says how.
//!
//! Temperature: B_r (1 + alpha dT) and H_c (1 + beta dT), dT from 20 C, both H_cB and H_cJ; the
//! squareness of the curve stays. Straight lines and tables stay as they are.

use crate::material::error::{LawError, figures};
use crate::material::four_data;
use crate::material::knee::Knee;
use crate::material::magnet::{DemagnetisationCurve, Form};
use crate::material::magnet_points::MagnetPoints;
use crate::material::model::Law;
use crate::material::soft::SoftLaw;
use crate::section::LawSpec;
use crate::units::MU_0;

/// Temperature at which grade data hold, degrees Celsius.
pub const REFERENCE_TEMPERATURE: f64 = 20.0;

/// A law made from data.
#[derive(Clone, Debug)]
pub struct Fit {
    /// The law.
    pub law: Law,
    /// What had to be moved to make a curve of the data.
    pub remark: Option<String>,
}

impl Law {
    /// The law that `spec` states, at `temperature` (degrees Celsius, magnets only).
    ///
    /// # Errors
    /// [`LawError`] says what is out of range or which data contradict each other.
    pub fn from_spec(spec: &LawSpec, temperature: f64) -> Result<Fit, LawError> {
        LawError::check_range("the temperature", temperature, -273.15, 1000.0, "C")?;
        let kelvin = temperature - REFERENCE_TEMPERATURE;
        let plain = |law| Ok(Fit { law, remark: None });
        match *spec {
            LawSpec::Linear { mu_r } => {
                LawError::check_range("the permeability", mu_r, 1.0, 1e7, "")?;
                plain(Self::Linear { mu_r })
            }
            LawSpec::Table { ref h, ref b } => {
                let law = SoftLaw::through_points(h, b)?;
                let remark = law.guessed_saturation().map(|(end, saturation)| {
                    format!(
                        "the curve ends at {} T, before saturation; beyond it J is led to {} T",
                        figures(end),
                        figures(saturation)
                    )
                });
                Ok(Fit { law: Self::Soft(law), remark })
            }
            LawSpec::Saturating { saturation, mu_initial, curve } => {
                plain(Self::Soft(SoftLaw::saturating(curve, saturation, mu_initial)?))
            }
            LawSpec::StraightMagnet { remanence, recoil } => {
                plain(Self::Magnet(DemagnetisationCurve::straight(remanence, recoil)?))
            }
            LawSpec::Magnet {
                remanence,
                coercivity,
                intrinsic_coercivity,
                energy_product,
                recoil,
                transverse,
                remanence_per_kelvin,
                coercivity_per_kelvin,
            } => {
                check_magnet(remanence, recoil, transverse)?;
                check_coercivity("the coercivity", coercivity)?;
                LawError::check_range("the energy product", energy_product, 1.0, 2e6, "J/m3")?;
                if let Some(of_j) = intrinsic_coercivity {
                    check_coercivity("the coercivity of J", of_j)?;
                    if of_j < coercivity {
                        return Err(LawError::Contradiction(format!(
                            "the coercivity of J, {} kA/m, is below that of B, {} kA/m; B vanishes \
                             before J does",
                            of_j * 1e-3,
                            coercivity * 1e-3
                        )));
                    }
                }
                let alpha = warmed("the remanence", remanence_per_kelvin, kelvin)?;
                let beta = warmed("the coercivity", coercivity_per_kelvin, kelvin)?;
                let fit = four_data::fit(remanence, coercivity, energy_product, recoil)?
                    .warmed(alpha, beta)?;
                let form = Form::Hyperbola(fit.curve);
                let across = transverse.unwrap_or(recoil);
                let curve = DemagnetisationCurve::of_form(
                    Some(form),
                    fit.curve.remanence,
                    fit.recoil,
                    across,
                );
                Ok(Fit { law: Self::Magnet(curve), remark: fit.remark })
            }
            LawSpec::KneeMagnet {
                remanence,
                intrinsic_coercivity,
                recoil,
                transverse,
                remanence_per_kelvin,
                coercivity_per_kelvin,
            } => {
                check_magnet(remanence, recoil, transverse)?;
                check_coercivity("the coercivity of J", intrinsic_coercivity)?;
                let remanence = remanence * warmed("the remanence", remanence_per_kelvin, kelvin)?;
                let coercivity_of_j =
                    intrinsic_coercivity * warmed("the coercivity", coercivity_per_kelvin, kelvin)?;
                let lost = MU_0 * (recoil - 1.0) * coercivity_of_j;
                if lost >= 0.9 * remanence {
                    return Err(LawError::Contradiction(format!(
                        "with the recoil permeability {recoil} the straight line loses {} T of the \
                         remanence {} T before the knee",
                        figures(lost),
                        figures(remanence)
                    )));
                }
                let form = Form::Knee(Knee { remanence, recoil, coercivity_of_j });
                let across = transverse.unwrap_or(recoil);
                let curve = DemagnetisationCurve::of_form(Some(form), remanence, recoil, across);
                plain(Self::Magnet(curve))
            }
            LawSpec::MagnetTable { ref h, ref b, recoil, transverse } => {
                let points = MagnetPoints::new(h, b, recoil)?;
                let (remanence, _) = points.remanence();
                check_magnet(remanence, recoil, transverse)?;
                let form = Form::Points(points);
                let across = transverse.unwrap_or(recoil);
                let curve = DemagnetisationCurve::of_form(Some(form), remanence, recoil, across);
                plain(Self::Magnet(curve))
            }
        }
    }
}

/// Fails unless remanence and permeabilities are such as a magnet can have.
fn check_magnet(remanence: f64, recoil: f64, transverse: Option<f64>) -> Result<(), LawError> {
    LawError::check_range("the remanence", remanence, 1e-3, 3.0, "T")?;
    LawError::check_range("the recoil permeability", recoil, 1.0, 100.0, "")?;
    let across = transverse.unwrap_or(recoil);
    LawError::check_range("the permeability across the charge", across, 1.0, 100.0, "")
}

/// Fails unless `value` (A/m) can be a magnet's coercivity.
fn check_coercivity(what: &'static str, value: f64) -> Result<(), LawError> {
    LawError::check_range(what, value, 100.0, 1e7, "A/m")
}

/// Factor by which a quantity changes over `kelvin`.
fn warmed(what: &'static str, per_kelvin: f64, kelvin: f64) -> Result<f64, LawError> {
    LawError::check_range("a temperature coefficient", per_kelvin, -0.1, 0.1, "1/K")?;
    let factor = 1.0 + per_kelvin * kelvin;
    if factor > 0.0 {
        return Ok(factor);
    }
    Err(LawError::Contradiction(format!(
        "{kelvin} K from the reference temperature {what} is gone altogether; the coefficient \
         doesn't hold that far"
    )))
}
