//! `swardline rules`: every rule as a section of a project file.

use crate::brief::Rules;
use crate::brief::rules::RuleInfo;
use crate::cli::arguments::OfProject;
use crate::cli::{Ending, Failure, open, say};

pub(crate) fn run(asked: &OfProject) -> Result<Ending, Failure> {
    let rules = match &asked.project {
        Some(path) => open::project(path)?.rules,
        None => Rules::default(),
    };
    say::result(&section(&rules))
}

fn section(rules: &Rules) -> String {
    let mut text = "# Every rule of swardline. Keep the lines you change; the others have their built-in value.\n[rules]\n".to_owned();
    for info in Rules::TABLE {
        let value = rules.get(info.name).unwrap_or(info.default);
        text.push_str(&entry(info, value));
    }
    text
}

fn entry(info: &RuleInfo, value: f64) -> String {
    let RuleInfo {
        name,
        unit,
        source,
        meaning,
        ..
    } = info;
    let range = match *unit {
        "yes/no" => "true or false".to_owned(),
        _ => format!("{} to {} {unit}", info.least, info.greatest),
    };
    let built_in = written(info, info.default);
    let value = written(info, value);
    format!("\n# {meaning}\n# {range}, built in {built_in}. Source: {source}.\n{name} = {value}\n")
}

fn written(info: &RuleInfo, value: f64) -> String {
    match info.unit {
        "yes/no" => (value != 0.0).to_string(),
        _ => value.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_printed_reads_back_to_the_same_values() {
        let mut rules = Rules::default();
        rules.set("velocity_most_m_s", 1.25);
        rules.set("roots_forbidden", 1.0);
        let table: toml::Table = section(&rules).parse().unwrap();
        let read = table["rules"].as_table().unwrap();
        assert_eq!(read.len(), Rules::TABLE.len());
        assert_eq!(read["velocity_most_m_s"].as_float(), Some(1.25));
        assert_eq!(read["roots_forbidden"].as_bool(), Some(true));
        assert_eq!(read["watering_window_h"].as_integer(), Some(8));
    }

    #[test]
    fn every_rule_is_explained() {
        for info in Rules::TABLE {
            let text = entry(info, info.default);
            assert!(
                text.contains(info.meaning) && text.contains(info.source),
                "{text}"
            );
        }
    }
}
