//! Forward-mode derivatives for the model formulas: a value and its partials by up to nine parameters.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// The largest number of parameters in the nonlinear collection (ENSO).
pub const MOST: usize = 9;

#[derive(Clone, Copy)]
pub struct Dual {
    pub value: f64,
    pub partials: [f64; MOST],
}

impl Dual {
    pub fn constant(value: f64) -> Self {
        Self { value, partials: [0.0; MOST] }
    }

    pub fn parameter(index: usize, value: f64) -> Self {
        let mut dual = Self::constant(value);
        dual.partials[index] = 1.0;
        dual
    }

    /// f(self), given f and f' at its value.
    fn chain(self, value: f64, slope: f64) -> Self {
        Self { value, partials: self.partials.map(|partial| slope * partial) }
    }

    /// f(self, other), given f and both its partial derivatives there.
    fn chain_two(self, other: Self, value: f64, by_self: f64, by_other: f64) -> Self {
        let partials = std::array::from_fn(|i| by_self * self.partials[i] + by_other * other.partials[i]);
        Self { value, partials }
    }

    pub fn exp(self) -> Self {
        self.chain(self.value.exp(), self.value.exp())
    }

    pub fn sin(self) -> Self {
        self.chain(self.value.sin(), self.value.cos())
    }

    pub fn cos(self) -> Self {
        self.chain(self.value.cos(), -self.value.sin())
    }

    pub fn atan(self) -> Self {
        self.chain(self.value.atan(), 1.0 / (1.0 + self.value * self.value))
    }

    pub fn ln(self) -> Self {
        self.chain(self.value.ln(), 1.0 / self.value)
    }

    pub fn squared(self) -> Self {
        self * self
    }

    /// self to a constant power.
    pub fn powf(self, exponent: f64) -> Self {
        self.chain(self.value.powf(exponent), exponent * self.value.powf(exponent - 1.0))
    }

    /// self to a power that depends on parameters; not a number for a negative base.
    pub fn pow(self, exponent: Self) -> Self {
        (self.ln() * exponent).exp()
    }
}

impl Add for Dual {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        self.chain_two(other, self.value + other.value, 1.0, 1.0)
    }
}

impl Sub for Dual {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self.chain_two(other, self.value - other.value, 1.0, -1.0)
    }
}

impl Mul for Dual {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        self.chain_two(other, self.value * other.value, other.value, self.value)
    }
}

impl Div for Dual {
    type Output = Self;
    fn div(self, other: Self) -> Self {
        let value = self.value / other.value;
        self.chain_two(other, value, other.value.recip(), -value / other.value)
    }
}

impl Neg for Dual {
    type Output = Self;
    fn neg(self) -> Self {
        self.chain(-self.value, -1.0)
    }
}

/// Mixed arithmetic with plain numbers.
macro_rules! with_numbers {
    ($($operator:ident $method:ident),*) => {$(
        impl $operator<f64> for Dual {
            type Output = Self;
            fn $method(self, other: f64) -> Self {
                $operator::$method(self, Self::constant(other))
            }
        }
        impl $operator<Dual> for f64 {
            type Output = Dual;
            fn $method(self, other: Dual) -> Dual {
                $operator::$method(Dual::constant(self), other)
            }
        }
    )*};
}
with_numbers!(Add add, Sub sub, Mul mul, Div div);
