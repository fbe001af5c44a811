//! Whether the made-up bench is what it says.

use std::rc::Rc;

use crate::bench::Bench;

#[test]
fn a_draw_follows_from_its_seed() {
    let bench = Bench::demo();
    let (one, again, other) = (bench.draw(4), bench.draw(4), bench.draw(5));
    assert_eq!((&one.text, &one.truth), (&again.text, &again.truth));
    assert_ne!(one.text, other.text);
}

#[test]
fn a_fit_finds_the_truth_within_its_errors() {
    let drawn = Bench::demo().draw(6);
    let found = Rc::new(drawn.problem).fit().expect("a fit");
    let all = found.fitted.values.iter().zip(&found.fitted.errors).zip(&drawn.truth);
    for (((x, error), truth), name) in all.zip(&found.fitted.names) {
        // of five, one beyond four standard errors would be a case in three thousand
        assert!((x - truth).abs() < 4.0 * error, "{name}: {x} ± {error}, true {truth}");
    }
    assert!(found.fitted.chance().is_some_and(|chance| chance > 1e-3), "{:?}", found.fitted.chance());
}
