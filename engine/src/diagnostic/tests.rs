use super::line::word;
use super::*;

#[test]
fn a_diagnostic_shows_line_place_and_help() {
    let text: Arc<str> = "parts:\n  battery:\n    capacity: 1.2 kWh  # ä\n".into();
    let mut place = Place::at("board.yaml", 3, 15, text);
    place.key = "battery.capacity".into();
    let d = Diagnostic::error("wrong kind of unit")
        .expected("a charge such as \"20 A·h\"")
        .found("\"1.2 kWh\", an energy")
        .help("divide by the voltage")
        .at(place);
    let shown = d.render(false);
    assert!(shown.contains("board.yaml:3:15"), "{shown}");
    assert!(shown.contains("| "), "{shown}");
    assert!(shown.contains("^^^^^^^\n"), "{shown}");
    assert!(!shown.contains("^^^^^^^^"), "{shown}");
    assert!(shown.contains("help: divide"), "{shown}");
    assert!(d.to_string().starts_with("board.yaml:3:15: battery.capacity: wrong kind"));
}

#[test]
fn places_outside_the_text_do_not_break_the_display() {
    for (line, column) in [(1, 1), (9, 9), (1, 900), (0, 1), (2, 1)] {
        for text in ["", "a", "ä: ö\n", "\u{1b}[31m: x\n", "\r\n\r\n"] {
            let d = Diagnostic::error("x").at(Place::at("f\u{7}", line, column, text.into()));
            assert!(!d.render(false).contains('\u{1b}'));
        }
    }
    let long = format!("k: {}", "ü".repeat(100_000));
    assert!(Diagnostic::error("x").at(Place::at("f", 1, 4, long.into())).render(false).len() < 2000);
}

#[test]
fn a_long_line_is_cut_where_it_can_be_seen_and_its_column_is_the_true_one() {
    let line = format!("{}: wrong, {}", "k".repeat(300), "more ".repeat(80));
    let shown = Diagnostic::error("x").at(Place::at("f", 1, 303, line.as_str().into())).render(false);
    assert!(shown.contains("f:1:303"), "{shown}");
    let row = shown.lines().find(|row| row.contains("wrong")).unwrap_or_else(|| panic!("{shown}"));
    assert!(row.contains("...") && row.trim_end().ends_with("..."), "{shown}");
    assert!(shown.lines().all(|row| row.chars().count() < 160), "{shown}");
    let mark = shown.lines().find(|row| row.contains('^')).unwrap_or_else(|| panic!("{shown}"));
    assert_eq!(mark.find('^'), row.find("wrong"), "{shown}");
}

#[test]
fn a_screen_is_never_overrun() {
    let many = Diagnostics(vec![Diagnostic::error("x"); 40]);
    assert!(many.to_string().ends_with("… and 28 more"));
    assert!(many.to_string().lines().count() < 40);
}

#[test]
fn a_value_is_marked_without_the_brackets_around_it() {
    assert_eq!(word("1]}}"), 1);
    assert_eq!(word("[1]]"), 3);
    assert_eq!(word("wide: 3"), 4);
    assert_eq!(word("2 m, b: 3}"), 3);
    assert_eq!(word(""), 0);
}

#[test]
fn slips_are_recognised() {
    let names = ["capacity", "internal_resistance", "mass", "m", "mm"];
    assert_eq!(suggest("capcity", names), Some("capacity"));
    assert_eq!(suggest("Capacity", names), Some("capacity"));
    assert_eq!(suggest("internal_resistence", names), Some("internal_resistance"));
    assert_eq!(suggest("msas", names), Some("mass"));
    assert_eq!(suggest("voltage", names), None);
    assert_eq!(suggest("x", names), None);
    assert_eq!(suggest(&"a".repeat(100_000), names), None);
}
