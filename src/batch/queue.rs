//! The queue: dear tasks first, a few at a time, none begun after one has failed for all.

use rayon::{ThreadPoolBuildError, ThreadPoolBuilder};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use thiserror::Error;

/// Room for deep recursion in geometry and trees; threads start with 2 MiB otherwise.
const STACK_BYTES: usize = 16 << 20;

/// One parcel to be worked on.
#[derive(Debug, Clone, PartialEq)]
pub struct Task {
    /// Id of the parcel.
    pub id: String,
    /// What it costs relative to others: its turf in m².
    pub cost: f64,
}

/// Why a queue stopped.
#[derive(Debug, Error)]
pub enum QueueError<E> {
    /// Threads cannot be had.
    #[error("cannot start threads: {0}")]
    Threads(ThreadPoolBuildError),
    /// The first failure that concerns all.
    #[error("{0}")]
    Work(E),
}

/// Does `work` on every task, `jobs` at a time, the dearest first; results come in the order of the ids.
///
/// # Errors
/// The first error of `work`: tasks in work are ended, none is begun.
pub fn run<T: Send, E: Send>(
    tasks: &[Task],
    jobs: usize,
    work: impl Fn(&Task) -> Result<T, E> + Sync,
) -> Result<Vec<T>, QueueError<E>> {
    let order = dearest_first(tasks);
    let pool = ThreadPoolBuilder::new()
        .num_threads(jobs.clamp(1, tasks.len().max(1)))
        .stack_size(STACK_BYTES)
        .build()
        .map_err(QueueError::Threads)?;
    let next = AtomicUsize::new(0);
    let failure = Mutex::new(None);
    let done = Mutex::new(Vec::with_capacity(tasks.len()));
    pool.broadcast(|_| {
        while let Some(task) = order.get(next.fetch_add(1, Ordering::Relaxed)) {
            match work(task) {
                Ok(result) => locked(&done).push((&task.id, result)),
                Err(error) => {
                    next.store(order.len(), Ordering::Relaxed);
                    locked(&failure).get_or_insert(error);
                }
            }
        }
    });
    if let Some(error) = locked(&failure).take() {
        return Err(QueueError::Work(error));
    }
    let mut done = std::mem::take(&mut *locked(&done));
    done.sort_by(|a, b| a.0.cmp(b.0));
    Ok(done.into_iter().map(|(_, result)| result).collect())
}

fn dearest_first(tasks: &[Task]) -> Vec<&Task> {
    let mut order: Vec<&Task> = tasks.iter().collect();
    order.sort_by(|a, b| b.cost.total_cmp(&a.cost).then_with(|| a.id.cmp(&b.id)));
    order
}

/// What a mutex holds, also after a panic elsewhere: values here are only ever added whole.
fn locked<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex
        .lock()
        .unwrap_or_else(std::sync::PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tasks() -> Vec<Task> {
        let task = |(id, cost): (&str, f64)| Task {
            id: id.to_owned(),
            cost,
        };
        [("b", 5.0), ("d", 90.0), ("a", 5.0), ("c", 20.0)]
            .map(task)
            .to_vec()
    }

    #[test]
    fn the_dearest_begins_and_results_come_by_id() {
        let begun = Mutex::new(Vec::new());
        let work = |task: &Task| {
            locked(&begun).push(task.id.clone());
            Ok::<_, ()>(task.id.to_uppercase())
        };
        assert_eq!(run(&tasks(), 1, work).unwrap(), ["A", "B", "C", "D"]);
        assert_eq!(*locked(&begun), ["d", "c", "a", "b"]);
        assert_eq!(run(&tasks(), 7, work).unwrap(), ["A", "B", "C", "D"]);
    }

    #[test]
    fn nothing_is_begun_after_a_failure_for_all() {
        let begun = AtomicUsize::new(0);
        let work = |task: &Task| {
            begun.fetch_add(1, Ordering::Relaxed);
            if task.id == "c" {
                Err("disk full")
            } else {
                Ok(())
            }
        };
        let stopped = run(&tasks(), 1, work);
        assert!(matches!(stopped, Err(QueueError::Work("disk full"))));
        assert_eq!(begun.load(Ordering::Relaxed), 2);
    }

    #[test]
    fn an_empty_queue_ends_at_once() {
        assert!(run(&[], 4, |_| Ok::<u8, ()>(1)).unwrap().is_empty());
    }
}
