//! Reading of `[[variant]]`: the same project with other answers to some questions.

use crate::brief::problems::Problems;
use crate::brief::project::{Project, Variant};
use crate::brief::table::TableReader;
use toml::{Table, Value};

/// The variants of a project. `base` is the whole file; `project` makes a project of a table.
///
/// A variant's keys stand in place of the file's, table by table; all else is as in the file. What is wrong with a
/// variant alone is told with its place.
pub(crate) fn read(
    reader: &mut TableReader<'_>,
    base: &Table,
    problems: &mut Problems,
    project: impl Fn(&Table, &mut Problems) -> Option<Project>,
) -> Vec<Variant> {
    let mut variants: Vec<Variant> = Vec::new();
    for (table, place) in reader.tables("variant", problems) {
        let Some(name) = name(table, &place, &variants, problems) else {
            continue;
        };
        let mut own = problems.fresh();
        if let Some(mut project) = project(&laid_over(base, table), &mut own) {
            project.name = format!("{}: {name}", project.name);
            variants.push(Variant { name, project });
        }
        problems.take_new(own, &place);
    }
    variants
}

fn name(table: &Table, place: &str, before: &[Variant], problems: &mut Problems) -> Option<String> {
    let message = match table.get("name").and_then(Value::as_str).map(str::trim) {
        None | Some("") => "needs a `name` of its own",
        Some("base") => "cannot be called `base`: that is the project without variants",
        Some(name) if before.iter().any(|variant| variant.name == name) => {
            "has the name of a variant before it"
        }
        Some(name) => return Some(name.to_owned()),
    };
    problems.tell(place, message);
    None
}

/// The file without its variants, with one of them laid over it.
fn laid_over(base: &Table, variant: &Table) -> Table {
    let mut whole = base.clone();
    whole.remove("variant");
    let mut own = variant.clone();
    own.remove("name");
    lay(&mut whole, own);
    whole
}

fn lay(under: &mut Table, over: Table) {
    for (key, value) in over {
        match (under.get_mut(&key), value) {
            (Some(Value::Table(under)), Value::Table(over)) => lay(under, over),
            (_, value) => {
                under.insert(key, value);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::brief::problems::BriefError;

    fn read(more: &str) -> Result<Project, BriefError> {
        let folder = tempfile::tempdir().unwrap();
        for name in ["p.geojson", "t.geojson", "w.geojson", "z.tif"] {
            std::fs::write(folder.path().join(name), "").unwrap();
        }
        let inputs = "[inputs]\nparcels = 'p.geojson'\nturf = 't.geojson'\nwater_points = 'w.geojson'\n\
                      terrain = 'z.tif'\n";
        let path = folder.path().join("project.toml");
        std::fs::write(&path, format!("{inputs}{more}")).unwrap();
        Project::read(&path)
    }

    #[test]
    fn a_variant_is_the_project_with_keys_of_its_own() {
        let project = read(
            "[rules]\ndu_target = 0.7\nhead_spacing_ratio = 0.9\n\
             [[variant]]\nname = \"wide\"\nrules = { head_spacing_ratio = 1.1 }\n\
             [[variant]]\nname = \"dear water\"\nprices = { water_per_m3 = 9 }\n",
        )
        .unwrap();
        let [wide, dear] = project.variants.as_slice() else {
            panic!("two variants");
        };
        assert_eq!(
            (wide.name.as_str(), dear.name.as_str()),
            ("wide", "dear water")
        );
        assert_eq!(wide.project.rules.head_spacing_ratio, 1.1);
        assert_eq!(wide.project.rules.du_target, 0.7);
        assert_eq!(dear.project.rules.head_spacing_ratio, 0.9);
        assert_eq!(dear.project.prices.water_per_m3, Some(9.0));
        assert_eq!(project.prices.water_per_m3, None);
        assert_eq!(wide.project.turf, project.turf);
    }

    #[test]
    fn what_is_wrong_with_a_variant_is_told_once_and_with_its_place() {
        let told = read(
            "[rules]\ndu_target = 7\n[[variant]]\nname = \"a\"\nrules = { wind_m_s = -1 }\n\
             [[variant]]\nname = \"a\"\n[[variant]]\n[[variant]]\nname = \"b\"\nrule = {}\n",
        )
        .unwrap_err()
        .to_string();
        assert_eq!(told.matches("du_target").count(), 1, "{told}");
        assert!(told.contains("variant[1]: rules.wind_m_s"), "{told}");
        assert!(
            told.contains("variant[2]: has the name of a variant before it"),
            "{told}"
        );
        assert!(told.contains("variant[3]: needs a `name`"), "{told}");
        assert!(told.contains("variant[4]: rule"), "{told}");
    }
}
