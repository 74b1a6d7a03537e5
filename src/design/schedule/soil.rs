//! Soil: how fast it drinks, how much may stand on it, how much it keeps for the roots.
//!
//! The tables are the weakest figures of the schedule; a test of the ground beats them.

/// Millimetres in an inch (exact).
const MM_PER_INCH: f64 = 25.4;

/// What the schedule must know of a soil texture.
///
/// Intake and surface storage: scheduling tables as taught by the irrigation trade's association, read in two public
/// copies. Available water and field capacity: middle of the range in FAO-56 table 19 (Allen et al. 1998).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Soil {
    /// Texture class.
    pub name: &'static str,
    intake_in_h: f64,
    surface_in: [f64; 4],
    /// Water between field capacity and wilting point, m³/m³.
    pub available_share: f64,
    /// Water at field capacity, m³/m³.
    pub field_capacity: f64,
}

impl Soil {
    /// Basic intake rate, mm/h.
    pub fn intake_mm_h(&self) -> f64 {
        self.intake_in_h * MM_PER_INCH
    }

    /// Water that may stand on the ground before it runs off, mm, on a slope in m/m.
    ///
    /// Classes 0–3, 4–6, 7–12 and from 13 %; a slope between two classes falls into the steeper, as does one that is no number.
    pub fn surface_mm(&self, slope: f64) -> f64 {
        let class = [0.03, 0.06, 0.12]
            .iter()
            .position(|limit| slope.abs() <= limit + 1e-9)
            .unwrap_or(3);
        self.surface_in[class] * MM_PER_INCH
    }

    /// Water at wilting point, m³/m³: field capacity less the available water, so that both figures agree; it lies in the
    /// range of FAO-56 table 19, not in its middle.
    pub fn wilting_point(&self) -> f64 {
        self.field_capacity - self.available_share
    }

    /// Water the roots can reach, mm. FAO-56 equation 82 (number from memory).
    pub fn available_mm(&self, root_depth_m: f64) -> f64 {
        1000.0 * self.available_share * root_depth_m
    }

    /// Water that may be used before the turf must be watered, mm: `1000 × available × root depth × share`.
    ///
    /// FAO-56 equations 82 and 83 (numbers from memory).
    pub fn readily_available_mm(&self, root_depth_m: f64, depletion_share: f64) -> f64 {
        self.available_mm(root_depth_m) * depletion_share
    }
}

const fn soil(
    name: &'static str,
    intake_in_h: f64,
    surface_in: [f64; 4],
    available_share: f64,
    field_capacity: f64,
) -> Soil {
    Soil {
        name,
        intake_in_h,
        surface_in,
        available_share,
        field_capacity,
    }
}

const CLAY: [f64; 4] = [0.20, 0.15, 0.10, 0.10];
const SILTY_CLAY: [f64; 4] = [0.23, 0.19, 0.16, 0.13];
const CLAY_LOAM: [f64; 4] = [0.26, 0.22, 0.18, 0.15];
const LOAM_SURFACE: [f64; 4] = [0.30, 0.25, 0.21, 0.17];

/// Loam: assumed where nothing else is known.
pub const LOAM: Soil = soil("loam", 0.35, LOAM_SURFACE, 0.155, 0.25);

/// Textures. Those that the intake table lacks (silt, silt loam, silty and sandy clay loam, sandy clay) take the intake
/// of their nearest neighbour, those that FAO-56 table 19 lacks its water contents: common practice, no source.
const TEXTURES: [Soil; 12] = [
    soil("clay", 0.10, CLAY, 0.16, 0.36),
    soil("silty clay", 0.15, SILTY_CLAY, 0.16, 0.36),
    soil("sandy clay", 0.15, SILTY_CLAY, 0.16, 0.36),
    soil("clay loam", 0.20, CLAY_LOAM, 0.155, 0.335),
    soil("silty clay loam", 0.20, CLAY_LOAM, 0.155, 0.335),
    soil("sandy clay loam", 0.20, CLAY_LOAM, 0.155, 0.335),
    LOAM,
    soil("silt loam", 0.35, LOAM_SURFACE, 0.16, 0.29),
    soil("silt", 0.35, LOAM_SURFACE, 0.18, 0.32),
    soil("sandy loam", 0.40, [0.33, 0.29, 0.24, 0.20], 0.13, 0.23),
    soil("loamy sand", 0.50, [0.36, 0.30, 0.26, 0.22], 0.09, 0.15),
    soil("sand", 0.60, [0.40, 0.35, 0.30, 0.25], 0.08, 0.12),
];

/// The soil of a written texture class: capitals, hyphens, underscores and repeated spaces do not matter.
pub fn by_texture(written: &str) -> Option<Soil> {
    let lower = written.to_lowercase().replace(['_', '-'], " ");
    let plain = lower.split_whitespace().collect::<Vec<_>>().join(" ");
    let name = match plain.as_str() {
        "silty loam" => "silt loam",
        "sandy" => "sand",
        "clayey" => "clay",
        "loamy" => "loam",
        "loamy clay" => "clay loam",
        other => other,
    };
    TEXTURES.iter().find(|soil| soil.name == name).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spelling_does_not_matter_and_nonsense_is_no_soil() {
        for written in ["sandy loam", "Sandy_Loam", " sandy-  loam "] {
            assert_eq!(
                by_texture(written).map(|soil| soil.name),
                Some("sandy loam")
            );
        }
        assert_eq!(by_texture("porridge"), None);
        assert_eq!(by_texture(""), None);
    }

    /// FAO-56 tables 19 and 22, equations 82 and 83: loam 0.155, roots 0.30 m, p 0.4: 46.5 mm and 18.6 mm.
    #[test]
    fn loam_holds_what_the_table_says() {
        assert!((LOAM.readily_available_mm(0.30, 1.0) - 46.5).abs() < 1e-9);
        assert!((LOAM.readily_available_mm(0.30, 0.4) - 18.6).abs() < 1e-9);
    }

    /// FAO-56 table 19, ranges of field capacity and wilting point.
    #[test]
    fn water_contents_lie_in_the_ranges_of_the_table() {
        for (name, capacity, wilting) in [
            ("sand", 0.07..=0.17, 0.02..=0.07),
            ("loamy sand", 0.11..=0.19, 0.03..=0.10),
            ("sandy loam", 0.18..=0.28, 0.06..=0.16),
            ("loam", 0.20..=0.30, 0.07..=0.17),
            ("silt loam", 0.22..=0.36, 0.09..=0.21),
            ("silt", 0.28..=0.36, 0.12..=0.22),
            ("silty clay loam", 0.30..=0.37, 0.17..=0.24),
            ("silty clay", 0.30..=0.42, 0.17..=0.29),
            ("clay", 0.32..=0.40, 0.20..=0.24),
        ] {
            let soil = by_texture(name).unwrap();
            let middle = f64::midpoint(*capacity.start(), *capacity.end());
            assert!((soil.field_capacity - middle).abs() < 1e-9, "{name}");
            let wilting_point = soil.wilting_point();
            let (least, greatest) = wilting.into_inner();
            assert!(
                wilting_point > least - 1e-9 && wilting_point < greatest + 1e-9,
                "{name}"
            );
        }
    }

    #[test]
    fn steeper_ground_holds_less_and_gaps_between_classes_count_as_steeper() {
        assert!((LOAM.surface_mm(0.03) - 0.30 * 25.4).abs() < 1e-9);
        assert!((LOAM.surface_mm(0.035) - 0.25 * 25.4).abs() < 1e-9);
        assert!((LOAM.surface_mm(-0.10) - 0.21 * 25.4).abs() < 1e-9);
        assert!((LOAM.surface_mm(f64::NAN) - 0.17 * 25.4).abs() < 1e-9);
    }
}
