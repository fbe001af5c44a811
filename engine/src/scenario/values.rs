//! Values that cross the border between script and engine.

use rhai::{Dynamic, EvalAltResult};
use serde_json::Value;

use crate::units::{self, Dimension};

type Fallible<T> = Result<T, Box<EvalAltResult>>;

/// A number from a script: `3`, `3.0`, or text with a unit such as `"3 s"`.
/// A bare number is in the SI unit. Finite or an error.
pub(super) fn number(value: &Dynamic, unit: &str) -> Fallible<f64> {
    let number = if let Ok(whole) = value.as_int() {
        whole as f64
    } else if let Ok(float) = value.as_float() {
        float
    } else if let Ok(text) = value.clone().into_string() {
        let dimension = dimension(unit).ok_or_else(|| {
            format!("quantities in {unit} are given as bare numbers, not as text (\"{text}\")")
        })?;
        units::parse(&text, dimension).map_err(|e| format!("{e}: {}", e.help(dimension)))?
    } else {
        let found = value.type_name();
        return Err(format!("expected a number in {unit} or a text with a unit, found {found}").into());
    };
    if number.is_finite() { Ok(number) } else { Err(format!("{number} is not a finite number").into()) }
}

/// A time in seconds, from a bare number or a text such as `"2.5 s"`.
pub(super) fn seconds(value: &Dynamic) -> Fallible<f64> {
    let t = number(value, "s")?;
    if t < 0.0 { Err(format!("a time cannot be negative: {t} s").into()) } else { Ok(t) }
}

/// The dimension whose SI unit is the one a kind of quantity is declared in.
fn dimension(unit: &str) -> Option<Dimension> {
    let spelt = units::spelt(unit);
    // fractions may be given in per cent, which plain numbers may not
    units::ALL.iter().rev().find(|d| d.si == spelt).copied()
}

/// JSON to script: null becomes `()`.
pub(super) fn to_script(value: &Value) -> Dynamic {
    match value {
        Value::Null => Dynamic::UNIT,
        Value::Bool(b) => (*b).into(),
        Value::Number(n) => n.as_f64().map_or(Dynamic::UNIT, Dynamic::from),
        Value::String(s) => s.clone().into(),
        Value::Array(list) => list.iter().map(to_script).collect::<Vec<Dynamic>>().into(),
        Value::Object(map) => {
            let map: rhai::Map = map.iter().map(|(k, v)| (k.as_str().into(), to_script(v))).collect();
            map.into()
        }
    }
}

/// Script to JSON: what a map says.
pub(super) fn from_script(map: rhai::Map) -> Fallible<serde_json::Map<String, Value>> {
    map.into_iter().map(|(key, value)| Ok((key.to_string(), one(&value)?))).collect()
}

fn one(value: &Dynamic) -> Fallible<Value> {
    if value.is_unit() {
        return Ok(Value::Null);
    }
    if let Ok(b) = value.as_bool() {
        return Ok(b.into());
    }
    if let Ok(i) = value.as_int() {
        return Ok(i.into());
    }
    if let Ok(x) = value.as_float() {
        let number = serde_json::Number::from_f64(x);
        return number.map(Value::Number).ok_or_else(|| format!("{x} is not a finite number").into());
    }
    let found = value.type_name();
    if let Ok(text) = value.clone().into_string() {
        return Ok(text.into());
    }
    if let Some(list) = value.clone().try_cast::<rhai::Array>() {
        return list.iter().map(one).collect::<Fallible<Vec<Value>>>().map(Value::Array);
    }
    if let Some(map) = value.clone().try_cast::<rhai::Map>() {
        return from_script(map).map(Value::Object);
    }
    Err(format!("expected a number, a text, a list or a map, found {found}").into())
}
