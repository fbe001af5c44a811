//! What is read, what is refused and where, and what stands out.

use super::*;
use crate::units::CURRENT;

fn mapped(column: &str, quantity: &str, unit: Option<&str>) -> Mapping {
    Mapping { column: column.into(), quantity: quantity.into(), unit: unit.map(Into::into) }
}

fn all(text: &str) -> Result<Readings, Diagnostics> {
    Readings::parse("bench.csv", text, &Layout::default())
}

fn told(text: &str, layout: &Layout) -> Vec<String> {
    let problems = Readings::parse("bench.csv", text, layout).unwrap_err();
    problems.iter().map(ToString::to_string).collect()
}

#[test]
fn headings_say_quantity_and_unit() {
    let readings =
        all("# a comment\n\nvoltage [V], speed [rpm] ,warm [K],share [%],J [1]\r\n48.1,60,293.15,50,0.3\r\n")
            .unwrap();
    let names: Vec<&str> = readings.columns.iter().map(|c| c.quantity.as_str()).collect();
    assert_eq!(names, ["voltage", "speed", "warm", "share", "J"]);
    let values: Vec<f64> = readings.rows[0].values.iter().map(|v| v.unwrap()).collect();
    // factor and offset: a few roundings of numbers below 300
    for (value, si) in values.iter().zip([48.1, std::f64::consts::TAU, 20.0, 0.5, 0.3]) {
        assert!((value - si).abs() < 1e-12, "{values:?}");
    }
    assert_eq!(readings.rows[0].line, 4);
    assert!(readings.unread.is_empty() && readings.time.is_none());
}

#[test]
fn a_layout_takes_any_columns_under_other_names() {
    let text = "t,name,amps,note,volts [mV]\n0,a,1.5,\"all, well\",48000\n0.5,a,nan,,\n0,b,-,x,47000\n";
    let layout = Layout {
        columns: vec![
            mapped("amps", "pack.current", Some("A")),
            mapped("volts", "pack.voltage", None),
            mapped("t", "time", Some("s")),
        ],
        time: Some("t".into()),
        group: Some("name".into()),
        missing: vec!["-".into()],
        known: vec![("pack.current".into(), "A".into()), ("pack.voltage".into(), "V".into())],
        ..Layout::default()
    };
    let readings = Readings::parse("bench.csv", text, &layout).unwrap();
    assert_eq!(readings.unread, ["note"]);
    assert_eq!(readings.time, Some(0));
    assert_eq!(readings.rows[0].values, [Some(0.0), Some(1.5), Some(48.0)]);
    assert_eq!(readings.rows[1].values, [Some(0.5), None, None]);
    assert_eq!(readings.groups(), ["a", "b"]);
    let column = readings.column("pack.current").unwrap();
    assert_eq!(readings.columns[column].dimension, CURRENT);
    assert_eq!(readings.values(column, None).collect::<Vec<_>>(), [(0, 1.5)]);
    assert_eq!(readings.values(2, Some("b")).collect::<Vec<_>>(), [(2, 47.0)]);
    // as a spreadsheet of other habits writes it
    let layout = Layout { separator: ';', ..Layout::default() };
    assert_eq!(
        Readings::parse("a", "x [A];y [V]\n1;2\n", &layout).unwrap().rows[0].values,
        [Some(1.0), Some(2.0)]
    );
}

#[test]
fn every_fault_is_told_with_its_place() {
    let text = "# first\na [A],b [V]\n1,2\n1.5,twelve\n# more\n\"1\",\"2,5\"\n1\ninf,1e400\n1,\"2\n1,12 V\n";
    let found = told(text, &Layout::default());
    let starts = [
        "bench.csv:4:5: b: not a reading: expected a number such as 12.5, in V, found \"twelve\"; leave the cell blank",
        "bench.csv:6:5: b: not a reading: expected a number such as 12.5, in V, found \"2,5\"; decimals take a point",
        "bench.csv:7:1: this row does not fit its headings: expected 2 cells, found 1",
        "bench.csv:8:1: a: not a reading",
        "bench.csv:8:5: b: not a reading",
        "bench.csv:9:3: a quote is not closed",
        "bench.csv:10:3: b: not a reading",
    ];
    assert_eq!(found.len(), starts.len(), "{found:#?}");
    for (found, start) in found.iter().zip(starts) {
        assert!(found.starts_with(start), "{found}\nfor\n{start}");
    }
}

#[test]
fn what_a_cell_looks_like_is_told() {
    let help = |cell: &str| told(&format!("t [s],m [kg]\n0,{cell}\n"), &Layout::default()).join("\n");
    assert!(help("12:00:04.7").contains("seconds since the start"), "{}", help("12:00:04.7"));
    assert!(help("11.0 kg").contains("write the unit into the heading, as [kg]"), "{}", help("11.0 kg"));
    assert!(help("11.0 lb").contains("not a reading"), "{}", help("11.0 lb"));
    // a carriage return alone ends no line here, and must not lose what follows it
    let lost = told("a [A],b [V]\n1,2\r3,4\r5,6\n", &Layout::default()).join("\n");
    assert!(lost.contains("bench.csv:2:1: a carriage return"), "{lost}");
}

#[test]
fn headings_that_do_not_do_are_told_with_what_is_near() {
    let fault = |text: &str, layout: &Layout| told(text, layout).join("\n");
    let plain = Layout::default();
    assert!(fault("", &plain).contains("no headings"));
    assert!(fault("a [A]\n", &plain).contains("no readings"));
    assert!(
        fault("a\n1\n", &plain)
            .contains("bench.csv:1:1: a: the unit is missing: expected a heading such as `a [A]`")
    );
    assert!(fault("a [A],a [V]\n1,2\n", &plain).contains("bench.csv:1:7: a: this heading stands twice"));
    assert!(fault("a [A],[V]\n1,2\n", &plain).contains("1:7: a heading is missing"));
    assert!(fault("a [mAh/km]\n1\n", &plain).contains("not a known unit"));
    assert!(fault("a [rmp]\n1\n", &plain).contains("did you mean `rpm`?"));
    let one = |column: &str, quantity: &str, unit| Layout {
        columns: vec![mapped(column, quantity, unit)],
        ..Layout::default()
    };
    assert!(fault("amps [A]\n1\n", &one("amsp", "q", None)).contains("did you mean `amps`?"));
    assert!(
        fault("amps [A]\n1\n", &one("amps", "q", Some("mA")))
            .contains("disagree about the unit: expected `mA`")
    );
    let known = |quantity, unit: &str| Layout {
        known: vec![("pack.current".into(), unit.into())],
        ..one("amps", quantity, None)
    };
    assert!(fault("amps [A]\n1\n", &known("pack.curent", "A")).contains("did you mean `pack.current`?"));
    assert!(
        fault("amps [A]\n1\n", &known("pack.current", "V"))
            .contains("another kind of quantity: expected a unit of V")
    );
    assert!(Readings::parse("a", "amps [N·m]\n1\n", &known("pack.current", "N.m")).is_ok());
    let twice = Layout { columns: vec![mapped("a", "q", None), mapped("b", "q", None)], ..Layout::default() };
    assert!(fault("a [A],b [A]\n1,2\n", &twice).contains("two columns hold `q`"));
    assert!(
        fault("a [A]\n1\n", &Layout { separator: '1', ..Layout::default() }).contains("separates no cells")
    );
    assert!(
        fault("a [A]\n1\n", &Layout { group: Some("run".into()), ..Layout::default() })
            .contains("no column `run`")
    );
}

#[test]
fn time_runs_forward_in_each_group() {
    let layout = Layout { time: Some("t".into()), group: Some("run".into()), ..Layout::default() };
    let text = "t [min],run,x [A]\n1,a,1\n1,a,1\n0,b,1\n0.5,a,1\n,b,1\n2,,1\n";
    let found = told(text, &layout);
    assert!(
        found[0].starts_with("bench.csv:5:1: t: the time runs backward: expected at least 60 s, found 30 s"),
        "{found:?}"
    );
    assert!(found[1].starts_with("bench.csv:6:1: t: a time is missing"), "{found:?}");
    assert!(found[2].starts_with("bench.csv:7:3: run: the name of the group is missing"), "{found:?}");
    assert!(told("t [A],run\n1,a\n", &layout)[0].contains("this is no time"));
}

#[test]
fn repeats_that_stand_out_are_flagged_and_kept() {
    let layout = Layout { group: Some("run".into()), ..Layout::default() };
    let text = "run,x [A]\na,20.1\na,20.3\na,19.9\na,26.0\na,20.0\na,20.2\nb,30\nb,26\n";
    let readings = Readings::parse("a", text, &layout).unwrap();
    let flagged: Vec<usize> = readings.rows.iter().filter(|r| !r.flags.is_empty()).map(|r| r.line).collect();
    assert_eq!(flagged, [5]);
    // median 20.15, distances 0.05 0.15 0.25 5.85 0.15 0.05: 5.85/(1.4826 · 0.15)
    let score = readings.rows[3].flags[0].score;
    assert!((score - 5.85 / (1.482_602_218_505_602 * 0.15)).abs() < 1e-9, "{score}");
    assert_eq!(readings.values(0, Some("a")).count(), 6);
    assert_eq!(readings.kept(0, Some("a")).count(), 5);
    // one step of the last digit is none, five are
    let last = |x: &str| {
        let text = format!("run,x [A]\na,12.0\na,12.0\na,12.0\na,12.0\na,12.0\na,12.0\na,{x}\n");
        Readings::parse("a", &text, &layout).unwrap().rows[6].flags.len()
    };
    assert_eq!((last("12.1"), last("12.5"), last("50")), (0, 1, 1));
}

#[test]
fn trends_and_steps_do_not_stand_out_but_spikes_do() {
    let layout = Layout { time: Some("t".into()), ..Layout::default() };
    let jitter = [0.02, -0.03, 0.01, 0.0, -0.01, 0.03, -0.02];
    let course = |level: fn(f64) -> f64, spike: f64| {
        let mut text = "t [s],x [A]\n".to_owned();
        for i in 0..40 {
            let x = level(f64::from(i)) + jitter[i as usize % 7] + if i == 12 { spike } else { 0.0 };
            text.push_str(&format!("{i},{x:.3}\n"));
        }
        let readings = Readings::parse("a", &text, &layout).unwrap();
        readings.rows.iter().filter(|r| !r.flags.is_empty()).map(|r| r.line).collect::<Vec<_>>()
    };
    let step = |t| if t < 20.0 { 10.0 } else { 40.0 };
    for (level, spike) in [(step as fn(f64) -> f64, 0.3), (|t| 10.0 + 0.1 * t, 3.0), (|t| 0.01 * t * t, 3.0)]
    {
        assert_eq!(course(level, 0.0), Vec::<usize>::new());
        assert_eq!(course(level, spike), [14]);
    }
    // neither time nor groups: nothing says what is alike
    let sheet = all("x [A]\n1\n1\n1\n1\n1\n1\n99\n").unwrap();
    assert!(sheet.rows.iter().all(|row| row.flags.is_empty()));
}

#[test]
fn files_outside_or_missing_or_not_text_are_refused() {
    let folder = std::env::temp_dir().join(format!("foilborne-readings-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join("good.csv"), "\u{feff}x [A]\n1\n").unwrap();
    std::fs::write(folder.join("bytes.csv"), b"x [A]\n1\n\xff\n").unwrap();
    let load = |name: &str| Readings::load(folder.join(name), &folder, &Layout::default());
    let good = load("good.csv").map(|r| r.rows[0].values.clone());
    let bytes = load("bytes.csv").map_err(|e| e.0[0].to_string());
    let (none, outside, itself) = (load("none.csv"), load("../good.csv"), load("."));
    std::fs::remove_dir_all(&folder).unwrap();
    assert_eq!(good.unwrap(), [Some(1.0)]);
    assert!(bytes.unwrap_err().contains(":3:1: not UTF-8 text"));
    assert!(none.unwrap_err().to_string().contains("no such file"));
    assert!(outside.unwrap_err().to_string().contains("outside the project folder"));
    assert!(itself.unwrap_err().to_string().contains("no file"));
}

#[test]
fn the_same_words_in_any_order_never_panic() {
    // all lines of up to four of these
    let words = ["", "\"", ",", "a [A]", "1", "\n", "é", "#", "]", "[", "nan", "1e999", "\r"];
    let n = words.len();
    for code in 0..n.pow(4) {
        let text: String = (0..4).map(|k| words[code / n.pow(k) % n]).collect();
        if let Ok(readings) = all(&format!("a [A],b [1]\n{text}\n")) {
            assert!(
                readings.rows.iter().flat_map(|r| &r.values).flatten().all(|v| v.is_finite()),
                "{text:?}"
            );
        }
        _ = all(&text);
    }
}
