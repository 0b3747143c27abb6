//! Weighted nonlinear least squares for small, hard problems. Knows no holes, chains or tapes.
//!
//! # The question
//!
//! Given m residuals r(x) of n unknowns x, each already divided by its own standard deviation ("whitened", so
//! that the covariance of r is the identity), find the x that makes
//!
//! ```text
//! S(x) = r_1(x)^2 + ... + r_m(x)^2
//! ```
//!
//! smallest, say how well that x is known, and name the directions of x that the residuals do not determine.
//!
//! # Symbols
//!
//! | symbol | shape | meaning |
//! |---|---|---|
//! | x | n | unknowns |
//! | r(x) | m | whitened residuals; a prior x_j = a with standard deviation s is one more row, (x_j - a)/s |
//! | J | m x n | Jacobian, J_ij = dr_i/dx_j |
//! | D | n x n | diagonal scaling, the column norms of J |
//! | p | n | a step, x becomes x + p |
//! | lambda | | damping; 0 is the Gauss-Newton step |
//! | h_i | | leverage, the i-th diagonal element of the projector Q1 Q1' onto the columns of J |
//!
//! # The rooms
//!
//! [`Problem`] is what a caller writes, [`solve`] finds the minimum, [`Spectrum`] judges rank and gives the
//! covariance, [`leverages`] serves the statistics of single residuals.
//!
//! # Sources
//!
//! - Å. Björck, *Numerical Methods for Least Squares Problems*, SIAM 1996: Householder QR with column
//!   pivoting, scaling, rounding errors.
//! - J. J. Moré, "The Levenberg-Marquardt algorithm: implementation and theory", in *Numerical Analysis*,
//!   Lecture Notes in Mathematics 630, Springer 1978: column scaling, the search for lambda.
//! - J. Nocedal and S. J. Wright, *Numerical Optimization*, 2nd edition, Springer 2006, chapters 4 and 10.
//! - M. K. Transtrum and J. P. Sethna, "Improvements to the Levenberg-Marquardt algorithm for nonlinear
//!   least-squares minimization", arXiv:1201.5885 (2012): the acceleration along a damped step.
//! - D. M. Bates and D. G. Watts, "A relative offset orthogonality convergence criterion for nonlinear least
//!   squares", *Technometrics* 23 (1981) 179-183.
//! - Å. Björck, "Iterative refinement of linear least squares solutions I", *BIT* 7 (1967) 257-278.
//! - J. Demmel and K. Veselić, "Jacobi's method is more accurate than QR", *SIAM J. Matrix Anal. Appl.* 13
//!   (1992) 1204-1245: the one-sided Jacobi singular values.
//!
//! # How far it can be trusted
//!
//! The test `nist` holds this room against the Statistical Reference Datasets of the National Institute of
//! Standards and Technology: linear parameters to 9 digits or more, nonlinear ones to 8 or more, from all 54
//! starts. Two limits are not the solver's. A residual is known no better than its own rounding, and a
//! Jacobian no better than its: in the hardest linear set (Filip, a polynomial of degree 10 with condition
//! number near 1e10) rounding the powers of the predictor to doubles alone moves the exact solution in the
//! eighth digit. There 9 digits come only because the caller hands over residuals that are right to the last
//! place.

mod damping;
mod line;
mod problem;
mod qr;
mod refinement;
mod solution;
mod solver;
mod spectrum;

pub use line::{FittedLine, Line};
pub use problem::{Evaluation, OutOfDomain, Problem};
pub use solution::{Options, Solution, Stop};
pub use solver::solve;
pub use spectrum::{Spectrum, Undetermined, leverages};
