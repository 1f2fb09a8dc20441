//! A row of round poles inside racetrack coils, from the solve of one pole.
//!
//! Every pole is the section's own, y_k along the row and h_k higher, charged with the sense s_k. The
//! field of the others acts on pole k by its mean c_k over the pole: what the pole answers to a uniform
//! field of one tesla, R, is added,
//!
//! ```text
//! B(pole k) = s_k (B_0 + c_k R)         c_k = sum over j != k of s_k s_j mean over k of (B_0 + c_j R)
//! ```
//!
//! R is found between the pole by itself and the pole in the largest c_k, along the magnet's own curve: it
//! is charged where it stands. A coil acts on every pole by the part of its field that is the same all
//! round the pole ([`crate::strings::racetrack`]); the pole's answer is the difference of the section with
//! metal, magnets on recoil, and the same mesh without. The answers of the others are laid on each pole by
//! their mean as well. What changes round a pole (m = 1, 2, 3) is answered too
//! ([`crate::strings::row::around`]): by the pole alone, and felt by the strings over it and its neighbours.

use std::sync::Arc;

use rayon::prelude::*;

use crate::field::assembly::Assembly;
use crate::field::{Begin, Body, Field, FieldError, Setup, SmallChange};
use crate::geometry::Regions;
use crate::mesh::Locator;
use crate::section::{Coil, Row, Section, Shape};
use crate::strings::above::Above;
use crate::strings::plane::PlaneSampling;
use crate::strings::racetrack::{self, Racetrack};
use crate::strings::reaction::Reaction;
use crate::strings::row::around::{Answer, Around, field_strengths};
use crate::strings::row::pole_mean::PoleMean;
use crate::strings::upper_field::UpperField;

/// Passes in which the poles settle: each is as good as the last times the answer of a neighbour, a
/// hundredth or less.
const PASSES: usize = 30;

/// Poles this far along the row from a string's own answer the string's field too, but those it lies lower
/// over than over its own. What a pole answers falls with the sixth power of the distance.
const NEAR: usize = 2;

/// Poles this far along the row from a string's own are felt with what changes round them. It falls with
/// the third power of the distance, and is a hundredth over the pole itself.
const TURNED: usize = 1;

/// What strings over a row meet, and what its coils link.
#[derive(Clone, Debug)]
pub struct RowAbove {
    /// Over each pole, in coordinates that have their origin where the section's is in that pole.
    pub poles: Vec<Above>,
    /// The coils.
    pub coils: Vec<RowCoil>,
    /// Mean flux density that the other poles lay on each pole, along its own charge, T, `[count]`.
    pub laid_on: Vec<f64>,
}

/// A coil round the row.
#[derive(Clone, Debug, PartialEq)]
pub struct RowCoil {
    /// Flux linkage of the poles, Wb-turns.
    pub linkage: f64,
    /// Inductance in air, H; not a number where it has several windows.
    pub air_inductance: f64,
    /// What the poles add to the inductance it has in air, H.
    pub added_inductance: f64,
    /// Its windows as racetracks.
    pub racetracks: Vec<Racetrack>,
}

impl RowAbove {
    /// Puts the row of `section` together from `field`, the pole by itself. Strings will come down to
    /// the height `lowest` over their own pole and `reach` along the row from its middle; where that is
    /// lower than `lowest` over another pole, its field is continued from there. `None` where the section
    /// has no row, or no line on which to sample the field.
    ///
    /// # Errors
    /// The pole in the field of its neighbours could not be solved, or a tangent not factored.
    pub fn new(
        section: &Section,
        regions: &Regions,
        field: &Field,
        lowest: f64,
        reach: f64,
    ) -> Result<Option<Self>, FieldError> {
        let (Some(row), Some(z0)) = (&section.row, regions.sampling_height) else {
            return Ok(None);
        };
        let locator = Locator::new(field.mesh());
        let mean = PoleMean::new(field);
        let between = Between { row, field, locator: &locator, mean: &mean };
        let (answer, laid_on) = neighbours(&between)?;
        let coils = coil_answers(section, &between)?;

        // Sampled once: the pole, its answer to its neighbours, and the distinct answers to coils.
        let mut nodal: Vec<&[f64]> = vec![&answer, &coils.uniform];
        nodal.extend(coils.answers.iter().map(Vec::as_slice));
        let reach = row.pitch * (row.count - 1) as f64 + reach;
        let one = Above::new(regions, field, &nodal, z0, lowest, reach)?;
        let (answer_up, uniform_up, coil_up) = (&one.coils[0], &one.coils[1], &one.coils[2..]);

        let around = between.around(&one.sampling, &answer, &laid_on, &coils)?;
        let turned = |k: usize, source: usize| -> UpperField {
            let answer = around.get(k * (1 + coils.own.len()) + source);
            let waves = answer.and_then(|a| one.upper.with_orders(a.orders.clone()));
            waves.unwrap_or_default()
        };
        // Each field by itself, and with what changes round its pole.
        let magnets: Vec<[UpperField; 2]> = (0..row.count)
            .map(|j| {
                let plain = one.upper.clone().plus(&answer_up.clone().scaled(laid_on[j])).merged();
                // As if charged up: the sense comes with the rest.
                let whole = plain.clone().plus(&turned(j, 0).scaled(row.sense(j))).merged();
                [plain, whole]
            })
            .collect();
        let wound: Vec<Vec<[UpperField; 2]>> = coils
            .own
            .iter()
            .enumerate()
            .map(|(c, own)| {
                (0..row.count)
                    .map(|j| {
                        let others = uniform_up.clone().scaled(own.laid_on[j]);
                        let plain = coil_up[own.answer[j]].clone().plus(&others).merged();
                        let whole = plain.clone().plus(&turned(j, 1 + c)).merged();
                        [plain, whole]
                    })
                    .collect()
            })
            .collect();
        let beside: Vec<Reaction> =
            (1..=NEAR).map(|n| one.reaction.clone().beside(lowest, row.pitch * n as f64)).collect();
        let poles = (0..row.count)
            .map(|k| {
                let placed = |j: usize, [plain, whole]: &[UpperField; 2]| {
                    let away = row.place(j) - row.place(k);
                    let higher = row.heights[j] - row.heights[k];
                    let upper = if j.abs_diff(k) <= TURNED { whole } else { plain };
                    let placed = upper.clone().moved(0.0, away).raised(higher);
                    if higher > 0.0 { placed.from_afar(lowest, away.abs()) } else { placed }
                };
                let upper = (0..row.count).fold(UpperField::default(), |sum, j| {
                    sum.plus(&placed(j, &magnets[j]).scaled(row.sense(j)))
                });
                let of_coil = |(own, wound): (&CoilAnswer, &Vec<[UpperField; 2]>)| {
                    let air = own.racetracks.iter().fold(UpperField::default(), |sum, track| {
                        let track = UpperField::racetrack(*track);
                        sum.plus(&track.moved(0.0, -row.place(k)).raised(-row.heights[k]))
                    });
                    (0..row.count).fold(air, |sum, j| sum.plus(&placed(j, &wound[j])))
                };
                let coils = coils.own.iter().zip(&wound).map(of_coil).collect();
                let reaction = (0..row.count).filter(|&j| j != k && j.abs_diff(k) <= NEAR).fold(
                    one.reaction.clone(),
                    |sum, j| {
                        let away = row.place(j) - row.place(k);
                        let higher = row.heights[j] - row.heights[k];
                        let other = beside[j.abs_diff(k) - 1].clone();
                        sum.plus(&other.moved(0.0, away).raised(higher))
                    },
                );
                Above { upper, coils, reaction, ..one.clone() }
            })
            .collect();
        let linked = |(c, own): (usize, &CoilAnswer)| RowCoil {
            linkage: (0..row.count)
                .map(|j| {
                    let load = &coils.loads[own.answer[j]];
                    let whole = dot(load, &field.nodal) + laid_on[j] * dot(load, &answer);
                    row.sense(j) * whole
                })
                .sum(),
            added_inductance: (0..row.count)
                .map(|j| {
                    let load = &coils.loads[own.answer[j]];
                    let answer = &coils.answers[own.answer[j]];
                    let work =
                        around.get(j * (1 + coils.own.len()) + 1 + c).map_or(0.0, |a| a.work);
                    dot(load, answer) + own.laid_on[j] * dot(load, &coils.uniform) + work
                })
                .sum(),
            air_inductance: match own.racetracks.as_slice() {
                [one] => one.inductance(),
                // What several windows share is not known here.
                _ => f64::NAN,
            },
            racetracks: own.racetracks.clone(),
        };
        Ok(Some(Self { poles, coils: coils.own.iter().enumerate().map(linked).collect(), laid_on }))
    }
}

/// The row and the pole it is made of.
struct Between<'a> {
    row: &'a Row,
    field: &'a Field,
    locator: &'a Locator<'a>,
    mean: &'a PoleMean,
}

impl Between<'_> {
    /// Mean of a pole's field `nodal` over the pole `k`, if it is that of pole `j`, T.
    fn mean(&self, nodal: &[f64], j: usize, k: usize) -> f64 {
        let away = (self.row.place(k) - self.row.place(j)).abs();
        let higher = self.row.heights[k] - self.row.heights[j];
        self.mean.of(self.field, self.locator, nodal, away, higher)
    }

    /// Means of a field that all poles share, `[count][count]`, from j on k; 0 from a pole on itself.
    fn means(&self, nodal: &[f64]) -> Vec<Vec<f64>> {
        let n = self.row.count;
        (0..n)
            .into_par_iter()
            .map(|j| (0..n).map(|k| if j == k { 0.0 } else { self.mean(nodal, j, k) }).collect())
            .collect()
    }

    /// What each pole answers to the fields that change round it, of the other magnets and of each coil with
    /// the other poles: `[count][1 + n_coils]`; empty where the poles answer nothing.
    fn around(
        &self,
        sampling: &PlaneSampling,
        answer: &[f64],
        laid_on: &[f64],
        coils: &CoilAnswers,
    ) -> Result<Vec<Answer>, FieldError> {
        let Self { row, field, locator, .. } = self;
        let Some(around) = Around::new(field) else { return Ok(Vec::new()) };
        let places = around.places();
        let sum = |nodal: &[f64], factor: f64, more: &[f64]| -> Vec<f64> {
            nodal.iter().zip(more).map(|(n, m)| n + factor * m).collect()
        };
        // Each pole's own field, and its part in that of each coil.
        let own: Vec<Vec<Vec<f64>>> = (0..row.count)
            .map(|j| {
                let of_coil = |own: &CoilAnswer| {
                    sum(&coils.answers[own.answer[j]], own.laid_on[j], &coils.uniform)
                };
                let mut all = vec![sum(&field.nodal, laid_on[j], answer)];
                all[0].iter_mut().for_each(|value| *value *= row.sense(j));
                all.extend(coils.own.iter().map(of_coil));
                all
            })
            .collect();
        let on_pole = |k: usize| -> Vec<Vec<[f64; 3]>> {
            let mut laid = vec![vec![[0.0; 3]; places.len()]];
            for coil in &coils.own {
                let seen: Vec<[f64; 3]> = places
                    .iter()
                    .map(|[along, across, up]| [*across, along + row.place(k), up + row.heights[k]])
                    .collect();
                let mut sum = vec![[0.0; 3]; places.len()];
                for track in &coil.racetracks {
                    for (sum, jet) in sum.iter_mut().zip(track.jets(&seen, 1)) {
                        let [x, y, z] = jet.field().h;
                        sum.iter_mut().zip([y, x, z]).for_each(|(sum, h)| *sum += h);
                    }
                }
                laid.push(sum);
            }
            for j in (0..row.count).filter(|&j| j != k) {
                let (away, higher) = (row.place(k) - row.place(j), row.heights[k] - row.heights[j]);
                let seen: Vec<[f64; 3]> = places
                    .iter()
                    .map(|[along, across, up]| [along + away, *across, up + higher])
                    .collect();
                let nodal: Vec<&[f64]> = own[j].iter().map(Vec::as_slice).collect();
                let fields = field_strengths(field, locator, &nodal, &seen);
                for (sum, field) in laid.iter_mut().zip(fields) {
                    for (sum, h) in sum.iter_mut().zip(field) {
                        (0..3).for_each(|i| sum[i] += h[i]);
                    }
                }
            }
            laid
        };
        let laid: Vec<Vec<[f64; 3]>> = (0..row.count).into_par_iter().flat_map(on_pole).collect();
        Ok(around.answers(locator, &laid, sampling)?)
    }

    /// The c that solve c_k = given_k + sum over j of c_j on[j][k].
    fn settle(&self, given: &[f64], on: &[Vec<f64>]) -> Vec<f64> {
        let mut c = given.to_vec();
        for _ in 0..PASSES {
            c = (0..c.len())
                .map(|k| given[k] + (0..c.len()).map(|j| c[j] * on[j][k]).sum::<f64>())
                .collect();
        }
        c
    }
}

/// What a pole answers to a uniform field of one tesla from its neighbours, `[n_nodes]`, and the field
/// they lay on each, T.
fn neighbours(between: &Between) -> Result<(Vec<f64>, Vec<f64>), FieldError> {
    let Between { row, field, .. } = between;
    let n = row.count;
    let signed = |mut on: Vec<Vec<f64>>| {
        for (j, from) in on.iter_mut().enumerate() {
            for (k, mean) in from.iter_mut().enumerate() {
                *mean *= row.sense(j) * row.sense(k);
            }
        }
        on
    };
    let first = signed(between.means(&field.nodal));
    let given: Vec<f64> = (0..n).map(|k| (0..n).map(|j| first[j][k]).sum()).collect();
    let largest = given.iter().copied().fold(0.0_f64, |a, b| if b.abs() > a.abs() { b } else { a });
    if largest == 0.0 {
        return Ok((vec![0.0; field.nodal.len()], given));
    }
    let [across, up] = field.setup().applied_field;
    let setup = Setup { applied_field: [across, up + largest], ..field.setup().clone() };
    let laid =
        Field::solve_from(Arc::clone(&field.assembly.space), setup, Begin::Near(&field.nodal))?;
    let answer: Vec<f64> = laid
        .nodal
        .iter()
        .zip(&field.nodal)
        .map(|(with, without)| (with - without - 0.5 * largest) / largest)
        .collect();
    let on = signed(between.means(&answer));
    let laid_on = between.settle(&given, &on);
    Ok((answer, laid_on))
}

/// Answers of the poles to the coils.
struct CoilAnswers {
    /// One for each distinct place of a pole in a coil: load per ampere and the pole's answer to it.
    loads: Vec<Vec<f64>>,
    answers: Vec<Vec<f64>>,
    /// Answer to a uniform field of one tesla.
    uniform: Vec<f64>,
    own: Vec<CoilAnswer>,
}

/// Those to one coil.
struct CoilAnswer {
    racetracks: Vec<Racetrack>,
    /// Which of the answers is that of each pole.
    answer: Vec<usize>,
    /// Field that the others' answers lay on each pole, T per ampere.
    laid_on: Vec<f64>,
}

fn coil_answers(section: &Section, between: &Between) -> Result<CoilAnswers, FieldError> {
    let Between { row, field, locator, .. } = between;
    let tangent = SmallChange::new(field)?;
    let air = SmallChange::new(&emptied(field))?;
    let answer = |load: &[f64]| -> Vec<f64> {
        tangent.answer(load).iter().zip(air.answer(load)).map(|(with, air)| with - air).collect()
    };
    // Poles as far from the middle and as high see the same of a coil.
    let mut spots: Vec<(usize, f64, f64)> = Vec::new();
    let mut which = Vec::new();
    for c in 0..section.coils.len() {
        let of_pole = |k: usize| {
            let spot = (c, row.place(k).abs(), row.heights[k]);
            spots.iter().position(|known| *known == spot).unwrap_or_else(|| {
                spots.push(spot);
                spots.len() - 1
            })
        };
        which.push((0..row.count).map(of_pole).collect::<Vec<usize>>());
    }
    let tracks: Vec<Vec<Racetrack>> =
        section.coils.iter().map(|coil| racetracks(coil, row)).collect();
    let loads: Vec<Vec<f64>> = spots
        .par_iter()
        .map(|&(c, place, raised)| {
            let mut sum = vec![0.0; field.nodal.len()];
            for track in &tracks[c] {
                let own = racetrack::load(track, field.mesh(), locator, place, raised);
                sum.iter_mut().zip(own).for_each(|(s, l)| *s += l);
            }
            sum
        })
        .collect();
    let answers: Vec<Vec<f64>> = loads.par_iter().map(|load| answer(load)).collect();
    let rings = far_rings(field, locator);
    let made = between.mean.of(field, locator, &air.answer(&rings), 0.0, 0.0);
    // Where no part answers a field there is none to take the mean over.
    let one_tesla = if made > 0.0 { 1.0 / made } else { 0.0 };
    let uniform: Vec<f64> = answer(&rings).iter().map(|a| a * one_tesla).collect();
    let on = between.means(&uniform);
    let own = tracks
        .into_iter()
        .zip(which)
        .map(|(racetracks, which)| {
            let given: Vec<f64> = (0..row.count)
                .map(|k| {
                    let others = (0..row.count).filter(|&j| j != k);
                    others.map(|j| between.mean(&answers[which[j]], j, k)).sum()
                })
                .collect();
            let laid_on = between.settle(&given, &on);
            CoilAnswer { racetracks, answer: which, laid_on }
        })
        .collect();
    Ok(CoilAnswers { loads, answers, uniform, own })
}

/// The windows of a coil as racetracks; windows that are no rectangles are refused when the section is
/// read.
fn racetracks(coil: &Coil, row: &Row) -> Vec<Racetrack> {
    coil.windows
        .iter()
        .filter_map(|window| {
            let Shape::Rectangle { width, height, .. } = window.shape else { return None };
            Some(Racetrack {
                inner: window.at.x - 0.5 * width,
                outer: window.at.x + 0.5 * width,
                bottom: window.at.y - 0.5 * height,
                top: window.at.y + 0.5 * height,
                straight: row.straight,
                turns: window.sense * window.turns,
            })
        })
        .collect()
}

/// The same mesh filled with air.
fn emptied(field: &Field) -> Field {
    let bodies = vec![Body::air(); field.setup().bodies.len()];
    let space = Arc::clone(&field.assembly.space);
    let assembly = Arc::new(Assembly::new(space, Setup::new(bodies)));
    Field { assembly, nodal: vec![0.0; field.nodal.len()], info: field.info.clone() }
}

/// The load of two coaxial rings, as far apart as their radius: between them, where the pole stands, their
/// field is the same to the fourth power of its size over theirs.
fn far_rings(field: &Field, locator: &Locator) -> Vec<f64> {
    let mesh = field.mesh();
    let radius = 0.35 * mesh.outer_radius;
    let tiny = 1e-9 * radius;
    let mut sum = vec![0.0; field.nodal.len()];
    for end in [-0.5, 0.5] {
        let height = mesh.centre.y + end * radius;
        let ring = Racetrack {
            inner: radius - tiny,
            outer: radius + tiny,
            bottom: height - tiny,
            top: height + tiny,
            straight: 0.0,
            turns: 1.0,
        };
        let own = racetrack::load(&ring, mesh, locator, 0.0, 0.0);
        sum.iter_mut().zip(own).for_each(|(s, l)| *s += l);
    }
    sum
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}
