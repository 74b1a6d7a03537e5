//! Spacing of heads, in shares of their radius, and what wind takes of it.

use crate::brief::Rules;

/// Greatest wind, m/s, and the spacing in percent of the wetted diameter that a square of heads keeps up to it.
///
/// SCS/NRCS practice as taught with the National Engineering Handbook 623, chapter 11, and conservation practice code
/// 442 (from memory). Between its lines the table is not interpolated.
const SQUARE_PERCENT_BY_WIND: [(f64, f64); 3] = [(0.0, 65.0), (2.0, 60.0), (4.5, 50.0)];
/// Percent of the wetted diameter in any stronger wind.
const STRONG_WIND_PERCENT: f64 = 30.0;
/// Heads are never closer than this share of their radius. Common practice, no source.
const LEAST_SHARE: f64 = 0.4;

/// Share of the radius between heads of a square: the rule for still air, less what the wind takes of it.
///
/// The factors of the wind are relative to still air: 1, 0.923 up to 2 m/s, 0.769 up to 4.5 m/s, 0.462 above.
pub fn spacing_share(rules: &Rules) -> f64 {
    (rules.head_spacing_ratio * wind_factor(rules.wind_m_s)).max(LEAST_SHARE)
}

/// Share of the spacing along a row by which rows of a triangle are apart: √3 / 2.
pub fn row_share(spacing: f64) -> f64 {
    spacing * 3f64.sqrt() / 2.0
}

fn wind_factor(wind_m_s: f64) -> f64 {
    let [(_, still_percent), ..] = SQUARE_PERCENT_BY_WIND;
    let percent = SQUARE_PERCENT_BY_WIND
        .iter()
        .find(|(most_m_s, _)| wind_m_s <= *most_m_s)
        .map_or(STRONG_WIND_PERCENT, |&(_, percent)| percent);
    percent / still_percent
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(head_spacing_ratio: f64, wind_m_s: f64) -> f64 {
        spacing_share(&Rules {
            head_spacing_ratio,
            wind_m_s,
            ..Rules::default()
        })
    }

    #[test]
    fn wind_shortens_the_spacing_by_the_steps_of_the_table() {
        let steps = [
            (0.0, 1.0),
            (0.1, 60.0 / 65.0),
            (2.0, 60.0 / 65.0),
            (2.1, 50.0 / 65.0),
            (4.5, 50.0 / 65.0),
            (4.6, 30.0 / 65.0),
            (8.0, 30.0 / 65.0),
        ];
        for (wind_m_s, expected) in steps {
            assert!(
                (share(1.0, wind_m_s) - expected).abs() < 1e-12,
                "{wind_m_s} m/s"
            );
        }
        assert!((share(1.1, 2.0) - 1.1 * 60.0 / 65.0).abs() < 1e-12);
    }

    #[test]
    fn heads_are_never_closer_than_two_fifths_of_the_radius() {
        assert_eq!(share(0.6, 8.0), 0.4);
    }

    #[test]
    fn rows_of_a_triangle_are_closer_than_its_heads() {
        assert!((row_share(1.0) - 0.866_025_4).abs() < 1e-7);
        assert!((row_share(0.8) / row_share(0.4) - 2.0).abs() < 1e-12);
    }
}
