//! A row of round poles: what every string over it tells.
//!
//! In: the section, the field of its pole without strings, and what that pole tells by itself. Out: the
//! same with the strings coupled to the whole row and the coils as racetracks round it. The parts are those
//! of a pole by itself.

use rayon::prelude::*;

use crate::field::Field;
use crate::geometry::Regions;
use crate::material::Assigned;
use crate::point::Point;
use crate::quantity::coupled::StringRange;
use crate::quantity::model::{
    BendReading, BodyPull, Quantities, RowReading, StringModel, StringReading,
};
use crate::quantity::take::TakeError;
use crate::section::{Row, Section, StringSpec};
use crate::strings::{Above, CoupledString, RowAbove};
use crate::units::MU_0;

/// Puts the row in place of the lone pole of `quantities`.
///
/// # Errors
/// The row could not be put together, or a string not coupled.
pub fn add_row(
    section: &Section,
    row: &Row,
    regions: &Regions,
    materials: &Assigned,
    field: &Field,
    quantities: &mut Quantities,
) -> Result<(), TakeError> {
    let range = section.strings.iter().map(StringRange::of_string).reduce(StringRange::and);
    let Some(range) = range else { return Ok(()) };
    let above = RowAbove::new(section, regions, field, range.lowest, range.reach)?;
    let Some(above) = above else { return Ok(()) };
    add_over(section, row, materials, &above, quantities)
}

/// As [`add_row`], over a row that is put together already.
///
/// # Errors
/// A string could not be coupled.
pub fn add_over(
    section: &Section,
    row: &Row,
    materials: &Assigned,
    above: &RowAbove,
    quantities: &mut Quantities,
) -> Result<(), TakeError> {
    for (reading, coil) in quantities.coils.iter_mut().zip(&above.coils) {
        reading.linkage_without = coil.linkage;
        reading.linkage = coil.linkage;
        reading.inductance = coil.air_inductance + coil.added_inductance;
    }
    let over = |index: usize| -> Result<(StringReading, Vec<BendReading>), TakeError> {
        string(section, row, materials, above, index)
    };
    let read: Result<Vec<_>, TakeError> =
        (0..section.strings.len()).into_par_iter().map(over).collect();
    let mut bends = Vec::new();
    // Poles do not pull on the row they stand in: the strings alone do, on all of them as one.
    quantities.pulls.clear();
    let mut on_row = [0.0; 2];
    for (reading, bent) in read? {
        if let Some(coupled) = &reading.coupled {
            for (coil, own) in quantities.coils.iter_mut().zip(&coupled.coils) {
                coil.linkage += own.rise;
            }
        }
        let members = vec![reading.name.clone()];
        on_row = [on_row[0] - reading.pull[0], on_row[1] - reading.pull[1]];
        quantities.pulls.push(BodyPull { members, pull: reading.pull });
        quantities.strings.push(reading);
        bends.extend(bent);
    }
    quantities.pulls.push(BodyPull { members: vec!["the row".to_owned()], pull: on_row });
    quantities.row = Some(RowReading { laid_on: above.laid_on.clone(), bends });
    Ok(())
}

/// `spec` as its own pole sees it: from where the highest pole of the row stands to where its own does.
pub fn over_its_pole(row: &Row, spec: &StringSpec) -> StringSpec {
    let mut own = spec.clone();
    own.axis.y += row.below_highest(spec.pole.unwrap_or(0));
    own
}

fn string(
    section: &Section,
    row: &Row,
    materials: &Assigned,
    above: &RowAbove,
    index: usize,
) -> Result<(StringReading, Vec<BendReading>), TakeError> {
    let spec = &section.strings[index];
    let pole = spec.pole.unwrap_or(0);
    let own = over_its_pole(row, spec);
    let above = &above.poles[pole];
    let couple = |spec: &StringSpec| -> Result<CoupledString, TakeError> {
        above
            .string(spec, &materials.strings[index])
            .map_err(|source| TakeError::Coupling { name: spec.name.clone(), source })
    };
    let coupled = couple(&own)?;
    let level = |string: &CoupledString| string.coils.iter().map(|c| c.change[1]).sum::<f64>();
    let bends: Result<Vec<BendReading>, TakeError> = spec
        .bends
        .iter()
        .map(|&offset| {
            let bent = couple(&StringSpec { offset, ..own.clone() })?;
            Ok(BendReading {
                name: spec.name.clone(),
                offset,
                pull: [bent.pull[1], bent.pull[2]],
                linkage_change: bent.coils.iter().map(|coil| coil.change).collect(),
                level: level(&bent) / level(&coupled),
            })
        })
        .collect();
    let reading = reading(row, &own, pole, above, coupled);
    Ok((reading, bends?))
}

fn reading(
    row: &Row,
    own: &StringSpec,
    pole: usize,
    above: &Above,
    coupled: CoupledString,
) -> StringReading {
    let h = above.upper.eval([0.0, own.offset, own.axis.y]).h;
    let middle = coupled.x.len() / 2;
    let [bx, _, bz] = coupled.flux_density[middle];
    let axis = Point::new(row.place(pole) + own.offset, own.axis.y + row.heights[pole]);
    StringReading {
        name: own.name.clone(),
        model: StringModel::Coupled,
        axis,
        gauge: own.gauge,
        gap: own.gap,
        flux_density_without: [MU_0 * h[1], MU_0 * h[2]],
        wrap_is_meshed: false,
        flux_density: [bx, bz],
        largest: coupled.greatest_flux_density,
        pull: [coupled.pull[1], coupled.pull[2]],
        pull_gradient: coupled.pull_gradient,
        linkage_change: coupled.coils.iter().map(|coil| coil.change).collect(),
        coupled: Some(coupled),
    }
}
