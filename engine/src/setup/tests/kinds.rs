//! What a kind of part says about itself.

use super::*;

#[test]
fn unusual_values_are_warned_about() {
    let s = setup(&with("    diameter: 100 mm\n    length: 2 m\n")).unwrap();
    let warnings = s.read_part("pod", KINDS).unwrap().warnings;
    assert_eq!(warnings.len(), 1);
    assert_eq!(warnings[0].position(), Some((6, 13)));
    assert!(warnings[0].to_string().ends_with("unusual: expected 100 mm to 500 mm, found \"2 m\""));
}

#[test]
fn a_kind_lists_its_parameters() {
    let doc = describe(&KINDS[0]);
    assert!(doc.faults.is_empty(), "{:?}", doc.faults);
    let keys: Vec<_> = doc.params.iter().map(|param| param.key).collect();
    assert_eq!(
        keys,
        ["diameter", "length", "outline", "mass", "blades", "beside", "load", "curve", "warm", "corner"]
    );
    assert!(doc.params[0].required && doc.params[0].within == Some((0.02, 0.3)));
    assert_eq!(doc.params[1].default.as_deref(), Some("250 mm"));
    assert_eq!(doc.params[6].source, Some("common practice, no source"));
    assert_eq!(doc.params[9].when.as_deref(), Some("outline: square"));
    assert_eq!(doc.params[0].when, None);
}

#[test]
fn a_faulty_kind_is_found_out() {
    fn read(p: &mut Params) -> Option<Box<dyn Part>> {
        let _ = p.value("a", LENGTH, "").or("3 kg");
        let _ = p.value("a", LENGTH, "").or("3 m");
        let _ = p.value("b", LENGTH, "").within(0.0, 1.0).or("3 m");
        let _ = p.choice("c", &["x"], "").or("y");
        p.part(|| Ok(Pod::default()))
    }
    let faults = describe(&PartKind { name: "bad", about: "", read }).faults;
    assert_eq!(faults.len(), 4, "{faults:#?}");
    fn silent(_: &mut Params) -> Option<Box<dyn Part>> {
        None
    }
    let kinds = [PartKind { name: "water", about: "", read: silent }];
    let error = setup("setup: 1\nparts: {water: {}}\n").unwrap().read_parts(&kinds).unwrap_err();
    assert!(error.to_string().contains("does not say why"));
}
