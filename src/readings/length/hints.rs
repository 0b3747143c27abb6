//! What was meant by a text that is no length.

use super::{Context, parse};

/// What was meant, when a letter that looks like a digit, a doubled sign, a mark for thousands or a
/// spreadsheet's help spoils a length.
pub(super) fn did_you_mean(text: &str, context: Context) -> Option<String> {
    if !text.contains(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let digits: String = text.chars().map(digit_lookalike).collect();
    let once = text.replace("..", ".").replace(",,", ",");
    let groups: Vec<&str> = text.split([' ', '\'']).collect();
    let thousands = groups.len() > 1
        && groups[1..].iter().all(|g| g.chars().take_while(char::is_ascii_digit).count() == 3);
    let joined = if thousands { groups.concat() } else { text.to_owned() };
    [digits, once, joined]
        .into_iter()
        .find(|guess| guess != text && parse(guess, context).is_ok())
        .map(|guess| format!("did you mean {guess}?"))
}

/// The digit that a letter or sign looks like.
fn digit_lookalike(c: char) -> char {
    match c {
        'l' | 'I' | '|' | 'i' | '!' => '1',
        'O' | 'o' => '0',
        'S' | 's' => '5',
        'B' => '8',
        'Z' | 'z' => '2',
        ':' => '.',
        c => c,
    }
}

/// Does it look like what spreadsheets make of 5/8: `5-Aug`, `Aug-05`, `2026-08-05`, `05/08/2026`?
pub(super) fn is_date(text: &str) -> bool {
    let parts: Vec<&str> = text.split(['-', '/', '.', ' ']).filter(|p| !p.is_empty()).collect();
    let is_year = |p: &&str| p.len() == 4 && (p.starts_with("19") || p.starts_with("20"));
    let is_number = |p: &&str| p.bytes().all(|b| b.is_ascii_digit());
    (parts.len() == 3 && parts.iter().all(is_number) && parts.iter().any(is_year))
        || (parts.len() >= 2 && parts.iter().any(|p| is_month(p)))
}

/// Is it a month of English as spreadsheets write it?
fn is_month(word: &str) -> bool {
    let word = word.to_lowercase();
    word.len() >= 3
        && ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
            .iter()
            .any(|m| word.starts_with(m))
}
