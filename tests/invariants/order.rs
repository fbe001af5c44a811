//! Results depend on the setup and the plan alone: not on the order in which parts
//! stand, nor on how many threads share the work.

use std::path::Path;
use std::sync::Arc;

use engine::model::Model;
use engine::run::{Run, Sampler};
use engine::scenario::Finished;
use engine::setup::Setup;
use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_pcg::Pcg64;
use rayon::prelude::*;

use crate::craft::{self, OPENING, planned};

/// Findings and trace of a finished run, as they are written out.
fn written(run: Run, duration: f64) -> String {
    let mut text = String::new();
    {
        let model = run.model();
        let trace = foilborne::CATALOGUE.trace;
        let probes: Vec<_> = trace.iter().flat_map(|kind| model.providers(kind)).collect();
        let (_, end) = run.trajectory().span();
        let mut sampler = Sampler::new(model, run.trajectory());
        for row in 0..=(end / 0.05) as usize {
            sampler.go(row as f64 * 0.05);
            for &p in &probes {
                // the shortest digits that tell the number from every other
                text.push_str(&format!("{},", sampler.value(p)));
            }
            text.push('\n');
        }
        for happening in run.happenings() {
            text.push_str(&format!("{happening:?}\n"));
        }
    }
    let finished = Finished {
        title: "order".into(),
        setup_title: String::new(),
        run,
        duration,
        error: None,
        setup_warnings: Vec::new(),
        record: Vec::new(),
        interval: 0.05,
        setup_hash: String::new(),
    };
    let findings = foilborne::verdict::judge(&finished);
    let values = serde_json::Value::Object(findings.values);
    format!("{text}{values}{}", findings.text)
}

fn flight(model: Arc<Model>) -> String {
    let mut run = planned(&model, 1e-6, &[OPENING]);
    craft::finish(&mut run, 15.0).expect("a run to its end");
    written(run, 15.0)
}

#[test]
fn the_order_of_parts_changes_no_byte() {
    for changes in
        [&[][..], &[("rider.part", "rider_reacting"), ("rider.mass", "78 kg"), ("rider.forward", "800 mm")]]
    {
        let setup = craft::setup("board.yaml", changes);
        let expected = flight(craft::model("board.yaml", changes));
        assert!(expected.len() > 10_000, "there must be something to compare");
        for seed in 0..8 {
            let mut instances = craft::instances(&setup);
            instances.shuffle(&mut Pcg64::seed_from_u64(seed));
            let shuffled = flight(Arc::new(Model::build(instances).expect("a model")));
            assert!(shuffled == expected, "seed {seed} differs");
        }
    }
}

#[test]
fn the_order_in_the_file_changes_no_byte() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let read = |name: &str| {
        std::fs::read_to_string(root.join("tests/invariants/setups").join(name)).expect("a setup file")
    };
    // each part is a line indented by two and the deeper ones below it
    let mut blocks: Vec<String> = Vec::new();
    for text in [read("drive.yaml"), read("board.yaml")] {
        let (_, parts) = text.split_once("parts:\n").expect("parts");
        for line in parts.lines() {
            if line.starts_with("   ") {
                blocks.last_mut().expect("a part before its values").push_str(&format!("{line}\n"));
            } else {
                blocks.push(format!("{line}\n"));
            }
        }
    }
    let findings = |blocks: &[String]| {
        let text = format!("setup: 1\nparts:\n{}", blocks.concat());
        let setup = Setup::from_text("shuffled", &text, root).expect("a setup");
        flight(Arc::new(Model::build(craft::instances(&setup)).expect("a model")))
    };
    let expected = findings(&blocks);
    assert!(expected == flight(craft::model("board.yaml", &[])), "in one file or two");
    for seed in 0..4 {
        blocks.shuffle(&mut Pcg64::seed_from_u64(100 + seed));
        assert!(findings(&blocks) == expected, "seed {seed} differs");
    }
}

#[test]
fn the_number_of_threads_changes_no_byte() {
    let trials = |threads: usize| -> Vec<String> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
        let base = craft::model("board.yaml", &[]);
        pool.install(|| {
            (0..24)
                .into_par_iter()
                .map(|i| {
                    // every other trial shares one model, the rest have their own
                    let mass = format!("{} kg", 60 + i);
                    let own = || craft::model("board.yaml", &[("rider.mass", &mass)]);
                    flight(if i % 2 == 0 { base.clone() } else { own() })
                })
                .collect()
        })
    };
    let one = trials(1);
    assert_ne!(one[0], one[1], "different trials must differ");
    assert_eq!(one[0], one[2], "equal ones must not");
    for threads in [2, 8] {
        assert!(trials(threads) == one, "{threads} threads");
    }
}
