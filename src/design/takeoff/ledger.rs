//! The ledger: counts gathered line by line, given out in a fixed order.

use crate::brief::PriceList;
use crate::design::model::TakeoffRow;
use std::collections::BTreeMap;

/// Part of the take-off, in the order of the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    Heads,
    Pipe,
    Fittings,
    Valves,
    Drainage,
    Control,
    Trench,
    Sleeves,
    Earth,
    Labour,
}

impl Group {
    fn word(self) -> &'static str {
        match self {
            Self::Heads => "heads",
            Self::Pipe => "pipe",
            Self::Fittings => "fittings",
            Self::Valves => "valves",
            Self::Drainage => "drainage",
            Self::Control => "control",
            Self::Trench => "trench",
            Self::Sleeves => "sleeves",
            Self::Earth => "earth",
            Self::Labour => "labour",
        }
    }
}

/// What a line is of. The field `order` sorts inside the group, before item and size, which are text.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Line {
    group: Group,
    order: [usize; 3],
    item: String,
    size: Option<String>,
    unit: &'static str,
}

impl Line {
    /// A line without a size.
    pub fn new(
        group: Group,
        order: [usize; 3],
        item: impl Into<String>,
        unit: &'static str,
    ) -> Self {
        Self {
            group,
            order,
            item: item.into(),
            size: None,
            unit,
        }
    }

    /// The same line, from its own material to another.
    #[must_use]
    pub fn onto(mut self, material: &str) -> Self {
        self.item = format!("{} to {material}", self.item);
        self
    }

    /// The same line with a size.
    #[must_use]
    pub fn sized(mut self, size: impl Into<String>) -> Self {
        self.size = Some(size.into());
        self
    }
}

/// All lines so far.
#[derive(Default)]
pub struct Ledger {
    lines: BTreeMap<Line, (f64, Option<f64>)>,
}

impl Ledger {
    /// Adds to a line. Nothing, and what is no number, is not written. The first price of a line stands.
    pub fn add(&mut self, line: Line, quantity: f64, unit_price: Option<f64>) {
        if !quantity.is_finite() || quantity <= 0.0 {
            return;
        }
        let entry = self.lines.entry(line).or_insert((0.0, unit_price));
        entry.0 += quantity;
    }

    /// Sum of the lines of a group that begin so and are counted in that unit.
    pub fn total(&self, group: Group, begin: &str, unit: &str) -> f64 {
        self.lines
            .iter()
            .filter(|(line, _)| line.group == group && line.unit == unit)
            .filter(|(line, _)| line.item.starts_with(begin))
            .map(|(_, (quantity, _))| quantity)
            .sum()
    }

    /// The lines as rows; a price of the list goes before any other.
    pub fn rows(self, list: Option<&PriceList>) -> Vec<TakeoffRow> {
        let row = |(line, (quantity, unit_price)): (Line, (f64, Option<f64>))| {
            let listed =
                list.and_then(|list| list.price(&line.item, line.size.as_deref(), line.unit));
            let unit_price = listed.or(unit_price);
            TakeoffRow {
                group: line.group.word().to_owned(),
                item: line.item,
                size: line.size,
                quantity,
                unit: line.unit.to_owned(),
                unit_price,
                cost: unit_price.map(|price| price * quantity),
            }
        };
        self.lines.into_iter().map(row).collect()
    }
}
