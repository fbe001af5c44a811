//! Which column is what.

use super::line::Cell;
use super::{Column, Layout, Mapping};
use crate::diagnostic::{Diagnostic, Diagnostics, Place, suggest};
use crate::units::{ALL, Dimension, NUMBER, TIME, Unit, parse_any};

/// Columns that are read, and where they stand in a row.
pub(super) struct Frame {
    pub columns: Vec<Column>,
    pub places: Vec<usize>,
    /// Place in a row.
    pub group: Option<usize>,
    /// Place among the columns.
    pub time: Option<usize>,
    pub unread: Vec<String>,
}

type At<'a> = dyn Fn(&Cell, &str) -> Place + 'a;

/// `current [A]` as its name and its unit.
pub(super) fn split(heading: &str) -> (&str, Option<&str>) {
    let inner = heading.strip_suffix(']').and_then(|rest| rest.rsplit_once('['));
    inner.map_or((heading, None), |(name, unit)| (name.trim(), Some(unit.trim())))
}

/// # Errors
/// Everything wrong with headings and layout, at the headings.
pub(super) fn understand(headings: &[Cell], layout: &Layout, at: &At) -> Result<Frame, Diagnostics> {
    let mut problems = Diagnostics::new();
    let names: Vec<&str> = headings.iter().map(|cell| split(&cell.text).0).collect();
    for (i, cell) in headings.iter().enumerate() {
        if names[i].is_empty() {
            problems.push(Diagnostic::error("a heading is missing").at(at(cell, "")));
        } else if names[..i].contains(&names[i]) {
            problems.push(Diagnostic::error("this heading stands twice").at(at(cell, names[i])));
        }
    }
    let nowhere = Cell::START;
    let start = headings.first().unwrap_or(&nowhere);
    let place =
        |wanted: &str| headings.iter().position(|cell| cell.text == wanted || split(&cell.text).0 == wanted);
    let missing = |wanted: &str| {
        let error = Diagnostic::error(format!("there is no column `{wanted}`"));
        let found = names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ");
        let error = error.found(found).near(suggest(wanted, names.iter().copied())).at(at(start, ""));
        // one cell with another separator in it is a whole line
        match (&names[..], [';', '\t'].into_iter().find(|&c| start.text.contains(c))) {
            ([_], Some(other)) if other != layout.separator => {
                let other = other.escape_default();
                error.help(format!("cells look separated by \"{other}\": say so with separator(\"{other}\")"))
            }
            _ => error,
        }
    };
    let mut find = |wanted: &Option<String>| {
        let wanted = wanted.as_deref()?;
        let found = place(wanted);
        if found.is_none() {
            problems.push(missing(wanted));
        }
        found
    };
    let (group, time_place) = (find(&layout.group), find(&layout.time));
    // place in the row, with what is said of it
    let mut wanted: Vec<(usize, Option<&Mapping>)> = Vec::new();
    if layout.columns.is_empty() {
        wanted.extend((0..headings.len()).filter(|i| Some(*i) != group).map(|i| (i, None)));
    }
    for mapping in &layout.columns {
        match place(&mapping.column) {
            Some(i) if wanted.iter().any(|(taken, _)| *taken == i) => {
                let error = Diagnostic::error("this column is asked for twice");
                problems.push(error.at(at(&headings[i], &mapping.column)));
            }
            Some(i) => wanted.push((i, Some(mapping))),
            None => problems.push(missing(&mapping.column)),
        }
    }
    wanted.extend(time_place.filter(|i| wanted.iter().all(|(taken, _)| taken != i)).map(|i| (i, None)));
    wanted.sort_by_key(|(i, _)| *i);
    let mut columns: Vec<Column> = Vec::new();
    let mut places = Vec::new();
    for (i, mapping) in wanted {
        let is_time = Some(i) == time_place;
        match column(&headings[i].text, mapping, is_time, layout) {
            Ok(column) if columns.iter().any(|other| other.quantity == column.quantity) => {
                let error = Diagnostic::error(format!("two columns hold `{}`", column.quantity));
                problems.push(error.at(at(&headings[i], names[i])));
            }
            Ok(column) => {
                columns.push(column);
                places.push(i);
            }
            Err(error) => problems.push(error.at(at(&headings[i], names[i]))),
        }
    }
    let read = |i: &usize| places.contains(i) || Some(*i) == group;
    let unread = (0..headings.len()).filter(|i| !read(i)).map(|i| headings[i].text.clone()).collect();
    let time = time_place.and_then(|i| places.iter().position(|place| *place == i));
    problems.or(Frame { columns, places, group, time, unread })
}

fn column(
    heading: &str,
    mapping: Option<&Mapping>,
    is_time: bool,
    layout: &Layout,
) -> Result<Column, Diagnostic> {
    let (name, in_heading) = split(heading);
    let told = mapping.and_then(|mapping| mapping.unit.as_deref());
    let quantity = mapping.map_or(name, |mapping| mapping.quantity.as_str());
    let si = layout.known.iter().find(|(known, _)| known == quantity).map(|(_, si)| si.as_str());
    let text = in_heading.or(told).ok_or_else(|| {
        let expected = match si {
            Some("1" | "") => format!("a heading such as `{name} [%]`, or `{name} [1]`"),
            Some(si) => format!("a heading such as `{name} [{si}]`"),
            None => format!("a heading such as `{name} [A]`, or `{name} [1]` for a pure number"),
        };
        Diagnostic::error("the unit is missing").expected(expected)
    })?;
    let (unit, dimension) = unit(text, si)?;
    if let (Some(told), Some(_)) = (told, in_heading)
        && self::unit(told, si)?.0 != unit
    {
        let error = Diagnostic::error("heading and layout disagree about the unit");
        return Err(error.expected(format!("`{told}`, as the layout says")).found(format!("`{text}`")));
    }
    if is_time {
        if dimension != TIME {
            return Err(Diagnostic::error("this is no time").expected(TIME.expected()).found(dimension.name));
        }
    } else if !layout.known.is_empty() {
        known(quantity, dimension, &layout.known)?;
    }
    Ok(Column { name: name.into(), quantity: quantity.into(), unit, dimension, step: f64::INFINITY })
}

/// Whether there is such a quantity, of this dimension.
fn known(quantity: &str, dimension: Dimension, known: &[(String, String)]) -> Result<(), Diagnostic> {
    let Some((_, si)) = known.iter().find(|(name, _)| name == quantity) else {
        let near = suggest(quantity, known.iter().map(|(name, _)| name.as_str()));
        return Err(Diagnostic::error(format!("there is no quantity `{quantity}`")).near(near));
    };
    if plain(si) == plain(dimension.si) {
        return Ok(());
    }
    let error = Diagnostic::error(format!("`{quantity}` is another kind of quantity"));
    Err(error.expected(format!("a unit of {si}")).found(dimension.name))
}

/// `N.m`, `N·m` and `N m` are the same; a pure number may be written 1.
fn plain(unit: &str) -> String {
    match unit {
        "1" => String::new(),
        unit => unit.replace(['.', '·', ' '], ""),
    }
}

/// A unit by its name; one of the kind that is wanted, if that is known, is suggested before others.
fn unit(text: &str, si: Option<&str>) -> Result<(Unit, Dimension), Diagnostic> {
    if matches!(text, "" | "1" | "-") {
        return Ok((NUMBER.units[0], NUMBER));
    }
    match parse_any(&format!("1 {text}")) {
        Ok((1.0, unit, dimension)) => Ok((unit, dimension)),
        _ => {
            let wanted = |dimension: &&Dimension| si.is_none_or(|si| plain(si) == plain(dimension.si));
            let names = ALL.iter().filter(wanted).flat_map(|dimension| dimension.units);
            let near = suggest(text, names.map(|unit| unit.name).filter(|name| !name.is_empty()));
            Err(Diagnostic::error(format!("{text:?} is not a known unit")).near(near))
        }
    }
}
