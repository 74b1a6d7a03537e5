//! The page of variants: all of them in one table, then cost, water and uniformity parcel by parcel.

use super::VariantRows;
use super::figures::{Compared, compared};
use crate::deliver::DeliverError;
use crate::deliver::link::encoded;
use crate::deliver::list_page;
use crate::deliver::report::number;
use minijinja::{Value, context};
use std::collections::BTreeSet;
use std::path::Path;

/// What is told of each parcel: caption, column of the summary, decimals.
const BY_PARCEL: [(&str, &str, usize); 3] = [
    ("Cost by parcel", "cost", 0),
    ("Water in a year by parcel, m³", "year_m3", 0),
    (
        "Uniformity by parcel, median of its turf areas",
        "du_median",
        3,
    ),
];

pub(super) fn write(
    project: &str,
    currency: Option<&str>,
    variants: &[VariantRows],
    path: &Path,
) -> Result<(), DeliverError> {
    let compared = compared(variants);
    let rows = variants.iter().zip(&compared).map(|(v, c)| shown(v, c));
    let filled = context! {
        project,
        currency => currency.unwrap_or_default(),
        rows => rows.collect::<Vec<_>>(),
        names => variants.iter().map(|v| v.name.clone()).collect::<Vec<_>>(),
        tables => BY_PARCEL.map(|table| by_parcel(variants, table)),
    };
    list_page::write(include_str!("variants.html"), filled, path)
}

fn shown(variant: &VariantRows, compared: &Compared) -> Value {
    let front = match compared.on_front {
        Some(true) => "★ on the front",
        Some(false) => "beaten",
        None => "not compared: parcels failed",
    };
    let [good, look, failed] = compared.status;
    let cells = [
        number(compared.cost, 0),
        number(compared.year_m3, 0),
        number(compared.du, 3),
        number(compared.heads, 0),
        number(compared.stations, 0),
        number(compared.trench_m, 0),
        good.to_string(),
        look.to_string(),
        failed.to_string(),
    ];
    let link = variant.folder.as_ref().map_or_else(
        || "index.html".to_owned(),
        |folder| format!("variants/{}/index.html", encoded(folder)),
    );
    context! { name => variant.name, link, front, cells => cells.to_vec() }
}

fn by_parcel(variants: &[VariantRows], (caption, column, decimals): (&str, &str, usize)) -> Value {
    let rows = variants.iter().flat_map(|variant| &variant.rows);
    let parcels: BTreeSet<&str> = rows.map(|row| row.parcel.as_str()).collect();
    let figure = |variant: &VariantRows, parcel: &str| {
        let row = variant.rows.iter().find(|row| row.parcel == parcel);
        number(row.and_then(|row| row.figure(column)), decimals)
    };
    let line = |parcel: &&str| {
        let cells: Vec<String> = variants.iter().map(|v| figure(v, parcel)).collect();
        context! { parcel => parcel, cells }
    };
    context! { caption, rows => parcels.iter().map(line).collect::<Vec<_>>() }
}

#[cfg(test)]
mod tests {
    use super::super::figures::tests::{row, variant};
    use super::*;

    #[test]
    fn every_variant_has_its_row_and_names_stay_text() {
        let evil = "</script><b>\"'&🌱";
        let mut second = variant(evil, vec![row(evil, Some(12_345.0), 60.0, 0.7)]);
        second.folder = Some("x".to_owned());
        let variants = [
            variant("base", vec![row("p", Some(9.0), 50.0, 0.8)]),
            second,
        ];
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("variants.html");
        write(evil, Some("EUR"), &variants, &path).unwrap();
        let page = std::fs::read_to_string(path).unwrap();
        assert_eq!(page.matches("</script>").count(), 1, "its own");
        assert!(!page.contains("<b>\""));
        assert!(
            page.contains("href=\"variants/x/index.html\"") && page.contains("href=\"index.html\"")
        );
        assert!(page.contains("★ on the front") && page.contains("beaten"));
        assert!(page.contains("12\u{202f}345") && !page.contains("NaN"));
    }
}
