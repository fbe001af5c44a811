//! Changes after reading.

use super::*;

#[test]
fn changes_are_read_like_the_file() {
    let mut s = setup(&with("    diameter: 100 mm\n    from: {a: water}\n")).unwrap();
    s.change("pod.mass", "3 kg", "sweep").unwrap();
    s.change("pod.length", 0.4, "sweep").unwrap();
    s.change("pod.blades", 4.0, "sweep").unwrap();
    s.change("pod.curve", "{J: [0, 1], time: [0 s, 1 s]}", "sweep").unwrap();
    s.change("pod.from.b", "water", "sweep").unwrap();
    let read = pod(&s).unwrap();
    assert_eq!((read.mass, read.length, read.blades), (Some(3.0), 0.4, 4));
    assert!(read.curve.is_some());
    let from = s.read_part("pod", KINDS).unwrap().from;
    assert_eq!(from, [("a".into(), "water".into()), ("b".into(), "water".into())]);
    s.change("pod.mass", "~", "sweep").unwrap();
    s.change("tail", "{part: pod, diameter: 30 mm}", "sweep").unwrap();
    assert_eq!(pod(&s).unwrap().diameter, 0.03);
    s.change("tail", "~", "sweep").unwrap();
    assert_eq!(pod(&s).unwrap().mass, None);

    let fault = |s: &Setup, path: &str, to: Change| {
        let mut s = s.clone();
        let error = s.change(path, to, "plan.rhai:3").and_then(|()| s.read_parts(KINDS)).unwrap_err();
        error.0[0].to_string()
    };
    let text = |path: &str, to: &str| fault(&s, path, to.into());
    assert_eq!(
        text("pdo.mass", "1 kg"),
        "plan.rhai:3: pdo.mass: there is no part `pdo`; did you mean `pod`?"
    );
    assert!(text("pod.mas", "1 kg").ends_with("did you mean `mass`?"));
    assert!(text("pod.mass", "1 s").starts_with("plan.rhai:3: pod.mass: another kind of quantity"));
    assert!(text("pod.mass", "[1").starts_with("plan.rhai:3: "));
    assert!(text("pod", "3").contains("a part has parameters"));
    for bad in ["", ".", "pod.", "pod.a.b.c", "pod..a"] {
        assert!(text(bad, "1").contains("this is no parameter"), "{bad}");
    }
    assert!(fault(&s, "pod.mass", f64::NAN.into()).contains("not a number"));
    assert!(fault(&s, "pod.outline", 1.0.into()).contains("no such choice"));
    // A change that fails leaves no trace.
    let (before, hash) = (s.clone(), s.hash());
    assert!(s.change("pod", "3", "x").is_err());
    assert!(s.hash() == hash && s.tree == before.tree);
    // A part of another kind starts empty.
    let mut s = before;
    s.change("pod.part", "water", "x").unwrap();
    assert!(s.read_parts(KINDS).is_ok());
}
