//! Which findings tell of which planted fault, and what is missed or told beside them.

use super::plant::{Kind, Planted};
use std::collections::BTreeMap;
use std::fmt;
use swardline::finding::Finding;

/// Distance within which a finding is at the place of a fault, m.
const AT_PLACE_M: f64 = 1.5;

/// Faults of one kind.
#[derive(Debug, Clone, Copy, Default)]
pub struct Count {
    pub planted: usize,
    pub found: usize,
    pub astray: usize,
}

impl Count {
    pub fn recall(&self) -> f64 {
        self.found as f64 / self.planted.max(1) as f64
    }

    pub fn precision(&self) -> f64 {
        self.found as f64 / (self.found + self.astray).max(1) as f64
    }
}

/// Counts by kind, and what was missed or told beside, for reading.
#[derive(Debug, Clone, Default)]
pub struct Table {
    kinds: BTreeMap<Kind, Count>,
    lines: Vec<String>,
}

fn tells_of(finding: &Finding, planted: &Planted) -> bool {
    let of_it = finding.feature.as_deref() == Some(planted.id.as_str());
    let at_it = finding.place.is_some_and(|place| {
        let off = place - planted.place;
        off.x.hypot(off.y) <= AT_PLACE_M
    });
    (of_it || at_it) && planted.kind.codes().contains(&finding.code)
}

impl Table {
    /// Counts one design. A finding astray counts against the kind of the nearest fault.
    pub fn count(
        &mut self,
        number: usize,
        planted: &[Planted],
        clean: &[Finding],
        found: &[Finding],
    ) {
        for fault in planted {
            let count = self.kinds.entry(fault.kind).or_default();
            count.planted += 1;
            if found.iter().any(|finding| tells_of(finding, fault)) {
                count.found += 1;
            } else {
                self.lines.push(format!(
                    "{number}: missed {:?} {} {:?} {}",
                    fault.kind, fault.id, fault.place, fault.how
                ));
            }
        }
        let known = |finding: &Finding| {
            clean
                .iter()
                .any(|old| old.code == finding.code && old.feature == finding.feature)
        };
        for finding in found {
            if known(finding) || planted.iter().any(|fault| tells_of(finding, fault)) {
                continue;
            }
            let far_m = |fault: &Planted| {
                let off = finding.place.unwrap_or_default() - fault.place;
                off.x.hypot(off.y)
            };
            let nearest = planted.iter().min_by(|a, b| far_m(a).total_cmp(&far_m(b)));
            if let Some(fault) = nearest {
                self.kinds.entry(fault.kind).or_default().astray += 1;
            }
            let by = nearest.map(|fault| (fault.kind, far_m(fault)));
            self.lines.push(format!(
                "{number}: astray {} {:?} by {by:?}: {}",
                finding.code, finding.feature, finding.message
            ));
        }
    }

    pub fn all(&self) -> Count {
        let sum = |sum: Count, count: &Count| Count {
            planted: sum.planted + count.planted,
            found: sum.found + count.found,
            astray: sum.astray + count.astray,
        };
        self.kinds.values().fold(Count::default(), sum)
    }
}

impl fmt::Display for Table {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        for line in &self.lines {
            writeln!(f, "{line}")?;
        }
        let mut row = |name: String, count: &Count| {
            writeln!(
                f,
                "{name:14} planted {:3} found {:3} astray {:3} recall {:.3} precision {:.3}",
                count.planted,
                count.found,
                count.astray,
                count.recall(),
                count.precision()
            )
        };
        for (kind, count) in &self.kinds {
            row(format!("{kind:?}"), count)?;
        }
        row("all".to_owned(), &self.all())
    }
}
