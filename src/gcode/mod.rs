//! A pattern as an RS274/NGC program.
