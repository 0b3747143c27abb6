//! Showing: takes finished records and returns text or pictures; computes nothing.
//!
//! [`text`] is for the terminal, [`html`] for paper and browsers, [`json`] for programs, [`heatmap`] the picture;
//! [`measuring`] is the sheet for the pocket, [`entry`] is what the prompt says, [`explain`] what the words mean.
//! What a report says, and in which order, is laid down once in `story`; the screen and the page only set it.

mod drawing;
pub mod entry;
pub mod explain;
pub mod fonts;
pub mod heatmap;
pub mod history;
pub mod html;
pub mod job;
pub mod json;
pub mod measuring;
pub mod notices;
pub mod numbers;
mod outline;
mod story;
pub mod taping;
pub mod text;
pub mod trials;
pub mod truth;
mod words;

/// Text from a file made harmless for a terminal and a page: no control characters, so no terminal escapes,
/// and none of the invisible characters that reorder or hide text. Line breaks and tabs become spaces.
pub fn plain(text: &str) -> String {
    text.chars()
        .filter_map(|c| match c {
            '\n' | '\r' | '\t' => Some(' '),
            c if c.is_control() => None,
            // Marks, embeddings, overrides and isolates of text direction; separators; byte-order mark.
            '\u{61c}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}' => None,
            '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' => None,
            // Not allowed in XML 1.0 (2.2).
            '\u{fffe}' | '\u{ffff}' => None,
            c => Some(c),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::plain;

    #[test]
    fn terminal_escapes_and_hidden_characters_are_stripped() {
        assert_eq!(plain("a\u{1b}[31mb\u{9b}2Jc\u{7}\nd\u{202e}e\u{feff}"), "a[31mb2Jc de");
        assert_eq!(plain("Tür 3/4″ ± ½"), "Tür 3/4″ ± ½");
    }
}
