//! A cut, as it was prepared: `cut.toml`. It holds the whole machine of its day, so that an old cut can be
//! worked out again for ever.

mod read;
mod write;

pub use read::read;
pub use write::write;

use crate::frame::Unit;
use crate::pattern::Pattern;
use crate::setup::Setup;
use jiff::civil::Date;

/// What was noted about the day of a cut. Everything is optional; only the temperature enters the
/// estimate, by way of the steel of the tape.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Conditions {
    /// Temperature, degrees C.
    pub temperature_c: Option<f64>,
    /// Relative humidity, percent.
    pub humidity_percent: Option<f64>,
    /// Material of the sheet.
    pub material: Option<String>,
    /// Bit.
    pub bit: Option<String>,
    /// Who cut it.
    pub operator: Option<String>,
    /// Anything else.
    pub note: Option<String>,
}

/// A test cut: its pattern, its day, and the machine that cut it.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut {
    /// Day on which it was prepared.
    pub date: Date,
    /// Unit of the pattern's lengths in the file, and of readings that name none.
    pub unit: Unit,
    /// The holes.
    pub pattern: Pattern,
    /// The day's conditions.
    pub conditions: Conditions,
    /// The machine in force.
    pub setup: Setup,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::Point;
    use crate::setup::template;

    fn pattern() -> Pattern {
        Pattern {
            columns: 7,
            rows: 5,
            width_mm: 2300.0,
            height_mm: 1050.0,
            centre: Point::new(0.0, -12.5),
            hole_diameter_mm: 6.0,
            key: true,
        }
    }

    #[test]
    fn what_is_written_reads_back_in_both_units() {
        let date = jiff::civil::date(2026, 11, 25);
        let conditions = Conditions {
            temperature_c: Some(19.5),
            humidity_percent: Some(55.0),
            material: Some("MDF 18 \"raw\" \\ grey".to_owned()),
            note: Some("two lines\nno more".to_owned()),
            ..Conditions::default()
        };
        for unit in [Unit::Mm, Unit::Inch] {
            let machine = template("Wall \"router\"", unit);
            let text = write(date, unit, &pattern(), &conditions, &machine).unwrap();
            let (cut, warnings) = read(&text).unwrap_or_else(|e| panic!("{e:#?}\n{text}"));
            assert_eq!(warnings, []);
            assert_eq!(cut.setup, crate::setup::read(&machine).unwrap().0);
            assert_eq!(cut.date, date);
            assert_eq!(cut.unit, unit);
            assert!((cut.pattern.width_mm - 2300.0).abs() < 1e-9);
            assert!((cut.pattern.centre.y_mm + 12.5).abs() < 1e-9);
            assert_eq!(cut.conditions.material, conditions.material);
            assert_eq!(cut.conditions.note.as_deref(), Some("two lines no more"));
        }
    }

    #[test]
    fn a_machine_in_dotted_keys_is_nested_as_well() {
        let machine = template("m", Unit::Mm)
            .replace("[drive]\nteeth = 12", "[drive]\n\"teeth\" = 0b1100")
            .replace("[sheet]", "[\"sheet\"]");
        let date = jiff::civil::date(2026, 2, 28);
        let text = write(date, Unit::Mm, &pattern(), &Conditions::default(), &machine).unwrap();
        assert_eq!(read(&text).unwrap().0.setup, crate::setup::read(&machine).unwrap().0);
        let dotted = "a.b = 1\na.c.d = \"x\"\n";
        let text = write(date, Unit::Mm, &pattern(), &Conditions::default(), dotted).unwrap();
        let nested: toml::Table = text.parse().unwrap();
        assert_eq!(nested["machine"].to_string(), "{ a = { b = 1, c = { d = \"x\" } } }");
    }
}
