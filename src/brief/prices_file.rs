//! Reading of `[prices]`.

use crate::brief::price_list;
use crate::brief::prices::Prices;
use crate::brief::problems::Problems;
use crate::brief::table::{NOT_NEGATIVE, TableReader};
use std::path::Path;

/// The prices of the project. `own_catalogue` tells whether the project brings a catalogue,
/// whose prices then count unless `use_catalogue` says otherwise; `folder` is where the project file lies.
pub(crate) fn read(
    reader: &mut TableReader<'_>,
    own_catalogue: bool,
    folder: &Path,
    problems: &mut Problems,
) -> Prices {
    let mut prices = Prices {
        use_catalogue: own_catalogue,
        ..Prices::default()
    };
    prices.read_each(|name| reader.number(name, NOT_NEGATIVE, problems));
    prices.currency = reader.text("currency", problems);
    if let Some(flag) = reader.flag("use_catalogue", problems) {
        prices.use_catalogue = flag;
    }
    if let Some(written) = reader.text("list", problems) {
        let currency = prices.currency.as_deref();
        match price_list::read(&written, &folder.join(&written), currency) {
            Ok(list) => {
                prices.currency = prices.currency.or_else(|| list.currency.clone());
                prices.list = Some(list);
            }
            Err(error) => problems.take_over(error),
        }
    }
    prices
}
