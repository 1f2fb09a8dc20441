//! What a string over a single rod costs: from file to quantities, and every further place of the
//! string once the field is solved.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use lodestring::material::Library;
use lodestring::pipeline::{prepare, solve};
use lodestring::quantity::coupled::StringRange;
use lodestring::section::parse;
use lodestring::study::StringBench;
use lodestring::units::MM;

const ROD: &str = include_str!("../../meshes/rod.toml");

fn strings(c: &mut Criterion) {
    let library = Library::built_in();
    c.bench_function("rod and string, file to quantities", |b| {
        b.iter(|| {
            let ready = prepare(black_box(ROD), &library).expect("the shipped section is sound");
            solve(&ready).expect("solves")
        });
    });

    let section = parse(ROD).section;
    let spec = section.strings.first().expect("has a string").clone();
    let range = StringRange::of_string(&spec)
        .and(StringRange { reach: 2.0 * MM, ..StringRange::of_string(&spec) });
    let solved = StringBench::new(&section, range, &library).expect("solves");
    c.bench_function("a further place of the string", |b| {
        let mut offset = 0.0;
        b.iter(|| {
            offset = (offset + 0.1 * MM) % (2.0 * MM);
            let moved = lodestring::section::StringSpec { offset, ..spec.clone() };
            solved.couple(0, black_box(&moved)).expect("couples")
        });
    });
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20);
    targets = strings
}
criterion_main!(benches);
