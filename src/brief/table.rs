//! Reading of one TOML table: typed values out, every problem told, unknown keys named at the end.

use crate::brief::problems::{Problems, suggestion};
use std::ops::RangeInclusive;
use toml::{Table, Value};

/// Any number above nothing: prices, lengths, flows.
pub(crate) const NOT_NEGATIVE: RangeInclusive<f64> = 0.0..=1e9;
/// Any number a length, flow or pressure can be.
pub(crate) const POSITIVE: RangeInclusive<f64> = 1e-6..=1e9;

/// One table, with its place in the file for messages.
pub(crate) struct TableReader<'t> {
    table: &'t Table,
    place: String,
    asked: Vec<&'static str>,
}

impl<'t> TableReader<'t> {
    pub(crate) fn new(table: &'t Table, place: impl Into<String>) -> Self {
        Self {
            table,
            place: place.into(),
            asked: Vec::new(),
        }
    }

    /// The place of a key, e.g. `rules.drain`.
    pub(crate) fn place_of(&self, key: &str) -> String {
        if self.place.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.place)
        }
    }

    /// The raw value; the key counts as known from now on.
    pub(crate) fn value(&mut self, key: &'static str) -> Option<&'t Value> {
        if !self.asked.contains(&key) {
            self.asked.push(key);
        }
        self.table.get(key)
    }

    fn wrong_type(&self, key: &str, wanted: &str, value: &Value, problems: &mut Problems) {
        let message = format!("must be {wanted}, not {}", kind_of(value));
        problems.tell(self.place_of(key), message);
    }

    fn missing(&self, key: &str, problems: &mut Problems) {
        problems.tell(self.place_of(key), "is missing and must be given");
    }

    pub(crate) fn text(&mut self, key: &'static str, problems: &mut Problems) -> Option<String> {
        let value = self.value(key)?;
        if let Some(text) = value.as_str() {
            return Some(text.to_owned());
        }
        self.wrong_type(key, "text", value, problems);
        None
    }

    pub(crate) fn needed_text(&mut self, key: &'static str, problems: &mut Problems) -> String {
        if self.value(key).is_none() {
            self.missing(key, problems);
        }
        self.text(key, problems).unwrap_or_default()
    }

    /// A number in a range; `true` and `false` do for 1 and 0 where `flag` says so.
    pub(crate) fn number(
        &mut self,
        key: &'static str,
        range: RangeInclusive<f64>,
        problems: &mut Problems,
    ) -> Option<f64> {
        let value = self.value(key)?;
        let Some(number) = number_of(value) else {
            self.wrong_type(key, "a number", value, problems);
            return None;
        };
        check_range(&self.place_of(key), number, &range, problems)
    }

    pub(crate) fn needed_number(
        &mut self,
        key: &'static str,
        range: RangeInclusive<f64>,
        problems: &mut Problems,
    ) -> f64 {
        if self.value(key).is_none() {
            self.missing(key, problems);
        }
        self.number(key, range, problems).unwrap_or_default()
    }

    pub(crate) fn flag(&mut self, key: &'static str, problems: &mut Problems) -> Option<bool> {
        let value = self.value(key)?;
        if value.as_bool().is_none() {
            self.wrong_type(key, "true or false", value, problems);
        }
        value.as_bool()
    }

    pub(crate) fn table(
        &mut self,
        key: &'static str,
        problems: &mut Problems,
    ) -> Option<&'t Table> {
        let value = self.value(key)?;
        if value.as_table().is_none() {
            self.wrong_type(key, "a table", value, problems);
        }
        value.as_table()
    }

    /// An array of tables, each with its place; wrong members are told and left out.
    pub(crate) fn tables(
        &mut self,
        key: &'static str,
        problems: &mut Problems,
    ) -> Vec<(&'t Table, String)> {
        let Some(value) = self.value(key) else {
            return Vec::new();
        };
        let Some(array) = value.as_array() else {
            self.wrong_type(key, "a list of tables", value, problems);
            return Vec::new();
        };
        let place = self.place_of(key);
        let mut tables = Vec::new();
        for (index, member) in array.iter().enumerate() {
            let at = format!("{place}[{}]", index + 1);
            match member.as_table() {
                Some(table) => tables.push((table, at)),
                None => problems.tell(at, format!("must be a table, not {}", kind_of(member))),
            }
        }
        tables
    }

    /// Tells every key that nobody asked for.
    pub(crate) fn finish(self, problems: &mut Problems) {
        for key in self.table.keys() {
            if !self.asked.contains(&key.as_str()) {
                let message = format!("unknown key; {}", suggestion(key, &self.asked));
                problems.tell(self.place_of(key), message);
            }
        }
    }
}

/// A number, whole or not.
pub(crate) fn number_of(value: &Value) -> Option<f64> {
    match value {
        Value::Integer(whole) => Some(*whole as f64),
        Value::Float(number) => Some(*number),
        _ => None,
    }
}

/// The number, if it lies in the range; otherwise a problem.
pub(crate) fn check_range(
    place: &str,
    number: f64,
    range: &RangeInclusive<f64>,
    problems: &mut Problems,
) -> Option<f64> {
    if range.contains(&number) {
        return Some(number);
    }
    let message = format!("{number} lies outside {} to {}", range.start(), range.end());
    problems.tell(place, message);
    None
}

fn kind_of(value: &Value) -> String {
    match value {
        Value::String(text) => format!("the text \"{text}\""),
        Value::Integer(number) => format!("the number {number}"),
        Value::Float(number) => format!("the number {number}"),
        Value::Boolean(flag) => format!("{flag}"),
        Value::Datetime(_) => "a date".to_owned(),
        Value::Array(_) => "a list".to_owned(),
        Value::Table(_) => "a table".to_owned(),
    }
}
