//! How many parcels are in work at a time when nobody says.

/// Parcels in work by default: what a Slurm job was given, otherwise what this machine has; 1 or more.
///
/// A task given one core of two still sees two in the machine, so the scheduler's word goes first.
pub fn default_jobs() -> usize {
    let machine = std::thread::available_parallelism().map_or(1, usize::from);
    jobs_from(|name| std::env::var(name).ok(), machine)
}

fn jobs_from(variable: impl Fn(&str) -> Option<String>, machine: usize) -> usize {
    ["SLURM_CPUS_PER_TASK", "SLURM_CPUS_ON_NODE"]
        .iter()
        .filter_map(|name| variable(name)?.trim().parse().ok())
        .find(|&jobs: &usize| jobs > 0)
        .unwrap_or(machine)
        .max(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_schedulers_word_goes_before_the_machines() {
        let given = |name: &str| (name == "SLURM_CPUS_ON_NODE").then(|| "3".to_owned());
        assert_eq!(jobs_from(given, 8), 3);
        let both = |name: &str| Some(if name.ends_with("TASK") { "2" } else { "9" }.to_owned());
        assert_eq!(jobs_from(both, 8), 2);
    }

    #[test]
    fn nonsense_and_nothing_leave_the_machine() {
        assert_eq!(jobs_from(|_| Some("many".to_owned()), 8), 8);
        assert_eq!(jobs_from(|_| Some("0".to_owned()), 8), 8);
        assert_eq!(jobs_from(|_| None, 0), 1);
    }
}
