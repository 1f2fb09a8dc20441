//! What the grade library holds, as a report.
//!
//! Magnets show the data of their curve: what it is laid through, and what follows from it. For a
//! knee curve the coercivity of B and the energy product follow; for a four-data curve the coercivity
//! of J does. Makers list those too, and where a grade has them they stand beside
//! ([`Grade::listed_coercivity`] and its like).

use crate::material::{DemagnetisationCurve, Law, REFERENCE_TEMPERATURE, SoftLaw, is_magnet};
use crate::section::{Grade, LawSpec};

use super::layout::{
    Column, Layout, write_limits, write_markdown, write_markdown_limits, write_table,
};
use super::record::{Group, Item, Report};
use super::unit::{CELSIUS, KA_PER_M, KJ_PER_M3, ONE, PERCENT_PER_K, T, Unit};

const MAGNETS: Layout = Layout {
    title: "Magnets at 20 °C",
    group: "magnets",
    columns: &[
        Column::Word("name", "grade"),
        Column::Word("family", "family"),
        Column::Number("remanence", "Br", 3),
        Column::Number("coercivity", "HcB", 3),
        Column::Number("intrinsic_coercivity", "HcJ", 3),
        Column::Number("energy_product", "(BH)max", 3),
        Column::Number("recoil_permeability", "recoil\nperm.", 3),
        Column::Number("remanence_change", "Br\nchange", 2),
        Column::Number("intrinsic_coercivity_change", "Hc\nchange", 2),
        Column::Number("temperature_limit", "limit\nof use", 3),
        Column::Word("sure", "how sure"),
    ],
};

const OTHERS: Layout = Layout {
    title: "Steels, string wire and what is not magnetic",
    group: "others",
    columns: &[
        Column::Word("name", "grade"),
        Column::Word("family", "family"),
        Column::Word("law", "law"),
        Column::Number("initial_permeability", "initial\nperm.", 3),
        Column::Number("saturation", "saturation", 3),
        Column::Word("sure", "how sure"),
    ],
};

/// The report on these grades.
pub fn report(grades: &[&Grade]) -> Report {
    let (magnets, others): (Vec<&Grade>, Vec<&Grade>) =
        grades.iter().partition(|grade| is_magnet(&grade.law));
    let mut limits = vec![
        "Every maker's grade is his own, and batches differ: the data sheet of the maker comes first."
            .to_owned(),
    ];
    let mut sures: Vec<_> = grades.iter().map(|grade| grade.sure).collect();
    sures.sort_unstable();
    sures.dedup();
    limits.extend(sures.iter().map(|sure| format!("`{}`: {}.", sure.word(), sure.meaning())));
    Report {
        words: vec![("title", "Grades of the library".to_owned())],
        groups: vec![
            Group { key: "magnets", items: magnets.into_iter().map(magnet).collect() },
            Group { key: "others", items: others.into_iter().map(other).collect() },
        ],
        limits,
        ..Report::default()
    }
}

/// The report as one group of items called `grades`, whatever they are, for a table with a row each.
pub fn as_one_group(report: &Report) -> Report {
    let items = report.groups.iter().flat_map(|group| group.items.iter().cloned()).collect();
    Report { groups: vec![Group { key: "grades", items }], ..report.clone() }
}

/// The report as a person reads it.
pub fn text(report: &Report) -> String {
    let mut out = String::new();
    write_table(report, &MAGNETS, &mut out);
    write_table(report, &OTHERS, &mut out);
    write_limits(report, &mut out);
    out.trim_start().to_owned()
}

/// The report as Markdown.
pub fn markdown(report: &Report) -> String {
    let mut out = String::new();
    write_markdown(report, &MAGNETS, &mut out);
    write_markdown(report, &OTHERS, &mut out);
    write_markdown_limits(report, &mut out);
    out.trim_start().to_owned()
}

/// The words of any grade; those after the numbers of the table stand last.
fn named(grade: &Grade) -> Item {
    let item =
        Item::new(&grade.name).word("family", &grade.family).word("law", law_word(&grade.law));
    item.word("sure", grade.sure.word())
        .word("source", &grade.source)
        .word("note", grade.note.clone().unwrap_or_default())
        .word("also", grade.also.join(", "))
}

fn magnet(grade: &Grade) -> Item {
    let law = Law::from_spec(&grade.law, REFERENCE_TEMPERATURE).map(|fit| fit.law);
    let curve = match &law {
        Ok(Law::Magnet(curve)) => Some(curve),
        _ => None,
    };
    let of = |value: fn(&DemagnetisationCurve) -> f64| curve.map(value);
    let (alpha, beta) = coefficients(&grade.law);
    let number = |item: Item, name, unit: Unit, value: Option<f64>| match value {
        Some(_) => item.number(name, unit, value),
        None => item,
    };
    let item = named(grade)
        .number("remanence", T, of(DemagnetisationCurve::remanence))
        .number("coercivity", KA_PER_M, of(DemagnetisationCurve::coercivity))
        .number(
            "intrinsic_coercivity",
            KA_PER_M,
            curve.and_then(DemagnetisationCurve::intrinsic_coercivity),
        )
        .number("energy_product", KJ_PER_M3, of(DemagnetisationCurve::energy_product))
        .number("recoil_permeability", ONE, of(DemagnetisationCurve::recoil))
        .number("remanence_change", PERCENT_PER_K, alpha)
        .number("intrinsic_coercivity_change", PERCENT_PER_K, beta)
        .number("temperature_limit", CELSIUS, grade.temperature_limit);
    let item = number(item, "listed_coercivity", KA_PER_M, grade.listed_coercivity);
    let listed_of_j = grade.listed_intrinsic_coercivity.or(match grade.law {
        LawSpec::Magnet { intrinsic_coercivity, .. } => intrinsic_coercivity,
        _ => None,
    });
    let item = number(item, "listed_intrinsic_coercivity", KA_PER_M, listed_of_j);
    number(item, "listed_energy_product", KJ_PER_M3, grade.listed_energy_product)
}

fn other(grade: &Grade) -> Item {
    let (initial, saturation) = match &grade.law {
        LawSpec::Linear { mu_r } => (Some(*mu_r), None),
        LawSpec::Saturating { saturation, mu_initial, .. } => {
            (Some(*mu_initial), Some(*saturation))
        }
        LawSpec::Table { h, b } => {
            let law = SoftLaw::through_points(h, b).map(Law::Soft);
            let initial = law.map(|law| law.magnetisation(0.0).1 + 1.0);
            (initial.ok(), None)
        }
        _ => (None, None),
    };
    named(grade).number("initial_permeability", ONE, initial).number("saturation", T, saturation)
}

/// Temperature coefficients of the remanence and of the coercivity, 1/K.
fn coefficients(law: &LawSpec) -> (Option<f64>, Option<f64>) {
    match law {
        LawSpec::Magnet { remanence_per_kelvin, coercivity_per_kelvin, .. }
        | LawSpec::KneeMagnet { remanence_per_kelvin, coercivity_per_kelvin, .. } => {
            (Some(*remanence_per_kelvin), Some(*coercivity_per_kelvin))
        }
        _ => (None, None),
    }
}

/// The law in the word of grade files.
fn law_word(law: &LawSpec) -> &'static str {
    match law {
        LawSpec::Linear { .. } => "linear",
        LawSpec::Table { .. } => "curve",
        LawSpec::Saturating { .. } => "saturating",
        LawSpec::StraightMagnet { .. } => "straight magnet",
        LawSpec::Magnet { .. } => "magnet",
        LawSpec::KneeMagnet { .. } => "knee magnet",
        LawSpec::MagnetTable { .. } => "magnet curve",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::Library;

    #[test]
    fn every_grade_has_a_row_with_its_data() {
        let library = Library::built_in();
        let grades: Vec<&Grade> = library.grades().collect();
        let report = report(&grades);
        let rows = report.items("magnets").len() + report.items("others").len();
        assert_eq!(rows, grades.len());
        for item in report.items("magnets") {
            for name in ["remanence", "coercivity", "energy_product", "recoil_permeability"] {
                let value = item.get(name).and_then(|n| n.shown());
                assert!(value.is_some_and(|v| v > 0.0), "{}: {name}", item.get_word("name"));
            }
            assert!(!item.get_word("source").is_empty());
        }
        let alnico = report.items("magnets").iter().find(|i| i.get_word("name") == "alnico 5");
        let alnico = alnico.expect("shipped");
        let shown = |name| alnico.get(name).and_then(|n| n.shown()).expect("a number");
        // What its row states, given back by the curve to the digits that are written.
        assert!((shown("remanence") - 1.28).abs() < 1e-9);
        assert!((shown("coercivity") - 51.0).abs() < 1e-4);
        assert!((shown("energy_product") - 43.8).abs() < 1e-4);
        assert!((shown("remanence_change") + 0.02).abs() < 1e-9);
        assert_eq!(alnico.get_word("sure"), "nominal");
        let text = text(&report);
        assert!(text.contains("`nominal`: nominal, from memory of a standard"), "{text}");
        assert!(text.contains("data sheet of the maker comes first"), "{text}");
    }
}
