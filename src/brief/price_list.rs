//! A list of prices by the lines of a take-off: a `takeoff.csv` with its `unit_price` filled in can be read back.

use crate::brief::csv_file;
use crate::brief::problems::{BriefError, Problems, suggestion};
use crate::brief::table::NOT_NEGATIVE;
use std::collections::BTreeMap;
use std::path::Path;

/// Columns that are read.
const READ: [&str; 5] = ["item", "size", "unit", "unit_price", "currency"];
/// Columns of a take-off that say nothing of a price.
const PASSED_OVER: [&str; 3] = ["group", "quantity", "cost"];

/// One priced line.
#[derive(Debug, Clone, PartialEq)]
pub struct ListedPrice {
    /// Price of one unit.
    pub unit_price: f64,
    /// Line of the file, from 1.
    pub line: u64,
}

/// What a line is called: item, size (empty where it has none), unit.
pub type LineName = (String, String, String);

/// Prices by line of the take-off.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PriceList {
    /// File as the project writes it.
    pub file: String,
    /// The one currency of the list, where it names any.
    pub currency: Option<String>,
    /// Prices; rows without a price are no part of it.
    pub prices: BTreeMap<LineName, ListedPrice>,
}

impl PriceList {
    /// Price of a line, where it is listed.
    pub fn price(&self, item: &str, size: Option<&str>, unit: &str) -> Option<f64> {
        let name = (
            item.to_owned(),
            size.unwrap_or_default().to_owned(),
            unit.to_owned(),
        );
        self.prices.get(&name).map(|listed| listed.unit_price)
    }
}

/// Reads a list; `currency` is what the project says.
pub(crate) fn read(
    written: &str,
    path: &Path,
    currency: Option<&str>,
) -> Result<PriceList, BriefError> {
    let mut problems = Problems::of(written);
    let list = rows(written, path, currency, &mut problems);
    problems.settle(list)
}

fn rows(
    written: &str,
    path: &Path,
    currency: Option<&str>,
    problems: &mut Problems,
) -> Option<PriceList> {
    let (header, mut rows) = csv_file::open(path, problems)?;
    let columns = columns(&header, problems)?;
    let mut list = PriceList {
        file: written.to_owned(),
        currency: currency.map(str::to_owned),
        ..PriceList::default()
    };
    for row in rows.records() {
        match row {
            Ok(row) => list.take(&row, &columns, problems),
            Err(error) => problems.tell("", error.to_string()),
        }
    }
    Some(list)
}

/// Position of each column that is read; all but the currency must be there.
fn columns(header: &csv::StringRecord, problems: &mut Problems) -> Option<[Option<usize>; 5]> {
    let known: Vec<&str> = READ.into_iter().chain(PASSED_OVER).collect();
    // Spreadsheets like to begin a file with a mark of its byte order.
    let plain = |name: &str| name.trim_start_matches('\u{feff}').to_owned();
    for column in header.iter().map(plain) {
        if !known.contains(&column.as_str()) {
            let advice = suggestion(&column, &known);
            problems.tell("line 1", format!("unknown column `{column}`; {advice}"));
        }
    }
    let found = READ.map(|name| header.iter().position(|column| plain(column) == name));
    let missing = |(name, at): (&&str, &Option<usize>)| {
        (at.is_none() && **name != *"currency").then(|| (*name).to_owned())
    };
    let missing: Vec<String> = READ.iter().zip(&found).filter_map(missing).collect();
    for name in &missing {
        problems.tell("line 1", format!("column `{name}` is missing"));
    }
    missing.is_empty().then_some(found)
}

impl PriceList {
    fn take(
        &mut self,
        row: &csv::StringRecord,
        columns: &[Option<usize>; 5],
        problems: &mut Problems,
    ) {
        let line = row.position().map_or(0, csv::Position::line);
        let place = format!("line {line}");
        let [item, size, unit, price, currency] =
            columns.map(|at| at.and_then(|at| row.get(at)).unwrap_or_default());
        self.agree_on(currency, &place, problems);
        if price.is_empty() {
            return;
        }
        let Some(unit_price) = price
            .parse()
            .ok()
            .filter(|price| NOT_NEGATIVE.contains(price))
        else {
            problems.tell(
                place,
                format!("unit_price `{price}` is not a number from 0 up"),
            );
            return;
        };
        let name = (item.to_owned(), size.to_owned(), unit.to_owned());
        if let Some(before) = self.prices.get(&name) {
            let message = format!("`{item}` {size} is priced in line {} already", before.line);
            problems.tell(place, message);
            return;
        }
        self.prices.insert(name, ListedPrice { unit_price, line });
    }

    /// One currency in all: nothing here knows what the one is worth in the other.
    fn agree_on(&mut self, currency: &str, place: &str, problems: &mut Problems) {
        if currency.is_empty() {
            return;
        }
        match &self.currency {
            Some(known) if known != currency => {
                let message = format!(
                    "currency `{currency}`, where before it was `{known}`; prices must be in one"
                );
                problems.tell(place, message);
            }
            Some(_) => {}
            None => self.currency = Some(currency.to_owned()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read_text(text: &str, currency: Option<&str>) -> Result<PriceList, BriefError> {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("prices.csv");
        std::fs::write(&path, text).unwrap();
        read("prices.csv", &path, currency)
    }

    #[test]
    fn a_filled_take_off_is_a_price_list_and_rows_without_price_are_none() {
        let text = "group,item,size,quantity,unit,unit_price,cost\n\
                    pipe,pe pipe,32,12.5,m,1.2,15\nfittings,pe tee,32,4,each,,\n";
        let list = read_text(text, None).unwrap();
        assert_eq!(list.price("pe pipe", Some("32"), "m"), Some(1.2));
        assert_eq!(list.price("pe pipe", Some("40"), "m"), None);
        assert_eq!(list.price("pe tee", Some("32"), "each"), None);
        assert_eq!(list.prices.len(), 1);
    }

    #[test]
    fn two_currencies_doubled_rows_and_no_numbers_are_all_told() {
        let text = "item,size,unit,unit_price,currency\na,,each,1,EUR\nb,,each,2,CHF\n\
                    a,,each,3,EUR\nc,,each,NaN,EUR\n";
        let told = read_text(text, None).unwrap_err().to_string();
        assert!(
            told.contains("line 3: currency `CHF`, where before it was `EUR`"),
            "{told}"
        );
        assert!(
            told.contains("line 4: `a`  is priced in line 2 already"),
            "{told}"
        );
        assert!(told.contains("line 5: unit_price `NaN`"), "{told}");
        let told = read_text(
            "item,size,unit,unit_price,currency\na,,each,1,CHF\n",
            Some("EUR"),
        );
        assert!(told.unwrap_err().to_string().contains("currency `CHF`"));
    }

    #[test]
    fn a_list_without_its_columns_is_refused_by_name() {
        let told = read_text("item,size,price\n", None)
            .unwrap_err()
            .to_string();
        assert!(told.contains("unknown column `price`"), "{told}");
        assert!(told.contains("column `unit` is missing"), "{told}");
        assert!(told.contains("column `unit_price` is missing"), "{told}");
    }
}
