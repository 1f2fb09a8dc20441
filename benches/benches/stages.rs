//! One benchmark per code path, on the six-rod section.
//!
//! Each is well above the timer's noise. What is deliberately not measured: reading the file from
//! disk and printing the report, both far below a millisecond.

use std::hint::black_box;
use std::sync::Arc;

use criterion::{Criterion, criterion_group, criterion_main};
use lodestring::field::assembly::Assembly;
use lodestring::field::fill::bodies;
use lodestring::field::{Field, Setup, Space};
use lodestring::material::Library;
use lodestring::mesh::mesh;
use lodestring::pipeline::{Prepared, prepare, solve};
use lodestring::quantity::take;

const SIX_RODS: &str = include_str!("../../meshes/six-rods.toml");

fn prepared(library: &Library) -> Prepared {
    prepare(SIX_RODS, library).expect("the shipped section is free of mistakes")
}

fn stages(c: &mut Criterion) {
    let library = Library::built_in();
    let ready = prepared(&library);
    let sections = &ready.section;
    let grid = Arc::new(mesh(&ready.regions).expect("meshes"));
    let space = Arc::new(Space::of_potential(Arc::clone(&grid)).expect("memory"));
    let setup = |strings| Setup::new(bodies(sections, &grid.regions, &ready.materials, strings));
    let field = Field::solve(Arc::clone(&space), setup(true)).expect("converges");
    let assembly = Assembly::new(Arc::clone(&space), setup(true));
    let unknowns = space.restrict(&field.nodal);
    let tangent = assembly.tangent(&unknowns);

    c.bench_function("parse", |b| b.iter(|| lodestring::section::parse(black_box(SIX_RODS))));
    c.bench_function("prepare", |b| b.iter(|| prepared(black_box(&library))));
    c.bench_function("mesh", |b| b.iter(|| mesh(black_box(&ready.regions)).expect("meshes")));
    c.bench_function("space: pattern and order of elimination", |b| {
        b.iter(|| Space::of_potential(Arc::clone(black_box(&grid))).expect("memory"));
    });
    c.bench_function("assembly: constant part", |b| {
        b.iter(|| Assembly::new(Arc::clone(&space), setup(true)));
    });
    c.bench_function("assembly: refill the tangent", |b| {
        b.iter(|| assembly.tangent(black_box(&unknowns)));
    });
    c.bench_function("numeric factorisation", |b| {
        b.iter(|| space.analysis.factor(black_box(&tangent)).expect("definite"));
    });
    c.bench_function("newton", |b| {
        b.iter(|| Field::solve(Arc::clone(&space), setup(true)).expect("converges"));
    });
    c.bench_function("quantities", |b| {
        b.iter(|| {
            take(sections, &ready.regions, &ready.materials, &field, Some(black_box(&field)))
                .expect("definite")
        });
    });
    c.bench_function("whole solve", |b| {
        b.iter(|| solve(&prepared(&library)).expect("solves"));
    });
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20);
    targets = stages
}
criterion_main!(benches);
