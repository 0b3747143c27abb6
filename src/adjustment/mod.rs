//! The adjustment: from distances to the machine's unknowns, by least squares on a mixed model.
//!
//! # Model
//!
//! Hole i lands at X_i = land(theta; target_i) + e_i, where e_i ~ N(0, sigma_h^2) per axis is the machine's own
//! scatter. A distance read between holes i and j with instrument k is
//! |X_i - X_j| (1 + s_k/1000) + z_k + noise; from an edge, the perpendicular distance takes the place of |X_i - X_j|.
//! theta are the unknowns of the machine, s_k and z_k the shared scale (mm/m) and zero (mm) of an instrument. What
//! was believed before the readings enters as one observation for each of theta, s, z and e.
//!
//! # Solution
//!
//! phi = (theta, s, z) is found by [`crate::fit::solve`]. The e_i enter almost linearly and only through their own
//! holes, so they are eliminated hole by hole inside the residual (variable projection:
//! [Golub and Pereyra](crate::references::GOLUB_PEREYRA_1973), [Kaufman](crate::references::KAUFMAN_1975)). With whitened rows r, their derivatives A by phi and B
//! by e, and N = B'B + I/sigma_h^2, the projected rows are
//!
//! [A - B K; -K/sigma_h],  K = N^-1 B'A,
//!
//! on which the solver's QR works, so that the conditioning of phi is never squared; N is well conditioned by its
//! prior. Every covariance of the joint problem follows: cov(phi) = C from the projected rows,
//! cov(e) = N^-1 + K C K', cov(e, phi) = -K C.

mod elimination;
mod fitted;
mod model;
mod normal;

pub use elimination::Rows;
pub use fitted::{Fitted, Prediction};
pub use model::{Ends, Model, Observation, Parameter, Quantity};
