//! Progress while parcels are in work: a bar on a terminal, plain lines elsewhere.
//!
//! What is left is estimated from the cost of what is done (turf area), not from the count: parcels differ a hundredfold.

use crate::batch::{Outcome, Task, Watch};
use crate::cli::arguments::Design;
use crate::cli::closing::duration;
use crate::cli::say;
use crate::deliver::Status;
use indicatif::{ProgressBar, ProgressStyle};
use std::collections::BTreeSet;
use std::io::IsTerminal;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// From this number of parcels on, plain lines come once a minute and for failures.
const MANY: usize = 200;
const MINUTE: Duration = Duration::from_secs(60);
/// No estimate before this many parcels have ended.
const FEW: usize = 2;

/// Who watches a run.
pub(crate) struct Progress {
    bar: Option<ProgressBar>,
    quiet: bool,
    verbose: bool,
    start: Instant,
    state: Mutex<State>,
}

#[derive(Debug, Default)]
struct State {
    count: usize,
    done: usize,
    cost: f64,
    cost_done: f64,
    in_work: BTreeSet<String>,
    last_line: Option<Instant>,
}

impl Progress {
    pub(crate) fn of(tasks: &[Task], asked: &Design) -> Self {
        let cost: f64 = tasks.iter().map(|task| task.cost).sum();
        let shows_bar = std::io::stderr().is_terminal()
            && std::env::var_os("TERM").is_none_or(|term| term != "dumb");
        Self {
            bar: (shows_bar && !asked.quiet).then(|| new_bar(cost)),
            quiet: asked.quiet,
            verbose: asked.verbose,
            start: Instant::now(),
            state: Mutex::new(State {
                count: tasks.len(),
                cost,
                ..State::default()
            }),
        }
    }

    /// Takes the bar off the terminal.
    pub(crate) fn end(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn say(&self, text: String) {
        match &self.bar {
            Some(bar) => bar.suspend(|| say::line(text)),
            None => say::line(text),
        }
    }

    fn show(&self, state: &State) {
        if let Some(bar) = &self.bar {
            bar.set_position(state.cost_done as u64);
            let left = state.left(self.start.elapsed()).unwrap_or_default();
            let in_work: Vec<&str> = state.in_work.iter().map(String::as_str).collect();
            let in_work = in_work.join(", ");
            bar.set_message(format!("{}/{}{left}  {in_work}", state.done, state.count));
        }
    }
}

fn new_bar(cost: f64) -> ProgressBar {
    let bar = ProgressBar::new(cost as u64);
    if let Ok(style) = ProgressStyle::with_template("{bar:24} {elapsed}  {wide_msg}") {
        bar.set_style(style);
    }
    bar.enable_steady_tick(Duration::from_millis(500));
    bar
}

impl State {
    /// `  left about 40 min`, once there is something to judge by.
    fn left(&self, elapsed: Duration) -> Option<String> {
        let open = self.cost - self.cost_done;
        let judged = self.done >= FEW && self.done < self.count && self.cost_done > 0.0;
        judged.then(|| {
            let seconds = elapsed.as_secs_f64() * open / self.cost_done;
            // Below ten seconds no tenths: it is a guess.
            let told = match seconds.ceil() as u64 {
                whole @ 0..10 => format!("{whole} s"),
                whole => duration(Duration::from_secs(whole)),
            };
            format!("  left about {told}")
        })
    }

    fn line(&self, outcome: &Outcome, elapsed: Duration) -> String {
        format!(
            "{}/{}  {}  {}  {}{}",
            self.done,
            self.count,
            outcome.row.parcel,
            outcome.row.status.word(),
            duration(outcome.took),
            self.left(elapsed).unwrap_or_default()
        )
    }

    /// Whether a plain line is due: always with few parcels, once a minute with many.
    fn is_due(&mut self, now: Instant) -> bool {
        let due = self.count < MANY
            || self
                .last_line
                .is_none_or(|last| now.duration_since(last) >= MINUTE);
        if due {
            self.last_line = Some(now);
        }
        due
    }
}

impl Watch for Progress {
    fn begun(&self, task: &Task) {
        let mut state = self.state();
        state.in_work.insert(task.id.clone());
        self.show(&state);
    }

    fn ended(&self, task: &Task, outcome: &Outcome) {
        let mut state = self.state();
        state.in_work.remove(&task.id);
        state.done += 1;
        state.cost_done += task.cost;
        let failed = outcome.row.status == Status::Failed;
        if !self.quiet && (self.verbose || self.bar.is_none()) {
            let due = state.is_due(Instant::now());
            if due || failed || self.verbose {
                self.say(state.line(outcome, self.start.elapsed()));
            }
        }
        if self.verbose {
            for finding in &outcome.findings {
                self.say(format!("  {}", say::finding(finding)));
            }
        }
        self.show(&state);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_estimate_follows_the_cost_and_waits_for_the_first_few() {
        let mut state = State {
            count: 10,
            done: 1,
            cost: 1000.0,
            cost_done: 800.0,
            ..State::default()
        };
        let elapsed = Duration::from_secs(240);
        assert_eq!(state.left(elapsed), None);
        state.done = 2;
        assert_eq!(state.left(elapsed).as_deref(), Some("  left about 60 s"));
        state.done = 10;
        assert_eq!(state.left(elapsed), None);
    }

    #[test]
    fn many_parcels_get_a_line_a_minute() {
        let now = Instant::now();
        let mut few = State {
            count: 10,
            ..State::default()
        };
        assert!(few.is_due(now) && few.is_due(now));
        let mut many = State {
            count: 500,
            ..State::default()
        };
        assert!(many.is_due(now) && !many.is_due(now));
        assert!(many.is_due(now + MINUTE));
    }
}
