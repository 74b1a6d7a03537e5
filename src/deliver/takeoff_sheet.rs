//! `takeoff.xlsx`: the take-off as a spreadsheet that goes on counting when a price is typed in.

use crate::deliver::DeliverError;
use crate::deliver::job::Job;
use crate::deliver::lonlat::rounded;
use crate::design::model::TakeoffRow;
use rust_xlsxwriter::{
    DocProperties, ExcelDateTime, Format, Formula, Workbook, Worksheet, XlsxError,
};
use std::path::Path;

const NAMES: [(&str, f64); 7] = [
    ("group", 12.0),
    ("item", 52.0),
    ("size", 22.0),
    ("quantity", 12.0),
    ("unit", 8.0),
    ("unit_price", 12.0),
    ("cost", 14.0),
];

/// Writes the spreadsheet: one sheet of lines, one of totals by group.
pub(crate) fn write(job: &Job, path: &Path) -> Result<(), DeliverError> {
    let failed = |error: XlsxError| DeliverError::write(path, std::io::Error::other(error));
    let mut book = Workbook::new();
    book.set_properties(&properties(job).map_err(failed)?);
    let rows = &job.design.takeoff;
    lines(book.add_worksheet(), rows).map_err(failed)?;
    totals(book.add_worksheet(), job, rows).map_err(failed)?;
    book.save(path).map_err(failed)
}

/// A date that never changes, so that the same design gives the same bytes.
fn properties(job: &Job) -> Result<DocProperties, XlsxError> {
    let date = ExcelDateTime::from_ymd(2000, 1, 1)?;
    Ok(DocProperties::new()
        .set_title(format!("Take-off of {}", Job::title_of(job.parcel)))
        .set_creation_datetime(&date))
}

fn lines(sheet: &mut Worksheet, rows: &[TakeoffRow]) -> Result<(), XlsxError> {
    sheet.set_name("Take-off")?;
    sheet.set_freeze_panes(1, 0)?;
    let (bold, quantity, money) = (bold(), Format::new().set_num_format("#,##0.##"), money());
    for (column, (name, width)) in (0_u16..).zip(NAMES) {
        sheet.write_with_format(0, column, name, &bold)?;
        sheet.set_column_width(column, width)?;
    }
    for (at, row) in (1_u32..).zip(rows) {
        sheet.write(at, 0, &row.group)?;
        sheet.write(at, 1, &row.item)?;
        sheet.write(at, 2, row.size.as_deref().unwrap_or_default())?;
        sheet.write_with_format(at, 3, rounded(row.quantity, 3), &quantity)?;
        sheet.write(at, 4, &row.unit)?;
        if let Some(price) = row.unit_price {
            sheet.write_with_format(at, 5, rounded(price, 4), &money)?;
        }
        let line = at + 1;
        let cost = row
            .cost
            .map_or(String::new(), |cost| rounded(cost, 2).to_string());
        let formula = Formula::new(format!("=IF(F{line}=\"\",\"\",ROUND(D{line}*F{line},2))"));
        sheet.write_formula_with_format(at, 6, formula.set_result(cost), &money)?;
    }
    sheet.autofilter(0, 0, last_row(rows), 6)?;
    sheet.set_landscape().set_print_fit_to_pages(1, 0);
    sheet.set_repeat_rows(0, 0)?;
    Ok(())
}

fn totals(sheet: &mut Worksheet, job: &Job, rows: &[TakeoffRow]) -> Result<(), XlsxError> {
    sheet.set_name("Totals")?;
    let (bold, money) = (bold(), money());
    let currency = job.project.prices.currency.as_deref().unwrap_or_default();
    sheet.write_with_format(0, 0, "group", &bold)?;
    sheet.write_with_format(0, 1, format!("cost {currency}").trim(), &bold)?;
    sheet.set_column_width(0, 24)?;
    sheet.set_column_width(1, 16)?;
    let mut groups: Vec<&str> = rows.iter().map(|row| row.group.as_str()).collect();
    groups.dedup();
    let last = last_row(rows) + 1;
    let mut at = 1;
    for group in groups {
        let costs = rows
            .iter()
            .filter(|row| row.group == group)
            .filter_map(|row| row.cost);
        let sum: f64 = costs.map(|cost| rounded(cost, 2)).sum();
        sheet.write(at, 0, group)?;
        let formula = format!(
            "=SUMIF('Take-off'!A2:A{last},A{},'Take-off'!G2:G{last})",
            at + 1
        );
        let formula = Formula::new(formula).set_result(rounded(sum, 2).to_string());
        sheet.write_formula_with_format(at, 1, formula, &money)?;
        at += 1;
    }
    let sum: f64 = rows
        .iter()
        .filter_map(|row| row.cost)
        .map(|cost| rounded(cost, 2))
        .sum();
    sheet.write_with_format(at, 0, "all lines with a price", &bold)?;
    let formula = Formula::new(format!("=SUM(B2:B{})", at.max(2)));
    sheet.write_formula_with_format(
        at,
        1,
        formula.set_result(rounded(sum, 2).to_string()),
        &money,
    )?;
    Ok(())
}

fn last_row(rows: &[TakeoffRow]) -> u32 {
    u32::try_from(rows.len()).unwrap_or(u32::MAX).max(1)
}

fn bold() -> Format {
    Format::new().set_bold()
}

fn money() -> Format {
    Format::new().set_num_format("#,##0.00")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;
    use crate::design::model::Design;

    fn bytes(design: &Design) -> Vec<u8> {
        let (parcel, project) = (example::parcel(), example::project());
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("takeoff.xlsx");
        write(&Job::new(&parcel, design, &project), &path).unwrap();
        std::fs::read(path).unwrap()
    }

    #[test]
    fn the_same_design_gives_the_same_bytes_and_none_at_all_gives_a_sheet_too() {
        let design = example::design();
        assert!(!design.takeoff.is_empty());
        assert_eq!(bytes(&design), bytes(&design));
        assert!(bytes(&Design::default()).starts_with(b"PK"));
    }
}
