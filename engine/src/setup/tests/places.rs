//! Mistakes in a file and the place that is named for each.

use super::*;

#[test]
fn wrong_values_name_their_place() {
    let d = "    diameter: 100 mm\n";
    let and = |line: &str| format!("{d}    {line}\n");
    pod_fails(
        "    diameter: 2 A·h\n",
        &[(
            5,
            15,
            "pod.diameter: another kind of quantity: expected a length such as \"150 mm\", found \"2 A·h\", a charge",
        )],
    );
    pod_fails("    diameter: 0.1\n", &[(5, 15, "the unit is missing")]);
    pod_fails(
        "    diameter: 100 mmm\n",
        &[(
            5,
            15,
            "unknown unit: expected a length such as \"150 mm\", found \"100 mmm\"; did you mean \"mm\"?",
        )],
    );
    pod_fails("    diameter: wide\n", &[(5, 15, "not a number")]);
    pod_fails("    diameter: \"1e999 m\"\n", &[(5, 15, "not a finite number")]);
    pod_fails("    diameter: [1]\n", &[(5, 15, "found a list of 1")]);
    pod_fails("    diameter: true\n", &[(5, 15, "found `true`")]);
    pod_fails("    diameter: 1 m\n", &[(5, 15, "out of range: expected 20 mm to 300 mm, found \"1 m\"")]);
    pod_fails(&and("mass: -1 kg"), &[(6, 11, "expected at least 0 kg")]);
    pod_fails(&and("blades: 2.5"), &[(6, 13, "not a whole number")]);
    pod_fails(&and("blades: 7"), &[(6, 13, "out of range: expected 2 to 6, found the number 7")]);
    pod_fails(&and("blades: -3"), &[(6, 13, "out of range")]);
    pod_fails(
        &and("outline: sqare"),
        &[(6, 14, "expected round or square, found \"sqare\"; did you mean `square`?")],
    );
    pod_fails(
        &and("beside: watr"),
        &[(
            6,
            13,
            "there is no such part: expected the name of a part, found \"watr\"; did you mean `water`?",
        )],
    );
    pod_fails(
        &and("lenght: 1 m"),
        &[(6, 5, "pod.lenght: a pod has no such parameter; did you mean `length`?")],
    );
    pod_fails(&and("zzz: 1 m"), &[(6, 5, "it has diameter, length")]);
    pod_fails(&and("corner: 1 mm"), &[(6, 5, "no such parameter")]);
    pod_fails(&and("length: 50 mm"), &[(6, 13, "pod.length: shorter than thick; make it longer")]);
    pod_fails("    mass: 1 kg\n", &[(4, 3, "pod.diameter: this parameter is missing: expected a length")]);
    // A slip in a required key is one mistake.
    pod_fails("    diamter: 100 mm\n", &[(5, 5, "did you mean `diameter`?")]);
    // All mistakes of all parts at once.
    let text =
        with("    diameter: 1 m\n    mass: heavy\n    blades: 9\n    foo: 1\n  water2: {part: watr}\n");
    fails(
        &text,
        &[
            (5, 15, "out of range"),
            (6, 11, "not a number"),
            (7, 13, "out of range"),
            (8, 5, "no such parameter"),
            (9, 18, "there is no kind of part called `watr`; did you mean `water`?"),
        ],
    );
}

#[test]
fn a_wrong_frame_names_its_place() {
    let parts = "parts: {water: {}}\n";
    fails("", &[(1, 1, "begins with `setup: 1`, found nothing")]);
    fails("# nothing\n", &[(2, 1, "found nothing")]);
    fails("- 1\n", &[(1, 1, "this is no setup")]);
    fails(parts, &[(1, 1, "the format is missing; begin with `setup: 1`")]);
    fails(
        &format!("setup: 2\n{parts}"),
        &[(1, 8, "unknown format: expected `setup: 1`, found the number 2")],
    );
    fails(&format!("setup: 1\ntitel: x\n{parts}"), &[(2, 1, "unknown key; did you mean `title`?")]);
    fails(&format!("setup: 1\ntitle: [x]\n{parts}"), &[(2, 8, "this is no text")]);
    fails("setup: 1\n", &[(1, 1, "there are no parts")]);
    fails("setup: 1\nparts: 3\n", &[(2, 8, "these are no parts")]);
    fails("setup: 1\nparts: {Water: {part: water}}\n", &[(2, 9, "cannot be the name of a part")]);
    fails("setup: 1\nparts:\n  water: 3\n", &[(3, 10, "a part has parameters")]);
    fails("setup: 1\nparts:\n  water:\n", &[(3, 3, "`{}` stands for a part with all its defaults")]);
    fails("setup: 1\nparts:\n  w: {part: 3}\n", &[(3, 13, "this is no text")]);
    fails("setup: 1\nparts:\n  wing: {}\n", &[(3, 3, "no kind of part called `wing`")]);
    fails("setup: 1\nparts:\n  water: {from: 1}\n", &[(3, 17, "a wiring names a part")]);
    fails("setup: 1\nparts:\n  water: {from: {x: [1]}}\n", &[(3, 21, "this is no text")]);
    fails("setup: 1\nparts:\n  water: {from: {x: wtaer}}\n", &[(3, 21, "did you mean `water`?")]);
    pod_fails("    diameter: ~\n", &[(5, 5, "leave the key out for its default")]);
}

#[test]
fn wrong_yaml_names_its_place() {
    pod_fails(
        "    diameter: 1 m\n    mass: 1 kg\n    diameter: 2 m\n",
        &[(7, 5, "pod.diameter: this key stands here twice")],
    );
    pod_fails("    3: 2 m\n", &[(5, 5, "a key must be text, found 3")]);
    pod_fails("    ~: 2 m\n", &[(5, 5, "a key must be text, found nothing")]);
    pod_fails("    [a]: 2 m\n", &[(5, 5, "a key must be text, found a list")]);
    pod_fails("    diameter: .nan\n", &[(5, 15, "pod.diameter: not a finite number")]);
    pod_fails("    load: -.inf\n", &[(5, 11, "not a finite number")]);
    pod_fails("    load: !!str 3\n    diameter: !wide 3\n", &[(6, 15, "tags")]);
    pod_fails("    <<: {a: 1}\n", &[(5, 5, "merge keys")]);
    pod_fails("    diameter: 1: 2\n", &[(5, 16, "needs quotes")]);
    pod_fails("\tdiameter: 1 m\n", &[(5, 1, "")]);
    pod_fails("    diameter: [1, 2\n", &[(6, 1, "")]);
    pod_fails(
        "    curve: {J: [1, 2\n",
        &[(6, 1, "did not find expected ',' or ']', while parsing a flow sequence")],
    );
    fails("setup: 1\n---\nsetup: 1\n", &[(0, 0, "a second document")]);
}

#[test]
fn attacks_are_refused_at_once() {
    let start = std::time::Instant::now();
    let mut bomb = String::from("a0: &a0 [x, x, x, x, x, x, x, x, x]\n");
    for i in 1..9 {
        let last = format!("*a{},", i - 1);
        bomb += &format!("a{i}: &a{i} [{}]\n", last.repeat(9));
    }
    let said = faults(&bomb);
    assert!(said.len() == 1 && said[0].2.contains("anchors repeat"), "{said:?}");
    for deep in ["[", "{a: ", "- ", "? ", "[{a: "] {
        let said = faults(&deep.repeat(10_000));
        assert!(said.len() == 1 && said[0].2.contains("levels deep"), "{deep}: {said:?}");
    }
    let indented: String = (0..60).map(|i| format!("{}a:\n", " ".repeat(i))).collect();
    assert!(faults(&indented)[0].2.contains("levels deep"));
    assert!(faults(&"x".repeat(300_000))[0].2.contains("larger than 256 KiB"));
    // A file full of mistakes is read in a time that a person does not notice.
    let many: String = (0..15_000).map(|i| format!("    k{i}: 1\n")).collect();
    let said = setup(&with(&many)).unwrap().read_parts(KINDS).unwrap_err();
    assert_eq!(said.0.len(), 15_001);
    assert!(said.to_string().lines().count() < 100);
    // Debug build on a busy machine; it takes a fraction of this.
    assert!(start.elapsed().as_secs_f64() < 20.0, "{:?}", start.elapsed());
}
