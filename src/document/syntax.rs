//! What is not TOML, said so that a person who never heard of TOML can put it right.

use crate::mistake::{MOST, Mistake, in_order};

/// One mistake a line, in the order of the file.
pub(super) fn mistakes(text: &str, errors: &[toml::de::Error]) -> Vec<Mistake> {
    let all = errors
        .iter()
        .take(MOST)
        .map(|e| Mistake::new(e.span().unwrap_or(0..0), "the line cannot be read").found(e.message()));
    let mut all = in_order(text, all.collect());
    if all.iter().any(|m| m.found.starts_with("unclosed array"))
        && let Some(at) = open_list(text)
    {
        // Everything behind an open list was taken for a part of it: name the list and nothing behind it.
        all.retain(|m| m.span.start < at);
        all.push(Mistake::at(text, at..at + 1, "this list is never closed").expected("a ] at its end"));
    }
    all.dedup_by_key(|m| m.line);
    all.into_iter().map(in_plain_words_with_hint(text)).collect()
}

/// The bracket of the first list that is never closed. (Brackets in texts are counted like others.)
fn open_list(text: &str) -> Option<usize> {
    text.match_indices("= [").map(|(i, _)| i + 2).find(|at| {
        let mut depth = 0;
        text[*at..].bytes().all(|b| {
            depth += i32::from(b == b'[') - i32::from(b == b']');
            depth > 0
        })
    })
}

/// Puts the parser's message of each mistake, in the order of the file, into plain words.
fn in_plain_words_with_hint(text: &str) -> impl FnMut(Mistake) -> Mistake {
    let mut lines = text.lines().zip(1..);
    move |mistake| {
        let line = lines.find(|(_, n)| *n == mistake.line).map_or("", |(line, _)| line);
        in_plain_words(mistake, line)
    }
}

fn in_plain_words(mut mistake: Mistake, line: &str) -> Mistake {
    let message = std::mem::take(&mut mistake.found);
    let line = line.split('#').next().unwrap_or_default().trim();
    let (found, expected, help) = match message.split_once(", expected ").unwrap_or((&message, "")) {
        ("", _) => return mistake,
        ("duplicate key", _) => {
            return Mistake { title: "this is there twice".to_owned(), ..mistake }
                .expected("each table and each key once")
                .help(if line.starts_with("[[") {
                    "each of several stands under double brackets of its own"
                } else {
                    "delete one of the two"
                });
        }
        ("unclosed table", _) => ("an open bracket", "a bracket at each end", Some(format!("write {line}]"))),
        ("string values must be quoted", _) => (
            "neither a number nor text in quotes",
            "a number, true, false, or text in quotes",
            value_hint(line),
        ),
        ("invalid boolean", _) => ("a misspelt word", "true or false, in small letters", None),
        ("unexpected key or value", _) => ("more than one value", "the end of the line", value_hint(line)),
        ("key with no value" | "invalid unquoted key", _) => ("no = sign", "key = value", equals_hint(line)),
        ("invalid basic string", _) => ("an open quote", "a quote at each end", None),
        ("missing comma between array elements", _) => ("no comma", "a comma between two values", None),
        (found, expected) => (found, expected, value_hint(line)),
    };
    mistake.help = help;
    mistake.found(found).expected(expected)
}

/// The likeliest slip in a value.
fn value_hint(line: &str) -> Option<String> {
    let (key, value) = line.split_once('=').map(|(key, value)| (key.trim(), value.trim()))?;
    if value.is_empty() {
        return Some(format!("give {key} a value, or delete the line"));
    }
    let with_point = value.replacen(',', ".", 1);
    if with_point != value && with_point.parse::<f64>().is_ok() {
        return Some(format!("write a decimal point: {key} = {with_point}"));
    }
    if value.parse::<f64>().is_ok() {
        let bare = value.trim_start_matches('0');
        return (bare != value).then(|| format!("write {key} = {bare}"));
    }
    if value.starts_with('[') && !value.contains(',') {
        return Some("separate the values by commas".to_owned());
    }
    let number: String = value.chars().take_while(|c| c.is_ascii_digit() || matches!(c, '.' | '-')).collect();
    if number.parse::<f64>().is_ok() {
        return Some(format!(
            "a number stands alone, without a unit or a fraction: {key} = {number} \
             (the unit of all lengths is set once, at the top)"
        ));
    }
    let is_word = value.chars().all(|c| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_'));
    is_word.then(|| match value.to_lowercase().as_str() {
        word @ ("true" | "false") => format!("write {key} = {word}"),
        _ => format!("put text in quotes: {key} = \"{value}\""),
    })
}

/// The `=` that was left out, or written in another way.
fn equals_hint(line: &str) -> Option<String> {
    let (key, value) = line.split_once(':').or_else(|| line.split_once(' '))?;
    let (key, value) = (key.trim(), value.trim());
    (!key.is_empty() && !value.is_empty() && !value.contains('=')).then(|| format!("write {key} = {value}"))
}
