//! Marks on the features that a person may change by hand.

use crate::deliver::layer::{Feature, Layer, Value};
use crate::mark::{Mark, columns_of};
use geo::CoordsIter;

/// The projected layer with the column `mark`, where it may be edited.
pub(super) fn marked(layer: Layer) -> Layer {
    let Some(columns) = columns_of(layer.name) else {
        return layer;
    };
    let place_of = |column: &str| layer.columns.iter().position(|(name, _)| *name == column);
    let id = place_of("id");
    let settings: Vec<Option<usize>> = columns.iter().map(|column| place_of(column)).collect();
    debug_assert!(settings.iter().all(Option::is_some), "{columns:?}");
    let mark = |feature: &Feature| {
        let geometry = feature.geometry.as_ref()?;
        let of_id = with(Mark::default(), feature, id);
        let set = settings
            .iter()
            .fold(of_id, |mark, column| with(mark, feature, *column));
        let placed = geometry.coords_iter().fold(set, Mark::place);
        Some(placed.digits())
    };
    layer.words_of_features("mark", mark)
}

fn with(mark: Mark, feature: &Feature, column: Option<usize>) -> Mark {
    match column.and_then(|column| feature.values.get(column)) {
        Some(Value::Text(text)) => mark.word(text),
        Some(Value::Number(number)) => mark.number(*number),
        _ => mark.word(""),
    }
}
