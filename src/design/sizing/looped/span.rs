//! A span of numbers from a lower to an upper end.

/// What rounding may put wrong in a bound of a span, beside the share of the bound itself.
const ROUNDING: f64 = 1e-9;

/// All numbers from `lo` to `hi`; none if `lo` is above `hi`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Span {
    pub(super) lo: f64,
    pub(super) hi: f64,
}

impl Span {
    pub(super) fn at(value: f64) -> Self {
        Self {
            lo: value,
            hi: value,
        }
    }

    pub(super) fn width(self) -> f64 {
        self.hi - self.lo
    }

    pub(super) fn middle(self) -> f64 {
        0.5 * (self.lo + self.hi)
    }

    /// Least size of a number in it, without sign.
    pub(super) fn least_abs(self) -> f64 {
        self.lo.max(-self.hi).max(0.0)
    }

    pub(super) fn plus(self, other: Self) -> Self {
        Self {
            lo: self.lo + other.lo,
            hi: self.hi + other.hi,
        }
    }

    pub(super) fn minus(self, other: Self) -> Self {
        Self {
            lo: self.lo - other.hi,
            hi: self.hi - other.lo,
        }
    }

    /// Times 1 or -1.
    pub(super) fn signed(self, sign: f64) -> Self {
        if sign < 0.0 {
            Self {
                lo: -self.hi,
                hi: -self.lo,
            }
        } else {
            self
        }
    }

    /// Takes away what lies outside `other` by more than rounding; tells by how much it became shorter.
    pub(super) fn keep(&mut self, other: Self) -> f64 {
        let before = self.width();
        let lo = other.lo - ROUNDING * (1.0 + other.lo.abs());
        let hi = other.hi + ROUNDING * (1.0 + other.hi.abs());
        self.lo = self.lo.max(lo);
        self.hi = self.hi.min(hi);
        before - self.width()
    }

    pub(super) fn is_empty(self) -> bool {
        self.lo > self.hi
    }

    /// Whether it and `other` have nothing in common, rounding left out of account.
    pub(super) fn misses(self, other: Self) -> bool {
        let slack = ROUNDING * (1.0 + self.lo.abs().max(self.hi.abs()));
        self.lo > other.hi + slack || self.hi < other.lo - slack
    }
}
