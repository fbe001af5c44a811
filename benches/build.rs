//! What does it cost to get a model ready, against the run that follows? A
//! sweep changes one value of one part and runs again.

mod demo;
mod monolith;
mod side_by_side;

use std::hint::black_box;
use std::sync::Arc;

use criterion::{Criterion, criterion_group, criterion_main};
use demo::FLIGHT;
use engine::model::Model;
use engine::setup::Setup;

fn build(c: &mut Criterion) {
    let (setup, model) = (FLIGHT.setup(), FLIGHT.model());
    let instances = demo::instances(&setup);
    let load = || _ = black_box(Setup::load(FLIGHT.file(), demo::root()));
    let read = || _ = black_box(demo::instances(&setup));
    let whole = || _ = black_box(Model::build(instances.clone()).is_ok());
    let part = |name: &str| setup.read_part(name, foilborne::PARTS).expect("a part of the demo board").part;
    // a part that has been read is exchanged for itself: it is declared anew all the same
    let wing: Arc<dyn engine::part::Part> = Arc::from(part("front_wing"));
    let exchange = || _ = black_box(model.with_part("front_wing", wing.clone()).is_ok());
    let point = || {
        let mut setup = setup.clone();
        setup.change("front_wing.span", 0.96, "bench").expect("a span");
        let wing = setup.read_part("front_wing", foilborne::PARTS).expect("a wing").part;
        black_box(model.with_part("front_wing", Arc::from(wing)).is_ok());
    };
    let fly = || _ = black_box(FLIGHT.run(&model));

    c.bench_function("build/load setup from its files", |b| b.iter(load));
    c.bench_function("build/read all parts", |b| b.iter(read));
    c.bench_function("build/wire whole model", |b| b.iter(whole));
    c.bench_function("build/exchange one part", |b| b.iter(exchange));
    c.bench_function("build/change, read and exchange one part", |b| b.iter(point));

    let medians = side_by_side::compare(
        "Getting ready against flying",
        0,
        4,
        vec![
            ("one flight", Box::new(fly)),
            ("load the setup from its files", Box::new(load)),
            ("read all parts", Box::new(read)),
            ("wire the whole model", Box::new(whole)),
            ("exchange one part, read already", Box::new(exchange)),
            ("change a value, read its part, exchange it", Box::new(point)),
        ],
    );
    println!(
        "RATIO build/flight: exchange {:.3}, sweep point {:.3}, whole model {:.3}, from files {:.3}",
        medians[4] / medians[0],
        medians[5] / medians[0],
        medians[3] / medians[0],
        (medians[1] + medians[2] + medians[3]) / medians[0]
    );
}

criterion_group!(benches, build);
criterion_main!(benches);
