//! What may be typed. The comments here are the program's help.

use crate::cli::EXIT_CODES;
use clap::{Args, Parser, Subcommand, value_parser};
use std::path::PathBuf;

const EXAMPLES: &str = "\
Type this first:
  swardline check project.toml
  swardline design project.toml --out out";

/// Design buried pop-up sprinkler irrigation for lawns: polygons and a terrain raster in, layers and reports out.
///
/// A project file names the parcels, the turf, the obstacles, the water points and the terrain; every parcel gets a
/// folder with its design, and the whole a summary of what is good and what needs a human eye.
#[derive(Debug, Parser)]
#[command(name = "swardline", version, after_help = EXAMPLES, after_long_help = format!("{EXAMPLES}\n\n{EXIT_CODES}"))]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What can be asked for.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Read all inputs and print every problem of every parcel
    Check(Check),
    /// Design the parcels of a project
    Design(Design),
    /// Judge the existing system of every parcel, and change nothing
    Audit(Design),
    /// Print the catalogue of heads, pipe and valves as TOML
    Catalogue(OfProject),
    /// Print every rule with its value, range, unit, source and meaning, as TOML for a project file
    Rules(OfProject),
}

/// Options of `check`.
#[derive(Debug, Args)]
#[command(after_long_help = EXIT_CODES)]
pub struct Check {
    /// The project file
    pub project: PathBuf,
    /// Check only this parcel (may be given several times)
    #[arg(long, value_name = "ID")]
    pub only: Vec<String>,
    #[command(flatten)]
    /// Parcels at a time.
    pub jobs: Jobs,
}

/// Options of `design` and `audit`.
#[derive(Debug, Args)]
#[command(after_long_help = EXIT_CODES)]
pub struct Design {
    /// The project file
    pub project: PathBuf,
    /// Folder for the results; made if missing. An earlier run of the same project in it is replaced parcel by parcel
    #[arg(long, short, value_name = "FOLDER")]
    pub out: PathBuf,
    /// Design only this parcel (may be given several times); what the folder holds of the others stays
    #[arg(long, value_name = "ID")]
    pub only: Vec<String>,
    /// Also write each station as parcels/ID/networks/STATION.inp, for the public hydraulic solver EPANET
    #[arg(long)]
    pub networks: bool,
    #[command(flatten)]
    /// Parcels at a time.
    pub jobs: Jobs,
    /// Say only which parcels failed, and the last line
    #[arg(long, short, conflicts_with = "verbose")]
    pub quiet: bool,
    /// Say every finding of every parcel as it ends
    #[arg(long, short)]
    pub verbose: bool,
}

/// How many parcels are in work at a time.
#[derive(Debug, Args)]
pub struct Jobs {
    /// Parcels in work at a time [default: SLURM_CPUS_PER_TASK, SLURM_CPUS_ON_NODE, or the processors of this machine]
    #[arg(long, short, value_name = "N", value_parser = value_parser!(u16).range(1..=1024))]
    pub jobs: Option<u16>,
}

impl Jobs {
    /// The number asked for, or the default.
    pub fn number(&self) -> usize {
        self.jobs
            .map_or_else(crate::batch::default_jobs, usize::from)
    }
}

/// Options of commands that print what a project would use.
#[derive(Debug, Args)]
pub struct OfProject {
    /// A project file, to print what it sets instead of what is built in
    pub project: Option<PathBuf>,
}
