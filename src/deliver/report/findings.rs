//! The list of what to look at: findings of one kind stand together, equal ones are told once with their number and places.

use crate::deliver::attention::{Attention, Placed};
use crate::deliver::job::Job;
use minijinja::{Value, context};

/// Findings of one kind of which each is told; the rest are counted and stand in the layer.
const TOLD: usize = 12;

/// One sentence, and every finding that says it.
struct Telling<'a> {
    first: &'a Attention<'a>,
    /// Numbers of its findings in the list, from 1.
    numbers: Vec<usize>,
    features: Vec<&'a str>,
}

/// Groups by severity and code in the order of the list, which begins with the gravest.
pub(super) fn grouped(job: &Job) -> Vec<Value> {
    let mut groups: Vec<Vec<Telling>> = Vec::new();
    for (index, attention) in job.attention.iter().enumerate() {
        let same = |group: &&mut Vec<Telling>| same_kind(group[0].first, attention);
        match groups.iter_mut().find(same) {
            Some(group) => add(group, attention, index + 1),
            None => groups.push(vec![told(attention, index + 1)]),
        }
    }
    groups.iter().map(|group| shown(group)).collect()
}

fn same_kind(a: &Attention, b: &Attention) -> bool {
    (a.finding.severity, a.finding.code) == (b.finding.severity, b.finding.code)
}

fn told<'a>(attention: &'a Attention<'a>, number: usize) -> Telling<'a> {
    Telling {
        first: attention,
        numbers: vec![number],
        features: attention.finding.feature.as_deref().into_iter().collect(),
    }
}

fn add<'a>(group: &mut Vec<Telling<'a>>, attention: &'a Attention<'a>, number: usize) {
    let said = |telling: &&mut Telling| {
        let (a, b) = (telling.first.finding, attention.finding);
        a.message == b.message && a.file == b.file
    };
    match group.iter_mut().find(said) {
        Some(telling) => {
            telling.numbers.push(number);
            telling
                .features
                .extend(attention.finding.feature.as_deref());
        }
        None => group.push(told(attention, number)),
    }
}

fn shown(group: &[Telling]) -> Value {
    let finding = group[0].first.finding;
    let count: usize = group.iter().map(|telling| telling.numbers.len()).sum();
    let left: usize = group.iter().skip(TOLD).map(|t| t.numbers.len()).sum();
    let tellings: Vec<Value> = group.iter().take(TOLD).map(telling).collect();
    context! { severity => finding.severity.word(), code => finding.code, count, tellings, left }
}

fn telling(telling: &Telling) -> Value {
    let finding = telling.first.finding;
    let mut features = telling.features.clone();
    features.dedup();
    context! {
        message => finding.message, file => finding.file,
        numbers => runs(&telling.numbers), features => features.join(", "),
        on_plan => telling.first.placed != Placed::InParcel,
    }
}

/// Rising numbers in few words: `1-3, 7`.
fn runs(numbers: &[usize]) -> String {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for &number in numbers {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == number => *last = number,
            _ => runs.push((number, number)),
        }
    }
    let word = |&(first, last): &(usize, usize)| match last - first {
        0 => first.to_string(),
        _ => format!("{first}\u{2013}{last}"),
    };
    runs.iter().map(word).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;
    use crate::design::model::Design;
    use crate::finding::Finding;
    use geo::Coord;

    fn groups(findings: Vec<Finding>) -> Vec<Value> {
        let (mut parcel, project) = (example::parcel(), example::project());
        parcel.findings.clear();
        let design = Design {
            findings,
            ..Design::default()
        };
        grouped(&Job::new(&parcel, &design, &project))
    }

    fn get(value: &Value, name: &str) -> String {
        value.get_attr(name).unwrap().to_string()
    }

    #[test]
    fn equal_findings_are_told_once_with_their_number() {
        let gap = |x: f64| Finding::warning("gap", "A hole was bridged").at(Coord { x, y: 0.0 });
        let mut findings: Vec<Finding> = (0..21).map(|i| gap(f64::from(i))).collect();
        findings.push(Finding::warning("gap", "A larger hole was bridged"));
        findings.push(Finding::note("gap", "A hole was bridged"));
        let groups = groups(findings);
        assert_eq!(groups.len(), 2);
        assert_eq!(get(&groups[0], "count"), "22");
        let first = groups[0].get_attr("tellings").unwrap().get_item_by_index(0);
        assert_eq!(get(&first.unwrap(), "numbers"), "1\u{2013}21");
        assert_eq!(get(&groups[1], "severity"), "note");
    }

    #[test]
    fn a_long_list_of_unlike_findings_is_cut_and_counted() {
        let unlike = |i: u32| Finding::warning("dry", format!("{i} % is dry"));
        let groups = groups((0..30).map(unlike).collect());
        assert_eq!(get(&groups[0], "left"), (30 - TOLD).to_string());
        assert_eq!(get(&groups[0], "count"), "30");
    }

    #[test]
    fn runs_are_joined() {
        assert_eq!(runs(&[1, 2, 3, 7, 9, 10]), "1\u{2013}3, 7, 9\u{2013}10");
    }
}
