//! The prompt under a real terminal.
