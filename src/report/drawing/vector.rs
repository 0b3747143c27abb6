//! The picture as SVG.

use super::canvas::{Canvas, FAMILY, Failed, Kind, OVERSAMPLE, register_fonts};
use plotters::prelude::*;
use std::fmt::Write;

/// Draws `size` units and returns what is between `<svg>` and `</svg>`, with the size in units.
pub(in crate::report) struct Body {
    shapes: String,
    size: (f64, f64),
}

/// Draws into SVG shapes.
pub(in crate::report) fn draw(
    size: (f64, f64),
    drawing: impl FnOnce(&Canvas<'_, SVGBackend<'_>>) -> Result<(), Failed<SVGBackend<'static>>>,
) -> Body {
    register_fonts();
    let mut text = String::new();
    {
        let pixels = ((size.0 * f64::from(OVERSAMPLE)) as u32, (size.1 * f64::from(OVERSAMPLE)) as u32);
        let area = SVGBackend::with_string(&mut text, pixels).into_drawing_area();
        let canvas = Canvas { area: &area, kind: Kind::Vector, origin: (0.0, 0.0) };
        // Writing into a string does not fail, and the fonts are embedded: nothing to report.
        let _ = drawing(&canvas).and_then(|()| area.present());
    }
    let start = text.find('>').map_or(0, |k| k + 1);
    let end = text.rfind("</svg>").unwrap_or(text.len());
    let shapes = text[start..end].replace(" opacity=\"1\"", "").replace(" stroke=\"none\"", "");
    let family = format!("font-family=\"{FAMILY}\"");
    let shapes = shapes.replace(&family, "").replace("font-weight=\"bold\"", "font-weight=\"600\"");
    Body { shapes, size }
}

/// A stand-alone document, with the fonts inside.
pub(in crate::report) fn document(body: &Body, title: &str, description: &str) -> String {
    let style = format!("<style>{}</style>", crate::report::fonts::face_css());
    let open = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{:.0}\" height=\"{:.0}\"",
        body.size.0, body.size.1
    );
    whole(&open, &style, body, title, description)
}

/// An element for an HTML page that brings the fonts.
pub(in crate::report) fn element(body: &Body, title: &str, description: &str) -> String {
    whole("<svg", "", body, title, description)
}

fn whole(open: &str, style: &str, body: &Body, title: &str, description: &str) -> String {
    let (w, h) = (body.size.0 * f64::from(OVERSAMPLE), body.size.1 * f64::from(OVERSAMPLE));
    let mut out =
        format!("{open} viewBox=\"0 0 {w:.0} {h:.0}\" role=\"img\" font-family=\"{FAMILY}, sans-serif\">\n");
    let _ = writeln!(out, "<title>{}</title>", escape(title));
    if !description.is_empty() {
        let _ = writeln!(out, "<desc>{}</desc>", escape(description));
    }
    out + style + &body.shapes + "</svg>\n"
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
