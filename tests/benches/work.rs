//! What each worksheet costs on its example; the budget is 1 ms.
#![allow(missing_docs, clippy::unwrap_used)]

use std::hint::black_box;
use std::time::Duration;

use criterion::{Criterion, criterion_group, criterion_main};
use gudgeon_core::work::WORKSHEETS;

fn worksheets(c: &mut Criterion) {
    let mut group = c.benchmark_group("worksheet");
    group
        .sample_size(10)
        .warm_up_time(Duration::from_millis(200))
        .measurement_time(Duration::from_millis(500));
    for sheet in WORKSHEETS {
        let inputs: Vec<&str> = sheet.example.split_whitespace().collect();
        group.bench_function(sheet.name, |b| b.iter(|| sheet.work(black_box(&inputs)).unwrap()));
    }
}

criterion_group!(benches, worksheets);
criterion_main!(benches);
