//! The sheet to write on: what is on it, what is not, and that it is one page of A4 and of Letter.

use crate::browser::Browser;
use std::fs;
use tautgrid::cut::Conditions;
use tautgrid::frame::Unit;
use tautgrid::pattern::{DEFAULT_MARGIN_MM, library};
use tautgrid::planner::{Plan, Request, plan};
use tautgrid::report::measuring::{self, Measuring};
use tautgrid::setup::{self, Setup, template};

/// The example machine in a unit, and a plan of so many distances for its usual pattern.
struct Shop {
    setup: Setup,
    pattern: tautgrid::pattern::Pattern,
    plan: Plan,
}

impl Shop {
    fn new(unit: Unit, readings: usize) -> Self {
        let setup = setup::read(&template("Jo's <router> & co", unit)).expect("the template").0;
        let pattern =
            library::for_sheet("standard", &setup.sheet, unit, DEFAULT_MARGIN_MM, Default::default())
                .expect("a pattern");
        let request = Request { readings, edges: true, ..Request::default() };
        let plan = plan(&setup, &pattern.holes(), &request).expect("a plan");
        Self { setup, pattern, plan }
    }

    fn sheet(&self, passes: usize) -> String {
        let passes = vec![self.plan.distances.clone(); passes];
        measuring::sheet(&Measuring {
            machine: &self.setup.name,
            cut: "2026-11-25",
            date: "2026-11-25",
            unit: self.setup.unit,
            sheet: &self.setup.sheet,
            pattern: &self.pattern,
            holes: &self.pattern.holes(),
            instruments: &self.setup.instruments,
            conditions: &Conditions { material: Some("MDF <18>".to_owned()), ..Conditions::default() },
            passes: &passes,
        })
    }
}

#[test]
fn every_distance_has_a_row_a_line_and_a_box_and_none_says_what_is_expected() {
    for unit in [Unit::Mm, Unit::Inch] {
        let shop = Shop::new(unit, 28);
        let page = shop.sheet(1);
        assert_eq!(page.matches("<td class=\"box\"></td>").count(), 28);
        assert_eq!(page.matches("<line ").count(), 28);
        for word in [
            "TOP",
            "LEFT",
            "RIGHT",
            "KEY",
            "seen from the FRONT",
            "MDF &lt;18&gt;",
            "Jo's &lt;router&gt; &amp; co",
        ] {
            assert!(page.contains(word), "{word}");
        }
        for planned in &shop.plan.distances {
            let length = unit.from_mm(planned.length_mm);
            // whole numbers below 30 are numbers of rows
            for shown in [format!("{length:.1}"), format!("{length:.2}"), format!("{:.0}<", length.max(30.0))]
            {
                assert!(!page.contains(&format!(">{shown}")), "{shown} is given away");
            }
        }
        assert!(!page.contains("http://") && !page.contains("https://") && !page.contains("<script"));
    }
}

#[test]
fn it_is_one_page_for_each_pass_on_either_paper() {
    let Some(browser) = Browser::find() else { return };
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("sheet.html");
    for (unit, readings, passes) in
        [(Unit::Mm, 28, 1), (Unit::Inch, 28, 2), (Unit::Mm, 44, 1), (Unit::Inch, 44, 1)]
    {
        let page = Shop::new(unit, readings).sheet(passes);
        for (paper, points) in [("A4", "594.9"), ("Letter", "612 ")] {
            let sized =
                page.replace("@page { margin: 10mm; }", &format!("@page {{ margin: 10mm; size: {paper}; }}"));
            assert_ne!(sized, page);
            fs::write(&file, sized).expect("a written page");
            let (pages, size) = browser.print(&file);
            assert_eq!(pages, passes, "{readings} readings on {paper}");
            assert!(size.contains(points), "{paper}: {size}");
        }
    }
}
