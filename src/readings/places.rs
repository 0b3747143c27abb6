//! Names of holes and edges, and what a misspelt one most likely meant.

use super::Place;
use crate::frame::Edge;
use crate::pattern::{Hole, KEY};
use crate::text::nearest;
use std::collections::HashMap;

/// The places between which distances may be read.
#[derive(Debug, Clone)]
pub struct Places<'a> {
    holes: &'a [Hole],
    by_id: HashMap<&'a str, usize>,
}

impl<'a> Places<'a> {
    /// All holes of a pattern, and the four edges.
    pub fn new(holes: &'a [Hole]) -> Self {
        Self { holes, by_id: holes.iter().enumerate().map(|(i, h)| (h.id.as_str(), i)).collect() }
    }

    /// The hole or edge of that name, in any letter case.
    pub fn find(&self, name: &str) -> Option<Place> {
        if let Some(i) = self.by_id.get(name.to_uppercase().as_str()) {
            return Some(Place::Hole(*i));
        }
        Edge::ALL.into_iter().find(|e| e.name().eq_ignore_ascii_case(name)).map(Place::Edge)
    }

    /// What is expected of a name: `a hole from A1 to G5, KEY, or left, right, top, bottom`.
    pub fn expectation(&self) -> String {
        let mut grid = self.holes.iter().map(|h| h.id.as_str()).filter(|id| *id != KEY);
        let key = if self.by_id.contains_key(KEY) { ", KEY" } else { "" };
        match (grid.next(), grid.next_back()) {
            (Some(first), Some(last)) => {
                format!("a hole from {first} to {last}{key}, or left, right, top, bottom")
            }
            _ => "left, right, top or bottom".to_owned(),
        }
    }

    /// The hole or edge that a misspelt name most likely meant: `1A`, `A-1`, `A01` and `Al` all mean A1.
    pub fn likely(&self, name: &str) -> Option<&'a str> {
        let bare: String = name.to_uppercase().chars().filter(|c| c.is_alphanumeric()).collect();
        let (digits, letters): (String, String) = bare.chars().partition(char::is_ascii_digit);
        let in_order = format!("{letters}{}", digits.trim_start_matches('0'));
        let mut with_digit = bare;
        if let Some(last) = with_digit.pop() {
            with_digit.push(match last {
                'I' | 'L' => '1',
                'S' => '5',
                'Z' => '2',
                other => other,
            });
        }
        let hole = [in_order, with_digit].iter().find_map(|guess| self.by_id.get_key_value(guess.as_str()));
        hole.map(|(id, _)| *id).or_else(|| {
            let key: Option<&'static str> = self.by_id.contains_key(KEY).then_some(KEY);
            nearest(name, Edge::ALL.into_iter().map(Edge::name).chain(key))
        })
    }
}
