//! Curves of a solved section: pull and flux change against the gap, where on its curve each magnet
//! works, where along the string the coil listens, and the field along probes.

use rayon::prelude::*;

use crate::field::Field;
use crate::geometry::Source;
use crate::material::{DemagnetisationCurve, Law, Library};
use crate::pipeline::{Prepared, Solved};
use crate::quantity::StringReading;
use crate::quantity::coupled::StringRange;
use crate::report::html::{Axis, Block, Chapter, Chart, Mark, Rule, Series, shown};
use crate::report::record::{Item, Report};
use crate::section::{Section, StringSpec};
use crate::study::bench::{StringBench, range_of};
use crate::units::MU_0;

/// Gaps of the curves, as shares of the lowest and of the highest gap of the section.
const GAPS: [f64; 2] = [0.4, 2.2];
/// Number of gaps.
const N_GAPS: usize = 21;
/// Values of a magnet's curve.
const N_CURVE: usize = 61;
/// A sensitivity below this share of its greatest value is not shown.
const FAINT: f64 = 3e-3;

/// The chapter; nothing where the section gives no curve.
pub fn curves(
    prepared: &Prepared,
    solved: &Solved,
    report: &Report,
    library: &Library,
) -> Option<Chapter> {
    let (mut charts, apart) = gaps(prepared, solved, library).unwrap_or_default();
    charts.extend(along_strings(prepared, solved));
    charts.extend(magnets(prepared, solved));
    charts.extend(probes(report));
    let any = !charts.is_empty();
    let mut blocks: Vec<Block> = apart.map(|apart| Block::Text(words(apart))).into_iter().collect();
    blocks.push(Block::Charts(charts));
    any.then_some(Chapter { title: "Curves", blocks })
}

/// How far pulls and flux changes on the mesh of the curves are from those of the solve, the strings as they
/// stand, as shares of the largest.
type Apart = [f64; 2];

fn words(apart: Apart) -> String {
    let [pull, change] = apart.map(|share| shown(100.0 * share, 1));
    format!(
        "Curves against the gap come from a mesh of their own. On it the strings as they stand have the pulls \
         told above within {pull} % of the largest, and the flux changes within {change} %."
    )
}

/// Pull and flux change of each coupled string against its gap; `None` where none is coupled.
fn gaps(
    prepared: &Prepared,
    solved: &Solved,
    library: &Library,
) -> Option<(Vec<Chart>, Option<Apart>)> {
    let section = &prepared.section;
    let strings: Vec<(usize, f64)> = solved
        .quantities
        .strings
        .iter()
        .filter_map(|reading| {
            let index = section.strings.iter().position(|s| s.name == reading.name)?;
            Some((index, reading.gap.filter(|gap| *gap > 0.0)?))
        })
        .collect();
    let lowest = strings.iter().map(|s| s.1).reduce(f64::min)? * GAPS[0];
    let highest = strings.iter().map(|s| s.1).reduce(f64::max)? * GAPS[1];
    let at = |index: usize, own: f64, gap: f64| -> StringSpec {
        let mut spec = section.strings[index].clone();
        spec.axis.y += gap - own;
        spec.gap = Some(gap);
        spec
    };
    let range = strings
        .iter()
        .map(|&(index, own)| range_of(section, &at(index, own, lowest)))
        .reduce(StringRange::and)?;
    let bench = StringBench::new(section, range, library).ok()?;
    let gaps: Vec<f64> =
        (0..N_GAPS).map(|i| lowest + (highest - lowest) * i as f64 / (N_GAPS - 1) as f64).collect();
    let mut pulls = Vec::new();
    let mut changes = Vec::new();
    for &(index, own) in &strings {
        let coupled: Vec<_> =
            gaps.par_iter().map(|gap| bench.couple(index, &at(index, own, *gap)).ok()).collect();
        let name = &section.strings[index].name;
        let of = |value: &dyn Fn(usize) -> Option<f64>| -> Vec<[f64; 2]> {
            let value = |i| value(i).unwrap_or(f64::NAN);
            gaps.iter().enumerate().map(|(i, gap)| [gap * 1e3, value(i)]).collect()
        };
        let pull = of(&|i| Some(coupled[i].as_ref()?.pull[2] * 1e3));
        pulls.push(Series::line(name, pull));
        for (k, coil) in section.coils.iter().enumerate() {
            let change = of(&|i| Some(coupled[i].as_ref()?.coils.get(k)?.change[1] * 1e3));
            let name = match section.coils.len() {
                1 => name.clone(),
                _ => format!("{name}, {}", coil.name),
            };
            changes.push(Series::line(&name, change));
        }
    }
    let mut rules: Vec<Rule> = Vec::new();
    for &(_, own) in &strings {
        if !rules.iter().any(|rule| (rule.at - own * 1e3).abs() < 1e-6) {
            rules.push(Rule { at: own * 1e3, label: String::new() });
        }
    }
    if let [rule] = &mut rules[..] {
        "as it stands".clone_into(&mut rule.label);
    }
    let chart = |title: &str, y: Axis, series| Chart {
        title: title.to_owned(),
        about: "Dotted: the gap as it stands.".to_owned(),
        x: Axis::new("gap", "mm"),
        y,
        series,
        rules: rules.clone(),
        with_values: true,
    };
    let charts = vec![
        chart("Pull against the gap", Axis::new("pull up", "mN"), pulls),
        chart("Flux change against the gap", Axis::new("flux change up", "\u{b5}Wb/mm"), changes),
    ];
    Some((charts, apart(section, solved, &bench)))
}

/// `None` where a string cannot be coupled or nothing pulls.
fn apart(section: &Section, solved: &Solved, bench: &StringBench) -> Option<Apart> {
    let coupled = solved
        .quantities
        .strings
        .iter()
        .filter_map(|reading| reading.coupled.as_ref().map(|c| (reading, c)));
    let mut most = [[0.0_f64; 2]; 2];
    let mut hold = |kind: usize, told: f64, own: f64| {
        let [size, off] = &mut most[kind];
        (*size, *off) = (size.max(told.abs()), off.max((own - told).abs()));
    };
    for (reading, told) in coupled {
        let index = section.strings.iter().position(|s| s.name == reading.name)?;
        let own = bench.couple(index, &section.strings[index]).ok()?;
        hold(0, told.pull[2], own.pull[2]);
        told.coils.iter().zip(&own.coils).for_each(|(t, o)| hold(1, t.change[1], o.change[1]));
    }
    let shares = most.map(|[size, off]| if off > 0.0 { off / size } else { 0.0 });
    (most[0][0] > 0.0 && shares.iter().all(|share| share.is_finite())).then_some(shares)
}

/// Where along the string its signal comes from, and how it is magnetised.
fn along_strings(prepared: &Prepared, solved: &Solved) -> Vec<Chart> {
    let coils = &prepared.section.coils;
    let mut heard = Vec::new();
    let mut inside = Vec::new();
    let mut widths = Vec::new();
    for StringReading { name, coupled, .. } in &solved.quantities.strings {
        let Some(string) = coupled else { continue };
        let mut reach = 0.0_f64;
        for (coil, own) in coils.iter().zip(&string.coils) {
            let density = &own.sensitivity[1];
            let greatest = density.iter().fold(0.0_f64, |g, s| g.max(s.abs()));
            let points: Vec<[f64; 2]> = string
                .x
                .iter()
                .zip(density)
                .filter(|(_, s)| s.abs() > FAINT * greatest)
                .map(|(x, s)| [x * 1e3, *s])
                .collect();
            reach = points.iter().fold(reach, |r, p| r.max(p[0].abs()));
            let named = match coils.len() {
                1 => name.clone(),
                _ => format!("{name}, {}", coil.name),
            };
            widths.push(format!("{named}: {} mm", shown(own.aperture[1] * 1e3, 3)));
            heard.push(Series::line(&named, points));
        }
        let reach = if reach > 0.0 { reach } else { 30.0 };
        let points = string
            .x
            .iter()
            .zip(&string.flux_density)
            .map(|(x, b)| [x * 1e3, b[0]])
            .filter(|p| p[0].abs() <= reach)
            .collect();
        inside.push(Series::line(name, points));
    }
    let mut charts = Vec::new();
    let x = || Axis::new("along the string from the pole", "mm");
    if heard.iter().any(|s| !s.points.is_empty()) {
        charts.push(Chart {
            title: "Aperture: where along the string the coil listens".to_owned(),
            about: format!(
                "What each millimetre of string adds. Full width at half height: {}.",
                widths.join("; ")
            ),
            x: x(),
            y: Axis::new("flux change per mm", "\u{b5}Wb/mm\u{b2}"),
            series: heard,
            rules: Vec::new(),
            with_values: true,
        });
    }
    if !inside.is_empty() {
        charts.push(Chart {
            title: "Flux density in the string, along it".to_owned(),
            about: String::new(),
            x: x(),
            y: Axis::new("flux density along the string", "T"),
            series: inside,
            rules: Vec::new(),
            with_values: true,
        });
    }
    charts
}

/// One chart for each magnet material, with the working points of its magnets.
fn magnets(prepared: &Prepared, solved: &Solved) -> Vec<Chart> {
    let mut grades: Vec<(&str, &DemagnetisationCurve, Vec<usize>)> = Vec::new();
    for (i, part) in prepared.section.parts.iter().enumerate() {
        let Some(curve) = curve(solved.field(), i) else { continue };
        let name = part.material.name.as_str();
        match grades.iter_mut().find(|(known, ..)| *known == name) {
            Some((_, _, parts)) => parts.push(i),
            None => grades.push((name, curve, vec![i])),
        }
    }
    grades.iter().map(|(name, curve, parts)| magnet(prepared, solved, name, curve, parts)).collect()
}

fn curve(field: &Field, part: usize) -> Option<&DemagnetisationCurve> {
    let is_it = |source: &Source| matches!(source, Source::Part(i) if *i == part);
    let region = field.mesh().regions.iter().position(|region| is_it(&region.source))?;
    match &field.setup().bodies.get(region)?.law {
        Law::Magnet(curve) => Some(curve),
        _ => None,
    }
}

fn magnet(
    prepared: &Prepared,
    solved: &Solved,
    grade: &str,
    curve: &DemagnetisationCurve,
    parts: &[usize],
) -> Chart {
    let points: Vec<_> = parts
        .iter()
        .filter_map(|&i| {
            let name = &prepared.section.parts[i].name;
            let reading = solved.quantities.parts.iter().find(|p| p.name == *name)?;
            Some((name, reading.working_point.as_ref()?))
        })
        .collect();
    let lowest = points.iter().map(|(_, p)| p.lowest_field_strength.min(p.field_strength));
    let low = 1.05 * lowest.fold(-curve.coercivity(), f64::min);
    let value = |h: f64| [h * 1e-3, curve.b_of_h(h).0];
    let major = (0..N_CURVE).map(|i| value(low * (1.0 - i as f64 / (N_CURVE - 1) as f64)));
    let mut series = vec![Series::line(&format!("{grade}, as charged"), major.collect())];
    if let Some((_, p)) = points.first() {
        let from = p.lowest_field_strength;
        let start = curve.apparent_remanence(from);
        let recoil = [from, 0.0].map(|h| [h * 1e-3, start + MU_0 * curve.recoil() * h]);
        series.push(Series::line("recoil line of its weakest point", recoil.to_vec()));
    }
    for (name, p) in &points {
        series.push(Series {
            name: format!("works at: {name}"),
            mark: Mark::Points,
            points: vec![[p.field_strength * 1e-3, p.flux_density]],
            labels: Vec::new(),
        });
    }
    let rules = curve
        .knee()
        .filter(|knee| knee.0 > low)
        .map(|knee| Rule { at: knee.0 * 1e-3, label: "knee".to_owned() });
    Chart {
        title: format!("Demagnetisation curve of {grade}"),
        about: "Left of the knee a magnet loses charge for good. Working points are means over the magnet."
            .to_owned(),
        x: Axis::new("H along the charge", "kA/m"),
        y: Axis::new("B along the charge", "T"),
        series,
        rules: rules.into_iter().collect(),
        with_values: true,
    }
}

/// The field along each probe line.
fn probes(report: &Report) -> Vec<Chart> {
    let mut lines: Vec<(&str, Vec<&Item>)> = Vec::new();
    for item in report.items("probes") {
        let name = item.get_word("name");
        match lines.last_mut() {
            Some((known, items)) if *known == name => items.push(item),
            _ => lines.push((name, vec![item])),
        }
    }
    lines.retain(|(_, items)| items.len() > 2);
    lines
        .into_iter()
        .map(|(name, items)| {
            let value = |item: &Item, key| item.get(key).and_then(|n| n.shown());
            let at = |item: &Item| ["x", "y"].map(|k| value(item, k).unwrap_or(f64::NAN));
            let start = items.first().map_or([0.0; 2], |item| at(item));
            let of = |key: &'static str| -> Vec<[f64; 2]> {
                items
                    .iter()
                    .map(|item| {
                        let [x, y] = at(item);
                        let far = (x - start[0]).hypot(y - start[1]);
                        [far, value(item, key).unwrap_or(f64::NAN)]
                    })
                    .collect()
            };
            let series = [
                ("up, no strings", "flux_density_without_up"),
                ("across, no strings", "flux_density_without_across"),
                ("up, strings in", "flux_density_up"),
                ("across, strings in", "flux_density_across"),
            ]
            .map(|(label, key)| Series::line(label, of(key)))
            .into_iter()
            .filter(|s| s.points.iter().any(|p| p[1].is_finite()))
            .collect();
            Chart {
                title: format!("Field along the probe {name}"),
                about: format!("From ({}, {}) mm on.", shown(start[0], 4), shown(start[1], 4)),
                x: Axis::new("along the probe", "mm"),
                y: Axis::new("flux density", "mT"),
                series,
                rules: Vec::new(),
                with_values: true,
            }
        })
        .collect()
}
