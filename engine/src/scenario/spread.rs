//! The values a study gives to an axis, as a script states them.

use rhai::{Array, Dynamic, Engine, EvalAltResult, Map};

use super::values::number;
use crate::sampling::{Distribution, Scheme};
use crate::setup::Change;
use crate::study::{Points, Values};
use crate::units::{self, Dimension, Unit};

type Fallible<T> = Result<T, Box<EvalAltResult>>;

/// Most values in a list.
const MOST: usize = 1_000_000;

/// Values for an axis, not yet given to one.
#[derive(Clone)]
pub(super) struct Spread {
    pub values: Values,
    pub unit: Unit,
    /// For alternatives with names: what each changes in a setup.
    pub changes: Vec<Vec<(String, Change)>>,
}

/// A named alternative.
#[derive(Clone)]
pub(super) struct Choice {
    label: String,
    changes: Vec<(String, Change)>,
}

/// A number with the unit it was written in.
#[derive(Clone, Copy)]
struct Amount {
    number: f64,
    unit: Unit,
    dimension: Dimension,
}

impl Amount {
    fn read(value: &Dynamic) -> Fallible<Amount> {
        let (number, unit, dimension) = match value.clone().into_string() {
            Ok(text) => units::parse_any(&text).map_err(|e| e.to_string())?,
            Err(_) => (number(value, "1")?, units::NUMBER.units[0], units::NUMBER),
        };
        Ok(Amount { number, unit, dimension })
    }

    /// The number in the unit of another amount, which must be of the same kind.
    fn like(self, first: Amount) -> Fallible<f64> {
        self.same_kind(first)?;
        // the same unit keeps its digits
        if self.unit == first.unit {
            return Ok(self.number);
        }
        Ok(first.unit.of(self.unit.si(self.number)))
    }

    /// As [`Amount::like`], for a difference: 3 K are 3 °C.
    fn difference_like(self, first: Amount) -> Fallible<f64> {
        self.same_kind(first)?;
        Ok(if self.unit == first.unit {
            self.number
        } else {
            self.number * self.unit.factor / first.unit.factor
        })
    }

    fn same_kind(self, first: Amount) -> Fallible<()> {
        let bare = |a: Amount| a.dimension == units::NUMBER || a.dimension == units::FRACTION;
        if self.dimension == first.dimension || (bare(self) && bare(first)) {
            return Ok(());
        }
        Err(format!(
            "these values go together, but one is {} and another {}",
            first.dimension.name, self.dimension.name
        )
        .into())
    }
}

/// Registers the words for values and for ways of choosing points.
pub(super) fn register(engine: &mut Engine) {
    engine
        .register_type_with_name::<Spread>("values")
        .register_type_with_name::<Choice>("choice")
        .register_type_with_name::<Points>("points");
    engine.register_fn("list", |items: Array| listed(&items));
    engine.register_fn("linear", |low: Dynamic, high: Dynamic, n: i64| stepped(&low, &high, n, false));
    engine.register_fn("logarithmic", |low: Dynamic, high: Dynamic, n: i64| stepped(&low, &high, n, true));
    engine.register_fn("choice", |label: &str, changes: Map| -> Fallible<Choice> {
        Ok(Choice { label: label.into(), changes: changed(changes)? })
    });
    engine.register_fn("choices", |items: Array| chosen(items));
    engine.register_fn("uniform", |low: Dynamic, high: Dynamic| {
        drawn(&[low, high], |a| Distribution::Uniform { low: a[0], high: a[1] })
    });
    engine.register_fn("log_uniform", |low: Dynamic, high: Dynamic| {
        drawn(&[low, high], |a| Distribution::LogUniform { low: a[0], high: a[1] })
    });
    engine.register_fn("triangular", |low: Dynamic, mode: Dynamic, high: Dynamic| {
        drawn(&[low, mode, high], |a| Distribution::Triangular { low: a[0], mode: a[1], high: a[2] })
    });
    engine.register_fn("normal", |mean: Dynamic, deviation: Dynamic| -> Fallible<Spread> {
        let by = Amount::read(&deviation)?.difference_like(Amount::read(&mean)?)?;
        drawn(&[mean], |a| Distribution::Normal { mean: a[0], deviation: by })
    });
    engine.register_fn("log_normal", |median: Dynamic, factor: Dynamic| -> Fallible<Spread> {
        let factor = number(&factor, "1")?;
        drawn(&[median], |a| Distribution::LogNormal { median: a[0], factor })
    });
    let counted = |n: i64| {
        u64::try_from(n).map_err(|_| format!("a number of points is a whole number from 1, not {n}"))
    };
    engine.register_fn("grid", || Points::Grid);
    engine.register_fn("random", move |n: i64| -> Fallible<Points> {
        Ok(Points::Drawn(Scheme::Random { n: counted(n)? }))
    });
    let sets = move |n: i64, sets: i64| -> Fallible<(u64, u64)> { Ok((counted(n)?, counted(sets)?)) };
    engine.register_fn("latin_hypercube", move |n: i64| -> Fallible<Points> {
        Ok(Points::Drawn(Scheme::LatinHypercube { n: counted(n)?, sets: 1 }))
    });
    engine.register_fn("latin_hypercube", move |n: i64, k: i64| -> Fallible<Points> {
        sets(n, k).map(|(n, sets)| Points::Drawn(Scheme::LatinHypercube { n, sets }))
    });
    engine.register_fn("sobol", move |n: i64| -> Fallible<Points> {
        Ok(Points::Drawn(Scheme::Sobol { n: counted(n)?, sets: 1 }))
    });
    engine.register_fn("sobol", move |n: i64, k: i64| -> Fallible<Points> {
        sets(n, k).map(|(n, sets)| Points::Drawn(Scheme::Sobol { n, sets }))
    });
    engine.register_fn("indices", move |n: i64, k: i64| -> Fallible<Points> {
        sets(n, k).map(|(n, sets)| Points::Drawn(Scheme::Indices { n, sets }))
    });
}

/// The forms in which these words are used.
pub(super) const FORMS: &[&str] = &[
    "list(list of values)",
    "linear(low, high, number of values)",
    "logarithmic(low, high, number of values)",
    "choices(list of choices)",
    "choice(name, map of changes)",
    "uniform(low, high)",
    "log_uniform(low, high)",
    "triangular(low, most likely, high)",
    "normal(mean, standard deviation)",
    "log_normal(median, factor)",
    "grid()",
    "random(number)",
    "latin_hypercube(number)",
    "latin_hypercube(number, sets)",
    "sobol(number)",
    "sobol(number, sets)",
    "indices(number, sets)",
];

fn listed(items: &Array) -> Fallible<Spread> {
    let first = items.first().ok_or("a list needs at least one value")?;
    let words: Vec<String> = items.iter().filter_map(|i| i.clone().into_string().ok()).collect();
    // words such as "flat" are values of a parameter too
    let no_number = |text: &String| matches!(units::parse_any(text), Err(units::UnitError::NoNumber(_)));
    if words.len() == items.len() && words.iter().all(no_number) {
        return Ok(Spread {
            values: Values::Words(words),
            unit: units::NUMBER.units[0],
            changes: Vec::new(),
        });
    }
    let first = Amount::read(first)?;
    let numbers: Fallible<Vec<f64>> = items.iter().map(|item| Amount::read(item)?.like(first)).collect();
    Ok(Spread { values: Values::Numbers(numbers?), unit: first.unit, changes: Vec::new() })
}

fn stepped(low: &Dynamic, high: &Dynamic, n: i64, log: bool) -> Fallible<Spread> {
    let (low, high) = (Amount::read(low)?, Amount::read(high)?);
    let (a, b) = (low.number, high.like(low)?);
    let count = usize::try_from(n).ok().filter(|n| (2..=MOST).contains(n));
    let n = count.ok_or_else(|| format!("a number of values is from 2 to {MOST}, not {n}"))?;
    if log && !(a > 0.0 && b > 0.0) {
        return Err(format!("steps of equal ratio need values above 0, not {a} and {b}").into());
    }
    let last = (n - 1) as f64;
    let at = |i: usize| match i {
        0 => a,
        // the ends as they were written
        i if i == n - 1 => b,
        i if log => tidy(a * (b / a).powf(i as f64 / last)),
        i => tidy(a + (b - a) * i as f64 / last),
    };
    let values = Values::Numbers((0..n).map(at).collect());
    Ok(Spread { values, unit: low.unit, changes: Vec::new() })
}

/// 12 significant digits: 0.1 + 0.2 is meant to be 0.3.
fn tidy(x: f64) -> f64 {
    format!("{x:.11e}").parse().unwrap_or(x)
}

fn drawn(amounts: &[Dynamic], make: impl Fn(&[f64]) -> Distribution) -> Fallible<Spread> {
    let amounts: Fallible<Vec<Amount>> = amounts.iter().map(Amount::read).collect();
    let amounts = amounts?;
    let first = *amounts.first().ok_or("a distribution needs values")?;
    let numbers: Fallible<Vec<f64>> = amounts.iter().map(|a| a.like(first)).collect();
    let distribution = make(&numbers?);
    distribution.check().map_err(|e| e.to_string())?;
    Ok(Spread { values: Values::Drawn(distribution), unit: first.unit, changes: Vec::new() })
}

fn chosen(items: Array) -> Fallible<Spread> {
    if items.is_empty() {
        return Err("choices need at least one: choices([choice(name, changes), …])".into());
    }
    let choices: Vec<Choice> = items
        .into_iter()
        .map(|item| {
            let found = item.type_name();
            item.try_cast::<Choice>().ok_or_else(|| format!("expected choice(name, changes), found {found}"))
        })
        .collect::<Result<_, _>>()?;
    let mut names: Vec<&str> = choices.iter().map(|c| c.label.as_str()).collect();
    names.sort_unstable();
    if let Some(twice) = names.windows(2).find(|w| w[0] == w[1]) {
        return Err(format!("two choices are called \"{}\"", twice[0]).into());
    }
    let (labels, changes) = choices.into_iter().map(|c| (c.label, c.changes)).unzip();
    Ok(Spread { values: Values::Words(labels), unit: units::NUMBER.units[0], changes })
}

/// `#{"propeller.diameter": "150 mm"}`, sorted by name; bare numbers are in SI units.
pub(super) fn changed(map: Map) -> Fallible<Vec<(String, Change)>> {
    let mut changes = Vec::new();
    for (path, value) in map {
        let change = match value.clone().into_string() {
            Ok(text) => Change::Text(text),
            Err(_) => Change::Si(number(&value, "1")?),
        };
        changes.push((path.to_string(), change));
    }
    Ok(changes)
}
