//! Single-stroke letters, drawn for this program: straight strokes on a grid 4 wide and 6 high.

use crate::frame::Point;

/// Grid units from the base of a letter to its top.
pub(super) const HEIGHT: f64 = 6.0;
/// Grid units from the left of a letter to its right.
const WIDTH: f64 = 4.0;
/// Grid units from the left of a letter to the left of the next.
const ADVANCE: f64 = 6.2;

/// An arrow that points up, as a letter.
pub(super) const ARROW_UP: char = '^';

/// The strokes of a letter: each a chain of points, each point its column and row on the grid.
/// What is not drawn here is left blank.
const fn strokes(letter: char) -> &'static [&'static str] {
    match letter {
        'A' => &["00 04 26 44 40", "02 42"],
        'B' => &["33 03 06 36 45 44 33 42 41 30 00 03"],
        'C' => &["45 36 16 05 01 10 30 41"],
        'D' => &["00 06 26 44 42 20 00"],
        'E' => &["46 06 00 40", "03 33"],
        'F' => &["46 06 00", "03 33"],
        'G' => &["45 36 16 05 01 10 30 41 43 23"],
        'H' => &["00 06", "46 40", "03 43"],
        'I' => &["16 36", "26 20", "10 30"],
        'J' => &["46 41 30 10 01"],
        'K' => &["00 06", "46 03 40"],
        'L' => &["06 00 40"],
        'M' => &["00 06 23 46 40"],
        'N' => &["00 06 40 46"],
        'O' => &["10 30 41 45 36 16 05 01 10"],
        'P' => &["00 06 36 45 44 33 03"],
        'Q' => &["10 30 41 45 36 16 05 01 10", "22 40"],
        'R' => &["00 06 36 45 44 33 03", "23 40"],
        'S' => &["45 36 16 05 04 13 33 42 41 30 10 01"],
        'T' => &["06 46", "26 20"],
        'U' => &["06 01 10 30 41 46"],
        'V' => &["06 20 46"],
        'W' => &["06 00 23 40 46"],
        'X' => &["00 46", "06 40"],
        'Y' => &["06 23 46", "23 20"],
        'Z' => &["06 46 00 40"],
        '0' => &["10 20 31 35 26 16 05 01 10"],
        '1' => &["05 26 20", "00 40"],
        '2' => &["05 16 36 45 44 00 40"],
        '3' => &["05 16 36 45 44 33 23", "33 42 41 30 10 01"],
        '4' => &["30 36 02 42"],
        '5' => &["46 06 03 33 42 41 30 10 01"],
        '6' => &["45 36 16 05 01 10 30 41 42 33 03"],
        '7' => &["06 46 10"],
        '8' => &["13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33"],
        '9' => &["01 10 30 41 45 36 16 05 04 13 43"],
        ARROW_UP => &["20 26", "04 26 44"],
        _ => &[],
    }
}

/// Width of a word, mm, between the middles of its outermost strokes.
pub(super) fn width_mm(word: &str, height_mm: f64) -> f64 {
    let letters = word.chars().count();
    (letters.saturating_sub(1) as f64 * ADVANCE + WIDTH) * height_mm / HEIGHT
}

/// The strokes of a word of that height, its lower left corner at `corner`.
pub(super) fn word(word: &str, height_mm: f64, corner: Point) -> Vec<Vec<Point>> {
    let unit_mm = height_mm / HEIGHT;
    let mut lines = Vec::new();
    for (k, letter) in word.chars().enumerate() {
        for stroke in strokes(letter) {
            let points = stroke.split(' ').filter_map(|pair| {
                let mut digits = pair.chars().filter_map(|d| d.to_digit(10)).map(f64::from);
                let (column, row) = (digits.next()?, digits.next()?);
                Some(corner + Point::new(k as f64 * ADVANCE + column, row) * unit_mm)
            });
            lines.push(points.collect());
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_letter_of_an_id_is_drawn_on_the_grid() {
        let mut seen = std::collections::HashSet::new();
        for letter in ('A'..='Z').chain('0'..='9').chain([ARROW_UP]) {
            assert!(seen.insert(strokes(letter)), "{letter} looks like another letter");
            assert!(!strokes(letter).is_empty(), "{letter} is blank");
            let joined = strokes(letter).windows(2).any(|s| s[0][s[0].len() - 2..] == s[1][..2]);
            assert!(!joined, "two strokes of {letter} are one");
            for stroke in strokes(letter) {
                let points: Vec<&str> = stroke.split(' ').collect();
                assert!(points.len() > 1 && points.windows(2).all(|p| p[0] != p[1]), "{letter}: {stroke}");
                for p in points {
                    let on_grid =
                        p.len() == 2 && ("0"..="4").contains(&&p[..1]) && ("0"..="6").contains(&&p[1..]);
                    assert!(on_grid, "{letter}: {p}");
                }
            }
        }
    }

    #[test]
    fn a_word_is_as_high_and_wide_as_it_says() {
        let lines = word("KEY", 12.0, Point::new(5.0, 7.0));
        let points = || lines.iter().flatten();
        let max_x = points().map(|p| p.x_mm).fold(f64::MIN, f64::max);
        let max_y = points().map(|p| p.y_mm).fold(f64::MIN, f64::max);
        assert!((max_x - 5.0 - width_mm("KEY", 12.0)).abs() < 1e-12);
        assert!((max_y - 7.0 - 12.0).abs() < 1e-12);
        assert!(points().all(|p| p.x_mm >= 5.0 && p.y_mm >= 7.0));
    }
}
