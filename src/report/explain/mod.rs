//! The words of the report, each in plain words: what it is, how large is usual, what to do.
//!
//! What is called usual is common practice of the trade, without a source, unless the entry says otherwise.

mod machine;
mod months;
mod readings;
mod results;

use super::text::wrap;

/// A word and what is to be known of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Entry {
    /// The word, as the report prints it.
    pub word: &'static str,
    /// Other ways in which it is met.
    pub also: &'static [&'static str],
    /// What it is.
    pub what: &'static str,
    /// How large is usual; empty when it has no size.
    pub usual: &'static str,
    /// What to do about it.
    pub act: &'static str,
}

/// All entries, in an order to read them in.
pub fn entries() -> impl Iterator<Item = &'static Entry> {
    results::ENTRIES.iter().chain(machine::ENTRIES).chain(readings::ENTRIES).chain(months::ENTRIES)
}

/// The entry for a word, however it is spelled: case, spaces, hyphens and underscores make no difference.
pub fn find(word: &str) -> Option<&'static Entry> {
    let wanted = bare(word);
    entries().find(|e| std::iter::once(&e.word).chain(e.also).any(|name| bare(name) == wanted))
}

/// Words that one which is not found may have meant: those that hold it, else those that begin like it.
pub fn near(word: &str) -> Vec<&'static str> {
    let wanted = bare(word);
    let start: String = wanted.chars().take(3).collect();
    if start.is_empty() {
        return Vec::new();
    }
    let with = |test: &dyn Fn(&str) -> bool| -> Vec<&'static str> {
        entries()
            .filter(|e| std::iter::once(&e.word).chain(e.also).any(|n| test(&bare(n))))
            .map(|e| e.word)
            .collect()
    };
    let holding = with(&|name| name.contains(&*wanted));
    if holding.is_empty() { with(&|name| name.starts_with(&*start)) } else { holding }
}

fn bare(word: &str) -> String {
    word.chars().filter(|c| c.is_alphanumeric() || *c == '²').flat_map(char::to_lowercase).collect()
}

/// An entry for a terminal of `width` columns.
pub fn render(entry: &Entry, width: usize) -> String {
    let mut out = vec![entry.word.to_owned()];
    for (head, text) in [("", entry.what), ("Usual: ", entry.usual), ("What to do: ", entry.act)] {
        if !text.is_empty() {
            out.extend(wrap(&format!("{head}{text}"), width, "  "));
        }
    }
    out.join("\n") + "\n"
}

/// All words, a line each with the start of what they are.
pub fn index(width: usize) -> String {
    let widest = entries().map(|e| e.word.chars().count()).max().unwrap_or(0);
    entries()
        .map(|e| {
            let first = e.what.split_once(". ").map_or(e.what, |(first, _)| first).trim_end_matches('.');
            let room = width.saturating_sub(widest + 4);
            let text: String = match first.chars().count() > room {
                true => first.chars().take(room.saturating_sub(3)).chain("...".chars()).collect(),
                false => first.to_owned(),
            };
            format!("  {:widest$}  {text}\n", e.word)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::machine::Unknown;
    use crate::record::{KnownFrom, Verdict};
    use crate::report::words;

    #[test]
    fn every_name_in_the_report_is_explained() {
        let unknowns = Unknown::ALL.into_iter().flat_map(|u| [u.name(), words::label(u)]);
        let verdicts = [Verdict::Pass, Verdict::Fail, Verdict::CannotTell].map(words::verdict);
        let rests = [KnownFrom::Readings, KnownFrom::Both, KnownFrom::SetUp, KnownFrom::NotDeterminable];
        let symptoms = ["width", "height", "scale_x", "scale y", "skew", "curved rest", "sideways", "turn"];
        let heads = ["rms", "set aside", "w", "checked", "known from", "chi-square", "correlation", "excess"];
        let months = [
            "growth",
            "no slope seen yet",
            "all cuts",
            "unchanged",
            "odd",
            "weighted average",
            "when to look again",
        ];
        for word in unknowns
            .chain(verdicts)
            .chain(rests.map(words::known_from))
            .chain(symptoms)
            .chain(heads)
            .chain(months)
        {
            assert!(find(word).is_some(), "{word}");
        }
    }

    #[test]
    fn no_word_leads_to_two_entries_and_every_entry_says_something() {
        let mut seen = std::collections::BTreeMap::new();
        for e in entries() {
            assert!(e.what.len() > 40 && e.act.len() > 20, "{}", e.word);
            for name in std::iter::once(&e.word).chain(e.also) {
                if let Some(other) = seen.insert(bare(name), e.word) {
                    panic!("{name} leads to {other} and {}", e.word);
                }
            }
        }
    }

    #[test]
    fn a_word_half_remembered_leads_on() {
        assert!(near("chain").contains(&"left chain pitch"));
        assert!(near("skewness").contains(&"skew"));
        assert!(near("").is_empty());
        assert!(index(60).lines().all(|l| l.chars().count() <= 60));
    }
}
