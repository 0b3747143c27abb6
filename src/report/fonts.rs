//! The embedded typeface, Inter (SIL Open Font License 1.1; its text is in the folder of the same name).

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use std::sync::LazyLock;

/// Who made the typeface and under which licence it is embedded.
pub const LICENCE_LINE: &str =
    "Set in Inter, copyright 2020 The Inter Project Authors, under the SIL Open Font License 1.1.";

/// `@font-face` rules that bring both weights along, for pages and stand-alone pictures.
pub fn face_css() -> &'static str {
    static CSS: LazyLock<String> = LazyLock::new(|| {
        let regular: &[u8] = include_bytes!("fonts/inter-regular.woff2");
        let semibold: &[u8] = include_bytes!("fonts/inter-semibold.woff2");
        [(400, regular), (600, semibold)]
            .map(|(weight, font)| {
                format!(
                    "@font-face{{font-family:Tautgrid;font-weight:{weight};\
                     src:url(data:font/woff2;base64,{}) format(\"woff2\")}}\n",
                    STANDARD.encode(font)
                )
            })
            .concat()
    });
    &CSS
}
