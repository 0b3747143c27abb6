//! Lines from a stream, one at a time, in bounded memory.

use std::io::{self, BufRead};

/// Longest line that is read, bytes. NIST IR 6556 allows 256; comments of drawing programs are longer.
pub const LONGEST_LINE: usize = 4096;

/// One line as it came.
#[derive(Debug, Default)]
pub struct Source {
    /// The line without its end; cut off when it is too long.
    pub line: Vec<u8>,
    /// Its line end: nothing, a line feed, or carriage return and line feed.
    pub end: &'static [u8],
    /// Was it longer than [`LONGEST_LINE`]?
    pub too_long: bool,
    /// Its number, from 1.
    pub number: usize,
}

impl Source {
    /// Takes the next line; `false` at the end.
    ///
    /// # Errors
    /// When the stream cannot be read.
    pub fn next(&mut self, input: &mut impl BufRead) -> io::Result<bool> {
        self.line.clear();
        self.end = b"";
        self.too_long = false;
        let mut any = false;
        loop {
            let piece = match input.fill_buf() {
                Err(e) if e.kind() == io::ErrorKind::Interrupted => continue,
                piece => piece?,
            };
            if piece.is_empty() {
                break;
            }
            any = true;
            let feed = piece.iter().position(|b| *b == b'\n');
            let part = &piece[..feed.unwrap_or(piece.len())];
            let room = (LONGEST_LINE + 1).saturating_sub(self.line.len());
            self.too_long |= part.len() > room;
            self.line.extend_from_slice(&part[..part.len().min(room)]);
            let used = part.len() + usize::from(feed.is_some());
            input.consume(used);
            if feed.is_some() {
                self.end = b"\n";
                break;
            }
        }
        if self.end == b"\n" && self.line.last() == Some(&b'\r') && !self.too_long {
            self.line.pop();
            self.end = b"\r\n";
        }
        self.too_long |= self.line.len() > LONGEST_LINE;
        self.line.truncate(LONGEST_LINE);
        self.number += usize::from(any);
        Ok(any)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::BufReader;

    #[test]
    fn lines_keep_their_ends_and_long_ones_are_cut() {
        let long = "x".repeat(3 * LONGEST_LINE);
        let exact = "y".repeat(LONGEST_LINE);
        let text = format!("a\r\n\n{long}\nb\rc\n{exact}\nlast");
        for capacity in [1, 7, 100_000] {
            let mut input = BufReader::with_capacity(capacity, text.as_bytes());
            let mut source = Source::default();
            let mut lines = Vec::new();
            while source.next(&mut input).unwrap() {
                lines.push((source.line.len(), source.end, source.too_long, source.number));
            }
            let n = LONGEST_LINE;
            assert_eq!(
                lines,
                [
                    (1, &b"\r\n"[..], false, 1),
                    (0, &b"\n"[..], false, 2),
                    (n, &b"\n"[..], true, 3),
                    (3, &b"\n"[..], false, 4),
                    (n, &b"\n"[..], false, 5),
                    (4, &b""[..], false, 6),
                ]
            );
        }
    }
}
