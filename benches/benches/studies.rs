//! What one case of a study costs, by the way it is solved, on the single-rod section; and how a
//! whole study gains from a second thread.
//!
//! Not measured: writing the rows, which are some 500 bytes each.

use std::hint::black_box;
use std::time::Duration;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use lodestring::material::Library;
use lodestring::study::in_order::in_order;
use lodestring::study::plan::Together;
use lodestring::study::row::Form;
use lodestring::study::{Axis, Plan, Study, Template};

const ROD: &str = include_str!("../../meshes/rod.toml");
/// Cases of the study that is solved as a whole.
const CASES: u64 = 40;

fn study(axis: &str) -> Study {
    let template = Template::new(ROD).expect("the shipped section is sound");
    let axis = Axis::parse(axis).expect("readable");
    let plan = Plan::new(&template, &[axis], Together::Grid, None, 1).expect("a plan");
    Study::begin(ROD, template, plan, &[], Library::built_in()).expect("solves")
}

fn cases(c: &mut Criterion) {
    // Each study's last case is the one that is timed; it is solved in the way it is named after.
    for (name, how, axis) in [
        ("a case whose string moves", "strings moved", "string.G3.gap = 2 mm, 1.7 mm"),
        ("a case whose rod is longer", "moved mesh", "part.rod.rectangle.height = 17 mm, 17.3 mm"),
        ("a case at another temperature", "same mesh", "temperature_C = 20, 30"),
        ("a case with a mesh of its own", "own mesh", "part.rod.rectangle.height = 17 mm, 9 mm"),
    ] {
        let study = study(axis);
        let (line, solved) = study.line(2, Form::Csv);
        assert!(solved && line.contains(&format!(",{how},")), "{line}");
        c.bench_function(name, |b| b.iter(|| study.line(black_box(2), Form::Csv)));
    }
}

/// Solves all cases of `study`; the length of their lines.
fn bytes(study: &Study) -> usize {
    let mut bytes = 0;
    let taken = in_order(
        1..=CASES,
        |number| study.line(number, Form::Csv),
        |_, (line, _)| {
            bytes += line.len();
            Ok::<(), std::convert::Infallible>(())
        },
    );
    match taken {
        Ok(()) => bytes,
        Err(never) => match never {},
    }
}

fn threads(c: &mut Criterion) {
    let study = study(&format!("part.rod.rectangle.height = 16.5 mm to 17.5 mm in {CASES}"));
    let mut group = c.benchmark_group("a study of 40 rods");
    group.throughput(Throughput::Elements(CASES)).sample_size(10);
    group.measurement_time(Duration::from_secs(20));
    for threads in [1, 2] {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        group.bench_function(format!("{threads} thread(s)"), |b| {
            b.iter(|| pool.install(|| bytes(&study)));
        });
    }
    group.finish();
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20);
    targets = cases, threads
}
criterion_main!(benches);
