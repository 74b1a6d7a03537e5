//! Sizing: the least dear pipes that leave every head enough pressure.
//!
//! `lateral.rs` gives for each station the whole trade-off between the head at its valve and the price of its laterals;
//! `main_line.rs` chooses the shared main and one point of each trade-off, stations running one at a time. Both are the
//! same dynamic programme over a tree (`tree.rs`) on curves of need against cost (`curve.rs`); the idea is Labye's
//! discontinuous method for branched irrigation, 1966 (from memory). Where the pressure inside a station may not spread
//! freely, `steps.rs` holds what each part of the tree costs at each head, too little and too much alike. `admissible.rs` says which sizes a pipe may have.
//!
//! Heads are metres of water above the datum of the ground heights, flows m³/s and given: that heads draw more or less
//! at another pressure is for the solver, after which sizes can be chosen again.

use crate::brief::{PipeSize, Rules};
use crate::design::hydraulics::surge::Wall;

mod admissible;
mod curve;
mod lateral;
mod looped;
mod loss;
mod main_line;
mod steps;
mod tree;

pub use admissible::Broken;
pub use lateral::{Front, FrontPoint, LateralProblem, SizePipe, lateral_front};
pub use looped::{
    LoopedError, LoopedLimits, LoopedNode, LoopedPipe, LoopedProblem, LoopedSizing, LoopedWork,
    size_looped,
};
pub use loss::{friction_m, minor_m, velocity_m_s};
pub use main_line::{MainPipe, MainProblem, Short, Sizing, StationDemand, choose};

/// How water is stopped by the valve at the end of a main.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surge {
    /// Time the valve takes, s.
    pub closing_s: f64,
    /// Young's modulus of the pipe's material, Pa.
    pub modulus_pa: f64,
}

impl Surge {
    /// As the rules have it.
    pub fn of(rules: &Rules) -> Self {
        Self {
            closing_s: rules.valve_closing_s,
            modulus_pa: 1e9 * rules.pipe_modulus_gpa,
        }
    }

    /// Rise of pressure in a main of this size, `length_m` from source to valve, at a flow, kPa.
    pub fn kpa(&self, size: &PipeSize, length_m: f64, flow_m3s: f64) -> f64 {
        let wall_mm = 0.5 * (size.outside_mm - size.inside_mm);
        let wall = Wall {
            bore_over_wall: size.inside_mm / wall_mm.max(1e-3),
            modulus_pa: self.modulus_pa,
        };
        wall.surge_kpa(velocity_m_s(size, flow_m3s), length_m, self.closing_s)
    }
}

/// What sizes must keep to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SizeLimits {
    /// Greatest velocity in pipe, m/s.
    pub velocity_most_m_s: f64,
    /// Hydraulic grade line with nothing running, m above the datum: what pipe must be rated for, less its own height.
    pub static_head_m: f64,
    /// Share of a pipe's rating that static pressure may not use, 0 to below 1.
    pub rating_reserve: f64,
    /// What a closing valve does to pipe before it; `None` where surge is not asked for.
    pub surge: Option<Surge>,
    /// Greatest head that can be had at a valve's outlet, m above the datum; dearer laterals than that one asks for are
    /// always kept, cheaper ones that ask for more are dropped. Infinite where it is not known.
    pub head_most_m: f64,
    /// Greatest spread, m of water, between the heads of one station of what each has above its own need.
    pub spread_m: Option<f64>,
    /// Whether a pipe may not be wider than the one before it.
    pub narrowing: bool,
    /// Where a station cannot be served at all, its pipes are the cheapest that leave it short by at most this much more
    /// than the widest ones would, m.
    pub short_slack_m: f64,
}

impl Default for SizeLimits {
    /// 1.5 m/s, no rating to keep (no static head), no spread, narrowing pipe, 0.25 m of slack: common practice, no source.
    fn default() -> Self {
        Self {
            velocity_most_m_s: 1.5,
            static_head_m: f64::NEG_INFINITY,
            rating_reserve: 0.0,
            surge: None,
            head_most_m: f64::INFINITY,
            spread_m: None,
            narrowing: true,
            short_slack_m: 0.25,
        }
    }
}

/// Heads, and resistances made heads, that differ by less are equal, m.
const EQUAL_M: f64 = 1e-7;
