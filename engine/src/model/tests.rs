use super::*;
use crate::quantity::Kind;

mod mistakes;

const POSITION: Kind = Kind::single("position", "m", "");
const SPEED: Kind = Kind::single("speed", "m/s", "");
const FORCE: Kind = Kind::sum("force", "N", "");
const PUSH: Kind = Kind::law("push", "N", "");

struct Body;
impl Part for Body {
    fn declare(&self, m: &mut Declare) {
        m.state(&POSITION, 1.0, 1.0);
        m.state(&SPEED, 0.0, 1.0);
        m.equation("motion", |e| {
            let (force, v) = (e.reads(&FORCE), e.reads(&SPEED));
            let (dx, dv) = (e.rate_of(&POSITION), e.rate_of(&SPEED));
            move |at| {
                at[dv] = at[force] / 2.0;
                at[dx] = at[v];
            }
        });
    }
}

struct Spring(f64);
impl Part for Spring {
    fn declare(&self, m: &mut Declare) {
        let k = self.0;
        m.equation("spring", |e| {
            let (x, f) = (e.reads(&POSITION), e.adds(&FORCE));
            move |at| at[f] = -k * at[x]
        });
    }
}

/// Cancels the force of everything else.
struct Holder;
impl Part for Holder {
    fn declare(&self, m: &mut Declare) {
        m.equation("hold", |e| {
            let (rest, f) = (e.reads_others(&FORCE), e.adds(&FORCE));
            move |at| at[f] = -at[rest]
        });
    }
}

fn instance(name: &str, part: impl Part + 'static) -> Instance {
    Instance { name: name.into(), part: Arc::new(part), from: vec![] }
}

fn value(model: &Model, name: &str) -> f64 {
    let mut slots = model.start().to_vec();
    model.evaluate(&mut slots);
    slots[model.find(name).unwrap().0 as usize]
}

#[test]
fn contributions_add_up_and_keep_their_names() {
    let model = Model::build(vec![
        instance("body", Body),
        instance("soft", Spring(1.0)),
        instance("stiff", Spring(3.0)),
    ])
    .unwrap();
    model.audit().unwrap();
    assert_eq!(value(&model, "stiff.force"), -3.0);
    assert_eq!(value(&model, "total.force"), -4.0);
    assert_eq!(value(&model, "body.speed.rate"), -2.0);
}

#[test]
fn a_part_can_answer_to_the_sum_of_all_others() {
    let model = Model::build(vec![
        instance("holder", Holder),
        instance("body", Body),
        instance("spring", Spring(5.0)),
    ])
    .unwrap();
    assert_eq!(value(&model, "total.force"), 0.0);
    assert_eq!(value(&model, "holder.force"), 5.0);
}

#[test]
fn one_part_is_exchanged_without_touching_the_rest() {
    let model = Model::build(vec![instance("body", Body), instance("spring", Spring(1.0))]).unwrap();
    let stiffer = model.with_part("spring", Arc::new(Spring(7.0))).unwrap();
    assert!(Arc::ptr_eq(&model.layout, &stiffer.layout));
    assert_eq!(value(&stiffer, "total.force"), -7.0);
    assert_eq!(value(&model, "total.force"), -1.0);
    // a part of another shape leads to a new layout
    let held = model.with_part("spring", Arc::new(Holder)).unwrap();
    assert!(!Arc::ptr_eq(&model.layout, &held.layout));
}

#[test]
fn a_missing_quantity_is_named_with_a_near_miss() {
    const POSITON: Kind = Kind::single("positon", "m", "");
    struct Typo;
    impl Part for Typo {
        fn declare(&self, m: &mut Declare) {
            m.equation("typo", |e| {
                let (x, f) = (e.reads(&POSITON), e.adds(&FORCE));
                move |at| at[f] = at[x]
            });
        }
    }
    let error = Model::build(vec![instance("body", Body), instance("typo", Typo)]).err().unwrap();
    assert_eq!(
        error.to_string(),
        "typo: typo reads positon [m], which no part of this setup provides (did you mean position?)"
    );
}

#[test]
fn a_ring_is_printed_whole() {
    const A: Kind = Kind::single("a", "1", "");
    const B: Kind = Kind::single("b", "1", "");
    struct Ring;
    impl Part for Ring {
        fn declare(&self, m: &mut Declare) {
            m.equation("first", |e| {
                let (b, a) = (e.reads(&B), e.writes(&A));
                move |at| at[a] = at[b]
            });
            m.equation("second", |e| {
                let (a, b) = (e.reads(&A), e.writes(&B));
                move |at| at[b] = at[a]
            });
        }
    }
    let error = Model::build(vec![instance("ring", Ring)]).err().unwrap().to_string();
    assert!(error.contains("ring.a") && error.contains("ring.b") && error.contains("ring: first"), "{error}");
}

#[test]
fn two_units_for_one_name_clash() {
    const SPEED_KMH: Kind = Kind::single("speed", "km/h", "");
    struct Other;
    impl Part for Other {
        fn declare(&self, m: &mut Declare) {
            m.constant(&SPEED_KMH, 3.0);
        }
    }
    let error = Model::build(vec![instance("body", Body), instance("other", Other)]).err().unwrap();
    assert!(matches!(error.0[0], Problem::Clash { .. }), "{error}");
}

#[test]
fn several_providers_need_a_choice() {
    struct Copy;
    impl Part for Copy {
        fn declare(&self, m: &mut Declare) {
            m.equation("copy", |e| {
                let (x, f) = (e.reads(&POSITION), e.adds(&FORCE));
                move |at| at[f] = at[x]
            });
        }
    }
    let two = |from: Vec<(String, String)>| {
        Model::build(vec![
            instance("left", Body),
            instance("right", Body),
            Instance { name: "copy".into(), part: Arc::new(Copy), from },
        ])
    };
    assert!(matches!(two(vec![]).err().unwrap().0[0], Problem::Ambiguous { .. }));
    assert!(two(vec![("position".into(), "right".into())]).is_ok());
    let wrong = two(vec![("position".into(), "rigth".into())]).err().unwrap();
    assert!(wrong.to_string().contains("did you mean right?"), "{wrong}");
}

#[test]
fn a_law_is_called_with_its_reads_settled() {
    struct Pusher;
    impl Part for Pusher {
        fn declare(&self, m: &mut Declare) {
            m.law(&PUSH, |e| {
                let x = e.reads(&POSITION);
                move |at, y| at[x] * y
            });
        }
    }
    struct Caller;
    impl Part for Caller {
        fn declare(&self, m: &mut Declare) {
            m.equation("call", |e| {
                let (law, f) = (e.calls(&PUSH), e.adds(&FORCE));
                move |at| at[f] = at.call(law, 4.0)
            });
        }
    }
    let model =
        Model::build(vec![instance("body", Body), instance("caller", Caller), instance("pusher", Pusher)])
            .unwrap();
    model.audit().unwrap();
    assert_eq!(value(&model, "total.force"), 4.0);
}

#[test]
fn running_integrals_become_states() {
    struct Book;
    impl Part for Book {
        fn declare(&self, m: &mut Declare) {
            m.running_integrals(&FORCE, 10.0);
        }
    }
    let model =
        Model::build(vec![instance("body", Body), instance("book", Book), instance("spring", Spring(1.0))])
            .unwrap();
    assert!(model.find("integral.spring.force").is_some());
    assert_eq!(model.states().len(), 3);
}
