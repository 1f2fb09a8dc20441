//! Grids written by the library, read back by two independent readers: meshio and VTK itself.
//!
//! Needs a Python with `meshio` and `vtk`, named by the variable `PYTHON` (`python3` if unset), so
//! it is built only with `--features python`. `read_vtu.py` does the comparison, bit by bit: the
//! data are binary doubles, so nothing may be lost and no tolerance is due.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::path::{Path, PathBuf};
use std::process::Command;

use lodestring::geometry::{Region, Source};
use lodestring::mesh::Mesh;
use lodestring::point::Point;
use lodestring::report::vtk::{Packing, VtuFields, write_vtu};
use lodestring::section::{Role, Symmetry};
use serde_json::json;

#[test]
fn planar_compressed() {
    read_back(&grid(Symmetry::Planar, 7, 3), Packing::Compressed);
}

#[test]
fn planar_plain() {
    read_back(&grid(Symmetry::Planar, 7, 3), Packing::Plain);
}

#[test]
fn axisymmetric_compressed() {
    read_back(&grid(Symmetry::Axisymmetric, 5, 9), Packing::Compressed);
}

/// 4096 triangles: every cell array is a whole number of compressor blocks (32768 bytes).
#[test]
fn whole_number_of_blocks() {
    read_back(&grid(Symmetry::Planar, 64, 32), Packing::Compressed);
}

/// Several blocks, the last one partly filled.
#[test]
fn several_blocks() {
    read_back(&grid(Symmetry::Planar, 83, 71), Packing::Compressed);
}

/// VTK's own derivative of the exported potential is the exported flux density.
#[test]
fn solved_sections() {
    for (section, symmetry) in [("blade.toml", "planar"), ("rod.toml", "axisymmetric")] {
        let folder = tempfile::tempdir().unwrap();
        let grid = folder.path().join("field.vtu");
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../meshes").join(section);
        let tool = Command::new(env!("CARGO_BIN_EXE_lodestring-tool"))
            .arg("export")
            .arg(path)
            .arg("--out")
            .arg(&grid)
            .output()
            .unwrap();
        assert!(tool.status.success(), "{}", String::from_utf8_lossy(&tool.stderr));
        run_reader(&grid, Path::new(symmetry));
    }
}

/// A study as a collection: every case's section and strings.
#[test]
fn a_collection_with_strings() {
    let folder = tempfile::tempdir().unwrap();
    let collection = folder.path().join("gaps.pvd");
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../meshes/rod.toml");
    let tool = Command::new(env!("CARGO_BIN_EXE_lodestring-tool"))
        .arg("export")
        .arg(path)
        .args(["--vary", "string.G3.gap = 2 mm, 3 mm", "--out"])
        .arg(&collection)
        .output()
        .unwrap();
    assert!(tool.status.success(), "{}", String::from_utf8_lossy(&tool.stderr));
    run_reader(&collection, Path::new("strings"));
}

/// `columns` x `rows` quadrilaterals of two curved six-node triangles each.
fn grid(symmetry: Symmetry, columns: usize, rows: usize) -> Mesh {
    // Nodes on a lattice twice as fine; bent so that no side is straight and none of the
    // coordinates is a round number.
    let (nx, ny) = (2 * columns + 1, 2 * rows + 1);
    let place = |i: usize, j: usize| {
        let (x, y) = (i as f64 / 3.0, j as f64 / 7.0);
        Point::new(1e-3 * (x + 0.02 * (3.0 * y).sin()), 1e-3 * (y + 0.01 * (5.0 * x).cos()))
    };
    let nodes: Vec<Point> =
        (0..ny).flat_map(|j| (0..nx).map(move |i| (i, j))).map(|(i, j)| place(i, j)).collect();
    let id = |i: usize, j: usize| u32::try_from(j * nx + i).unwrap();
    let mut triangles = Vec::new();
    for (row, column) in (0..rows).flat_map(|r| (0..columns).map(move |c| (r, c))) {
        let (i, j) = (2 * column, 2 * row);
        triangles.push([
            id(i, j),
            id(i + 2, j),
            id(i + 2, j + 2),
            id(i + 1, j),
            id(i + 2, j + 1),
            id(i + 1, j + 1),
        ]);
        triangles.push([
            id(i, j),
            id(i + 2, j + 2),
            id(i, j + 2),
            id(i + 1, j + 1),
            id(i + 1, j + 2),
            id(i, j + 1),
        ]);
    }
    let region = |name: &str, role, source| Region {
        name: name.into(),
        role,
        source,
        outline: None,
        area: f64::INFINITY,
    };
    Mesh {
        symmetry,
        n_vertices: nodes.len(),
        region_of: (0..triangles.len()).map(|t| u32::try_from(t % 3).unwrap()).collect(),
        nodes,
        triangles,
        regions: vec![
            region("air", Role::Body, Source::Air),
            region("rod 1", Role::Magnet, Source::Part(0)),
            region("<\"plate\" & 'cover' µ>", Role::Cover, Source::Part(1)),
        ],
        outer_nodes: Vec::new(),
        flattened_area: 0.0,
        outer_radius: 1.0,
        centre: Point::default(),
    }
}

fn read_back(mesh: &Mesh, packing: Packing) {
    let a: Vec<f64> = mesh.nodes.iter().map(|p| (300.0 * p.x).sin() * 1e-3 + p.y / 3.0).collect();
    let n = mesh.triangles.len();
    let b: Vec<[f64; 2]> =
        (0..n).map(|t| [0.1 + t as f64 / 7.0, -1.0 / (1.0 + t as f64)]).collect();
    let h: Vec<[f64; 2]> = b.iter().map(|b| [b[0] * 795_774.7, b[1] * 1e3]).collect();
    let mu: Vec<f64> = (0..n).map(|t| 1.0 + (t * t) as f64).collect();
    let fields = VtuFields {
        vector_potential: &a,
        flux_density: &b,
        field_strength: &h,
        relative_permeability: &mu,
    };

    let folder = tempfile::tempdir().unwrap();
    let grid_path = folder.path().join("grid.vtu");
    let mut bytes = Vec::new();
    write_vtu(mesh, &fields, packing, &mut bytes).unwrap();
    std::fs::write(&grid_path, &bytes).unwrap();

    let in_space = |v: &[[f64; 2]]| v.iter().map(|v| [v[0], v[1], 0.0]).collect::<Vec<_>>();
    let mut point_data = json!({ "vector_potential_Wb_per_m": a });
    if mesh.symmetry == Symmetry::Axisymmetric {
        let r_a: Vec<f64> = mesh.nodes.iter().zip(&a).map(|(p, a)| p.x * a).collect();
        point_data["r_times_vector_potential_Wb_per_rad"] = json!(r_a);
    }
    let expected = json!({
        "points": mesh.nodes.iter().map(|p| [p.x, p.y, 0.0]).collect::<Vec<_>>(),
        "triangles": mesh.triangles,
        "point_data": point_data,
        "cell_data": {
            "flux_density_T": in_space(&b),
            "flux_density_magnitude_T":
                b.iter().map(|b| b[0].hypot(b[1])).collect::<Vec<_>>(),
            "field_strength_A_per_m": in_space(&h),
            "relative_permeability": mu,
            "region": mesh.region_of,
        },
        "field_data":
            mesh.regions.iter().enumerate().map(|(i, r)| (&r.name, i)).collect::<Vec<_>>(),
    });
    let expected_path = folder.path().join("expected.json");
    std::fs::write(&expected_path, expected.to_string()).unwrap();
    run_reader(&grid_path, &expected_path);
}

fn run_reader(grid: &Path, expected: &Path) {
    let script = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("read_vtu.py");
    let python = std::env::var_os("PYTHON").unwrap_or_else(|| "python3".into());
    let run = Command::new(python).arg(script).arg(grid).arg(expected).output().unwrap();
    assert!(
        run.status.success(),
        "{}{}",
        String::from_utf8_lossy(&run.stdout),
        String::from_utf8_lossy(&run.stderr)
    );
}
