//! Reading, checking and writing of a catalogue file.

use crate::brief::catalogue::{
    Catalogue, Friction, HeadModel, Nozzle, PipeSize, Profile, ValveSize,
};
use crate::brief::problems::{BriefError, Problems, suggestion};
use crate::brief::table::{NOT_NEGATIVE, POSITIVE, TableReader};
use std::collections::BTreeSet;
use std::path::Path;
use toml::Table;

impl Catalogue {
    /// Reads a catalogue file of the shape that [`Catalogue::to_toml`] writes.
    ///
    /// # Errors
    /// Every problem of the file at once: unreadable, unknown or missing keys, wrong types, values out of range,
    /// names given twice, pressures or radii out of order.
    pub fn read(path: &Path) -> Result<Self, BriefError> {
        Self::read_as(&path.display().to_string(), path)
    }

    pub(crate) fn read_as(written: &str, path: &Path) -> Result<Self, BriefError> {
        let mut problems = Problems::of(written);
        let table = read_table(path, &mut problems);
        let catalogue = table.map(|table| from_table(&table, written, &mut problems));
        problems.settle(catalogue)
    }

    /// The catalogue as a TOML file that can be read back.
    pub fn to_toml(&self) -> String {
        // Only maps with keys that are no text can fail, and there is none here.
        toml::to_string(self).unwrap_or_default()
    }
}

/// The file as a table; a problem when it cannot be read or is no TOML.
pub(crate) fn read_table(path: &Path, problems: &mut Problems) -> Option<Table> {
    let text = match std::fs::read_to_string(path) {
        Ok(text) => text,
        Err(error) => {
            problems.tell("", format!("cannot be read: {error}"));
            return None;
        }
    };
    match text.parse::<Table>() {
        Ok(table) => Some(table),
        Err(error) => {
            let line = error.span().map_or(1, |span| {
                text.get(..span.start)
                    .unwrap_or_default()
                    .matches('\n')
                    .count()
                    + 1
            });
            problems.tell(
                format!("line {line}"),
                format!("is no TOML: {}", error.message()),
            );
            None
        }
    }
}

fn from_table(table: &Table, written: &str, problems: &mut Problems) -> Catalogue {
    let mut reader = TableReader::new(table, "");
    let origin = reader.text("origin", problems);
    let mut heads: Vec<HeadModel> = read_all(&mut reader, "heads", head, problems);
    let mut pipes: Vec<PipeSize> = read_all(&mut reader, "pipes", pipe, problems);
    let mut valves: Vec<ValveSize> = read_all(&mut reader, "valves", valve, problems);
    reader.finish(problems);
    check_unique(
        "heads",
        heads.iter().map(|head| head.name.clone()),
        problems,
    );
    let sizes = pipes
        .iter()
        .map(|pipe| format!("{} {}", pipe.material, pipe.nominal));
    check_unique("pipes", sizes, problems);
    check_unique(
        "valves",
        valves.iter().map(|valve| valve.size.clone()),
        problems,
    );
    heads.sort_by(|a, b| b.radius_max_m.total_cmp(&a.radius_max_m));
    pipes.sort_by(|a, b| a.inside_mm.total_cmp(&b.inside_mm));
    valves.sort_by(|a, b| a.flow_max_lpm.total_cmp(&b.flow_max_lpm));
    Catalogue {
        origin: origin.unwrap_or_else(|| format!("catalogue {written}")),
        heads,
        pipes,
        valves,
    }
}

fn read_all<T>(
    reader: &mut TableReader<'_>,
    key: &'static str,
    read: fn(&mut TableReader<'_>, &mut Problems) -> T,
    problems: &mut Problems,
) -> Vec<T> {
    let tables = reader.tables(key, problems);
    if tables.is_empty() {
        problems.tell(reader.place_of(key), "must hold at least one");
    }
    tables
        .into_iter()
        .map(|(table, place)| {
            let mut member = TableReader::new(table, place);
            let value = read(&mut member, problems);
            member.finish(problems);
            value
        })
        .collect()
}

fn check_unique(place: &str, names: impl Iterator<Item = String>, problems: &mut Problems) {
    let mut seen = BTreeSet::new();
    for name in names {
        if !seen.insert(name.clone()) {
            problems.tell(place, format!("`{name}` is given twice"));
        }
    }
}

fn head(reader: &mut TableReader<'_>, problems: &mut Problems) -> HeadModel {
    let model = HeadModel {
        name: reader.needed_text("name", problems),
        family: one_of(reader, "family", &["spray", "stream", "rotor"], problems),
        rate_class: reader.needed_text("rate_class", problems),
        rate_mm_h: reader.needed_number("rate_mm_h", 1.0..=200.0, problems),
        radius_min_m: reader.needed_number("radius_min_m", 0.5..=50.0, problems),
        radius_max_m: reader.needed_number("radius_max_m", 0.5..=50.0, problems),
        pressure_min_kpa: reader.needed_number("pressure_min_kpa", 10.0..=2000.0, problems),
        pressure_ref_kpa: reader.needed_number("pressure_ref_kpa", 10.0..=2000.0, problems),
        pressure_max_kpa: reader.needed_number("pressure_max_kpa", 10.0..=2000.0, problems),
        flow_exponent: reader.needed_number("flow_exponent", 0.05..=1.0, problems),
        radius_exponent: reader.needed_number("radius_exponent", 0.0..=1.0, problems),
        profile: profile(reader, problems),
        popup_mm: reader.needed_number("popup_mm", 0.0..=600.0, problems),
        joint_loss_kpa: reader.needed_number("joint_loss_kpa", 0.0..=200.0, problems),
        joint_flow_lpm: reader.needed_number("joint_flow_lpm", POSITIVE, problems),
        nozzles: read_all(reader, "nozzles", nozzle, problems),
        price: reader.needed_number("price", NOT_NEGATIVE, problems),
    };
    let mut in_order = |place: &str, numbers: &[f64]| {
        if numbers.windows(2).any(|pair| pair[0] > pair[1]) {
            problems.tell(
                reader.place_of(place),
                "least, reference and greatest are out of order",
            );
        }
    };
    in_order("radius_min_m", &[model.radius_min_m, model.radius_max_m]);
    let pressures = [
        model.pressure_min_kpa,
        model.pressure_ref_kpa,
        model.pressure_max_kpa,
    ];
    in_order("pressure_min_kpa", &pressures);
    let names = model.nozzles.iter().map(|nozzle| nozzle.name.clone());
    check_unique(&reader.place_of("nozzles"), names, problems);
    model
}

fn nozzle(reader: &mut TableReader<'_>, problems: &mut Problems) -> Nozzle {
    let nozzle = Nozzle {
        name: reader.needed_text("name", problems),
        sweep_min_deg: reader.needed_number("sweep_min_deg", 1.0..=360.0, problems),
        sweep_max_deg: reader.needed_number("sweep_max_deg", 1.0..=360.0, problems),
        flow_lpm: reader.needed_number("flow_lpm", 0.01..=1000.0, problems),
        flow_follows_arc: reader
            .flag("flow_follows_arc", problems)
            .unwrap_or_default(),
    };
    if nozzle.sweep_min_deg > nozzle.sweep_max_deg {
        problems.tell(reader.place_of("sweep_min_deg"), "exceeds sweep_max_deg");
    }
    nozzle
}

fn one_of(
    reader: &mut TableReader<'_>,
    key: &'static str,
    known: &[&str],
    problems: &mut Problems,
) -> String {
    let word = reader.needed_text(key, problems);
    if !word.is_empty() && !known.contains(&word.as_str()) {
        let message = format!("`{word}` is unknown; {}", suggestion(&word, known));
        problems.tell(reader.place_of(key), message);
    }
    word
}

fn profile(reader: &mut TableReader<'_>, problems: &mut Problems) -> Profile {
    let known = ["cone", "parabola", "ellipse", "uniform"];
    match one_of(reader, "profile", &known, problems).as_str() {
        "parabola" => Profile::Parabola,
        "ellipse" => Profile::Ellipse,
        "uniform" => Profile::Uniform,
        _ => Profile::Cone,
    }
}

fn pipe(reader: &mut TableReader<'_>, problems: &mut Problems) -> PipeSize {
    let pipe = PipeSize {
        nominal: reader.needed_text("nominal", problems),
        material: reader.needed_text("material", problems),
        outside_mm: reader.needed_number("outside_mm", 5.0..=2000.0, problems),
        inside_mm: reader.needed_number("inside_mm", 4.0..=2000.0, problems),
        roughness_c: reader.needed_number("roughness_c", 60.0..=160.0, problems),
        roughness_mm: reader
            .number("roughness_mm", 0.0..=10.0, problems)
            .unwrap_or(PipeSize::PLASTIC_ROUGHNESS_MM),
        friction: Friction::default(),
        rating_kpa: reader.needed_number("rating_kpa", 100.0..=10_000.0, problems),
        coil_m: reader.needed_number("coil_m", 0.5..=10_000.0, problems),
        price_per_m: reader.needed_number("price_per_m", NOT_NEGATIVE, problems),
        only_laid: false,
    };
    if pipe.inside_mm >= pipe.outside_mm {
        problems.tell(reader.place_of("inside_mm"), "is not less than outside_mm");
    }
    if pipe.roughness_mm > pipe.inside_mm / 20.0 {
        let place = reader.place_of("roughness_mm");
        problems.tell(place, "is more than a twentieth of inside_mm");
    }
    pipe
}

fn valve(reader: &mut TableReader<'_>, problems: &mut Problems) -> ValveSize {
    ValveSize {
        size: reader.needed_text("size", problems),
        flow_max_lpm: reader.needed_number("flow_max_lpm", POSITIVE, problems),
        loss_kpa: reader.needed_number("loss_kpa", 0.0..=500.0, problems),
        price: reader.needed_number("price", NOT_NEGATIVE, problems),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read_text(text: &str) -> Result<Catalogue, BriefError> {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("catalogue.toml");
        std::fs::write(&path, text).unwrap();
        Catalogue::read_as("catalogue.toml", &path)
    }

    #[test]
    fn the_built_in_catalogue_is_written_and_read_back() {
        let built_in = Catalogue::built_in();
        assert_eq!(read_text(&built_in.to_toml()).unwrap(), built_in);
    }

    #[test]
    fn a_pipe_that_tells_no_wall_roughness_is_taken_for_plastic() {
        let full = Catalogue::built_in().to_toml();
        let lines = full
            .lines()
            .filter(|line| !line.starts_with("roughness_mm"));
        let without: Vec<&str> = lines.collect();
        assert!(without.len() < full.lines().count());
        let read = read_text(&without.join("\n")).unwrap();
        assert_eq!(read, Catalogue::built_in());
        let rough = full.replacen("roughness_mm = 0.0015", "roughness_mm = 1.5", 1);
        let told = read_text(&rough).unwrap_err().to_string();
        assert!(
            told.contains("roughness_mm: is more than a twentieth"),
            "{told}"
        );
    }

    #[test]
    fn all_problems_are_told_at_once() {
        let good = Catalogue::built_in().to_toml();
        let bad = good
            .replacen("nominal = \"20\"", "nominal = \"25\"", 1)
            .replacen("flow_exponent", "flow_exponnet", 1)
            .replacen("profile = \"", "profile = \"x", 1);
        let told = read_text(&bad).unwrap_err().to_string();
        assert!(
            told.contains("pipes: `pe-16-bar 25` is given twice"),
            "{told}"
        );
        assert!(
            told.contains("unknown key; did you mean `flow_exponent`?"),
            "{told}"
        );
        assert!(told.contains("profile: `x"), "{told}");
    }
}
