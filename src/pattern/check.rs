//! Can this pattern be cut on this sheet, by this machine? Refusals are values; their words are here only.

use super::{KEY, Pattern, hole_id};
use crate::frame::{Point, Sheet, Unit};

/// Least distance from the centre of a hole to an edge unless the person says otherwise, mm: nearer to it the
/// carriage hangs over the edge and tips (common practice, no source).
pub const DEFAULT_MARGIN_MM: f64 = 100.0;

/// Most holes that one program drills.
pub const MOST_TO_DRILL: usize = 2000;

/// Lengths closer than this are the same, mm.
pub(super) const ROUNDING_MM: f64 = 1e-6;

/// Why a pattern cannot be cut.
#[derive(Debug, Clone, PartialEq)]
pub enum Refusal {
    /// It has no column or no row.
    Empty,
    /// More than [`MOST_TO_DRILL`].
    TooManyHoles {
        /// Columns asked for.
        columns: usize,
        /// Rows asked for.
        rows: usize,
    },
    /// A size is not a number that a size can have.
    ImpossibleSize {
        /// Which: `width`, `height`, `hole diameter` or `centre`.
        what: &'static str,
        /// Its value, mm.
        value_mm: f64,
    },
    /// Less than one hole diameter of wood between neighbours.
    HolesTooClose {
        /// One of them.
        a: String,
        /// The other.
        b: String,
        /// Centre to centre, mm.
        distance_mm: f64,
        /// Least that would do, mm.
        least_mm: f64,
    },
    /// `KEY` cannot show that a sheet was turned over: it needs three columns and two rows.
    KeyShowsNothing,
    /// Holes that are not wholly on the sheet.
    LeavesSheet {
        /// Which.
        holes: Vec<String>,
    },
    /// Holes on the sheet, but too near to an edge.
    CrowdsEdge {
        /// Which.
        holes: Vec<String>,
        /// Distance of the nearest one from its edge, mm.
        nearest_mm: f64,
        /// Margin asked for, mm.
        margin_mm: f64,
    },
    /// Holes where the chains cannot hold the carriage.
    OutOfReach {
        /// Which.
        holes: Vec<String>,
        /// Why, for the first of them.
        reason: String,
    },
}

impl Refusal {
    /// What is wrong and what may be done, lengths in the person's unit.
    pub fn words(&self, unit: Unit) -> String {
        match self {
            Self::Empty => "the pattern has no holes; it needs at least one column and one row".to_owned(),
            Self::TooManyHoles { columns, rows } => {
                format!("{columns} columns of {rows} holes are too many; {MOST_TO_DRILL} holes is the most")
            }
            Self::ImpossibleSize { what, value_mm } => {
                format!("the {what} of the pattern cannot be {}", length(*value_mm, unit))
            }
            Self::HolesTooClose { a, b, distance_mm, least_mm } => format!(
                "holes {a} and {b} are {} apart, which leaves too little wood between them; \
                 at least {} is needed: fewer holes, or a larger pattern",
                length(*distance_mm, unit),
                length(*least_mm, unit)
            ),
            Self::KeyShowsNothing => format!(
                "hole {KEY} shows that a sheet was read from behind only in a pattern of at least \
                 3 columns and 2 rows; use more holes, or leave {KEY} out"
            ),
            Self::LeavesSheet { holes } => format!(
                "{} off the sheet; make the pattern smaller or move it",
                subject(holes, "lies", "lie")
            ),
            Self::CrowdsEdge { holes, nearest_mm, margin_mm } => format!(
                "{} within {} of an edge (the nearest is {} from it), where the carriage may tip; make the \
                 pattern smaller, or ask for a smaller margin if the edge is flush with its surround",
                subject(holes, "lies", "lie"),
                length(*margin_mm, unit),
                length(*nearest_mm, unit)
            ),
            Self::OutOfReach { holes, reason } => {
                format!(
                    "{} where the chains cannot hold the carriage: {reason}",
                    subject(holes, "lies", "lie")
                )
            }
        }
    }
}

/// Checks a pattern against a sheet and a machine.
///
/// `margin_mm` is the least distance of a hole's centre from every edge; `reachable` says why a place cannot be
/// reached (and should see to the way of the last approach as well).
///
/// # Errors
/// Every reason for which it cannot be cut; but nothing more once the grid itself makes no sense.
pub fn check(
    pattern: &Pattern,
    sheet: &Sheet,
    margin_mm: f64,
    reachable: impl Fn(Point) -> Result<(), String>,
) -> Result<(), Vec<Refusal>> {
    let grid = grid_refusals(pattern);
    if !grid.is_empty() {
        return Err(grid);
    }
    let mut refusals: Vec<Refusal> = too_close(pattern).into_iter().collect();
    if pattern.key && (pattern.columns < 3 || pattern.rows < 2) {
        refusals.push(Refusal::KeyShowsNothing);
    }
    let (mut off, mut near, mut far) = (Vec::new(), Vec::new(), Vec::new());
    let (mut nearest_mm, mut reason) = (f64::INFINITY, None);
    for hole in pattern.holes() {
        let inside_mm = sheet.inside_by_mm(hole.target);
        if inside_mm < pattern.hole_diameter_mm / 2.0 {
            off.push(hole.id);
        } else if inside_mm < margin_mm - ROUNDING_MM {
            nearest_mm = nearest_mm.min(inside_mm);
            near.push(hole.id);
        } else if let Err(why) = reachable(hole.target) {
            reason.get_or_insert(why);
            far.push(hole.id);
        }
    }
    if !off.is_empty() {
        refusals.push(Refusal::LeavesSheet { holes: off });
    }
    if !near.is_empty() {
        refusals.push(Refusal::CrowdsEdge { holes: near, nearest_mm, margin_mm });
    }
    if let Some(reason) = reason {
        refusals.push(Refusal::OutOfReach { holes: far, reason });
    }
    if refusals.is_empty() { Ok(()) } else { Err(refusals) }
}

/// What makes it no grid at all.
fn grid_refusals(p: &Pattern) -> Vec<Refusal> {
    if p.columns == 0 || p.rows == 0 {
        return vec![Refusal::Empty];
    }
    if p.columns.saturating_mul(p.rows) > MOST_TO_DRILL {
        return vec![Refusal::TooManyHoles { columns: p.columns, rows: p.rows }];
    }
    let positive = |v: f64| v > 0.0 && v.is_finite();
    [
        ("width", p.width_mm, p.columns == 1 || positive(p.width_mm)),
        ("height", p.height_mm, p.rows == 1 || positive(p.height_mm)),
        ("hole diameter", p.hole_diameter_mm, positive(p.hole_diameter_mm)),
        ("centre", p.centre.x_mm, p.centre.x_mm.is_finite()),
        ("centre", p.centre.y_mm, p.centre.y_mm.is_finite()),
    ]
    .into_iter()
    .filter(|(_, _, possible)| !possible)
    .map(|(what, value_mm, _)| Refusal::ImpossibleSize { what, value_mm })
    .collect()
}

/// The nearest neighbours, when they are too near. In a regular grid those lie about its lower left corner.
fn too_close(p: &Pattern) -> Option<Refusal> {
    let corner = (hole_id(0, 0), p.at(0.0, 0.0));
    let mut neighbours = Vec::new();
    if p.columns > 1 {
        neighbours.push((hole_id(1, 0), p.at(1.0, 0.0)));
    }
    if p.rows > 1 {
        neighbours.push((hole_id(0, 1), p.at(0.0, 1.0)));
    }
    if p.key {
        neighbours.push((KEY.to_owned(), p.at(0.5, 0.5)));
    }
    let distances = neighbours.into_iter().map(|(id, at)| (corner.1.distance_mm(at), id));
    let (distance_mm, b) = distances.min_by(|a, b| a.0.total_cmp(&b.0))?;
    let least_mm = 2.0 * p.hole_diameter_mm;
    (distance_mm < least_mm - ROUNDING_MM).then_some(Refusal::HolesTooClose {
        a: corner.0,
        b,
        distance_mm,
        least_mm,
    })
}

/// `hole A1 lies`, `holes A1 and B1 lie`, `A1, B1, C1 and 12 more holes lie`.
fn subject(holes: &[String], one: &str, many: &str) -> String {
    match holes {
        [] => format!("no hole {one}"),
        [a] => format!("hole {a} {one}"),
        [first @ .., last] if holes.len() <= 8 => format!("holes {} and {last} {many}", first.join(", ")),
        _ => format!("{} and {} more holes {many}", holes[..6].join(", "), holes.len() - 6),
    }
}

/// A length as a person reads it: a tenth of a millimetre, a hundredth of an inch.
fn length(length_mm: f64, unit: Unit) -> String {
    match unit {
        Unit::Mm => format!("{length_mm:.1} mm"),
        Unit::Inch => format!("{:.2} in", unit.from_mm(length_mm)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHEET: Sheet = Sheet { width_mm: 2500.0, height_mm: 1250.0 };

    fn pattern() -> Pattern {
        Pattern {
            columns: 7,
            rows: 5,
            width_mm: 2300.0,
            height_mm: 1050.0,
            centre: Point::default(),
            hole_diameter_mm: 6.0,
            key: true,
        }
    }

    fn refusals(p: &Pattern) -> Vec<Refusal> {
        check(p, &SHEET, DEFAULT_MARGIN_MM, |_| Ok(())).expect_err("a refusal")
    }

    #[test]
    fn a_margin_met_exactly_is_met() {
        assert_eq!(check(&pattern(), &SHEET, 100.0, |_| Ok(())), Ok(()));
    }

    #[test]
    fn edges_are_guarded_hole_by_hole() {
        // 1 mm to the right: only column G comes nearer than 100 mm to an edge, by that 1 mm
        let crowd = Pattern { centre: Point::new(1.0, 0.0), ..pattern() };
        let g: Vec<String> = (1..=5).map(|r| format!("G{r}")).collect();
        let want = Refusal::CrowdsEdge { holes: g, nearest_mm: 99.0, margin_mm: 100.0 };
        assert_eq!(refusals(&crowd), [want]);

        // 600 mm up: row 5 is at 525 + 600 and row 4 at 262.5 + 600, the edge is at 625
        let off = Pattern { centre: Point::new(0.0, 600.0), ..pattern() };
        let [Refusal::LeavesSheet { holes }, Refusal::CrowdsEdge { holes: near, .. }] = &refusals(&off)[..]
        else {
            panic!("{:?}", refusals(&off))
        };
        assert_eq!(holes.len(), 14);
        assert_eq!(near.len(), 7);
        assert_eq!(
            Refusal::LeavesSheet { holes: holes.clone() }.words(Unit::Mm),
            "A4, B4, C4, D4, E4, F4 and 8 more holes lie off the sheet; make the pattern smaller or move it"
        );
    }

    #[test]
    fn a_place_out_of_reach_is_named_with_its_reason() {
        let low =
            |p: Point| if p.y_mm < -500.0 && p.x_mm < -1000.0 { Err("slack".to_owned()) } else { Ok(()) };
        let want = Refusal::OutOfReach { holes: vec!["A1".to_owned()], reason: "slack".to_owned() };
        assert_eq!(check(&pattern(), &SHEET, 100.0, low), Err(vec![want.clone()]));
        assert_eq!(want.words(Unit::Mm), "hole A1 lies where the chains cannot hold the carriage: slack");
    }

    #[test]
    fn holes_need_wood_between_them() {
        // 201 columns over 2300 mm stand 11.5 mm apart; KEY lies half a cell, hypot(5.75, 131.25) mm, from A1
        let p = Pattern { columns: 201, rows: 5, ..pattern() };
        let want = Refusal::HolesTooClose {
            a: "A1".to_owned(),
            b: "B1".to_owned(),
            distance_mm: 11.5,
            least_mm: 12.0,
        };
        assert_eq!(refusals(&p), [want]);
        assert!(refusals(&p)[0].words(Unit::Inch).contains("0.45 in apart"));
        // 2 x 2 within 20 mm: the neighbours are 20 mm apart, but KEY is only 14.1 mm from each
        let p = Pattern {
            columns: 3,
            rows: 2,
            width_mm: 22.0,
            height_mm: 11.5,
            hole_diameter_mm: 5.5,
            ..pattern()
        };
        let [Refusal::HolesTooClose { b, .. }] = &refusals(&p)[..] else { panic!("{:?}", refusals(&p)) };
        assert_eq!(b, KEY);
    }

    #[test]
    fn no_grid_no_further_question() {
        assert_eq!(refusals(&Pattern { columns: 0, ..pattern() }), [Refusal::Empty]);
        let huge = Pattern { columns: usize::MAX, rows: 2, ..pattern() };
        assert_eq!(refusals(&huge), [Refusal::TooManyHoles { columns: usize::MAX, rows: 2 }]);
        let nan = Pattern { hole_diameter_mm: f64::NAN, height_mm: -1.0, ..pattern() };
        assert_eq!(refusals(&nan).len(), 2);
        // one row has no height
        let row = Pattern { rows: 1, height_mm: 0.0, key: false, ..pattern() };
        assert_eq!(check(&row, &SHEET, 100.0, |_| Ok(())), Ok(()));
    }

    #[test]
    fn key_must_be_able_to_tell_left_from_right() {
        let p = Pattern { columns: 2, ..pattern() };
        assert_eq!(refusals(&p), [Refusal::KeyShowsNothing]);
    }
}
