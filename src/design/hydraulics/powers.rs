//! Powers of many numbers at once, in the widest lanes that the machine has.
//!
//! `x^y = 2^n e^r`, written without branches and library calls so that the compiler does several at once. Exact to a few
//! units of 1e-15 for what flows are; only multiplications and additions, so that every machine finds the same.

use std::f64::consts::{LN_2, LOG2_E};

/// Bits of one, and of the square root of a half.
const ONE: u64 = 0x3FF0_0000_0000_0000;
const ROOT_OF_HALF: u64 = 0x3FE6_A09E_667F_3BCD;
/// Adding it to a number rounds that to whole; its last bits then hold that whole.
const WHOLE: f64 = 6_755_399_441_055_744.0; // 1.5 · 2^52
/// `2^52`: its bits with a small whole number in them are that much more.
const SHIFT: f64 = 4_503_599_627_370_496.0;
/// Logarithm of two in two parts; the first has zeros at its end, so that its product with `n` is exact.
const LN_2_HIGH: f64 = 0.693_147_180_369_123_8;
const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;
/// 13! down to 0!.
const FACTORIALS: [f64; 14] = [
    6_227_020_800.0,
    479_001_600.0,
    39_916_800.0,
    3_628_800.0,
    362_880.0,
    40_320.0,
    5_040.0,
    720.0,
    120.0,
    24.0,
    6.0,
    2.0,
    1.0,
    1.0,
];
/// Greatest exponent of e that is worked with: beyond it lies nothing that flows.
const MOST: f64 = 700.0;

/// `x^y` for `x` of 0 or more; next to nothing for 0 where `y` is above 0.
#[inline(always)]
pub(super) fn power(x: f64, y: f64) -> f64 {
    exponential(y * logarithm(x))
}

/// Natural logarithm of a number that is not negative; about -709 for 0.
#[inline(always)]
fn logarithm(x: f64) -> f64 {
    // x = 2^n m with m between the root of a half and the root of two.
    let n = (x.to_bits() + (ONE - ROOT_OF_HALF)) >> 52;
    let m = f64::from_bits(x.to_bits().wrapping_sub(n << 52).wrapping_add(ONE));
    let n = f64::from_bits(n | SHIFT.to_bits()) - (SHIFT + 1023.0);
    // ln m = 2 artanh s, by its series: s² is under 0.0295.
    let s = (m - 1.0) / (m + 1.0);
    let t = s * s;
    let mut sum = 1.0 / 21.0;
    for odd in [19.0, 17.0, 15.0, 13.0, 11.0, 9.0, 7.0, 5.0, 3.0] {
        sum = sum * t + 1.0 / odd;
    }
    n * LN_2 + (2.0 * s + 2.0 * s * (t * sum))
}

/// `e^x`, held between `e^-700` and `e^700`.
#[inline(always)]
fn exponential(x: f64) -> f64 {
    let x = x.clamp(-MOST, MOST);
    let whole = x * LOG2_E + WHOLE;
    let n = whole - WHOLE;
    let r = (x - n * LN_2_HIGH) - n * LN_2_LOW;
    // Taylor's series: r is at most 0.347.
    let mut sum = 1.0 / FACTORIALS[0];
    for factorial in &FACTORIALS[1..] {
        sum = sum * r + 1.0 / factorial;
    }
    f64::from_bits(sum.to_bits().wrapping_add(whole.to_bits() << 52))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(5000))]

        #[test]
        fn powers_are_those_of_the_library(log_x in -30f64..5.0, y in -0.5f64..19.0) {
            let x = 10f64.powf(log_x);
            let (found, expected) = (power(x, y), x.powf(y));
            // An error of one digit in the logarithm counts as often as the logarithm is large.
            let digits = 4.0 + (y * x.ln()).abs();
            if expected > 1e-300 {
                prop_assert!((found / expected - 1.0).abs() < digits * 4e-16, "{x}^{y}: {found}");
            }
        }
    }

    #[test]
    fn nothing_to_a_power_is_next_to_nothing() {
        assert!((0.0..1e-200).contains(&power(0.0, 0.852)));
        assert_eq!(power(0.0, 0.0), 1.0);
        assert_eq!(power(1.0, 7.3), 1.0);
    }
}
