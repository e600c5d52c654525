//! What each worksheet costs on its example; the budget is 1 ms.
#![allow(missing_docs, clippy::unwrap_used)]

use std::hint::black_box;
use std::time::Duration;

use criterion::{Criterion, criterion_group, criterion_main};
use gudgeon_core::work::{WORKSHEETS, find};

fn worksheets(c: &mut Criterion) {
    let mut group = c.benchmark_group("worksheet");
    group
        .sample_size(10)
        .warm_up_time(Duration::from_millis(200))
        .measurement_time(Duration::from_millis(500));
    // The largest job there is: 16 bores and 24 pistons; its budget is 5 ms.
    let sizes = |from: u32, count: u32| -> String {
        (0..count).map(|at| format!("80.{:04}", from + at * 7919 % 193)).collect::<Vec<_>>().join(",")
    };
    let inputs = [
        format!("bores={}mm", sizes(5000, 16)),
        format!("pistons={}mm", sizes(4500, 24)),
        "clearance=0.050mm".into(),
    ];
    let sheet = find("match-pistons").unwrap();
    group.bench_function("match-16-of-24", |b| b.iter(|| sheet.work(black_box(&inputs)).unwrap()));
    for sheet in WORKSHEETS {
        let inputs: Vec<&str> = sheet.example.split_whitespace().collect();
        group.bench_function(sheet.name, |b| b.iter(|| sheet.work(black_box(&inputs)).unwrap()));
    }
}

criterion_group!(benches, worksheets);
criterion_main!(benches);
