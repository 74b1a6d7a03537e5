//! Radial profiles: how the depth under a head falls off towards the end of its throw.

use crate::brief::Profile;

/// Depth at `share` of the radius (0 to 1), as a multiple of the mean depth over the sector; 0 beyond.
///
/// Each shape integrates over the disc to its area, so that the head's flow is conserved:
/// `∫₀¹ f(t) 2t dt = 1`. A measured profile would replace these; common practice, no source.
pub fn depth_factor(profile: Profile, share: f64) -> f64 {
    if share > 1.0 {
        return 0.0;
    }
    match profile {
        Profile::Cone => 3.0 * (1.0 - share),
        Profile::Parabola => 2.0 * (1.0 - share * share),
        Profile::Ellipse => 1.5 * (1.0 - share * share).max(0.0).sqrt(),
        Profile::Uniform => 1.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_shape_spends_exactly_its_flow() {
        for shape in [
            Profile::Cone,
            Profile::Parabola,
            Profile::Ellipse,
            Profile::Uniform,
        ] {
            let n = 100_000;
            let sum: f64 = (0..n)
                .map(|i| (f64::from(i) + 0.5) / f64::from(n))
                .map(|t| depth_factor(shape, t) * 2.0 * t / f64::from(n))
                .sum();
            assert!((sum - 1.0).abs() < 1e-6, "{shape:?} {sum}");
        }
    }
}
