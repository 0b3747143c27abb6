//! The template, and what a file may leave out.

use super::*;
use crate::machine::{Attachment, ChainLeaves};

#[test]
fn the_example_is_the_machine_that_the_template_describes() {
    let setup = Setup::example();
    assert_eq!(setup.sheet, Sheet { width_mm: 2500.0, height_mm: 1250.0 });
    assert_eq!(setup.settings, Values([3300.0, 520.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]));
    assert_eq!(setup.expected[Unknown::Spacing], Expected { value: 3300.0, u: 2.0 });
    assert_eq!(setup.expected[Unknown::PitchRight], Expected { value: 0.0, u: 1.0 });
    assert_eq!(setup.expected[Unknown::Stretch], Expected { value: 0.35, u: 0.35 });
    let expected_hardware = Hardware {
        teeth: 12,
        pitch_mm: 8.0,
        chain_leaves: ChainLeaves::Over,
        chain_mass_kg_per_m: 0.18,
        carriage_mass_kg: 13.0,
        lean_deg: 12.0,
        attachment: Attachment::Converging,
    };
    assert_eq!(setup.hardware, expected_hardware);
    assert_eq!((setup.hole_scatter_mm, setup.tolerance_mm, setup.sag), (0.25, 0.8, false));
    let [tape, caliper] = setup.instruments.as_slice() else { panic!("{:?}", setup.instruments) };
    assert_eq!((tape.random_a_mm, tape.random_b_mm_per_m, tape.range_mm), (0.3, 0.1, f64::INFINITY));
    // Class II of 2014/32/EU: 0.2 mm per m, taken as the half-width of a rectangular distribution.
    assert!((tape.scale_u_mm_per_m - 0.115_470).abs() < 1e-6);
    assert_eq!((caliper.scale_u_mm_per_m, caliper.range_mm, caliper.zero_u_mm), (0.0, 150.0, 0.0));
}

#[test]
fn both_templates_read_without_a_warning_and_keep_any_name() {
    for unit in [Unit::Mm, Unit::Inch] {
        for name in ["Wall router", "a \"b\" \\ 'c' # = ½"] {
            let (setup, warnings) = read(&template(name, unit)).unwrap();
            assert_eq!((setup.name.as_str(), setup.unit, warnings), (name, unit, vec![]));
        }
    }
}

#[test]
fn lengths_of_an_inch_file_are_inches_and_ratios_are_not() {
    let setup = read(&template("m", Unit::Inch)).unwrap().0;
    assert!((setup.sheet.width_mm - 2438.4).abs() < 1e-9);
    assert!((setup.settings[Unknown::Spacing] - 3302.0).abs() < 1e-9);
    assert!((setup.expected[Unknown::Spacing].u - 2.032).abs() < 1e-9);
    assert_eq!(setup.expected[Unknown::PitchLeft].u, 1.0);
    assert!((setup.hardware.pitch_mm - 6.35).abs() < 1e-9);
    assert_eq!(setup.hardware.chain_mass_kg_per_m, 0.125);
    assert!((setup.hole_scatter_mm - 0.254).abs() < 1e-9);
    let tape = &setup.instruments[0];
    assert!((tape.random_a_mm - 0.3048).abs() < 1e-9);
    assert_eq!(tape.random_b_mm_per_m, 0.1);
    assert!((setup.instruments[1].range_mm - 152.4).abs() < 1e-9);
}

#[test]
fn a_short_file_takes_usual_values() {
    let text = "format = 1\nunit = \"mm\"\n[sheet]\nwidth = 2500\nheight = 1250\n[settings]\nspacing = 3300\n\
                height = 520\nstretch = 0.2\n[expected]\nspacing = { value = 3301 }\nheight = { u = 0 }\n\
                [drive]\nteeth = 10\npitch = 9.525\nchain_leaves = \"under\"\n[chain]\nmass = 0.31\n\
                [carriage]\nmass = 12\nlean = 0\n[[instrument]]\nname = \"rule\"\nkind = \"other\"\n\
                random = [1, 0]\nscale_u = 0.3\nzero_u = 0.5\nrange = 2000\n";
    let (setup, warnings) = read(text).unwrap();
    assert_eq!(warnings, []);
    assert_eq!(setup.expected[Unknown::Spacing], Expected { value: 3301.0, u: 2.0 });
    assert_eq!(setup.expected[Unknown::Height], Expected { value: 520.0, u: 0.0 });
    assert_eq!(setup.expected[Unknown::Stretch], Expected { value: 0.2, u: 0.35 });
    assert_eq!(setup.hardware.chain_leaves, ChainLeaves::Under);
    assert_eq!((setup.hole_scatter_mm, setup.tolerance_mm), (0.25, 0.8));
    assert_eq!(setup.can_set.len(), 6);
    let rule = &setup.instruments[0];
    assert_eq!((rule.scale_u_mm_per_m, rule.zero_u_mm, rule.range_mm), (0.3, 0.5, 2000.0));
}

#[test]
fn what_is_legal_yet_odd_is_warned_of_where_it_stands() {
    for (old, odd, title) in [
        ("height = 520.0", "height = 120.0", "nearly flat"),
        ("mass = 0.18", "mass = 1.2", "`mass` is unusual"),
        ("lean = 12.0", "lean = 45.0", "`lean` is unusual"),
        ("hole = 0.25", "hole = 0.0", "`hole` is unusual"),
        ("position = 0.8", "position = 0.1", "finer than the machine's own scatter"),
        ("random = [0.3, 0.1]", "random = [0.01, 0.1]", "`random` is unusual"),
        ("can_set = [", "can_set = [] # [", "can store no setting"),
    ] {
        let text = template("m", Unit::Mm).replacen(old, odd, 1);
        let (_, warnings) = read(&text).unwrap_or_else(|e| panic!("{odd}: {e:#?}"));
        let [warning] = warnings.as_slice() else { panic!("{odd}: {warnings:#?}") };
        assert!(warning.title.contains(title), "{odd}: {warning:?}");
        let line = text.lines().position(|l| l.starts_with(odd)).unwrap() + 1;
        let table_of_key = if odd.starts_with("can_set") { 2 } else { 0 };
        assert_eq!(warning.line, line - table_of_key, "{odd}");
    }
}

/// A file of a sled with two pivots, in either unit.
fn on_pivots(unit: Unit, more: &str) -> String {
    template("m", unit).replacen("attachment = \"converging\"", &format!("attachment = \"apart\"\n{more}"), 1)
}

#[test]
fn a_sled_with_two_pivots_has_three_unknowns_more() {
    let (setup, warnings) = read(&on_pivots(Unit::Inch, "apart = 10\nabove = 3")).unwrap();
    assert_eq!((setup.hardware.attachment, warnings), (Attachment::Apart, vec![]));
    assert_eq!(setup.hardware.attachment.unknowns().len(), 12);
    // The controller holds what the ruler says, the mass is taken to be at the bit.
    assert_eq!(setup.settings[Unknown::Apart], 254.0);
    assert_eq!(setup.expected[Unknown::Above], Expected { value: 3.0 * 25.4, u: 1.0 });
    assert_eq!(setup.expected[Unknown::MassAbove], Expected { value: 0.0, u: 10.0 });

    // What the controller holds may be another thing than what is there, and both than what is expected.
    let text = on_pivots(Unit::Mm, "apart = 250\nabove = 80\nmass_above = -20")
        .replacen("sag = false", "sag = false\nabove = 75", 1)
        .replacen("[expected]", "[expected]\nmass_above = { value = -15, u = 4 }", 1)
        .replacen("can_set = [", "can_set = [\"above\", ", 1);
    let (setup, _) = read(&text).unwrap();
    assert_eq!((setup.settings[Unknown::Above], setup.expected[Unknown::Above].value), (75.0, 80.0));
    assert_eq!(setup.settings[Unknown::MassAbove], -20.0);
    assert_eq!(setup.expected[Unknown::MassAbove], Expected { value: -15.0, u: 4.0 });
    assert!(setup.can_set.contains(&Unknown::Above));

    let (_, warnings) = read(&on_pivots(Unit::Mm, "apart = 250\nabove = -30")).unwrap();
    assert!(warnings[0].title.contains("above its pivots"), "{warnings:?}");
    assert_eq!(Setup::example().expected[Unknown::Apart], Expected::default());
}
