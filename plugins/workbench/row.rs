//! A line of readings from the bench, and how sure each of them is.

use engine::readings::Readings;

pub use crate::handbook::motor_current::CurrentConvention;

macro_rules! fields {
    ($($name:ident, $unit:literal, $about:literal;)+) => {
        /// One line of readings, SI, temperatures in °C; `None` where nothing was read.
        #[derive(Debug, Clone, Copy, Default, PartialEq)]
        pub struct Row {
            /// Line in the file, from 1; 0 if there is no file.
            pub line: usize,
            $(#[doc = $about] pub $name: Option<f64>,)+
        }

        /// Standard uncertainties of a [`Row`], in the same units; `None` where none was told.
        #[derive(Debug, Clone, Copy, Default, PartialEq)]
        pub struct Unsure {
            $(#[doc = $about] pub $name: Option<f64>,)+
        }

        /// Names of the readings and their SI units, in the order of the fields.
        pub const READINGS: &[(&str, &str)] = &[$((stringify!($name), $unit)),+];

        impl Row {
            /// The place of a reading by its name; `None` if there is none of this name.
            pub fn place(&mut self, name: &str) -> Option<&mut Option<f64>> {
                match name {
                    $(stringify!($name) => Some(&mut self.$name),)+
                    _ => None,
                }
            }
        }

        impl Unsure {
            /// As [`Row::place`].
            pub fn place(&mut self, name: &str) -> Option<&mut Option<f64>> {
                match name {
                    $(stringify!($name) => Some(&mut self.$name),)+
                    _ => None,
                }
            }
        }
    };
}

fields! {
    time, "s", "When it was read \\[s\\].";
    throttle, "1", "Throttle, 0 to 1.";
    bus_voltage, "V", "Voltage at the controller's terminals \\[V\\].";
    battery_current, "A", "Battery current \\[A\\].";
    motor_current, "A", "Motor current, DC-equivalent \\[A\\].";
    shaft_speed, "rad/s", "Shaft speed ω \\[rad/s\\].";
    duty, "1", "Duty as the controller tells it.";
    scale_reading, "kg", "What the scale shows \\[kg\\].";
    thrust, "N", "Pull of the drive \\[N\\].";
    winding_temperature, "°C", "Temperature of the winding \\[°C\\].";
    state_of_charge, "1", "State of charge of the pack, 0 to 1.";
}

/// Heading of a motor current that is counted in a convention: `motor_current` with the convention behind it.
pub fn motor_current_heading(convention: CurrentConvention) -> &'static str {
    match convention {
        CurrentConvention::DcEquivalent => "motor_current",
        CurrentConvention::PhasePeak => "motor_current_phase_peak",
        CurrentConvention::PhaseRms => "motor_current_phase_rms",
        CurrentConvention::PowerInvariant => "motor_current_power_invariant",
    }
}

/// All conventions of a motor current.
pub const CONVENTIONS: [CurrentConvention; 4] = [
    CurrentConvention::DcEquivalent,
    CurrentConvention::PhasePeak,
    CurrentConvention::PhaseRms,
    CurrentConvention::PowerInvariant,
];

/// Rows of a table with the names of their groups, in the order of the file. Columns are known by the names of
/// [`READINGS`]; a motor current may stand under the heading of its
/// convention. Other columns are left alone.
pub fn rows(readings: &Readings) -> Vec<(String, Row)> {
    let one = |line: &engine::readings::Row| {
        let mut row = Row { line: line.line, ..Row::default() };
        for (column, value) in readings.columns.iter().zip(&line.values) {
            let counted = CONVENTIONS.into_iter().find(|&c| motor_current_heading(c) == column.quantity);
            match counted {
                // a blank column of one convention must not wipe out another
                Some(convention) => {
                    row.motor_current = value.map(|i| convention.to_dc(i)).or(row.motor_current)
                }
                None => {
                    if let Some(place) = row.place(&column.quantity) {
                        *place = value.or(*place);
                    }
                }
            }
        }
        (line.group.clone(), row)
    };
    readings.rows.iter().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use engine::readings::Layout;

    #[test]
    fn a_table_becomes_rows_in_si_and_blanks_stay_missing() {
        let text = "run,throttle [%],motor_current_phase_rms [A],shaft_speed [rpm],thrust [N],colour [1]\n\
                    a,40,50,3000,,1\nb,,,,200,2\n";
        let layout = Layout { group: Some("run".into()), ..Layout::default() };
        let found = rows(&Readings::parse("t.csv", text, &layout).unwrap());
        let row = found[0].1;
        assert_eq!((found[0].0.as_str(), row.line, row.throttle, row.thrust), ("a", 2, Some(0.4), None));
        // √(3/2) of an ampere rms; round-off
        assert!((row.motor_current.unwrap() - 61.237_243_569_579_45).abs() < 1e-12);
        assert!((row.shaft_speed.unwrap() - 100.0 * std::f64::consts::PI).abs() < 1e-12);
        assert_eq!((found[1].1.thrust, found[1].1.motor_current), (Some(200.0), None));
    }

    #[test]
    fn every_reading_has_a_place_under_its_name() {
        let (mut row, mut unsure) = (Row::default(), Unsure::default());
        for (i, (name, _)) in READINGS.iter().enumerate() {
            assert_eq!(*row.place(name).unwrap(), None, "{name}");
            *row.place(name).unwrap() = Some(i as f64);
            *unsure.place(name).unwrap() = Some(i as f64);
        }
        assert!(row.place("colour").is_none() && unsure.place("").is_none());
    }
}
