//! Weighted nonlinear least squares for small, hard problems. Knows no holes, chains or tapes.
