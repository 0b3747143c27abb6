//! What was typed at the prompt, cut into a reading and the words behind it, or a word of command.

use crate::readings::How;
use crate::text::nearest;

/// A reading with what was said of it on the same line.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Typed {
    /// The reading as typed.
    pub reading: String,
    /// Between which rims, when said.
    pub how: Option<How>,
    /// The mark at which the tape was started, when said.
    pub start: Option<String>,
    /// The instrument, when said.
    pub instrument: Option<String>,
    /// A note, when given.
    pub note: Option<String>,
}

/// One line of the person's.
#[derive(Debug, Clone, PartialEq)]
pub enum Word {
    /// A reading.
    Reading(Typed),
    /// Nothing: keep what is there, or ask again.
    Nothing,
    /// Leave this distance for later.
    Skip,
    /// To the distance before.
    Back,
    /// A note on the distance that is asked for.
    Note(String),
    /// A second reading of the distance just taken.
    Again,
    /// To another distance.
    Go(String, String),
    /// From now on the tape is started at this mark.
    Start(String),
    /// The words that can be typed.
    Help,
    /// What is still to be taken.
    List,
    /// Enough for now.
    Stop,
    /// No such word; the nearest that there is.
    Unknown(Option<&'static str>),
}

/// Words of command.
const WORDS: [&str; 9] = ["skip", "back", "note", "again", "go", "start", "help", "list", "stop"];

/// Understands a line.
pub fn understand(line: &str) -> Word {
    let line = line.trim();
    let (first, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let rest = rest.trim();
    let lower = first.to_lowercase();
    match (lower.as_str(), rest.is_empty()) {
        ("", _) => return Word::Nothing,
        ("skip" | "s" | "next", true) => return Word::Skip,
        ("back" | "b", true) => return Word::Back,
        ("again" | "second" | "repeat", true) => return Word::Again,
        ("help" | "h" | "?", _) => return Word::Help,
        ("list" | "l", true) => return Word::List,
        ("stop" | "quit" | "exit" | "q", true) => return Word::Stop,
        ("note" | "n", _) => return Word::Note(rest.to_owned()),
        ("start", false) => return Word::Start(rest.to_owned()),
        ("go", false) => return go(rest),
        _ => {}
    }
    if line.starts_with(|c: char| c.is_ascii_digit() || "½¼¾⅛⅜⅝⅞⅓⅔.,+-\u{2212}".contains(c)) {
        return Word::Reading(reading(line));
    }
    match go(line) {
        Word::Go(a, b) if looks_like_a_place(&a) && looks_like_a_place(&b) => Word::Go(a, b),
        _ if nearest(&lower, WORDS).is_some() => Word::Unknown(nearest(&lower, WORDS)),
        // Letters where digits belong: the reader of lengths knows what may have been meant.
        _ if line.contains(|c: char| c.is_ascii_digit()) => Word::Reading(reading(line)),
        _ => Word::Unknown(None),
    }
}

/// `A1 G5`, `A1 to G5`, `A1-G5`.
fn go(text: &str) -> Word {
    let ends: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || c == '-' || c == ',')
        .filter(|w| !w.is_empty() && !w.eq_ignore_ascii_case("to"))
        .collect();
    match ends.as_slice() {
        [a, b] => Word::Go((*a).to_owned(), (*b).to_owned()),
        _ => Word::Unknown(Some("go")),
    }
}

fn looks_like_a_place(word: &str) -> bool {
    let edges = ["left", "right", "top", "bottom", "key"];
    let letters = word.chars().take_while(char::is_ascii_alphabetic).count();
    edges.iter().any(|e| e.eq_ignore_ascii_case(word))
        || ((1..=2).contains(&letters)
            && word.len() > letters
            && word[letters..].chars().all(|c| c.is_ascii_digit()))
}

/// `1463.5 outside from 100 with tape note rim torn`, the words in any order, the note last.
fn reading(line: &str) -> Typed {
    let mut typed = Typed::default();
    let lower = line.to_lowercase();
    let line = match lower.find(" note ").filter(|_| lower.len() == line.len()) {
        Some(at) => {
            typed.note = Some(line[at + " note ".len()..].trim().to_owned());
            &line[..at]
        }
        None => line,
    };
    // Each word after the reading begins a part of its own.
    let mut parts: Vec<(String, Vec<&str>)> = vec![(String::new(), Vec::new())];
    for word in line.split_whitespace() {
        match word.to_lowercase().as_str() {
            name @ ("from" | "start" | "with" | "inside" | "outside" | "centre" | "center") => {
                parts.push((name.to_owned(), Vec::new()));
            }
            _ => parts.last_mut().expect("there is a first part").1.push(word),
        }
    }
    for (name, words) in parts {
        let text = words.join(" ");
        match name.as_str() {
            "from" | "start" => typed.start = Some(text),
            "with" => typed.instrument = Some(text),
            "inside" | "outside" | "centre" | "center" => {
                typed.how = Some(match name.as_str() {
                    "inside" => How::Inside,
                    "outside" => How::Outside,
                    _ => How::Centre,
                });
                // `outside 389.3` says the same as `389.3 outside`.
                if typed.reading.is_empty() {
                    typed.reading = text;
                } else if !text.is_empty() {
                    typed.reading = format!("{} {text}", typed.reading);
                }
            }
            _ => typed.reading = text,
        }
    }
    typed
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(reading: &str) -> Typed {
        Typed { reading: reading.to_owned(), ..Typed::default() }
    }

    #[test]
    fn readings_with_words_behind_them() {
        let full = Typed {
            reading: "2628.5".to_owned(),
            how: Some(How::Outside),
            start: Some("100".to_owned()),
            instrument: Some("long tape".to_owned()),
            note: Some("rim torn, from 3 sides".to_owned()),
        };
        for (line, expected) in [
            ("2628.5 outside from 100 with long tape note rim torn, from 3 sides", full.clone()),
            ("2628.5 with long tape FROM 100 Outside Note rim torn, from 3 sides", full),
            ("48 5/8", typed("48 5/8")),
            ("4' 0 5/8\"", typed("4' 0 5/8\"")),
            ("½", typed("½")),
            ("12l9.4", typed("12l9.4")),
            ("l219.4", typed("l219.4")),
            ("-5", typed("-5")),
            ("48 5/8 from 10\"", Typed { start: Some("10\"".to_owned()), ..typed("48 5/8") }),
        ] {
            assert_eq!(understand(line), Word::Reading(expected), "{line}");
        }
    }

    #[test]
    fn words_of_command() {
        for (line, word) in [
            ("  ", Word::Nothing),
            ("SKIP", Word::Skip),
            ("b", Word::Back),
            ("note  rim torn", Word::Note("rim torn".to_owned())),
            ("note", Word::Note(String::new())),
            ("a1 to G5", Word::Go("a1".to_owned(), "G5".to_owned())),
            ("go left A1", Word::Go("left".to_owned(), "A1".to_owned())),
            ("KEY-F1", Word::Go("KEY".to_owned(), "F1".to_owned())),
            ("start 10 in", Word::Start("10 in".to_owned())),
            ("skpi", Word::Unknown(Some("skip"))),
            ("hullo?", Word::Unknown(None)),
            ("?", Word::Help),
            ("q", Word::Stop),
        ] {
            assert_eq!(understand(line), word, "{line}");
        }
    }
}
