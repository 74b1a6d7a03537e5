//! Reading of the project file: every problem of it in one pass.

use crate::brief::catalogue_file::read_table;
use crate::brief::inputs_file::read_inputs;
use crate::brief::problems::{BriefError, Problems};
use crate::brief::project::Project;
use crate::brief::table::TableReader;
use crate::brief::{
    Catalogue, Climate, Rules, climate_file, prices_file, retrofit_file, rules_file, variants_file,
};
use std::path::Path;
use toml::Table;

impl Project {
    /// Reads and checks a project file and the files of catalogue and climate it names.
    ///
    /// Paths in it are relative to its own folder. Vector layers and rasters are only looked for here, not opened.
    ///
    /// # Errors
    /// Every problem at once: unknown keys with the nearest known one, missing keys and files, wrong types,
    /// values outside their rule's range.
    pub fn read(path: &Path) -> Result<Self, BriefError> {
        let mut problems = Problems::of(path.display().to_string());
        let table = read_table(path, &mut problems);
        let folder = path.parent().unwrap_or(Path::new(""));
        let project = table.and_then(|table| with_variants(&table, folder, path, &mut problems));
        problems.settle(project)
    }
}

fn with_variants(
    table: &Table,
    folder: &Path,
    path: &Path,
    problems: &mut Problems,
) -> Option<Project> {
    let project = from_table(table, folder, path, problems);
    let mut reader = TableReader::new(table, "");
    let variants = variants_file::read(&mut reader, table, problems, |table, problems| {
        from_table(table, folder, path, problems)
    });
    Some(Project {
        variants,
        ..project?
    })
}

fn from_table(
    table: &Table,
    folder: &Path,
    path: &Path,
    problems: &mut Problems,
) -> Option<Project> {
    let mut reader = TableReader::new(table, "");
    let name = reader.text("name", problems).unwrap_or_else(|| stem(path));
    let inputs = reader.table("inputs", problems);
    let fields = reader.table("fields", problems);
    let rules = reader.table("rules", problems);
    let climate = reader.table("climate", problems);
    let prices = reader.table("prices", problems);
    let retrofit = reader.table("retrofit", problems);
    let mut catalogue = reader.text("catalogue", problems);
    reader.value("variant");
    reader.finish(problems);

    // In TOML a key written below `[prices]` belongs to it, so the catalogue may be named there too.
    let empty = Table::new();
    let mut prices = TableReader::new(prices.unwrap_or(&empty), "prices");
    catalogue = catalogue.or_else(|| prices.text("catalogue", problems));
    prices.value("catalogue");
    let own_catalogue = catalogue.is_some();
    let price_list = prices_file::read(&mut prices, own_catalogue, folder, problems);
    prices.finish(problems);

    let rules = rules.map_or_else(Rules::default, |table| rules_file::read(table, problems));
    let climate = match climate {
        Some(table) => climate_file::read(table, folder, problems),
        None => Some(Climate::built_in()),
    };
    let catalogue = read_catalogue(catalogue, folder, problems);
    let Some(inputs) = inputs else {
        problems.tell(
            "inputs",
            "is missing: the files of parcels, turf, water points and terrain",
        );
        return None;
    };
    let inputs = read_inputs(inputs, fields, folder, problems)?;
    let retrofit = retrofit.map(|table| retrofit_file::read(table, &inputs.existing, problems));
    if retrofit.is_some() && inputs.edits.is_some() {
        problems.tell(
            "inputs.edits",
            "cannot go with [retrofit]: make the retrofit first, or leave it out to change a design by hand",
        );
    }
    Some(Project {
        name,
        parcels: inputs.parcels,
        turf: inputs.turf,
        obstacles: inputs.obstacles,
        water_points: inputs.water_points,
        existing: inputs.existing,
        edits: inputs.edits,
        retrofit,
        terrain: inputs.terrain,
        terrain_unit_m: inputs.terrain_unit_m,
        rules,
        climate: climate?,
        prices: price_list,
        catalogue: catalogue?,
        variants: Vec::new(),
    })
}

fn stem(path: &Path) -> String {
    path.file_stem().map_or_else(
        || "project".to_owned(),
        |stem| stem.to_string_lossy().into_owned(),
    )
}

fn read_catalogue(
    written: Option<String>,
    folder: &Path,
    problems: &mut Problems,
) -> Option<Catalogue> {
    let Some(written) = written else {
        return Some(Catalogue::built_in());
    };
    match Catalogue::read_as(&written, &folder.join(&written)) {
        Ok(catalogue) => Some(catalogue),
        Err(error) => {
            problems.take_over(error);
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Project, BriefError> {
        let folder = tempfile::tempdir().unwrap();
        for name in ["p.geojson", "t.geojson", "w.geojson", "z.tif"] {
            std::fs::write(folder.path().join(name), "").unwrap();
        }
        let path = folder.path().join("project.toml");
        std::fs::write(&path, text).unwrap();
        Project::read(&path)
    }

    const INPUTS: &str = "[inputs]\nparcels = 'p.geojson'\nturf = { file = 't.geojson', layer = 'lawn' }\n\
        water_points = 'w.geojson'\nterrain = ['z.tif']\nterrain_unit = 'foot'\n";

    #[test]
    fn a_whole_project_is_read() {
        let text = format!(
            "{INPUTS}[fields.turf]\nid = 'OBJECTID'\n[rules]\ndrain = false\nwind_m_s = 2\n"
        );
        let project = read(&text).unwrap();
        assert_eq!(project.name, "project");
        assert_eq!(project.turf.layer.as_deref(), Some("lawn"));
        assert_eq!(
            project.turf.fields,
            [("id".to_owned(), "OBJECTID".to_owned())]
        );
        assert_eq!((project.rules.drain, project.rules.wind_m_s), (0.0, 2.0));
        assert_eq!(project.terrain_unit_m, Some(0.3048));
        assert!(project.climate.built_in && project.obstacles.is_none());
        assert!(!project.prices.use_catalogue);
    }

    #[test]
    fn every_problem_is_told_in_one_pass() {
        let told = read(
            "nmae = 'x'\n[inputs]\nparcels = 'p.geojson'\nturf = 'none.geojson'\nterrain = 3\n\
             terrain_unit = 'feet'\n[rules]\nvelocity_max_m_s = 1\nwind_m_s = 99\ndrain = 'no'\n\
             station_heads_most = 2.5\nlateral_cover_min_m = 0.9\n[prices]\ntrench_per_m = -1\n",
        )
        .unwrap_err()
        .to_string();
        for part in [
            "nmae: unknown key; did you mean `name`?",
            "inputs.turf: there is no file `none.geojson`",
            "inputs.water_points: is missing",
            "inputs.terrain: must be a file name",
            "inputs.terrain_unit: `feet` is no unit of height",
            "rules.velocity_max_m_s: unknown rule; did you mean `velocity_most_m_s`?",
            "rules.wind_m_s: 99 lies outside 0 to 8",
            "rules.drain: must be true or false",
            "rules.station_heads_most: 2.5 must be a whole number",
            "rules.lateral_cover_min_m: least cover 0.9 m exceeds the greatest",
            "prices.trench_per_m: -1 lies outside 0",
        ] {
            assert!(told.contains(part), "`{part}` is not in:\n{told}");
        }
    }

    #[test]
    fn a_file_that_is_no_toml_is_told_with_its_line() {
        let told = read("name = 'x'\n[inputs\n").unwrap_err().to_string();
        assert!(told.contains("line 2: is no TOML"), "{told}");
    }
}
