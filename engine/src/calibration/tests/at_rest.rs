//! Rows by themselves.

use super::*;

const TEXT: &str = "group,current [A],voltage [V]\na,1,2.1\na,2,4.1\nb,1,3.0\nb,2,6.1\na,2,4.3\n";

fn grouped() -> Layout {
    Layout { group: Some("group".into()), ..Layout::default() }
}

#[test]
fn parameters_shared_and_own_come_out_as_by_hand() {
    let (layout, tellings) =
        (grouped(), [told("current", "current", None), told("voltage", "voltage", Some(0.1))]);
    let sets = ["a", "b"]
        .map(|name| Set::read(name, craft(), table(TEXT, &layout, &tellings), Taken::Steady).unwrap());
    let own = |name| sought("h.resistance", Some(name), Distribution::Uniform { low: 0.1, high: 50.0 }, "Ω");
    let found = problem(sets.to_vec(), vec![own("a"), own("b")]).unwrap().fit().unwrap();
    // least squares through the origin: Σ I V / Σ I²
    let a = (2.1 + 2.0 * 4.1 + 2.0 * 4.3) / 9.0;
    let b = (3.0 + 2.0 * 6.1) / 5.0;
    // the search ends at 1e-12 of the sum of squares, so at about 1e-6 of the parameters or better
    assert!((found.fitted.value("h.resistance (a)").unwrap() - a).abs() < 1e-6);
    assert!((found.fitted.value("h.resistance (b)").unwrap() - b).abs() < 1e-6);
    // 0.1 V and the last digit of 0.1 V, over √Σ I²
    let u = 0.1f64.hypot(0.1 / 12f64.sqrt()) / 3.0;
    assert!((found.fitted.error("h.resistance (a)").unwrap() / u - 1.0).abs() < 1e-6);
    assert_eq!(found.problem.sites().len(), 5);
}

#[test]
fn what_was_found_is_written_on_top_of_what_was_read() {
    let (layout, tellings) =
        (grouped(), [told("current", "current", None), told("voltage", "voltage", Some(0.1))]);
    let mut other = setup();
    other.change("h.takes", "3 s", "test").unwrap();
    let other = Craft::new(other, KINDS).unwrap();
    let a = Set::read("a", craft(), table(TEXT, &layout, &tellings), Taken::Steady).unwrap();
    let b = Set::read("b", other, table(TEXT, &layout, &tellings), Taken::Steady).unwrap();
    let known = sought("h.resistance", None, normal(2.0, 1.0), "Ω");
    let found = problem(vec![a, b], vec![known]).unwrap().fit().unwrap();
    let written = found.written(&|_| "heater.yaml".into()).unwrap();
    assert_eq!(written.iter().map(|w| w.set.as_str()).collect::<Vec<_>>(), ["", "b"]);
    assert!(!written[0].text.contains("takes") && written[1].text.contains("takes: 3 s"), "{written:?}");
    let value = units::number(found.fitted.values[0]);
    assert!(written.iter().all(|w| w.text.contains(&format!("resistance: {value} Ω"))), "{written:?}");
}

#[test]
fn counting_and_factors_reach_value_and_uncertainty_alike() {
    let layout = Layout::default();
    let mut voltage = told("voltage", "h.voltage", Some(0.2));
    (voltage.counted, voltage.times) = (Some("peak".into()), 3.0);
    let tellings = [told("current", "current", None), voltage];
    let set = Set::read(
        "all",
        craft(),
        table("current [A],voltage [mV]\n1,2000\n", &layout, &tellings),
        Taken::Steady,
    );
    let set = set.unwrap();
    let spot = set.spots().next().unwrap();
    let seen = set.observation(spot);
    // 2 V, half of that per peak, times three; the last digit is a millivolt
    assert!((seen.value - 3.0).abs() < 1e-12);
    assert!((seen.sd - 1.5 * 0.2f64.hypot(1e-3 / 12f64.sqrt())).abs() < 1e-12);
}

#[test]
fn headings_that_are_quantities_need_no_telling_but_their_uncertainty() {
    let layout = Layout::default();
    let told =
        Set::read("all", craft(), table("current [A],voltage [V],note\n1,2,\n", &layout, &[]), Taken::Steady);
    let told = told.err().unwrap().to_string();
    assert!(told.contains("how well it is known is not told"), "{told}");
}

#[test]
fn repeats_are_judged_among_their_like_and_nothing_else_is() {
    let layout = Layout::default();
    let tellings = [told("current", "current", None), told("voltage", "voltage", Some(0.1))];
    let mut text = String::from("current [A],voltage [V]\n");
    for i in 0..6 {
        text.push_str(&format!("1,{}\n5,{}\n", 2.0 + 0.01 * f64::from(i), 10.0 + 0.01 * f64::from(i)));
    }
    text.push_str("1,2.5\n");
    let set = Set::read("all", craft(), table(&text, &layout, &tellings), Taken::Steady).unwrap();
    let odd: Vec<usize> =
        set.spots().filter(|s| set.stands_out(*s)).map(|s| set.readings.rows[s.row].line).collect();
    assert_eq!(odd, [14]);
    let mut set = Set { leave_out: true, ..set };
    assert_eq!(set.spots().count(), 12);
    set.leave_out(2, "voltage", "the scale slipped").unwrap();
    assert_eq!(set.spots().count(), 11);
    assert!(set.leave_out(2, "voltag", "").is_err() && set.leave_out(99, "voltage", "").is_err());
}
