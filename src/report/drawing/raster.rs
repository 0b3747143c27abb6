//! The picture as PNG: drawn larger, averaged down.

use super::canvas::{Canvas, Failed, Kind, OVERSAMPLE, register_fonts};
use plotters::prelude::*;

/// Draws `size` units and returns the bytes of a PNG file of as many pixels.
pub(in crate::report) fn png(
    size: (f64, f64),
    drawing: impl FnOnce(&Canvas<'_, BitMapBackend<'_>>) -> Result<(), Failed<BitMapBackend<'static>>>,
) -> Vec<u8> {
    register_fonts();
    let (w, h) = (size.0.ceil() as u32, size.1.ceil() as u32);
    let large = (w * OVERSAMPLE, h * OVERSAMPLE);
    let mut pixels = vec![255; (large.0 * large.1 * 3) as usize];
    {
        let area = BitMapBackend::with_buffer(&mut pixels, large).into_drawing_area();
        let canvas = Canvas { area: &area, kind: Kind::Raster, origin: (0.0, 0.0) };
        // Writing into memory does not fail, and the fonts are embedded: nothing to report.
        let _ = drawing(&canvas).and_then(|()| area.present());
    }
    encode(&halve(&pixels, w as usize), w, h)
}

/// Averages every 2 x 2 pixels of a picture that is to be `width` wide.
fn halve(pixels: &[u8], width: usize) -> Vec<u8> {
    let row = 2 * width * 3;
    let mut out = Vec::with_capacity(pixels.len() / 4);
    for two in pixels.chunks_exact(2 * row) {
        let (upper, lower) = two.split_at(row);
        let (upper, lower) = (upper.as_chunks::<6>().0, lower.as_chunks::<6>().0);
        out.extend(upper.iter().zip(lower).flat_map(|(u, l)| {
            [0, 1, 2].map(|c| {
                let sum = u16::from(u[c]) + u16::from(u[c + 3]) + u16::from(l[c]) + u16::from(l[c + 3]);
                ((sum + 2) / 4) as u8
            })
        }));
    }
    out
}

fn encode(pixels: &[u8], width: u32, height: u32) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::Fast);
    // Large even areas: the row above says it all, and trying every filter costs more than it saves.
    encoder.set_filter(png::Filter::Up);
    // Writing into memory with a size that matches does not fail.
    let _ = encoder.write_header().and_then(|mut writer| writer.write_image_data(pixels));
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_pixels_become_their_mean() {
        let grey = |v: u8| [v; 3];
        let pixels = [grey(0), grey(10), grey(20), grey(31)].concat();
        assert_eq!(halve(&pixels, 1), [15, 15, 15]);
    }
}
