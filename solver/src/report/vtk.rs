//! Mesh and field, and magnetised strings, to VTK unstructured grids (`.vtu`): the only file that
//! names `vtkio`.
//!
//! In: a [`Mesh`] and the field on it, or strings, as plain slices. Out: XML with inline base64 data, zlib
//! compressed or not, little endian.
//!
//! - Points: (x, y, 0) planar, (r, z, 0) axisymmetric, in metres.
//! - Cells: quadratic triangles (VTK type 22), nodes v0 v1 v2 m01 m12 m20 as in [`Mesh`].
//! - Point data: `vector_potential_Wb_per_m` (A_z, or A_phi) and, axisymmetric only,
//!   `r_times_vector_potential_Wb_per_rad` (r A_phi, whose level lines are flux lines; the flux
//!   through a circle is 2 pi times it).
//! - Cell data: `flux_density_T` and `field_strength_A_per_m` (three components, the third 0),
//!   `flux_density_magnitude_T`, `relative_permeability`, `region` (0 is the air around it all).
//! - Field data: for each region an array of one number, named as the part and holding its region
//!   number. (VTK has string arrays too, but several readers refuse a file that holds one.)
//!
//! A string is a poly-line (type 4) of its own grid: magnetisation, flux density and field strength
//! as point data, `string` (its number) and `core_diameter_m` as cell data, names as above.
//!
//! The field is not interpolated or smoothed here: cell values are what the caller evaluated.

use std::io::Write;

use thiserror::Error;
use vtkio::model::{
    Attribute, Attributes, ByteOrder, CellType, Cells, DataSet, UnstructuredGridPiece, Version,
    VertexNumbers, Vtk,
};
use vtkio::xml::Compressor;

use crate::mesh::Mesh;
use crate::section::Symmetry;

/// The field on a mesh, in the mesh's own order.
#[derive(Clone, Copy, Debug)]
pub struct VtuFields<'a> {
    /// A_z (planar) or A_phi (axisymmetric) at the nodes, Wb/m, `[n_nodes]`.
    pub vector_potential: &'a [f64],
    /// Flux density (x, y) or (r, z) in each triangle, T, `[n_triangles]`.
    pub flux_density: &'a [[f64; 2]],
    /// Field strength (x, y) or (r, z) in each triangle, A/m, `[n_triangles]`.
    pub field_strength: &'a [[f64; 2]],
    /// Relative permeability in each triangle, `[n_triangles]`.
    pub relative_permeability: &'a [f64],
}

/// How the numbers are packed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Packing {
    /// zlib blocks: about a third of the size.
    #[default]
    Compressed,
    /// Plain base64: quicker to write.
    Plain,
}

/// Why a grid could not be written.
#[derive(Debug, Error)]
pub enum VtuError {
    /// A slice does not fit the mesh.
    #[error("`{array}` has {got} values where the mesh has {expected}")]
    Length {
        /// Which slice.
        array: &'static str,
        /// Values wanted.
        expected: usize,
        /// Values given.
        got: usize,
    },
    /// A value is infinite or not a number.
    #[error("`{array}` holds a value that is not finite, at index {index}")]
    NotFinite {
        /// Which slice.
        array: &'static str,
        /// Its first such place.
        index: usize,
    },
    /// The grid could not be encoded.
    #[error("could not encode the grid: {0}")]
    Encode(String),
    /// The writer refused.
    #[error("could not write the grid")]
    Write(#[from] std::io::Error),
}

/// Writes `mesh` with `fields` on it as a VTK unstructured grid.
///
/// # Errors
/// [`VtuError::Length`] and [`VtuError::NotFinite`] before a byte is written, where a slice does
/// not fit the mesh or holds NaN or infinity; [`VtuError::Write`] where `out` fails.
pub fn write_vtu(
    mesh: &Mesh,
    fields: &VtuFields<'_>,
    packing: Packing,
    out: &mut impl Write,
) -> Result<(), VtuError> {
    check(mesh, fields)?;
    let grid = UnstructuredGridPiece {
        points: mesh.nodes.iter().flat_map(|p| [p.x, p.y, 0.0]).collect::<Vec<f64>>().into(),
        cells: cells(mesh),
        data: Attributes { point: point_data(mesh, fields), cell: cell_data(mesh, fields) },
    };
    encode(grid, names(mesh.regions.iter().map(|region| region.name.as_str())), packing, out)
}

/// Writes strings as a VTK unstructured grid of one poly-line (type 4) each.
///
/// # Errors
/// As [`write_vtu`].
pub fn write_strings_vtu(
    strings: &[StringLine<'_>],
    packing: Packing,
    out: &mut impl Write,
) -> Result<(), VtuError> {
    for string in strings {
        let expected = string.places.len();
        for (array, vectors) in string.arrays() {
            let got = vectors.len();
            if got != expected {
                return Err(VtuError::Length { array, expected, got });
            }
            let finite = |v: &[f64; 3]| v.iter().all(|x| x.is_finite());
            if let Some(index) = vectors.iter().position(|v| !finite(v)) {
                return Err(VtuError::NotFinite { array, index });
            }
        }
    }
    let mut offsets = Vec::new();
    let mut n = 0;
    for string in strings {
        n += string.places.len() as u64;
        offsets.push(n);
    }
    let all = |of: for<'s> fn(&StringLine<'s>) -> &'s [[f64; 3]]| -> Vec<f64> {
        strings.iter().flat_map(|string| of(string).iter().flatten().copied()).collect()
    };
    let number: Vec<u32> = (0..strings.len() as u32).collect();
    let diameter: Vec<f64> = strings.iter().map(|string| string.diameter).collect();
    let grid = UnstructuredGridPiece {
        points: all(|s| s.places).into(),
        cells: Cells {
            cell_verts: VertexNumbers::XML { connectivity: (0..n).collect(), offsets },
            types: vec![CellType::PolyLine; strings.len()],
        },
        data: Attributes {
            point: vec![
                Attribute::vectors("magnetisation_A_per_m").with_data(all(|s| s.magnetisation)),
                Attribute::generic("flux_density_T", 3).with_data(all(|s| s.flux_density)),
                Attribute::generic("field_strength_A_per_m", 3)
                    .with_data(all(|s| s.field_strength)),
            ],
            cell: vec![
                Attribute::generic("string", 1).with_data(number),
                Attribute::generic("core_diameter_m", 1).with_data(diameter),
            ],
        },
    };
    encode(grid, names(strings.iter().map(|string| string.name)), packing, out)
}

/// A magnetised string: vectors at places along it, all (x, y, z) with z out of the section.
#[derive(Clone, Copy, Debug)]
pub struct StringLine<'a> {
    /// Its name.
    pub name: &'a str,
    /// Diameter of its magnetic core, m.
    pub diameter: f64,
    /// Places along its axis, m.
    pub places: &'a [[f64; 3]],
    /// Magnetisation there, A/m.
    pub magnetisation: &'a [[f64; 3]],
    /// Flux density inside it there, T.
    pub flux_density: &'a [[f64; 3]],
    /// Field strength inside it there, A/m.
    pub field_strength: &'a [[f64; 3]],
}

impl<'a> StringLine<'a> {
    fn arrays(&self) -> [(&'static str, &'a [[f64; 3]]); 4] {
        [
            ("places", self.places),
            ("magnetisation", self.magnetisation),
            ("flux_density", self.flux_density),
            ("field_strength", self.field_strength),
        ]
    }
}

/// Encodes a grid and writes it, with `field_data` where the grid opens: vtkio has none in XML
/// files.
fn encode(
    grid: UnstructuredGridPiece,
    field_data: String,
    packing: Packing,
    out: &mut impl Write,
) -> Result<(), VtuError> {
    let grid = Vtk {
        version: Version::new_xml(1, 0),
        byte_order: ByteOrder::LittleEndian,
        title: String::new(),
        file_path: None,
        data: DataSet::inline(grid),
    };
    let (compressor, level) = match packing {
        Packing::Compressed => (Compressor::ZLib, 5),
        Packing::Plain => (Compressor::None, 0),
    };
    let mut xml = Vec::new();
    grid.try_into_xml_format(compressor, level)
        .and_then(|file| file.write(&mut xml))
        .map_err(|e| VtuError::Encode(e.to_string()))?;

    const OPENING: &[u8] = b"<UnstructuredGrid>";
    let names_at = xml
        .windows(OPENING.len())
        .position(|w| w == OPENING)
        .map(|at| at + OPENING.len())
        .ok_or_else(|| VtuError::Encode("the grid has no opening tag".into()))?;
    out.write_all(&xml[..names_at])?;
    out.write_all(field_data.as_bytes())?;
    out.write_all(&xml[names_at..])?;
    out.flush()?;
    Ok(())
}

fn check(mesh: &Mesh, fields: &VtuFields<'_>) -> Result<(), VtuError> {
    let pairs = |values: &[[f64; 2]]| values.iter().position(|v| !(v[0] + v[1]).is_finite());
    let singles = |values: &[f64]| values.iter().position(|v| !v.is_finite());
    let (n_nodes, n_triangles) = (mesh.nodes.len(), mesh.triangles.len());
    let f = fields;
    for (array, expected, got, bad) in [
        ("nodes", n_nodes, n_nodes, mesh.nodes.iter().position(|p| !(p.x + p.y).is_finite())),
        ("vector_potential", n_nodes, f.vector_potential.len(), singles(f.vector_potential)),
        ("flux_density", n_triangles, f.flux_density.len(), pairs(f.flux_density)),
        ("field_strength", n_triangles, f.field_strength.len(), pairs(f.field_strength)),
        (
            "relative_permeability",
            n_triangles,
            f.relative_permeability.len(),
            singles(f.relative_permeability),
        ),
        ("region_of", n_triangles, mesh.region_of.len(), None),
    ] {
        if expected != got {
            return Err(VtuError::Length { array, expected, got });
        }
        if let Some(index) = bad {
            return Err(VtuError::NotFinite { array, index });
        }
    }
    Ok(())
}

fn cells(mesh: &Mesh) -> Cells {
    Cells {
        cell_verts: VertexNumbers::XML {
            connectivity: mesh.triangles.iter().flatten().map(|&n| u64::from(n)).collect(),
            offsets: (1..=mesh.triangles.len() as u64).map(|i| 6 * i).collect(),
        },
        types: vec![CellType::QuadraticTriangle; mesh.triangles.len()],
    }
}

fn point_data(mesh: &Mesh, fields: &VtuFields<'_>) -> Vec<Attribute> {
    let a = fields.vector_potential;
    let mut data = vec![Attribute::scalars("vector_potential_Wb_per_m", 1).with_data(a.to_vec())];
    if mesh.symmetry == Symmetry::Axisymmetric {
        let r_a: Vec<f64> = mesh.nodes.iter().zip(a).map(|(p, a)| p.x * a).collect();
        data.push(Attribute::generic("r_times_vector_potential_Wb_per_rad", 1).with_data(r_a));
    }
    data
}

fn cell_data(mesh: &Mesh, fields: &VtuFields<'_>) -> Vec<Attribute> {
    let in_space = |v: &[[f64; 2]]| v.iter().flat_map(|b| [b[0], b[1], 0.0]).collect::<Vec<f64>>();
    let magnitude: Vec<f64> = fields.flux_density.iter().map(|b| b[0].hypot(b[1])).collect();
    vec![
        Attribute::scalars("flux_density_magnitude_T", 1).with_data(magnitude),
        Attribute::vectors("flux_density_T").with_data(in_space(fields.flux_density)),
        Attribute::generic("field_strength_A_per_m", 3).with_data(in_space(fields.field_strength)),
        Attribute::generic("relative_permeability", 1)
            .with_data(fields.relative_permeability.to_vec()),
        Attribute::generic("region", 1).with_data(mesh.region_of.clone()),
    ]
}

/// Field data: one array per name, called so and holding its number.
fn names<'n>(names: impl Iterator<Item = &'n str>) -> String {
    let mut xml = String::from("<FieldData>");
    for (number, name) in names.enumerate() {
        xml.push_str("<DataArray type=\"Int32\" Name=\"");
        push_escaped(&mut xml, name);
        xml.push_str("\" NumberOfTuples=\"1\" format=\"ascii\">");
        xml.push_str(&number.to_string());
        xml.push_str("</DataArray>");
    }
    xml.push_str("</FieldData>");
    xml
}

/// Appends `text` as the value of an XML 1.0 attribute. Characters XML cannot hold become U+FFFD.
pub(crate) fn push_escaped(xml: &mut String, text: &str) {
    for c in text.chars() {
        match c {
            '&' => xml.push_str("&amp;"),
            '<' => xml.push_str("&lt;"),
            '>' => xml.push_str("&gt;"),
            '"' => xml.push_str("&quot;"),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => xml.push('\u{fffd}'),
            c => xml.push(c),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Region, Source};
    use crate::point::Point;
    use crate::section::Role;

    fn one_triangle(symmetry: Symmetry) -> Mesh {
        let nodes = [(0.0, 0.0), (2.0, 0.0), (0.0, 2.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)];
        Mesh {
            symmetry,
            nodes: nodes.map(|(x, y)| Point::new(x, y)).to_vec(),
            n_vertices: 3,
            triangles: vec![[0, 1, 2, 3, 4, 5]],
            region_of: vec![0],
            regions: vec![Region {
                name: "a <\"b\"> & \u{7}".into(),
                role: Role::Body,
                source: Source::Air,
                outline: None,
                area: 2.0,
            }],
            outer_nodes: Vec::new(),
            flattened_area: 0.0,
            outer_radius: 2.0,
            centre: Point::default(),
        }
    }

    const FIELDS: VtuFields<'_> = VtuFields {
        vector_potential: &[0.0; 6],
        flux_density: &[[0.0; 2]],
        field_strength: &[[0.0; 2]],
        relative_permeability: &[1.0],
    };

    fn written(mesh: &Mesh, fields: &VtuFields<'_>) -> Result<String, VtuError> {
        let mut out = Vec::new();
        let result = write_vtu(mesh, fields, Packing::Plain, &mut out);
        assert!(result.is_ok() || out.is_empty(), "wrote before it had checked");
        result.map(|()| String::from_utf8_lossy(&out).into_owned())
    }

    #[test]
    fn names_are_escaped() {
        let xml = written(&one_triangle(Symmetry::Planar), &FIELDS).unwrap_or_default();
        assert!(xml.contains("Name=\"a &lt;&quot;b&quot;&gt; &amp; \u{fffd}\""), "{xml}");
    }

    #[test]
    fn r_times_a_is_there_only_when_axisymmetric() {
        for (symmetry, there) in [(Symmetry::Planar, false), (Symmetry::Axisymmetric, true)] {
            let xml = written(&one_triangle(symmetry), &FIELDS).unwrap_or_default();
            assert_eq!(xml.contains("r_times_vector_potential_Wb_per_rad"), there);
            assert!(xml.contains("\"vector_potential_Wb_per_m\""));
        }
    }

    #[test]
    fn slices_must_fit_and_be_finite() {
        let mesh = one_triangle(Symmetry::Planar);
        let short = VtuFields { vector_potential: &[0.0; 5], ..FIELDS };
        let said = written(&mesh, &short).map_err(|e| e.to_string());
        assert_eq!(said, Err("`vector_potential` has 5 values where the mesh has 6".into()));
        let infinite = VtuFields { flux_density: &[[0.0, f64::INFINITY]], ..FIELDS };
        let said = written(&mesh, &infinite).map_err(|e| e.to_string());
        assert_eq!(said, Err("`flux_density` holds a value that is not finite, at index 0".into()));
    }
}
