//! What stands in the section, made ready for drawing: which regions are there, in which order
//! they are drawn, what they are made of and how that is filled.

use crate::geometry::{AIR, RegionId, Regions, Source};
use crate::report::picture::hatch::{
    Hatch, OF_MAGNETS, OF_OTHERS, OF_STEELS, OF_STRINGS, OF_WINDINGS,
};
use crate::report::picture::outline::bounds;
use crate::report::picture::view::Window;
use crate::section::{Role, Section, StringRun, Symmetry};

/// A section and where its parts are.
#[derive(Clone, Copy, Debug)]
pub struct Scene<'a> {
    /// What the file says.
    pub section: &'a Section,
    /// Where everything is.
    pub regions: &'a Regions,
}

/// A material as it is drawn.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Fill {
    /// Name of the material.
    pub material: String,
    /// Hue, degrees.
    pub hue: f64,
    /// Hatching.
    pub hatch: Hatch,
}

/// The fills of a scene.
#[derive(Clone, Debug)]
pub(super) struct Fills {
    /// Each material once.
    pub list: Vec<Fill>,
    /// Fill of each region; `None` for the air.
    pub of_region: Vec<Option<usize>>,
}

/// A string that runs in the plane, seen from its side.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct SideOn {
    /// Names of the strings that are seen there.
    pub names: Vec<String>,
    /// Height of the axis, m.
    pub height: f64,
    /// Its gauge, m; of several strings from the underside of the lowest to the top of the highest.
    pub gauge: f64,
}

impl SideOn {
    fn ends(&self) -> [f64; 2] {
        [self.height - 0.5 * self.gauge, self.height + 0.5 * self.gauge]
    }

    fn hides(&self, other: &Self) -> bool {
        let ([low, high], [other_low, other_high]) = (self.ends(), other.ends());
        low < other_high && other_low < high
    }

    fn and(mut self, other: Self) -> Self {
        let ([low, high], [other_low, other_high]) = (self.ends(), other.ends());
        let (low, high) = (low.min(other_low), high.max(other_high));
        self.names.extend(other.names);
        Self { names: self.names, height: 0.5 * (low + high), gauge: high - low }
    }
}

impl<'a> Scene<'a> {
    /// True where the section stands for a body turned about x = 0, of which both halves are drawn.
    pub(super) fn is_round(&self) -> bool {
        self.regions.symmetry == Symmetry::Axisymmetric
    }

    /// True where strings lie in the plane, or cross the axis of a round section.
    pub(super) fn strings_lie(&self) -> bool {
        self.is_round() || self.section.string_run == StringRun::InPlane
    }

    /// The solid regions without strings seen from their side, those that pass through others after them.
    pub(super) fn solids(&self) -> Vec<RegionId> {
        let n = self.regions.regions.len();
        let under = |r: usize| {
            (0..n).filter(move |&s| {
                self.regions.displaced_by.get(s).is_some_and(|by| by.contains(&(r as u32)))
            })
        };
        let mut done = vec![false; n];
        let mut order = Vec::new();
        // Whatever a region passes through is drawn before it; arrangements have no cycles, and
        // one would only lose its order.
        fn visit(
            r: usize,
            under: &dyn Fn(usize) -> Vec<usize>,
            done: &mut [bool],
            order: &mut Vec<RegionId>,
        ) {
            if std::mem::replace(&mut done[r], true) {
                return;
            }
            for s in under(r) {
                visit(s, under, done, order);
            }
            order.push(r as RegionId);
        }
        for r in 0..n {
            visit(r, &|r| under(r).collect(), &mut done, &mut order);
        }
        order.retain(|&r| {
            let region = &self.regions.regions[r as usize];
            let side_on = region.source.string().is_some() && self.strings_lie();
            r != AIR && !side_on && region.outline.is_some()
        });
        order
    }

    /// The window that a region takes up; of a round section its right half only.
    pub(super) fn bounds(&self, region: RegionId) -> Option<Window> {
        self.regions.regions.get(region as usize)?.outline.as_ref().map(bounds)
    }

    /// The window that holds everything solid, strings in the plane and both halves of a round
    /// section included.
    pub(super) fn extent(&self) -> Window {
        let mut all = Window::EMPTY;
        for region in self.solids() {
            if let Some(window) = self.bounds(region) {
                all = all.and(window);
                if self.is_round() {
                    all = all.and(window.mirrored());
                }
            }
        }
        for string in self.side_on() {
            all.top = all.top.max(string.height + 0.5 * string.gauge);
            all.bottom = all.bottom.min(string.height - 0.5 * string.gauge);
        }
        all
    }

    /// Strings that run in the plane, one entry for all that are seen at one height.
    pub(super) fn side_on(&self) -> Vec<SideOn> {
        let mut seen: Vec<SideOn> = Vec::new();
        if !self.strings_lie() {
            return seen;
        }
        for string in &self.section.strings {
            let mut own = SideOn {
                names: vec![string.name.clone()],
                height: string.axis.y,
                gauge: string.gauge,
            };
            // What hides a piece of another is drawn as one with it.
            while let Some(other) = seen.iter().position(|other| own.hides(other)) {
                own = seen.remove(other).and(own);
            }
            seen.push(own);
        }
        seen
    }

    /// What each region is filled with.
    pub(super) fn fills(&self) -> Fills {
        let mut list: Vec<Fill> = Vec::new();
        let mut counts = [0usize; 3];
        let of_region = self
            .regions
            .regions
            .iter()
            .map(|region| {
                let (material, family) = match region.source {
                    Source::Air => return None,
                    Source::Window(..) => ("copper winding".to_owned(), Role::Coil),
                    Source::Part(i) => {
                        (self.section.parts.get(i)?.material.name.clone(), region.role)
                    }
                    Source::String(i) => {
                        (self.section.strings.get(i)?.core.name.clone(), Role::String)
                    }
                    Source::Wrap(i) => {
                        let wrap = self.section.strings.get(i)?.wrap.as_ref()?;
                        (wrap.name.clone(), Role::String)
                    }
                };
                let known = list.iter().position(|fill| fill.material == material);
                Some(known.unwrap_or_else(|| {
                    let mut next = |family: usize, of: &[(f64, Hatch); 4]| {
                        counts[family] += 1;
                        of[(counts[family] - 1) % 4]
                    };
                    let (hue, hatch) = match family {
                        Role::Coil => OF_WINDINGS,
                        Role::String => OF_STRINGS,
                        Role::Magnet => next(0, &OF_MAGNETS),
                        Role::PolePiece | Role::BasePlate | Role::Keeper => next(1, &OF_STEELS),
                        Role::Cover | Role::Body => next(2, &OF_OTHERS),
                    };
                    list.push(Fill { material, hue, hatch });
                    list.len() - 1
                }))
            })
            .collect();
        Fills { list, of_region }
    }
}
