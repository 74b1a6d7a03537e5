//! An axis: its ends, its round steps, its pixels.

/// One axis of a chart.
pub(in crate::deliver::report) struct Axis {
    from: f64,
    to: f64,
    /// Greatest value on it.
    end: f64,
    step: f64,
    start_px: f64,
    length_px: f64,
}

impl Axis {
    /// Over all `values` and at least a range of `least`, in round steps.
    pub(in crate::deliver::report) fn over(
        values: impl Iterator<Item = f64>,
        least: f64,
        start_px: f64,
        length_px: f64,
    ) -> Self {
        let ends = values
            .filter(|v| v.is_finite())
            .fold(None, |ends: Option<(f64, f64)>, v| {
                Some(ends.map_or((v, v), |(a, b)| (a.min(v), b.max(v))))
            });
        let (low, high) = ends.unwrap_or((0.0, 1.0));
        let short = (least.max(1e-6) - (high - low)).max(0.0) / 2.0;
        // About as many steps as have room for their numbers.
        let steps = (length_px.abs() / 32.0).clamp(2.0, 6.0);
        let step = round_step((high - low).max(least.max(1e-6)) / steps);
        Self {
            from: ((low - short) / step).floor() * step,
            to: ((high + short) / step).ceil() * step,
            end: high,
            step,
            start_px,
            length_px,
        }
    }

    /// From 0 to the greatest of `values`.
    pub(in crate::deliver::report) fn from_zero(
        values: impl Iterator<Item = f64>,
        start_px: f64,
        length_px: f64,
    ) -> Self {
        let values = values.chain([0.0]).map(|value| value.max(0.0));
        let mut axis = Self::over(values, 0.0, start_px, length_px);
        axis.from = 0.0;
        axis.to = axis.to.max(axis.step);
        axis
    }

    /// From `from` to `to` in steps of `step`, as they are.
    pub(in crate::deliver::report) fn fixed(
        (from, to): (f64, f64),
        step: f64,
        start_px: f64,
        length_px: f64,
    ) -> Self {
        Self {
            from,
            to,
            end: to,
            step,
            start_px,
            length_px,
        }
    }

    /// The same axis, ending where the values end.
    pub(in crate::deliver::report) fn cut(mut self) -> Self {
        self.to = self.end.max(self.from + 1e-6);
        self
    }

    /// Where a value stands, px.
    pub(in crate::deliver::report) fn px(&self, value: f64) -> f64 {
        self.start_px + (value - self.from) / (self.to - self.from).max(1e-9) * self.length_px
    }

    /// Where it begins and ends, px.
    pub(in crate::deliver::report) fn ends_px(&self) -> (f64, f64) {
        (self.start_px, self.start_px + self.length_px)
    }

    /// Its step.
    pub(in crate::deliver::report) fn step(&self) -> f64 {
        self.step
    }

    /// Pixels of one unit.
    pub(in crate::deliver::report) fn px_per_unit(&self) -> f64 {
        self.length_px.abs() / (self.to - self.from).max(1e-9)
    }

    /// Values that are marked.
    pub(in crate::deliver::report) fn ticks(&self) -> Vec<f64> {
        let first = (self.from / self.step - 1e-6).ceil() * self.step;
        let count = ((self.to - first) / self.step + 1e-6).floor().max(0.0) as usize;
        (0..=count.min(40))
            .map(|i| first + i as f64 * self.step)
            .collect()
    }

    /// A value as the axis writes it.
    pub(in crate::deliver::report) fn label(&self, value: f64) -> String {
        let decimals = (-self.step.log10().floor()).max(0.0) as usize;
        format!("{:.decimals$}", value + 0.0)
    }
}

/// The round step next above `rough`.
fn round_step(rough: f64) -> f64 {
    let power = 10f64.powf(rough.log10().floor());
    let rounds = [1.0, 2.0, 5.0, 10.0];
    power
        * rounds
            .into_iter()
            .find(|n| n * power >= rough * 0.999_999)
            .unwrap_or(10.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round() {
        for (rough, step) in [
            (0.7, 1.0),
            (1.0, 1.0),
            (1.3, 2.0),
            (23.0, 50.0),
            (0.06, 0.1),
        ] {
            assert!((round_step(rough) / step - 1.0).abs() < 1e-9, "{rough}");
        }
    }

    #[test]
    fn a_level_line_stays_inside_the_frame() {
        let axis = Axis::over([3.0, 3.0].into_iter(), 1.0, 100.0, -50.0);
        assert!(axis.from <= 2.5 && axis.to >= 3.5);
        assert!((50.0..=100.0).contains(&axis.px(3.0)));
        let empty = Axis::over(std::iter::empty(), 1.0, 0.0, 10.0);
        assert!(empty.px(0.5).is_finite() && !empty.ticks().is_empty());
        let nothing = Axis::from_zero(std::iter::empty(), 0.0, 10.0);
        assert!(nothing.px(0.0).is_finite() && nothing.ticks().len() < 30);
    }
}
