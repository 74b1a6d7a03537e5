//! Colours that people with colour-blind eyes can tell apart.
//!
//! Fixed parts: Okabe and Ito 2008, "Color Universal Design". Stations and bands: Tol 2021, "Colour schemes",
//! SRON/EPS/TN/09-002, schemes muted and YlOrBr. Both from memory. Colour never stands alone: everything has a title too.

use crate::finding::Severity;

/// Of Okabe and Ito's eight.
pub(crate) const BLACK: &str = "#000000";
pub(crate) const ORANGE: &str = "#E69F00";
pub(crate) const SKY_BLUE: &str = "#56B4E9";
pub(crate) const BLUE: &str = "#0072B2";
pub(crate) const VERMILION: &str = "#D55E00";

/// Ground tints, pale so that the work drawn upon them stands out.
pub(crate) const TURF: &str = "#DDEBCB";
pub(crate) const BUILDING: &str = "#8C8279";
pub(crate) const WATER: &str = "#B5D8EC";
pub(crate) const PAVING: &str = "#DAD6D0";
pub(crate) const BED: &str = "#D9CBA5";
pub(crate) const TREE: &str = "#6F9A5C";
pub(crate) const GREY: &str = "#666666";

/// Tol's muted scheme without its two palest, darkest and lightest in turn.
pub(crate) const STATIONS: [&str; 7] = [
    "#332288", "#CC6677", "#117733", "#AA4499", "#44AA99", "#882255", "#999933",
];

/// Tol's YlOrBr, from low to high, reversed in meaning: dry ground shows brown, wet ground blue would hide on water.
const RATES: [&str; 9] = [
    "#662506", "#993404", "#CC4C02", "#EC7014", "#FB9A29", "#FEC44F", "#FEE391", "#FFF7BC",
    "#FFFFE5",
];

/// Colour of a finding.
pub(crate) fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => VERMILION,
        Severity::Warning => ORANGE,
        Severity::Note => GREY,
    }
}

/// Colour of band `index` of `count`: brown is least water.
pub(crate) fn rate(index: usize, count: usize) -> &'static str {
    let last = RATES.len() - 1;
    let steps = count.saturating_sub(1).max(1);
    RATES[(index * last / steps).min(last)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bands_run_from_one_end_to_the_other() {
        assert_eq!(rate(0, 5), RATES[0]);
        assert_eq!(rate(4, 5), RATES[8]);
        assert_eq!(rate(0, 1), RATES[0]);
        assert_eq!(rate(20, 5), RATES[8]);
    }
}
