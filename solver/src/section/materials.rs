//! Materials of the file's own: `[[material]]`.
//!
//! In: the tables of the file. Out: [`MaterialSpec`]s with SI numbers. What is checked here is
//! what can be said of one number or one list; whether a law makes sense as a whole is decided by
//! the material stage.

use crate::problem::Problem;
use crate::section::entry::Entry;
use crate::section::model::{LawSpec, MaterialSpec, SaturatingCurve};
use crate::section::names::Names;
use crate::section::notes::Notes;
use crate::section::reader::{Table, any_of};

/// Most materials.
pub(super) const MOST_MATERIALS: usize = 500;
/// Most points of a curve.
const MOST_POINTS: usize = 10_000;
/// Largest flux density or polarisation, T.
const MOST_FLUX: f64 = 10.0;
/// Largest relative permeability.
const MOST_PERMEABILITY: f64 = 1e6;
/// Largest coercivity, kA/m.
const MOST_COERCIVITY: f64 = 1e4;

/// The laws, with the keys each takes besides `name` and `law`.
const LAWS: [(&str, &[&str]); 7] = [
    ("linear", &["permeability"]),
    ("curve", &["field_strength_A_per_m", "flux_density_T"]),
    ("saturating", &["saturation_T", "initial_permeability", "shape"]),
    ("straight magnet", &["remanence_T", "recoil_permeability"]),
    (
        "magnet",
        &[
            "remanence_T",
            "coercivity_kA_per_m",
            "intrinsic_coercivity_kA_per_m",
            "energy_product_kJ_per_m3",
            "recoil_permeability",
            "transverse_permeability",
            "remanence_percent_per_K",
            "intrinsic_coercivity_percent_per_K",
        ],
    ),
    (
        "knee magnet",
        &[
            "remanence_T",
            "intrinsic_coercivity_kA_per_m",
            "recoil_permeability",
            "transverse_permeability",
            "remanence_percent_per_K",
            "intrinsic_coercivity_percent_per_K",
        ],
    ),
    (
        "magnet curve",
        &[
            "field_strength_kA_per_m",
            "flux_density_T",
            "recoil_permeability",
            "transverse_permeability",
        ],
    ),
];

pub(super) const KEYS: [&str; 17] = [
    "name",
    "law",
    "permeability",
    "field_strength_A_per_m",
    "field_strength_kA_per_m",
    "flux_density_T",
    "saturation_T",
    "initial_permeability",
    "shape",
    "remanence_T",
    "coercivity_kA_per_m",
    "intrinsic_coercivity_kA_per_m",
    "energy_product_kJ_per_m3",
    "recoil_permeability",
    "transverse_permeability",
    "remanence_percent_per_K",
    "intrinsic_coercivity_percent_per_K",
];

/// Reads all materials.
pub(super) fn read(tables: Vec<Table>, notes: &mut Notes) -> Vec<MaterialSpec> {
    let mut names = Names::default();
    tables.into_iter().filter_map(|table| one(table, &mut names, notes)).collect()
}

fn one(mut table: Table, names: &mut Names, notes: &mut Notes) -> Option<MaterialSpec> {
    let name = names.read("material", "\"my steel\"", &mut table, notes);
    let law = law(&table, notes);
    Some(MaterialSpec { name: name?, span: table.span(), law: law? })
}

/// The law that a table states with its key `law` and those that belong to it.
pub(super) fn law(table: &Table, notes: &mut Notes) -> Option<LawSpec> {
    let words: Vec<(&str, usize)> = LAWS.iter().enumerate().map(|(i, law)| (law.0, i)).collect();
    let law = table.require("law", "\"linear\"", notes)?.choice(&words, notes)?;
    let (word, keys) = LAWS[law];
    let foreign: Vec<&'static str> =
        KEYS[2..].iter().copied().filter(|key| !keys.contains(key)).collect();
    let reason = format!("does not belong to the law `{word}`, which takes {}", any_of(keys));
    table.refuse(&foreign, &reason, notes);
    read_law(word, &Keys { table }, notes)
}

fn read_law(word: &str, keys: &Keys, notes: &mut Notes) -> Option<LawSpec> {
    match word {
        "linear" => {
            let mu_r = keys.permeability("permeability", "200", notes);
            Some(LawSpec::Linear { mu_r: mu_r? })
        }
        "curve" => {
            let (h, b) = keys.curve("field_strength_A_per_m", 1.0, notes)?;
            Some(LawSpec::Table { h, b })
        }
        "saturating" => {
            let saturation = keys.above_zero("saturation_T", "2.1", MOST_FLUX, " T", notes);
            let mu_initial = keys.permeability("initial_permeability", "200", notes);
            let shapes = [
                ("froehlich", SaturatingCurve::Froehlich),
                ("langevin", SaturatingCurve::Langevin),
                ("arctangent", SaturatingCurve::Arctangent),
            ];
            let curve = keys
                .table
                .require("shape", "\"froehlich\"", notes)
                .and_then(|e| e.choice(&shapes, notes));
            Some(LawSpec::Saturating {
                saturation: saturation?,
                mu_initial: mu_initial?,
                curve: curve?,
            })
        }
        "straight magnet" => {
            let (remanence, recoil) = (keys.remanence(notes), keys.recoil(notes));
            Some(LawSpec::StraightMagnet { remanence: remanence?, recoil: recoil? })
        }
        "magnet" => {
            let remanence = keys.remanence(notes);
            let coercivity = keys.coercivity("coercivity_kA_per_m", notes);
            let intrinsic =
                keys.if_given("intrinsic_coercivity_kA_per_m", |key| keys.coercivity(key, notes));
            let product = keys.above_zero("energy_product_kJ_per_m3", "43.8", 1e3, " kJ/m3", notes);
            let common = keys.common(notes);
            let common = common?;
            Some(LawSpec::Magnet {
                remanence: remanence?,
                coercivity: coercivity?,
                intrinsic_coercivity: intrinsic?,
                energy_product: product? * 1e3,
                recoil: common.recoil,
                transverse: common.transverse,
                remanence_per_kelvin: common.remanence_per_kelvin,
                coercivity_per_kelvin: common.coercivity_per_kelvin,
            })
        }
        "knee magnet" => {
            let remanence = keys.remanence(notes);
            let intrinsic = keys.coercivity("intrinsic_coercivity_kA_per_m", notes);
            let common = keys.common(notes);
            let common = common?;
            Some(LawSpec::KneeMagnet {
                remanence: remanence?,
                intrinsic_coercivity: intrinsic?,
                recoil: common.recoil,
                transverse: common.transverse,
                remanence_per_kelvin: common.remanence_per_kelvin,
                coercivity_per_kelvin: common.coercivity_per_kelvin,
            })
        }
        _ => {
            let curve = keys.curve("field_strength_kA_per_m", 1e3, notes);
            let (recoil, transverse) = (keys.recoil(notes), keys.transverse(notes));
            let (h, b) = curve?;
            Some(LawSpec::MagnetTable { h, b, recoil: recoil?, transverse: transverse? })
        }
    }
}

/// What the laws of magnets have in common.
struct Common {
    recoil: f64,
    transverse: Option<f64>,
    remanence_per_kelvin: f64,
    coercivity_per_kelvin: f64,
}

/// Readers for the keys of a law.
struct Keys<'t, 'a> {
    table: &'t Table<'a>,
}

impl Keys<'_, '_> {
    fn above_zero(
        &self,
        key: &'static str,
        example: &str,
        most: f64,
        unit: &str,
        notes: &mut Notes,
    ) -> Option<f64> {
        self.table.require(key, example, notes)?.positive(most, unit, notes)
    }

    fn permeability(&self, key: &'static str, example: &str, notes: &mut Notes) -> Option<f64> {
        self.table.require(key, example, notes)?.number_in(1.0..=MOST_PERMEABILITY, "", notes)
    }

    fn remanence(&self, notes: &mut Notes) -> Option<f64> {
        self.above_zero("remanence_T", "1.28", MOST_FLUX, " T", notes)
    }

    /// A/m, from kA/m.
    fn coercivity(&self, key: &'static str, notes: &mut Notes) -> Option<f64> {
        Some(1e3 * self.above_zero(key, "51", MOST_COERCIVITY, " kA/m", notes)?)
    }

    fn recoil(&self, notes: &mut Notes) -> Option<f64> {
        self.permeability("recoil_permeability", "1.05", notes)
    }

    fn transverse(&self, notes: &mut Notes) -> Option<Option<f64>> {
        self.if_given("transverse_permeability", |key| self.permeability(key, "1.05", notes))
    }

    /// `None` inside where the key is not there; `None` outside where it cannot be read.
    #[expect(clippy::option_option, reason = "unread and not given are different")]
    fn if_given(
        &self,
        key: &'static str,
        read: impl FnOnce(&'static str) -> Option<f64>,
    ) -> Option<Option<f64>> {
        if self.table.get(key).is_none() { Some(None) } else { read(key).map(Some) }
    }

    /// 1/K, from per cent per kelvin.
    fn per_kelvin(&self, key: &'static str, notes: &mut Notes) -> Option<f64> {
        match self.table.get(key) {
            None => Some(0.0),
            Some(entry) => Some(0.01 * entry.number_in(-10.0..=10.0, " %/K", notes)?),
        }
    }

    fn common(&self, notes: &mut Notes) -> Option<Common> {
        let (recoil, transverse) = (self.recoil(notes), self.transverse(notes));
        let remanence = self.per_kelvin("remanence_percent_per_K", notes);
        let coercivity = self.per_kelvin("intrinsic_coercivity_percent_per_K", notes);
        Some(Common {
            recoil: recoil?,
            transverse: transverse?,
            remanence_per_kelvin: remanence?,
            coercivity_per_kelvin: coercivity?,
        })
    }

    /// Points of a curve: field strength (A/m, `scale` times what is typed), strictly rising, and
    /// flux density (T), not falling.
    fn curve(
        &self,
        key: &'static str,
        scale: f64,
        notes: &mut Notes,
    ) -> Option<(Vec<f64>, Vec<f64>)> {
        let h_entry = self.table.require(key, "[0, 100, 1000]", notes);
        let b_entry = self.table.require("flux_density_T", "[0, 1.0, 1.6]", notes);
        let h = h_entry.and_then(|e| rising(&e, true, notes));
        let b = b_entry.as_ref().and_then(|e| rising(e, false, notes));
        let (h, b, b_entry) = (h?, b?, b_entry?);
        if h.len() != b.len() {
            let message = format!("has {} points where `{key}` has {}", b.len(), h.len());
            notes.add(b_entry.problem(message).help("give one value for each point"));
            return None;
        }
        Some((h.into_iter().map(|h| h * scale).collect(), b))
    }
}

/// Two numbers or more in rising order.
fn rising(entry: &Entry, strictly: bool, notes: &mut Notes) -> Option<Vec<f64>> {
    let items = entry.list(MOST_POINTS, "[0, 1, 2]", notes)?;
    if items.len() < 2 {
        notes.add(entry.problem("has fewer than two points").help("give two points or more"));
        return None;
    }
    let mut values: Vec<f64> = Vec::with_capacity(items.len());
    for item in &items {
        let value = item.number(notes)?;
        if let Some(last) = values.last()
            && (value < *last || (strictly && value == *last))
        {
            notes.add(
                item.problem(format!("must rise: {value} follows {last}"))
                    .help("list the points in rising order"),
            );
            return None;
        }
        values.push(value);
    }
    Some(values)
}

/// A uniform field laid on the section, T.
pub(super) fn applied_field(
    entry: &Entry,
    axisymmetric: bool,
    notes: &mut Notes,
) -> Option<[f64; 2]> {
    let items = entry.list(2, "[0, 0.01]", notes)?;
    let [x, y] = items.as_slice() else {
        notes.add(entry.problem("needs two numbers").help("write e.g. [0, 0.01]: across and up"));
        return None;
    };
    let read = |e: &Entry, notes: &mut Notes| e.number_in(-MOST_FLUX..=MOST_FLUX, " T", notes);
    let (x_value, y_value) = (read(x, notes), read(y, notes));
    let (x_value, y_value) = (x_value?, y_value?);
    if axisymmetric && x_value != 0.0 {
        notes.add(
            Problem::at(x.span(), "`applied_field_T` must lie along the axis")
                .help("in an axisymmetric section write [0, B]"),
        );
        return None;
    }
    Some([x_value, y_value])
}
