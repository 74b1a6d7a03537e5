//! What prices do to the count: labour, price lists, and the lines they may name.

use super::{catalogue, counted, design, prices, rules};
use crate::brief::price_list::ListedPrice;
use crate::brief::{PriceList, Prices, Rules};
use crate::design::takeoff::{count, unknown_prices};

#[test]
fn labour_stands_only_where_a_rate_is_given() {
    assert!(counted(&design()).iter().all(|row| row.group != "labour"));
    let rates = Prices {
        labour_head: Some(12.0),
        labour_fitting: Some(3.0),
        labour_wire_per_m: Some(0.5),
        labour_backfill_per_m: Some(2.0),
        ..prices()
    };
    let rows = count(&design(), &catalogue(), &rates, &rules());
    let labour: Vec<(&str, f64)> = rows
        .iter()
        .filter(|row| row.group == "labour")
        .map(|row| (row.item.as_str(), row.quantity))
        .collect();
    let fittings = rows
        .iter()
        .filter(|row| row.group == "fittings")
        .map(|row| row.quantity)
        .sum();
    assert_eq!(
        labour,
        [
            ("setting heads", 4.0),
            ("fittings", fittings),
            ("laying wire", 260.0),
            ("filling trench and mending turf", 65.0),
        ]
    );
}

/// A list of goods counted each, by item and size.
fn price_list(rows: &[(&str, &str, f64)]) -> PriceList {
    let mut list = PriceList::default();
    for (line, &(item, size, unit_price)) in (2..).zip(rows) {
        let name = (item.to_owned(), size.to_owned(), "each".to_owned());
        list.prices.insert(name, ListedPrice { unit_price, line });
    }
    list
}

#[test]
fn a_listed_price_goes_before_the_catalogue_and_the_unit_rates() {
    let list = price_list(&[
        ("pe tee", "40", 7.0),
        ("rotor-10, nozzle 1, full circle", "", 99.0),
    ]);
    let listed = Prices {
        list: Some(list),
        ..prices()
    };
    let rows = count(&design(), &catalogue(), &listed, &rules());
    let price = |item: &str| rows.iter().find(|row| row.item == item).unwrap().unit_price;
    assert_eq!(price("pe tee"), Some(7.0));
    assert_eq!(price("pe reducer"), Some(2.0));
    assert_eq!(price("rotor-10, nozzle 1, full circle"), Some(99.0));
    assert_eq!(
        unknown_prices(listed.list.as_ref().unwrap(), &catalogue()),
        None
    );
}

/// Every line that a take-off holds is one a price list may name.
#[test]
fn the_vocabulary_knows_every_line() {
    let rates = Prices {
        labour_head: Some(1.0),
        labour_pipe_per_m: Some(1.0),
        labour_fitting: Some(1.0),
        labour_valve: Some(1.0),
        labour_box: Some(1.0),
        labour_wire_per_m: Some(1.0),
        labour_backfill_per_m: Some(1.0),
        ..prices()
    };
    let mut design = design();
    design.check_valves = vec![0];
    let blown = Rules {
        blow_out: 1.0,
        ..Rules::default()
    };
    for row in count(&design, &catalogue(), &rates, &blown) {
        let list = price_list(&[(&row.item, "", 1.0)]);
        assert_eq!(unknown_prices(&list, &catalogue()), None, "{}", row.item);
    }
}
