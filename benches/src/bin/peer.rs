//! Lodestring's side of the peer bench: `benches/peer/peer.py` starts it, asks and compares.
//!
//! `peer SECTION SCALE FOLDER` meshes the section (its sizes times SCALE), solves its field with the strings
//! taken out, and writes to FOLDER, as raw little-endian arrays, the mesh and the lower triangle of the
//! tangent at the solution:
//!
//! | file | holds |
//! |---|---|
//! | `nodes.f64` | x, y of every node, m |
//! | `triangles.u32` | six nodes of every triangle: corners, then the middles of 01, 12, 20 |
//! | `region_of.u32`, `regions.txt` | region of every triangle; their names |
//! | `outer.u32` | nodes on the outer boundary |
//! | `nodal.f64` | the vector potential at the nodes, Wb/m |
//! | `starts.u64`, `rows.u64`, `values.f64` | the matrix in compressed columns |
//!
//! Then it answers one line on standard input with one line of JSON: `solve` (mesh, unknowns and field from
//! nothing), `nested` (the same begun on meshes four times and twice as coarse, their making included), `factor
//! N` and `refill N` (N times over). Times are seconds of one; `cpu_s` is the processor time of all threads as
//! Linux counts it.

#![expect(clippy::print_stdout, reason = "its answers go there")]

use std::io::BufRead;
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use lodestring::field::fill::bodies;
use lodestring::field::{Field, Setup, Space};
use lodestring::material::Library;
use lodestring::mesh::mesh;
use lodestring::pipeline::{Fields, Prepared, fields_on, prepare, unknowns};

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [section, scale, folder] = &arguments[..] else {
        panic!("peer SECTION SCALE FOLDER");
    };
    let text = std::fs::read_to_string(section).expect("a readable section");
    let mut ready = prepare(&text, &Library::built_in()).expect("a section free of mistakes");
    ready.regions.mesh_scale *= scale.parse::<f64>().expect("a number");
    let (field, _) = solve(&ready);
    dump(&field, Path::new(folder)).expect("a folder that can be written to");
    println!("{}", told(&field));
    let assembly = &field.assembly;
    let space = &assembly.space;
    let unknowns: Vec<f64> = space.node_of.iter().map(|&node| field.nodal[node as usize]).collect();
    let matrix = assembly.tangent(&unknowns);
    let mut factor = Some(space.analysis.factor(&matrix).expect("positive definite"));
    for line in std::io::stdin().lock().lines() {
        let line = line.expect("text");
        let mut words = line.split_whitespace();
        let command = words.next().unwrap_or_default();
        let times = words.next().map_or(1, |n| n.parse::<u32>().expect("a whole number"));
        match command {
            "solve" => {
                let (field, times) = solve(&ready);
                println!(
                    "{{\"mesh_s\": {}, \"unknowns_s\": {}, \"field_s\": {}, \"cpu_s\": {}, \"newton\": {}}}",
                    times[0],
                    times[1],
                    times[2],
                    times[3],
                    told(&field)
                );
            }
            "nested" => timed(1, || nested(&ready)),
            "factor" => timed(times, || {
                let old = factor.take().expect("it is put back");
                factor = Some(space.analysis.refactor(&matrix, old).expect("positive definite"));
            }),
            "refill" => timed(times, || {
                std::hint::black_box(assembly.tangent(&unknowns));
            }),
            other => panic!("cannot `{other}`"),
        }
    }
}

/// Does it so many times and prints the time of one.
fn timed(times: u32, mut work: impl FnMut()) {
    let (start, before) = (Instant::now(), processor_time());
    for _ in 0..times {
        work();
    }
    let (wall, cpu) = (start.elapsed().as_secs_f64(), processor_time() - before);
    let times = f64::from(times);
    println!("{{\"wall_s\": {}, \"cpu_s\": {}}}", wall / times, cpu / times);
}

/// The field with the strings taken out; wall time of mesh, unknowns and field, and processor time of the
/// last two.
fn solve(ready: &Prepared) -> (Field, [f64; 4]) {
    let start = Instant::now();
    let grid = Arc::new(mesh(&ready.regions).expect("meshes"));
    let meshed = start.elapsed().as_secs_f64();
    let before = processor_time();
    let space = Arc::new(Space::of_potential(grid).expect("memory"));
    let numbered = start.elapsed().as_secs_f64();
    let own = bodies(&ready.section, &space.mesh.regions, &ready.materials, false);
    let field = Field::solve(space, Setup::new(own)).expect("converges");
    let solved = start.elapsed().as_secs_f64();
    (field, [meshed, numbered - meshed, solved - numbered, processor_time() - before])
}

/// Solves the field beginning from those of coarser meshes.
fn nested(ready: &Prepared) {
    let mut before: Option<Fields> = None;
    for coarser in [4.0, 2.0, 1.0] {
        let mut ready = ready.clone();
        ready.regions.mesh_scale *= coarser;
        let (space, start) = unknowns(&ready, None, before.as_ref()).expect("meshes");
        before = Some(fields_on(&ready, space, start.as_ref()).expect("converges"));
    }
}

fn told(field: &Field) -> String {
    let info = &field.info;
    format!(
        "{{\"unknowns\": {}, \"factor_entries\": {}, \"factorisations\": {}, \"steps\": {}, \"residual\": {:e}}}",
        info.unknowns,
        info.factor_entries,
        info.iterations(),
        info.steps.len(),
        info.residual()
    )
}

fn dump(field: &Field, folder: &Path) -> std::io::Result<()> {
    std::fs::create_dir_all(folder)?;
    let f64s = |name: &str, values: &mut dyn Iterator<Item = f64>| {
        std::fs::write(folder.join(name), values.flat_map(f64::to_le_bytes).collect::<Vec<u8>>())
    };
    let u32s = |name: &str, values: &mut dyn Iterator<Item = u32>| {
        std::fs::write(folder.join(name), values.flat_map(u32::to_le_bytes).collect::<Vec<u8>>())
    };
    let u64s = |name: &str, values: &[usize]| {
        let bytes: Vec<u8> = values.iter().flat_map(|&v| (v as u64).to_le_bytes()).collect();
        std::fs::write(folder.join(name), bytes)
    };
    let mesh = field.mesh();
    f64s("nodes.f64", &mut mesh.nodes.iter().flat_map(|p| [p.x, p.y]))?;
    u32s("triangles.u32", &mut mesh.triangles.iter().flatten().copied())?;
    u32s("region_of.u32", &mut mesh.region_of.iter().copied())?;
    let names: Vec<&str> = mesh.regions.iter().map(|region| region.name.as_str()).collect();
    std::fs::write(folder.join("regions.txt"), names.join("\n"))?;
    u32s("outer.u32", &mut mesh.outer_nodes.iter().copied())?;
    f64s("nodal.f64", &mut field.nodal.iter().copied())?;
    let assembly = &field.assembly;
    let unknowns: Vec<f64> =
        assembly.space.node_of.iter().map(|&node| field.nodal[node as usize]).collect();
    let matrix = assembly.tangent(&unknowns);
    let (starts, rows, values) = matrix.columns();
    u64s("starts.u64", starts)?;
    u64s("rows.u64", rows)?;
    f64s("values.f64", &mut values.iter().copied())
}

/// Processor time of all threads so far, s: the first number of every thread's `schedstat` is its nanoseconds
/// on a processor. Threads that have ended are not counted: none does here.
fn processor_time() -> f64 {
    let threads = std::fs::read_dir("/proc/self/task").expect("Linux");
    threads
        .filter_map(|thread| std::fs::read_to_string(thread.ok()?.path().join("schedstat")).ok())
        .filter_map(|text| text.split_whitespace().next()?.parse::<f64>().ok())
        .sum::<f64>()
        * 1e-9
}
