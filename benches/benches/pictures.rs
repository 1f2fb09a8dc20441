//! What pictures and pages cost beyond the solve: each kind of picture of six rods on some 50,000
//! unknowns, and the page of a study of 200 cases.
//!
//! Not measured: a PNG, which costs by its pixels and not by the field.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use lodestring::accuracy::{self, Wish};
use lodestring::material::Library;
use lodestring::pipeline::{fields, prepare};
use lodestring::report::html::{Chapter, Page};
use lodestring::report::picture::{
    Look, Scene, draw_density, draw_flux, draw_mesh, draw_saturation,
};
use lodestring::study::plan::Together;
use lodestring::study::{Axis, Plan, Study, Template, page};

const SIX_RODS: &str = include_str!("../../meshes/six-rods.toml");
const ROD: &str = include_str!("../../meshes/rod.toml");

fn pictures(c: &mut Criterion) {
    let prepared = prepare(SIX_RODS, &Library::built_in()).expect("free of mistakes");
    let solved = fields(&prepared).expect("solves");
    let field = solved.field();
    assert!(field.info.unknowns > 48_000, "{}", field.info.unknowns);
    let scene = Scene { section: &prepared.section, regions: &prepared.regions };
    let look = Look::default();
    c.bench_function("flux lines at 50,000 unknowns", |b| {
        b.iter(|| draw_flux(black_box(&scene), field, None, 24, &look));
    });
    c.bench_function("flux density at 50,000 unknowns", |b| {
        b.iter(|| draw_density(black_box(&scene), field, None, 10, &look));
    });
    c.bench_function("saturation at 50,000 unknowns", |b| {
        b.iter(|| draw_saturation(black_box(&scene), field, None, 0.9, &look));
    });
    c.bench_function("mesh at 50,000 unknowns", |b| {
        b.iter(|| draw_mesh(black_box(&scene), field.mesh(), None, &look));
    });
}

/// The page that `report --vary` writes, all but its curves of the section itself, which are solves.
fn pages(c: &mut Criterion) {
    let text = ROD.replacen("format = 1", "format = 1\nmesh_scale = 4", 1);
    let library = Library::built_in();
    let prepared = prepare(&text, &library).expect("free of mistakes");
    let wish = Wish { error: None, most_unknowns: 100_000 };
    let accurate = accuracy::solve(&prepared, wish).expect("solves");
    let template = Template::new(&text).expect("sound");
    let axis = Axis::parse("part.rod.rectangle.height = 14 mm to 20 mm in 200").expect("readable");
    let plan = Plan::new(&template, &[axis], Together::Grid, None, 1).expect("a plan");
    let study = Study::begin(&text, template, plan, &[], library).expect("solves");
    let cases: Vec<_> = (1..=study.count()).map(|number| study.case(number)).collect();
    let whole = || {
        let mut chapters: Vec<Chapter> =
            page::solved(&prepared, &accurate.solved, &accurate.report);
        chapters.push(page::varied(&study, &cases));
        Page { title: "200 rods".into(), chapters, ..Page::default() }.html()
    };
    let size = whole().len();
    assert!(size < 3_000_000, "{size} bytes");
    c.bench_function("page of a study of 200 cases", |b| b.iter(|| black_box(whole())));
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10);
    targets = pictures, pages
}
criterion_main!(benches);
