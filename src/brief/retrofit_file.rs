//! Reading of `[retrofit]`: what of an existing system may stay.

use crate::brief::problems::{Problems, suggestion};
use crate::brief::project::{ExistingSources, KeepHeads, Retrofit};
use crate::brief::table::TableReader;
use toml::{Table, Value};

/// Words of `keep`.
const WORDS: [&str; 5] = ["mains", "laterals", "valves", "heads", "good heads"];

/// Reads the table. Without `keep` everything that serves may stay.
pub(crate) fn read(table: &Table, existing: &ExistingSources, problems: &mut Problems) -> Retrofit {
    let mut reader = TableReader::new(table, "retrofit");
    let place = reader.place_of("keep");
    let keep = reader.value("keep");
    reader.finish(problems);
    if existing.is_empty() {
        problems.tell(
            "retrofit",
            "there is nothing to keep: name existing_heads, existing_pipes and existing_valves under [inputs]",
        );
    }
    match keep {
        None => Retrofit {
            mains: true,
            laterals: true,
            valves: true,
            heads: KeepHeads::Good,
        },
        Some(Value::Array(words)) if words.iter().all(Value::is_str) => {
            let mut retrofit = Retrofit::default();
            for word in words.iter().filter_map(Value::as_str) {
                retrofit.keep(word, &place, problems);
            }
            retrofit.check(&place, problems);
            retrofit
        }
        Some(_) => {
            problems.tell(
                place,
                format!("must be a list of words out of: {}", WORDS.join(", ")),
            );
            Retrofit::default()
        }
    }
}

impl Retrofit {
    fn keep(&mut self, word: &str, place: &str, problems: &mut Problems) {
        match word {
            "mains" => self.mains = true,
            "laterals" => self.laterals = true,
            "valves" => self.valves = true,
            "heads" => self.heads = KeepHeads::All,
            "good heads" if self.heads == KeepHeads::None => self.heads = KeepHeads::Good,
            "good heads" => {}
            _ => {
                let message = format!(
                    "`{word}` is nothing that can be kept; {}",
                    suggestion(word, &WORDS)
                );
                problems.tell(place, message);
            }
        }
    }

    /// Pipe is dug up with what it feeds: valves stand on a main, laterals behind valves.
    fn check(self, place: &str, problems: &mut Problems) {
        if self.valves && !self.mains {
            problems.tell(place, "valves can only be kept on mains that are kept: add \"mains\", or leave out \"valves\"");
        }
        if self.laterals && !self.valves {
            problems.tell(place, "laterals can only be kept behind valves that are kept: add \"valves\", or leave out \"laterals\"");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::brief::project::LayerSource;

    fn read_keep(text: &str) -> Result<Retrofit, String> {
        let layer = LayerSource {
            written: "h".into(),
            path: "h".into(),
            layer: None,
            fields: vec![],
        };
        let existing = ExistingSources {
            heads: vec![layer],
            ..ExistingSources::default()
        };
        let mut problems = Problems::of("p".to_owned());
        let table: Table = text.parse().unwrap();
        let retrofit = read(&table, &existing, &mut problems);
        problems
            .settle(Some(retrofit))
            .map_err(|error| error.to_string())
    }

    #[test]
    fn everything_that_serves_may_stay_unless_it_is_said_otherwise() {
        let all = read_keep("").unwrap();
        assert!(all.mains && all.laterals && all.valves && all.heads == KeepHeads::Good);
        let some = read_keep("keep = ['mains', 'good heads']").unwrap();
        assert!(some.mains && !some.laterals && !some.valves && some.heads == KeepHeads::Good);
        assert_eq!(read_keep("keep = []").unwrap(), Retrofit::default());
    }

    #[test]
    fn what_cannot_be_kept_is_told() {
        for (text, says) in [
            ("keep = ['mians']", "did you mean `mains`?"),
            ("keep = 'mains'", "must be a list of words"),
            ("keep = ['valves']", "on mains that are kept"),
            (
                "keep = ['mains', 'laterals']",
                "behind valves that are kept",
            ),
            ("kep = []", "unknown key"),
        ] {
            let told = read_keep(text).unwrap_err();
            assert!(told.contains(says), "`{says}` is not in {told}");
        }
    }
}
