//! What a comparison of grades costs on the single-rod section: the section itself, one more grade on
//! the same mesh, and all shipped magnet grades on one thread and on two.
//!
//! Not measured: the table, which is a few kilobytes of text.

use std::hint::black_box;
use std::time::Duration;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use lodestring::material::Library;
use lodestring::section::parse;
use lodestring::study::compare::{CompareOptions, Comparison};
use lodestring::study::in_order::in_order;

const ROD: &str = include_str!("../../meshes/rod.toml");

fn begin(library: &Library) -> Comparison {
    Comparison::begin(parse(ROD), library.clone(), &CompareOptions::default()).expect("solves")
}

/// Solves the section with every grade; how many were solved.
fn all(comparison: &Comparison) -> usize {
    let mut solved = 0;
    let taken = in_order(
        1..=comparison.count(),
        |number| comparison.row(number),
        |_, row| {
            solved += usize::from(row.outcome.is_ok());
            Ok::<(), std::convert::Infallible>(())
        },
    );
    match taken {
        Ok(()) => solved,
        Err(never) => match never {},
    }
}

fn grades(c: &mut Criterion) {
    let library = Library::built_in();
    c.bench_function("the section that is compared", |b| b.iter(|| begin(black_box(&library))));
    let comparison = begin(&library);
    c.bench_function("a further grade", |b| {
        b.iter(|| comparison.row(black_box(1)).outcome.expect("solves"));
    });

    let mut group = c.benchmark_group("all grades");
    group.throughput(Throughput::Elements(comparison.count())).sample_size(10);
    group.measurement_time(Duration::from_secs(30));
    for threads in [1, 2] {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        group.bench_function(format!("{threads} thread(s)"), |b| {
            b.iter(|| pool.install(|| all(&comparison)));
        });
    }
    group.finish();
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20);
    targets = grades
}
criterion_main!(benches);
