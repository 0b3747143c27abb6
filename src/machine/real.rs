//! Numbers the geometry is written in: plain `f64`, and dual numbers that carry exact partial derivatives.
//!
//! A dual number is a value with its derivatives by N variables (forward-mode differentiation,
//! [Griewank and Walther](crate::references::GRIEWANK_2008), chapter 3). The same formulas serve both, so value and derivative
//! cannot drift apart.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// What the geometry asks of a number.
pub trait Real:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
{
    /// A constant.
    fn constant(value: f64) -> Self;
    /// The value without derivatives.
    fn value(self) -> f64;
    /// f(self), given f and f' at the value.
    fn chain(self, f: f64, derivative: f64) -> Self;
    /// Angle of the vector (`x`, `self`), rad.
    fn atan2(self, x: Self) -> Self;

    /// Square root.
    fn sqrt(self) -> Self {
        let root = self.value().sqrt();
        self.chain(root, 0.5 / root)
    }
    /// Sine.
    fn sin(self) -> Self {
        self.chain(self.value().sin(), self.value().cos())
    }
    /// Cosine.
    fn cos(self) -> Self {
        self.chain(self.value().cos(), -self.value().sin())
    }
    /// Arc sine.
    fn asin(self) -> Self {
        let v = self.value();
        self.chain(v.asin(), 1.0 / (1.0 - v * v).sqrt())
    }
    /// ln(1 + z) / z, smooth through z = 0.
    fn ln_1p_over(self) -> Self {
        let z = self.value();
        if z.abs() < 0.01 {
            // Mercator's series, 12 terms: the remainder is under 1e-25.
            let (mut f, mut slope, mut power) = (0.0, 0.0, 1.0);
            for k in 0..12 {
                let sign = if k % 2 == 0 { 1.0 } else { -1.0 };
                f += sign * power / f64::from(k + 1);
                slope -= sign * power * f64::from(k + 1) / f64::from(k + 2);
                power *= z;
            }
            self.chain(f, slope)
        } else {
            let f = z.ln_1p() / z;
            self.chain(f, (1.0 / (1.0 + z) - f) / z)
        }
    }
}

impl Real for f64 {
    fn constant(value: f64) -> Self {
        value
    }
    fn value(self) -> f64 {
        self
    }
    fn chain(self, f: f64, _: f64) -> Self {
        f
    }
    fn atan2(self, x: Self) -> Self {
        f64::atan2(self, x)
    }
}

/// A value with its partial derivatives by N variables.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dual<const N: usize> {
    /// The value.
    pub value: f64,
    /// Its partial derivatives.
    pub partials: [f64; N],
}

impl<const N: usize> Dual<N> {
    /// The k-th variable itself.
    pub fn variable(value: f64, k: usize) -> Self {
        let mut partials = [0.0; N];
        partials[k] = 1.0;
        Self { value, partials }
    }

    #[inline]
    fn combine(mut self, other: Self, value: f64, by_self: f64, by_other: f64) -> Self {
        self.value = value;
        for k in 0..N {
            self.partials[k] = by_self * self.partials[k] + by_other * other.partials[k];
        }
        self
    }
}

impl<const N: usize> Real for Dual<N> {
    fn constant(value: f64) -> Self {
        Self { value, partials: [0.0; N] }
    }
    fn value(self) -> f64 {
        self.value
    }
    // Loops, not `map`: these are the innermost operations of everything, and `map` on arrays is not inlined.
    #[inline]
    fn chain(mut self, f: f64, derivative: f64) -> Self {
        self.value = f;
        for p in &mut self.partials {
            *p *= derivative;
        }
        self
    }
    fn atan2(self, x: Self) -> Self {
        let square = self.value * self.value + x.value * x.value;
        self.combine(x, self.value.atan2(x.value), x.value / square, -self.value / square)
    }
}

impl<const N: usize> Add for Dual<N> {
    type Output = Self;
    #[inline]
    fn add(self, o: Self) -> Self {
        self.combine(o, self.value + o.value, 1.0, 1.0)
    }
}

impl<const N: usize> Sub for Dual<N> {
    type Output = Self;
    #[inline]
    fn sub(self, o: Self) -> Self {
        self.combine(o, self.value - o.value, 1.0, -1.0)
    }
}

impl<const N: usize> Mul for Dual<N> {
    type Output = Self;
    #[inline]
    fn mul(self, o: Self) -> Self {
        self.combine(o, self.value * o.value, o.value, self.value)
    }
}

impl<const N: usize> Div for Dual<N> {
    type Output = Self;
    #[inline]
    fn div(self, o: Self) -> Self {
        let quotient = self.value / o.value;
        self.combine(o, quotient, 1.0 / o.value, -quotient / o.value)
    }
}

impl<const N: usize> Neg for Dual<N> {
    type Output = Self;
    #[inline]
    fn neg(self) -> Self {
        self.chain(-self.value, -1.0)
    }
}

impl<const N: usize> Add<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn add(self, c: f64) -> Self {
        self.chain(self.value + c, 1.0)
    }
}

impl<const N: usize> Sub<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn sub(self, c: f64) -> Self {
        self.chain(self.value - c, 1.0)
    }
}

impl<const N: usize> Mul<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn mul(self, c: f64) -> Self {
        self.chain(self.value * c, c)
    }
}
