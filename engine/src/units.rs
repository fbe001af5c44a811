//! Numbers with a unit, as they stand in a setup: `150 mm`, `20 A·h`, `4 deg`.
//!
//! Inside the programme every quantity is in the SI unit of its [`Dimension`]
//! (temperatures in °C); text becomes SI here and nowhere else.
//!
//! A unit may be typed without its special signs: `A·h`, `A h` and `Ah` are
//! the same, and so are `Ω` and `ohm`, `µ` and `u`, `°` and `deg`, `²` and `2`.
//! Capitals count: `mW` is not `MW`.

use crate::diagnostic::suggest;

/// A unit of a dimension: `SI value = factor · number + offset`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// As it is printed, such as `A·h`.
    pub name: &'static str,
    /// SI units in one of this unit.
    pub factor: f64,
    /// SI value of its zero.
    pub offset: f64,
}

impl Unit {
    /// SI value of a number in this unit.
    pub fn si(&self, number: f64) -> f64 {
        number * self.factor + self.offset
    }

    /// The number in this unit that stands for an SI value.
    pub fn of(&self, si: f64) -> f64 {
        (si - self.offset) / self.factor
    }
}

/// What kind of quantity a number is, and the units it may be written in.
#[derive(Debug, Clone, Copy)]
pub struct Dimension {
    /// With its article, such as "a length".
    pub name: &'static str,
    /// Unit of the number inside the programme; empty for a pure number.
    pub si: &'static str,
    /// A value as one would write it.
    pub example: &'static str,
    /// All units that are understood.
    pub units: &'static [Unit],
}

impl PartialEq for Dimension {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

const fn unit(name: &'static str, factor: f64) -> Unit {
    let offset = 0.0;
    Unit { name, factor, offset }
}

/// Declares the dimensions and the list of all of them. The first unit is the SI unit.
macro_rules! dimensions {
    ($($id:ident $name:literal, $example:literal: $($unit:literal $factor:expr $(, + $offset:expr)?);+ ;)+) => {
        $(
            #[doc = concat!($name, ", such as `", $example, "`.")]
            pub const $id: Dimension = Dimension {
                name: $name,
                si: [$($unit),+][0],
                example: $example,
                units: &[$(Unit { offset: 0.0 $(+ $offset)?, ..unit($unit, $factor) }),+],
            };
        )+
        /// Every dimension.
        pub const ALL: &[Dimension] = &[$($id),+];
    };
}

/// Standard gravity [m/s²], exact: it defines kgf and lbf.
const G_N: f64 = 9.806_65;
/// Pound [kg], exact.
const POUND: f64 = 0.453_592_37;
const REV: f64 = std::f64::consts::TAU;
const DEG: f64 = REV / 360.0;

dimensions! {
    NUMBER "a pure number", "0.85": "" 1.0;
    FRACTION "a fraction", "35 %": "" 1.0; "%" 0.01; "‰" 0.001;
    LENGTH "a length", "150 mm": "m" 1.0; "mm" 1e-3; "cm" 1e-2; "km" 1e3; "µm" 1e-6; "in" 0.0254; "ft" 0.3048;
    AREA "an area", "950 cm²": "m²" 1.0; "cm²" 1e-4; "mm²" 1e-6; "dm²" 1e-2;
    VOLUME "a volume", "90 L": "m³" 1.0; "L" 1e-3; "mL" 1e-6; "cm³" 1e-6; "dm³" 1e-3;
    MASS "a mass", "75 kg": "kg" 1.0; "g" 1e-3; "t" 1e3; "lb" POUND;
    INERTIA "a moment of inertia", "4 kg·m²": "kg·m²" 1.0; "kg·cm²" 1e-4; "kg·mm²" 1e-6; "g·cm²" 1e-7;
    TIME "a time", "0.5 s": "s" 1.0; "ms" 1e-3; "µs" 1e-6; "min" 60.0; "h" 3600.0;
    ANGLE "an angle", "4 deg": "rad" 1.0; "°" DEG; "mrad" 1e-3;
    SPEED "a speed", "6 m/s": "m/s" 1.0; "km/h" 1.0 / 3.6; "kn" 1852.0 / 3600.0; "mm/s" 1e-3; "cm/s" 1e-2;
    ACCELERATION "an acceleration", "9.81 m/s²": "m/s²" 1.0;
    FORCE "a force", "250 N": "N" 1.0; "kN" 1e3; "kgf" G_N; "lbf" POUND * G_N;
    TORQUE "a torque", "5 N·m": "N·m" 1.0; "mN·m" 1e-3; "kN·m" 1e3; "kgf·m" G_N;
    PRESSURE "a pressure", "101325 Pa": "Pa" 1.0; "kPa" 1e3; "MPa" 1e6; "GPa" 1e9; "hPa" 100.0; "mbar" 100.0; "bar" 1e5;
    DENSITY "a density", "1025 kg/m³": "kg/m³" 1.0; "g/cm³" 1e3; "kg/L" 1e3;
    VISCOSITY "a kinematic viscosity", "1.19 mm²/s": "m²/s" 1.0; "mm²/s" 1e-6; "cSt" 1e-6;
    ROTATION "a speed of rotation", "3000 rpm": "rad/s" 1.0; "rpm" REV / 60.0; "1/min" REV / 60.0; "rev/min" REV / 60.0;
        "rev/s" REV; "deg/s" DEG;
    VOLTAGE "a voltage", "48 V": "V" 1.0; "mV" 1e-3; "kV" 1e3;
    CURRENT "an electric current", "65 A": "A" 1.0; "mA" 1e-3; "kA" 1e3;
    RESISTANCE "an electrical resistance", "20 mΩ": "Ω" 1.0; "mΩ" 1e-3; "µΩ" 1e-6; "kΩ" 1e3;
    INDUCTANCE "an inductance", "30 µH": "H" 1.0; "mH" 1e-3; "µH" 1e-6;
    CAPACITANCE "a capacitance", "1000 µF": "F" 1.0; "mF" 1e-3; "µF" 1e-6; "nF" 1e-9;
    CHARGE "a charge", "20 A·h": "C" 1.0; "A·h" 3600.0; "mA·h" 3.6; "A·s" 1.0;
    ENERGY "an energy", "1.2 kWh": "J" 1.0; "kJ" 1e3; "MJ" 1e6; "W·h" 3600.0; "kW·h" 3.6e6;
    POWER "a power", "4 kW": "W" 1.0; "kW" 1e3; "mW" 1e-3; "MW" 1e6;
    TEMPERATURE "a temperature", "18 °C": "°C" 1.0; "K" 1.0, + -273.15;
    HEAT_CAPACITY "a heat capacity", "600 J/K": "J/K" 1.0; "kJ/K" 1e3; "J/°C" 1.0; "W·h/K" 3600.0;
    THERMAL_RESISTANCE "a thermal resistance", "0.4 K/W": "K/W" 1.0; "°C/W" 1.0; "mK/W" 1e-3;
    SPEED_CONSTANT "a speed constant", "130 rpm/V": "rad/(s·V)" 1.0; "rpm/V" REV / 60.0; "1/min/V" REV / 60.0; "rad/s/V" 1.0;
    TORQUE_CONSTANT "a torque constant", "0.07 N·m/A": "N·m/A" 1.0; "mN·m/A" 1e-3;
    FLUX_LINKAGE "a flux linkage", "8 mWb": "Wb" 1.0; "mWb" 1e-3; "V·s" 1.0; "mV·s" 1e-3;
    PER_KELVIN "a temperature coefficient", "0.393 %/K": "1/K" 1.0; "%/K" 0.01; "1/°C" 1.0; "%/°C" 0.01;
    RATE "a rate of change", "50 %/s": "1/s" 1.0; "%/s" 0.01;
    FREQUENCY "a frequency", "50 Hz": "Hz" 1.0; "kHz" 1e3;
}

/// Why a text is not a value of the dimension that was asked for.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum UnitError {
    /// It does not begin with a number.
    #[error("\"{0}\" does not begin with a number")]
    NoNumber(String),
    /// The number is NaN, infinite, or too large to be kept.
    #[error("\"{0}\" is not a finite number")]
    NotFinite(String),
    /// A number alone where a unit is needed.
    #[error("\"{0}\" has no unit")]
    NoUnit(String),
    /// A unit that belongs to another kind of quantity.
    #[error("\"{found}\" is {other}")]
    OtherDimension {
        /// The text.
        found: String,
        /// What it is instead, such as "a charge".
        other: &'static str,
    },
    /// A unit nobody knows.
    #[error("\"{unit}\" is not a known unit")]
    UnknownUnit {
        /// The text behind the number.
        unit: String,
        /// A unit of the right dimension that is spelt nearly so.
        near: Option<&'static str>,
    },
}

impl UnitError {
    /// What to do about it.
    pub fn help(&self, dimension: Dimension) -> String {
        match self {
            Self::UnknownUnit { near: Some(near), .. } => format!("did you mean \"{near}\"?"),
            Self::NoNumber(text) if text.starts_with(|c: char| c.is_ascii_digit()) => {
                "decimals take a point, and no separator goes between thousands".into()
            }
            _ => dimension.allowed(),
        }
    }
}

impl Dimension {
    /// "a length such as "150 mm"".
    pub fn expected(&self) -> String {
        format!("{} such as \"{}\"", self.name, self.example)
    }

    /// "its units are m, mm, cm".
    pub fn allowed(&self) -> String {
        match self.units {
            [_] if self.si.is_empty() => "it has no unit".into(),
            units => {
                let names: Vec<_> = units.iter().map(|u| u.name).filter(|n| !n.is_empty()).collect();
                let bare = if self.si.is_empty() {
                    "it may stand without a unit, or with "
                } else {
                    "its units are "
                };
                format!("{bare}{}", names.join(", "))
            }
        }
    }

    fn unit(&self, text: &str) -> Option<Unit> {
        let text = plain(text);
        self.units.iter().copied().find(|u| plain(u.name) == text)
    }
}

/// A unit without its typographic variety.
fn plain(unit: &str) -> String {
    let mut out = String::new();
    for c in unit.chars() {
        match c {
            '·' | '⋅' | '*' | '^' | ' ' | '\u{a0}' | '\u{202f}' | '\t' => {}
            'µ' | 'μ' => out.push('u'),
            '\u{3a9}' | '\u{2126}' => out.push_str("ohm"),
            '°' | 'º' => out.push_str("deg"),
            '²' => out.push('2'),
            '³' => out.push('3'),
            c => out.push(c),
        }
    }
    out
}

/// Splits `12.5 kn` into its number and the rest; the number is as long as it can be.
fn split(text: &str) -> (&str, &str) {
    let bytes = text.as_bytes();
    let digits = |mut i: usize| {
        while bytes.get(i).is_some_and(u8::is_ascii_digit) {
            i += 1;
        }
        i
    };
    let sign = |i: usize| i + usize::from(matches!(bytes.get(i), Some(b'+' | b'-')));
    let start = sign(0);
    let mut end = digits(start);
    if bytes.get(end) == Some(&b'.') {
        end = digits(end + 1);
    }
    if !text[start..end].contains(|c: char| c.is_ascii_digit()) {
        return ("", text);
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let exponent = sign(end + 1);
        if digits(exponent) > exponent {
            end = digits(exponent);
        }
    }
    text.split_at(end)
}

/// The SI value of a text such as `150 mm`.
///
/// ```
/// use engine::units::{CHARGE, parse};
/// assert_eq!(parse("20 A·h", CHARGE), Ok(72_000.0));
/// assert!(parse("1.2 kWh", CHARGE).unwrap_err().to_string().contains("an energy"));
/// ```
///
/// # Errors
/// A [`UnitError`] that says what is wrong; see [`UnitError::help`].
pub fn parse(text: &str, dimension: Dimension) -> Result<f64, UnitError> {
    let found = || text.trim().to_owned();
    let tidy = text.trim().replace('−', "-");
    let (number, unit) = split(&tidy);
    let unit = unit.trim();
    let Ok(number) = number.parse::<f64>() else {
        let word = unit.split_whitespace().next().unwrap_or("");
        let word = word.trim_start_matches(['+', '-', '.']).to_ascii_lowercase();
        return Err(match word.as_str() {
            "nan" | "inf" | "infinity" => UnitError::NotFinite(found()),
            _ => UnitError::NoNumber(found()),
        });
    };
    if unit.starts_with(|c: char| c.is_ascii_digit() || "_,.'".contains(c)) && dimension.unit(unit).is_none()
    {
        return Err(UnitError::NoNumber(found()));
    }
    let Some(known) = dimension.unit(unit) else {
        return Err(if unit.is_empty() {
            UnitError::NoUnit(found())
        } else if let Some(other) = ALL.iter().find(|d| d.unit(unit).is_some()) {
            UnitError::OtherDimension { found: found(), other: other.name }
        } else {
            let near = suggest(unit, dimension.units.iter().map(|u| u.name).filter(|n| !n.is_empty()));
            UnitError::UnknownUnit { unit: unit.to_owned(), near }
        });
    };
    let value = known.si(number);
    if value.is_finite() { Ok(value) } else { Err(UnitError::NotFinite(found())) }
}

/// A number in the unit it was written in, such as 150 in `mm` for `150 mm`, with the
/// dimension that unit belongs to. A bare number is a pure number.
///
/// # Errors
/// As [`parse`].
pub fn parse_any(text: &str) -> Result<(f64, Unit, Dimension), UnitError> {
    let tidy = text.trim().replace('−', "-");
    let unit = split(&tidy).1.trim();
    let dimension = ALL.iter().find(|d| d.unit(unit).is_some()).copied().unwrap_or(NUMBER);
    let si = parse(text, dimension)?;
    let unit = dimension.unit(unit).unwrap_or(dimension.units[0]);
    let number = split(&tidy).0.parse().unwrap_or_else(|_| unit.of(si));
    Ok((number, unit, dimension))
}

/// Unit of a kind of quantity, such as `kg.m2` or `degC`, as units are written: `kg·m²`, `°C`; a pure number has none.
pub fn spelt(unit: &str) -> String {
    match unit {
        "1" => String::new(),
        "degC" => "°C".into(),
        "ohm" => "Ω".into(),
        other => other.replace('.', "·").replace('2', "²").replace('3', "³"),
    }
}

/// An SI value for people, in the unit that gives it one to three digits before
/// the point where there is one: `0.15` as a length is `150 mm`.
pub fn show(value: f64, dimension: Dimension) -> String {
    let fits = |u: &&Unit| {
        let number = u.of(value).abs();
        u.offset == 0.0 && (1.0..1000.0).contains(&number)
    };
    // The SI unit if it fits, then the unit of the example, then the others in order.
    let example = split(dimension.example).1;
    let candidates = [dimension.units.first().copied(), dimension.unit(example)];
    let best = candidates.iter().flatten().chain(dimension.units).find(fits);
    let unit = best.copied().unwrap_or(dimension.units[0]);
    let number = round(unit.of(value));
    if unit.name.is_empty() { number } else { format!("{number} {}", unit.name) }
}

/// An SI value in the unit of a typical text of its dimension, to four digits;
/// what these lose is lost upward or downward.
pub fn show_in(value: f64, dimension: Dimension, typical: &str, up: bool) -> String {
    let typed = split(typical.trim()).1.trim();
    let unit = dimension.unit(typed).unwrap_or(dimension.units[0]);
    let exact = unit.of(value);
    let rounded = |x: f64| format!("{x:.3e}").parse().unwrap_or(x);
    let mut shown: f64 = rounded(exact);
    let lost = shown - exact;
    // beyond rounding of the conversion, to the side asked for
    if lost.abs() > 1e-12 * exact.abs() && (lost < 0.0) == up {
        let digit = 10f64.powf(exact.abs().log10().floor() - 3.0);
        shown = rounded(exact + if up { 0.5 } else { -0.5 } * digit);
    }
    match unit.name {
        "" => number(shown),
        name => format!("{} {name}", number(shown)),
    }
}

/// Six significant digits, no trailing zeros.
fn round(x: f64) -> String {
    let rounded = format!("{x:.5e}").parse().unwrap_or(x);
    number(rounded)
}

/// The shortest text that reads back as exactly `x`.
pub fn number(x: f64) -> String {
    if x == 0.0 || (1e-5..1e15).contains(&x.abs()) { format!("{x}") } else { format!("{x:e}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_read_to_si() {
        // Right-hand sides are the definitions of the units.
        let cases = [
            ("150 mm", LENGTH, 0.15),
            ("150mm", LENGTH, 0.15),
            ("65 A", CURRENT, 65.0),
            ("130 rpm/V", SPEED_CONSTANT, 130.0 * REV / 60.0),
            ("25 °C", TEMPERATURE, 25.0),
            ("25 degC", TEMPERATURE, 25.0),
            ("273.15 K", TEMPERATURE, 0.0),
            ("−5 °C", TEMPERATURE, -5.0),
            ("20 A·h", CHARGE, 72_000.0),
            ("20 Ah", CHARGE, 72_000.0),
            ("20 A h", CHARGE, 72_000.0),
            ("35 %", FRACTION, 0.35),
            ("0.35", FRACTION, 0.35),
            ("180 deg", ANGLE, REV / 2.0),
            ("180°", ANGLE, REV / 2.0),
            ("12 kn", SPEED, 12.0 * 1852.0 / 3600.0),
            ("36 km/h", SPEED, 10.0),
            ("2 kgf", FORCE, 2.0 * G_N),
            ("20 mΩ", RESISTANCE, 0.02),
            ("20 mohm", RESISTANCE, 0.02),
            ("30 µH", INDUCTANCE, 30e-6),
            ("30 uH", INDUCTANCE, 30e-6),
            ("70 mN·m/A", TORQUE_CONSTANT, 0.07),
            ("0.07 Nm/A", TORQUE_CONSTANT, 0.07),
            ("0.4 K/W", THERMAL_RESISTANCE, 0.4),
            ("600 J/K", HEAT_CAPACITY, 600.0),
            ("5 mm²", AREA, 5e-6),
            ("5 mm2", AREA, 5e-6),
            ("5 mm^2", AREA, 5e-6),
            ("90 L", VOLUME, 0.09),
            ("1.2e-6 m²/s", VISCOSITY, 1.2e-6),
            ("3000 1/min", ROTATION, 3000.0 * REV / 60.0),
            ("1.5e3 m", LENGTH, 1500.0),
            (".5 m", LENGTH, 0.5),
        ];
        for (text, dimension, si) in cases {
            let value = parse(text, dimension).unwrap_or_else(|e| panic!("{text}: {e}"));
            // A factor and a product: two roundings.
            assert!((value - si).abs() <= 4.0 * f64::EPSILON * si.abs() + 1e-13, "{text}: {value} for {si}");
        }
    }

    #[test]
    fn a_number_keeps_the_unit_it_was_written_in() {
        let (number, unit, dimension) = parse_any("140 mm").unwrap();
        assert_eq!((number, unit.name, dimension), (140.0, "mm", LENGTH));
        let (number, unit, dimension) = parse_any("0.8").unwrap();
        assert_eq!((number, unit.name, dimension), (0.8, "", NUMBER));
        assert_eq!(parse_any("95 %").unwrap().2, FRACTION);
        assert!(matches!(parse_any("5 parsec"), Err(UnitError::UnknownUnit { .. })));
        assert!(matches!(parse_any("wide"), Err(UnitError::NoNumber(_))));
    }

    #[test]
    fn wrong_units_are_told_apart() {
        let of = |text: &str, d| parse(text, d).unwrap_err();
        assert_eq!(of("20 A·h", ENERGY).to_string(), "\"20 A·h\" is a charge");
        assert_eq!(of("12 kN", SPEED).to_string(), "\"12 kN\" is a force");
        assert_eq!(of("150", LENGTH), UnitError::NoUnit("150".into()));
        assert_eq!(of("0.5 mn", LENGTH).help(LENGTH), "did you mean \"mm\"?");
        assert!(of("5 parsec", LENGTH).help(LENGTH).contains("m, mm, cm"));
        assert_eq!(of("long", LENGTH), UnitError::NoNumber("long".into()));
        assert!(of("1,5 m", LENGTH).help(LENGTH).contains("point"));
        assert!(of("1_000 m", LENGTH).help(LENGTH).contains("point"));
        for text in ["nan", ".inf", "-inf m", "1e999 m", "NaN m"] {
            assert_eq!(of(text, LENGTH), UnitError::NotFinite(text.into()));
        }
        assert!(matches!(of("", LENGTH), UnitError::NoNumber(_)));
        assert!(matches!(of("3 V", NUMBER), UnitError::OtherDimension { .. }));
    }

    #[test]
    fn every_unit_is_unambiguous_and_reads_its_own_spelling() {
        for d in ALL {
            assert!(parse(d.example, *d).is_ok(), "{}: {}", d.name, d.example);
            assert_eq!((d.units[0].factor, d.units[0].offset), (1.0, 0.0), "{}", d.name);
            for u in d.units {
                assert_eq!(
                    d.units.iter().filter(|v| plain(v.name) == plain(u.name)).count(),
                    1,
                    "{}",
                    u.name
                );
                assert_eq!(parse(&format!("1 {}", u.name), *d), Ok(u.factor + u.offset));
            }
        }
    }

    #[test]
    fn values_are_shown_in_a_friendly_unit() {
        assert_eq!(show(0.15, LENGTH), "150 mm");
        assert_eq!(show(1.5, LENGTH), "1.5 m");
        assert_eq!(show(72_000.0, CHARGE), "20 A·h");
        assert_eq!(show(0.02, RESISTANCE), "20 mΩ");
        assert_eq!(show(0.1 + 0.2, NUMBER), "0.3");
        assert_eq!(show(0.0, LENGTH), "0 m");
        assert_eq!(show(0.35, FRACTION), "35 %");
        assert_eq!(show(1e-20, LENGTH), "1e-20 m");
        assert_eq!(show(18.0, TEMPERATURE), "18 °C");
    }

    #[test]
    fn ends_of_a_range_are_rounded_inward_in_the_unit_asked_for() {
        assert_eq!(show_in(0.5, ANGLE, "4 deg", false), "28.64 °");
        assert_eq!(show_in(-0.5, ANGLE, "4 deg", true), "-28.64 °");
        assert_eq!(show_in(0.05, ANGLE, "4 deg", true), "2.865 °");
        assert_eq!(show_in(1e-5, RESISTANCE, "20 mΩ", true), "0.01 mΩ");
        assert_eq!(show_in(0.0, LENGTH, "150 mm", true), "0 mm");
        assert_eq!(show_in(1000.0, TIME, "2 min", false), "16.66 min");
        assert_eq!(show_in(1.0, FRACTION, "0.5", false), "1");
        assert_eq!(show_in(1.0, FRACTION, "35 %", false), "100 %");
        assert_eq!(show_in(1234567.0, PRESSURE, "1 Pa", true), "1235000 Pa");
        // a printed end lies inside the range, whatever the value
        for i in 1..2000 {
            let x = 0.37 * f64::from(i) * 1.01f64.powi(i % 700);
            for (typical, dimension) in [("4 deg", ANGLE), ("20 mΩ", RESISTANCE), ("12 kn", SPEED)] {
                let read = |up| parse(&show_in(x, dimension, typical, up), dimension).unwrap();
                assert!(read(true) >= x * (1.0 - 1e-9) && read(false) <= x * (1.0 + 1e-9), "{x}");
                assert!((read(true) / x - 1.0).abs() < 1.1e-3, "{x}");
            }
        }
    }
}
