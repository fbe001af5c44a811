//! What is wrong is told.

use super::*;

fn refused(text: &str, layout: &Layout, tellings: &[Telling], taken: Taken) -> String {
    Set::read("a", craft(), table(text, layout, tellings), taken).err().expect("refused").to_string()
}

#[test]
fn tables_that_do_not_go_with_the_craft() {
    let plain = Layout::default();
    let good = [told("current", "current", None), told("voltage", "voltage", Some(0.1))];
    let text = "current [A],voltage [V]\n1,2\n";
    for (text, layout, tellings, part) in [
        (text, plain.clone(), vec![told("voltage", "voltag", Some(0.1))], "did you mean `voltage`?"),
        (text, plain.clone(), vec![told("voltages", "voltage", Some(0.1))], "there is no column `voltages`"),
        (
            text,
            plain.clone(),
            vec![good[0].clone(), told("voltage", "voltage", None)],
            "how well it is known",
        ),
        (text, plain.clone(), vec![good[0].clone()], "nothing that was read is predicted"),
        ("current [A],voltage [A]\n1,2\n", plain.clone(), good.to_vec(), "another kind of quantity"),
        ("current [A],voltage [V]\n,2\n", plain.clone(), good.to_vec(), "h.csv:2: h.current is missing"),
        ("current [A],voltage [V]\n400,2\n", plain.clone(), good.to_vec(), "out of range"),
        (
            "g,current [A],voltage [V]\nb,1,2\n",
            Layout { group: Some("g".into()), ..plain.clone() },
            good.to_vec(),
            "one of b",
        ),
        ("foo [A],bar [V]\n1,2\n", plain.clone(), vec![], "no column is headed"),
    ] {
        let found = refused(text, &layout, &tellings, Taken::Steady);
        assert!(found.contains(part), "{part}: {found}");
    }
    let mut counted = good[1].clone();
    counted.counted = Some("peek".into());
    let found = refused(text, &plain, &[good[0].clone(), counted], Taken::Steady);
    assert!(found.contains("did you mean `peak`?"), "{found}");
    let mut exact = good[1].clone();
    exact.uncertainty = Some(Uncertainty { absolute: 0.0, share: 0.0 });
    // a digit of readings that are whole numbers is one, so nothing is exact
    assert!(Set::read("a", craft(), table(text, &plain, &[good[0].clone(), exact]), Taken::Steady).is_ok());
    let untimed = Taken::InTime(Rc::new(FromStart::default()));
    assert!(refused(text, &plain, &good, untimed).contains("need a time"));
}

#[test]
fn problems_that_make_no_sense() {
    let (layout, tellings) =
        (Layout::default(), [told("current", "current", None), told("voltage", "voltage", Some(0.1))]);
    let set =
        Set::read("a", craft(), table("current [A],voltage [V]\n1,2\n", &layout, &tellings), Taken::Steady)
            .unwrap();
    let one = || sought("h.resistance", None, normal(2.0, 1.0), "Ω");
    let own = |set| sought("h.resistance", Some(set), normal(2.0, 1.0), "Ω");
    let clock = |set| sought(CLOCK, set, normal(2.0, 1.0), "s");
    for (sets, sought, part) in [
        (vec![set.clone(), set.clone()], vec![one()], "two sets of readings"),
        (vec![set.clone()], vec![one(), one()], "to be found twice"),
        (vec![set.clone()], vec![one(), own("a")], "to be found twice"),
        (vec![set.clone()], vec![own("A")], "did you mean `a`?"),
        (vec![set.clone()], vec![clock(None)], "clock of its own"),
        (vec![set.clone()], vec![clock(Some("a"))], "have no clock"),
    ] {
        let told = problem(sets, sought).err().expect("refused").to_string();
        assert!(told.contains(part), "{part}: {told}");
    }
    let known = normal(2.0, 1.0);
    let metre = units::LENGTH.units[0];
    for name in ["h.resistence", "x.resistance", "h.turns"] {
        assert!(Sought::new(name, None, known, metre, &setup(), KINDS).is_err());
    }
    let told = Sought::new("h.resistance", None, known, metre, &setup(), KINDS).err().unwrap().to_string();
    assert!(told.contains("h.resistance is") && told.contains("numbers in"), "{told}");
}

#[test]
fn a_set_without_a_steady_state_says_its_line() {
    let (layout, tellings) =
        (Layout::default(), [told("current", "current", None), told("voltage", "voltage", Some(0.1))]);
    let set =
        Set::read("a", craft(), table("current [A],voltage [V]\n1,2\n", &layout, &tellings), Taken::Steady)
            .unwrap();
    let never = |_: &mut crate::run::Run| Err(crate::diagnostic::Diagnostic::error("it never rests").into());
    let known = vec![sought("h.resistance", None, normal(2.0, 1.0), "Ω")];
    let problem = Rc::new(Problem::new(KINDS, never, setup(), vec![set], known).unwrap());
    let told = problem.fit().err().unwrap().to_string();
    assert!(told.contains("a, line 2: it never rests"), "{told}");
}
