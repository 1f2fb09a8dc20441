//! How time and memory grow with the number of unknowns: the six-rod section on ever finer meshes.
//!
//! `cargo run --release -p lodestring-benches --bin growth [scale ...]`: each scale of the mesh
//! (1 is the default mesh) is solved in a process of its own, five times over, and the medians
//! are printed as a table; the peak of memory is that of the process as Linux tells it. The exponent is
//! that of the whole solve between two lines. `--steps` prints Newton's steps as well.

#![expect(clippy::print_stdout, reason = "a table is what it makes")]

use std::process::Command;
use std::sync::Arc;
use std::time::Instant;

use lodestring::field::{SolveInfo, Space};
use lodestring::material::Library;
use lodestring::mesh::mesh;
use lodestring::pipeline::{fields_on, prepare};
use lodestring::quantity::take;

const SIX_RODS: &str = include_str!("../../../meshes/six-rods.toml");

/// Solves in one process: more than enough for a steady median.
const RUNS: usize = 5;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if let [flag, scale] = &arguments[..]
        && flag == "--one"
    {
        return one(scale.parse().expect("a number"), false);
    }
    if let [flag, scale] = &arguments[..]
        && flag == "--steps"
    {
        return one(scale.parse().expect("a number"), true);
    }
    let scales = if arguments.is_empty() {
        ["2", "1.4", "1", "0.7", "0.5", "0.4", "0.3"].map(String::from).to_vec()
    } else {
        arguments
    };
    let own = std::env::current_exe().expect("the path of this program");
    println!(
        "| scale | unknowns | mesh | space | fields | quantities | whole, ms | steps | peak, MiB | exponent |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|");
    let mut before: Option<(f64, f64)> = None;
    for scale in scales {
        let output = Command::new(&own).args(["--one", &scale]).output().expect("runs");
        let line = String::from_utf8_lossy(&output.stdout).trim().to_owned();
        let cells: Vec<&str> = line.split('|').map(str::trim).collect();
        let number = |k: usize| cells.get(k).and_then(|c| c.parse::<f64>().ok());
        let (Some(unknowns), Some(whole)) = (number(1), number(6)) else {
            println!("| {scale} | failed: {} |", String::from_utf8_lossy(&output.stderr));
            continue;
        };
        let exponent = before.map(|(n, t)| (whole / t).ln() / (unknowns / n).ln());
        before = Some((unknowns, whole));
        let exponent = exponent.map_or(String::new(), |e| format!("{e:.2}"));
        println!("| {line} | {exponent} |");
    }
}

/// Solves the section with its sizes multiplied by `scale` and prints the medians.
fn one(scale: f64, steps: bool) {
    let library = Library::built_in();
    let mut ready = prepare(SIX_RODS, &library).expect("the shipped section is free of mistakes");
    ready.regions.mesh_scale *= scale;
    let mut times: Vec<[f64; 5]> = Vec::new();
    let mut unknowns = 0;
    let mut counts = String::new();
    for _ in 0..RUNS {
        let mut marks = vec![Instant::now()];
        let grid = Arc::new(mesh(&ready.regions).expect("meshes"));
        marks.push(Instant::now());
        let space = Arc::new(Space::of_potential(grid).expect("memory"));
        marks.push(Instant::now());
        let solved = fields_on(&ready, Arc::clone(&space), None).expect("converges");
        marks.push(Instant::now());
        take(
            &ready.section,
            &ready.regions,
            &ready.materials,
            &solved.without,
            solved.with.as_ref(),
        )
        .expect("definite");
        marks.push(Instant::now());
        let part = |k: usize| (marks[k + 1] - marks[k]).as_secs_f64() * 1e3;
        times.push([part(0), part(1), part(2), part(3), part(0) + part(1) + part(2) + part(3)]);
        unknowns = space.n_unknowns();
        let infos = [Some(&solved.without), solved.with.as_ref()].into_iter().flatten();
        let infos: Vec<&SolveInfo> = infos.map(|field| &field.info).collect();
        counts = infos.iter().map(|i| i.iterations().to_string()).collect::<Vec<_>>().join(" + ");
        if steps && times.len() == 1 {
            for info in infos {
                println!("{:?}", info.steps);
            }
        }
    }
    let medians: Vec<String> = (0..5)
        .map(|k| {
            let mut column: Vec<f64> = times.iter().map(|t| t[k]).collect();
            column.sort_by(f64::total_cmp);
            format!("{:.1}", column[RUNS / 2])
        })
        .collect();
    let peak = peak_memory().map_or("?".to_owned(), |mib| format!("{mib:.0}"));
    println!("{scale} | {unknowns} | {} | {counts} | {peak}", medians.join(" | "));
}

/// Most memory this process has held, MiB; `None` where the system does not tell.
fn peak_memory() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse::<f64>().ok().map(|kib| kib / 1024.0)
}
