//! Reading of `[rules]`: by the table of rules, so that a new rule is read without a line here.

use crate::brief::problems::{Problems, suggestion};
use crate::brief::rules::{RuleInfo, Rules};
use crate::brief::table::{check_range, number_of};
use toml::{Table, Value};

/// Rules with what the project sets; the others keep their defaults.
pub(crate) fn read(table: &Table, problems: &mut Problems) -> Rules {
    let mut rules = Rules::default();
    for (key, value) in table {
        let place = format!("rules.{key}");
        match Rules::TABLE.iter().find(|info| info.name == key) {
            Some(info) => {
                if let Some(number) = value_of(info, &place, value, problems) {
                    rules.set(key, number);
                }
            }
            None => {
                let names: Vec<&str> = Rules::TABLE.iter().map(|info| info.name).collect();
                let message = format!("unknown rule; {}", suggestion(key, &names));
                problems.tell(place, message);
            }
        }
    }
    check_pairs(&rules, problems);
    rules
}

fn value_of(info: &RuleInfo, place: &str, value: &Value, problems: &mut Problems) -> Option<f64> {
    let yes_no = info.unit == "yes/no";
    let number = match value {
        Value::Boolean(flag) if yes_no => f64::from(u8::from(*flag)),
        other => match number_of(other) {
            Some(number) => number,
            None => {
                let wanted = if yes_no { "true or false" } else { "a number" };
                problems.tell(place, format!("must be {wanted} ({})", info.unit));
                return None;
            }
        },
    };
    let whole = yes_no || matches!(info.unit, "count" | "month");
    if whole && number.fract() != 0.0 {
        problems.tell(place, format!("{number} must be a whole number"));
        return None;
    }
    check_range(place, number, &(info.least..=info.greatest), problems)
}

/// Rules that only make sense together.
fn check_pairs(rules: &Rules, problems: &mut Problems) {
    let covers = [
        (
            "lateral",
            rules.lateral_cover_min_m,
            rules.lateral_cover_max_m,
        ),
        ("main", rules.main_cover_min_m, rules.main_cover_max_m),
    ];
    for (pipe, least_m, greatest_m) in covers {
        if least_m > greatest_m {
            let place = format!("rules.{pipe}_cover_min_m");
            let message = format!(
                "least cover {least_m} m exceeds the greatest, {greatest_m} m ({pipe}_cover_max_m)"
            );
            problems.tell(place, message);
        }
    }
}
