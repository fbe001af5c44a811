//! Mistakes in wiring, names and ranges.

use super::*;

#[test]
fn a_wiring_choice_that_nobody_asks_for_is_a_mistake() {
    let with = |from: &[(&str, &str)]| {
        let from = from.iter().map(|(kind, source)| (kind.to_string(), source.to_string())).collect();
        let spring = Instance { name: "spring".into(), part: Arc::new(Spring(1.0)), from };
        Model::build(vec![instance("body", Body), spring])
    };
    assert!(with(&[("position", "body")]).is_ok());
    // a slip of the pen, what another part reads, and a sum, whose total is read
    let error = |kind| with(&[("position", "body"), (kind, "body")]).err().unwrap().to_string();
    assert_eq!(
        error("positon"),
        "spring: from: positon is not a quantity that this part takes from another (did you mean position?)"
    );
    assert_eq!(
        error("speed"),
        "spring: from: speed is not a quantity that this part takes from another; it takes position"
    );
    assert!(error("force").contains("from: force is not"), "{}", error("force"));
}

#[test]
fn laws_rates_and_reads_with_a_default_use_a_choice() {
    const ANSWER: Kind = Kind::single("answer", "1", "");
    struct Pusher;
    impl Part for Pusher {
        fn declare(&self, m: &mut Declare) {
            m.law(&PUSH, |_| |_, y| y);
        }
    }
    struct Asker;
    impl Part for Asker {
        fn declare(&self, m: &mut Declare) {
            m.equation("ask", |e| {
                let (x, dv, law) = (e.reads_or(&POSITION, 7.0), e.reads_rate(&SPEED), e.calls(&PUSH));
                let answer = e.writes(&ANSWER);
                move |at| at[answer] = at[x] + 10.0 * at[dv] + at.call(law, 100.0)
            });
        }
    }
    let choice = |kind: &str, source: &str| (kind.to_string(), source.to_string());
    let from = vec![choice("position", "left"), choice("speed", "right"), choice("push", "pusher")];
    let asker = Instance { name: "asker".into(), part: Arc::new(Asker), from };
    let parts = vec![
        instance("left", Body),
        instance("right", Body),
        instance("spring", Constant),
        instance("pusher", Pusher),
        asker,
    ];
    // position 1 m, 6 N on 2 kg, and 100 through the law
    assert_eq!(value(&Model::build(parts).unwrap(), "asker.answer"), 131.0);
    struct Constant;
    impl Part for Constant {
        fn declare(&self, m: &mut Declare) {
            m.constant(&FORCE, 6.0);
        }
    }
}

#[test]
fn equations_of_one_part_have_names_of_their_own() {
    struct Twice;
    impl Part for Twice {
        fn declare(&self, m: &mut Declare) {
            for label in ["a", "b"] {
                m.equation("push", |e| {
                    let f = e.adds_as(&FORCE, label);
                    move |at| at[f] = 1.0
                });
            }
        }
    }
    let error = Model::build(vec![instance("twice", Twice)]).err().unwrap();
    assert_eq!(error.to_string(), "twice has two equations called push: each needs a name of its own");
    // another part may use the name
    assert!(
        Model::build(vec![instance("body", Body), instance("a", Spring(1.0)), instance("b", Spring(1.0))])
            .is_ok()
    );
}

#[test]
fn a_part_that_is_not_there_cannot_be_exchanged() {
    let model = Model::build(vec![instance("body", Body), instance("spring", Spring(1.0))]).unwrap();
    let error = model.with_part("sprung", Arc::new(Spring(2.0))).err().unwrap().to_string();
    assert_eq!(error, "there is no part sprung in this setup (did you mean spring?)");
}

#[test]
fn a_start_outside_its_range_is_a_mistake() {
    struct Tank(f64);
    impl Part for Tank {
        fn declare(&self, m: &mut Declare) {
            m.input(&POSITION, self.0).within(-2.0, 2.0);
        }
    }
    let model = Model::build(vec![instance("tank", Tank(2.0))]).unwrap();
    assert_eq!(model.range(model.find("tank.position").unwrap()), Some((-2.0, 2.0)));
    let error = "tank.position starts at 2.5 m: expected a value from -2 to 2 m";
    assert_eq!(model.with_part("tank", Arc::new(Tank(2.5))).err().unwrap().to_string(), error);
    assert_eq!(Model::build(vec![instance("tank", Tank(2.5))]).err().unwrap().to_string(), error);
}

#[test]
fn mistakes_come_in_one_order() {
    struct Idle;
    impl Part for Idle {
        fn declare(&self, m: &mut Declare) {
            m.state(&SPEED, 0.0, 1.0);
            m.state(&POSITION, 0.0, 1.0);
        }
    }
    // each build has hash maps of its own, with an order of their own
    for _ in 0..8 {
        let parts = ["c", "a", "b"].map(|name| instance(name, Idle)).into();
        let told = Model::build(parts).err().unwrap().to_string();
        let names: Vec<&str> = told.lines().filter_map(|line| line.split(' ').next()).collect();
        let wanted = ["c.position", "c.speed", "a.position", "a.speed", "b.position", "b.speed"];
        assert_eq!(names, wanted);
    }
}
