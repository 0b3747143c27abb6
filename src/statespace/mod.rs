//! A linear Gaussian state-space model: what is known of a state that changes, from observations over time.
//! Knows no machines, chains or tapes.
//!
//! # The question
//!
//! A state x of n numbers changes from look to look, partly in a known way, partly at random, and each look sees some
//! combinations of it with noise. What was the state at each look, given those up to it ([`filter()`]) or all of
//! them ([`smooth()`]), and what will it be ([`ahead`])?
//!
//! ```text
//! x_t = F_t x_(t-1) + b_t + w_t,   w_t ~ N(0, Q_t)      the way from one look to the next
//! z_t = H_t x_t + v_t,             v_t ~ N(0, R_t)      the look
//! ```
//!
//! x_0, before the first step, is the initial [`State`]. All w and v are independent of each other and of x_0.
//!
//! | symbol | field of [`Step`] | shape | unit |
//! |---|---|---|---|
//! | F | `transition` | n x n | state i per state j |
//! | Q | `noise` | n x n, any covariance, singular or nought too | products of the states' units |
//! | b | `shift` | n | the states' units |
//! | H | `rows` | m x n, m may be 0 (a step without a look) and may differ from step to step | observation per state |
//! | z | `values` | m | the observations' own |
//! | R | `rows_noise` | m x m covariance | products of the observations' units |
//!
//! The units are the caller's, and may differ from state to state: the arithmetic scales each state for itself.
//!
//! # How it is computed
//!
//! No covariance is ever subtracted from another. A covariance P is held as a root S, P = S'S, and moved on by orthogonal
//! triangularisation alone, so that it stays symmetric and not negative, even where an initial standard deviation is a
//! million times what the looks leave. With S, and roots of Q and R,
//!
//! ```text
//! predict:  [ S F'    ]     [ S_p ]          look:  [ R^(1/2)    0   ]     [ U  W   ]
//!           [ Q^(1/2) ]  -> [  0  ]                 [ S_p H'    S_p  ]  -> [ 0  S_f ]
//! ```
//!
//! U'U is the covariance of the innovation v = z - H x_p, e = U^(-T) v is it normalised (independent, each of variance 1 when
//! the model is true), and the state moves by W'e ([Anderson and Moore](crate::references::ANDERSON_MOORE_1979), section 6.5;
//! [Kailath, Sayed and Hassibi](crate::references::KAILATH_2000), chapter 12). The logarithm of the likelihood is the sum of
//! -(m ln 2 pi + e'e)/2 - ln |det U| ([Durbin and Koopman](crate::references::DURBIN_KOOPMAN_2012), section 7.2).
//!
//! The smoother is that of [Rauch, Tung and Striebel](crate::references::RTS_1965). With the array
//! [S_f F', S_f; Q^(1/2), 0] made triangular into [S_p, Y; 0, Z], its gain is G' = S_p^(-1) Y, and what the next state
//! does not tell of this one has the root Z, so that again only sums are formed:
//! P_s = Z'Z + G P_s(next) G'. Where a state is known for certain, or follows from others, S_p is singular; the columns
//! that follow from earlier ones are left out, which changes nothing.

mod filter;
mod smooth;
mod state;
mod step;
mod triangle;

pub use filter::{Filtered, Looked, ahead, filter};
pub use smooth::{Smoothed, smooth};
pub use state::State;
pub use step::{Fault, Step};

#[cfg(test)]
mod tests;
