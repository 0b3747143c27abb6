//! Showing: takes finished records and returns text or pictures; computes nothing.
