//! Drawing in our own units, as SVG and as PNG.

pub(in crate::report) mod canvas;
pub(in crate::report) mod path;
pub(in crate::report) mod raster;
pub(in crate::report) mod vector;
