//! What a line of a take-off may be called: a price list that names anything else has a slip of the pen in it.

use super::fittings::Fitting;
use crate::brief::{Catalogue, PriceList};
use crate::design::model::ValveKind;
use crate::finding::Finding;

/// Beginnings of the lines that do not depend on the catalogue. A line is known if one of them, or all of it, matches.
const PLAIN: &[&str] = &[
    "head of no model in the catalogue, nozzle unknown, ",
    "swing joint (in the head's price)",
    "check valve in the head",
    "nozzle exchanged or head set anew",
    "head moved and set anew",
    "head taken out",
    "valve box",
    "drain valve, automatic",
    "drain valve, manual",
    "flushing point",
    "connection for a compressor",
    "air valve",
    "gravel",
    "controller output",
    "controller, at least ",
    "rain sensor",
    "wire, ",
    "valve that no main reaches, wire not counted",
    "trench in ",
    "trench under paving (paid with the sleeve)",
    "sleeve",
    "spoil, ",
    "sand for bedding",
    "setting heads",
    "laying pipe",
    "fittings",
    "valves, drain and air valves",
    "laying wire",
    "filling trench and mending turf",
];

/// Rows of a price list that are told by name; the rest are counted.
const TOLD: usize = 5;

/// A warning of rows that no take-off with this catalogue can hold.
pub fn unknown_prices(list: &PriceList, catalogue: &Catalogue) -> Option<Finding> {
    let mut unknown: Vec<(u64, &str)> = list
        .prices
        .iter()
        .filter(|((item, _, _), _)| !is_known(item, catalogue))
        .map(|((item, _, _), listed)| (listed.line, item.as_str()))
        .collect();
    unknown.sort_unstable();
    let rows: Vec<String> = unknown
        .iter()
        .take(TOLD)
        .map(|(line, item)| format!("line {line} `{item}`"))
        .collect();
    let more = match unknown.len().saturating_sub(TOLD) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let message = format!(
        "the price list names what no take-off holds: {}{more}. Take item, size and unit as takeoff.csv writes them.",
        rows.join(", ")
    );
    (!unknown.is_empty())
        .then(|| Finding::warning("price_unknown_item", message).in_file(&list.file))
}

fn is_known(item: &str, catalogue: &Catalogue) -> bool {
    let plain = PLAIN.iter().any(|begin| item.starts_with(begin));
    let valves = ValveKind::ALL.iter();
    let valve = valves
        .map(|kind| format!("{} valve", kind.word()))
        .any(|known| known == item);
    let goods = catalogue
        .pipes
        .iter()
        .filter_map(|pipe| item.strip_prefix(pipe.material.as_str()));
    let mut of_pipe = goods.filter_map(|rest| rest.strip_prefix(' '));
    let material = of_pipe.any(|rest| {
        rest.starts_with("pipe")
            || rest.starts_with("reducer to ")
            || Fitting::ALL.iter().any(|fitting| fitting.word() == rest)
    });
    let mut heads = catalogue.heads.iter().flat_map(|model| {
        let nozzle =
            |nozzle: &crate::brief::Nozzle| format!("{}, nozzle {}, ", model.name, nozzle.name);
        model.nozzles.iter().map(nozzle)
    });
    plain || valve || material || heads.any(|begin| item.starts_with(&begin))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::brief::price_list::ListedPrice;

    fn list(items: &[&str]) -> PriceList {
        let row = |(index, item): (usize, &&str)| {
            let listed = ListedPrice {
                unit_price: 1.0,
                line: index as u64 + 2,
            };
            (
                ((*item).to_owned(), String::new(), "each".to_owned()),
                listed,
            )
        };
        PriceList {
            prices: items.iter().enumerate().map(row).collect(),
            ..PriceList::default()
        }
    }

    #[test]
    fn a_slip_of_the_pen_is_told_with_its_line_and_known_lines_are_not() {
        let catalogue = Catalogue::built_in();
        let tee = format!("{} tee", catalogue.pipes[0].material);
        let head = format!(
            "{}, nozzle {}, full circle",
            catalogue.heads[0].name, catalogue.heads[0].nozzles[0].name
        );
        assert_eq!(
            unknown_prices(&list(&[&tee, &head, "gravel", "control valve"]), &catalogue),
            None
        );
        let told = unknown_prices(
            &list(&[&tee, "gravle", "a", "b", "c", "d", "e"]),
            &catalogue,
        )
        .unwrap();
        assert!(told.message.contains("line 3 `gravle`"), "{}", told.message);
        assert!(told.message.contains("and 1 more"), "{}", told.message);
    }
}
