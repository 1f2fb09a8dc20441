//! A case: a section, what is asked of it, and what the answer is held against.
//!
//! Each folder of `cases/` holds `section.toml`, an ordinary section file, and `case.toml`: title,
//! sources, the exact solution and the checks with their tolerances and the reason for each.

use serde::Deserialize;

use crate::form::Form;

/// What `case.toml` says.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    /// One line.
    pub title: String,
    /// Keys of `references.bib`.
    pub cites: Vec<String>,
    /// The exact solution.
    pub reference: Form,
    /// What is compared.
    pub check: Vec<Check>,
}

/// One comparison.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// What is compared.
    pub of: Target,
    /// Largest deviation, per cent of the magnitude of the reference. Where there is none the
    /// numbers are shown side by side and not judged.
    pub tolerance_percent: Option<f64>,
    /// Why that much, or what explains the difference.
    pub reason: String,
    /// Figures from elsewhere, one for each number in order, SI (T, N/m or N, Wb, H). Used where
    /// the reference is of the form `figures`; a vector is compared by its magnitude.
    #[serde(default)]
    pub figures: Vec<f64>,
}

/// What can be compared.
#[derive(Clone, Debug, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Target {
    /// Flux density at every point of the probes so called, as a vector.
    FluxDensity(Vec<String>),
    /// The same with all strings taken out.
    FluxDensityWithoutStrings(Vec<String>),
    /// Flux density with all strings taken out, where the axes of the strings so called would be.
    FluxDensityAtStrings(Vec<String>),
    /// Upward flux of the parts so called, averaged over their height, Wb/m or Wb.
    UpwardFlux(Vec<String>),
    /// Pull on the parts so called, as a vector.
    Pull(Vec<String>),
    /// Flux linkage of the coils so called, strings taken out.
    LinkageWithoutStrings(Vec<String>),
    /// Inductance of the coils so called.
    Inductance(Vec<String>),
    /// Mutual inductance of two coils.
    MutualInductance([String; 2]),
    /// Pull on the strings so called, N.
    StringPull(Vec<String>),
    /// Sideways pull on the strings so called, N.
    StringPullAcross(Vec<String>),
    /// Linkage of the coils so called, strings in less strings out.
    LinkageRise(Vec<String>),
    /// Change of the first coil's linkage with the height of the strings so called, Wb/m.
    LinkageChange(Vec<String>),
    /// The same with their place sideways, Wb/m.
    LinkageChangeAcross(Vec<String>),
    /// Inductance of a coil with its core made of each material in turn, over that with the first.
    InductanceRatio {
        /// The coil.
        coil: String,
        /// The part that is the core.
        core: String,
        /// What it is made of; the first is what the others are divided by and is not listed.
        materials: Vec<String>,
    },
}

/// A case as shipped.
#[derive(Clone, Copy, Debug)]
pub struct Shipped {
    /// Name of its folder.
    pub name: &'static str,
    /// Text of its `section.toml`.
    pub section: &'static str,
    /// Text of its `case.toml`.
    pub case: &'static str,
}

impl Shipped {
    /// Reads `case.toml`.
    ///
    /// # Errors
    /// What the TOML reader found wrong.
    pub fn read(&self) -> Result<Case, toml::de::Error> {
        toml::from_str(self.case)
    }
}
