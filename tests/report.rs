//! The reports say what the record says: every writer is fed the specimen and its numbers are looked up again.

mod specimen;

use serde_json::Value;
use tautgrid::analysis::{Analysis, Estimate, Notice, Verdict};
use tautgrid::report::{heatmap, html, json, numbers::TIED, text};

/// Agreement of a number in JSON with the record: nine significant digits are written.
const DIGITS: f64 = 1e-8;

fn parsed(a: &Analysis) -> Value {
    serde_json::from_str(&json::render(a)).expect("well-formed JSON")
}

#[track_caller]
fn same(found: &Value, expected: f64) {
    let found = found.as_f64().unwrap_or_else(|| panic!("{found} is not a number"));
    assert!((found - expected).abs() <= DIGITS * expected.abs().max(1e-3), "{found} for {expected}");
}

/// The words on a screen, styles taken out.
fn screen(a: &Analysis, width: usize) -> String {
    let styled = text::render(a, width);
    anstream::adapter::strip_str(&styled).to_string()
}

/// One line of blanks as single spaces, so that a row of a table can be looked up.
fn squeezed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn json_carries_the_record_in_mm() {
    for mut a in [specimen::analysis(), specimen::analysis_inch()] {
        a.fit.p_value = Some(1.25e-9);
        let v = parsed(&a);
        assert_eq!((&v["format"], &v["unit"], &v["cut"]), (&1.into(), &"mm".into(), &a.cut.as_str().into()));
        assert_eq!(v["readings"]["total"], 24);
        assert_eq!(v["readings"]["used"], 23);
        let aside = &v["readings"]["set_aside"][0];
        assert_eq!((&aside["line"], &aside["from"], &aside["to"]), (&7.into(), &"A1".into(), &"G5".into()));
        same(&aside["excess"], 63.24);
        same(&aside["w"], 97.4);
        same(&v["fit"]["p_value"], 1.25e-9);
        for (row, u) in v["unknowns"].as_array().unwrap().iter().zip(&a.unknowns) {
            assert_eq!(row["name"], u.unknown.name());
            assert_eq!(row["unit"], u.unknown.unit());
            same(&row["setting"], u.setting);
            same(&row["expected"], u.expected.value);
            same(&row["expected_u"], u.expected.u);
            same(&row["estimate"], u.estimate.value);
            same(&row["u"], u.estimate.u);
            same(&row["correction"], u.estimate.value - u.setting);
        }
        assert_eq!(v["unknowns"].as_array().unwrap().len(), 9);
        assert_eq!(v["unknowns"][1]["known_from"], "not determinable");
        assert_eq!(v["unknowns"][8]["known_from"], "set-up");
        assert_eq!(v["correlation"]["names"].as_array().unwrap().len(), a.correlation.len());
        same(&v["correlation"]["matrix"][1][0], -0.962);
        same(&v["symptoms"]["skew"]["value"], a.symptoms.skew.estimate.value);
        assert_eq!(v["symptoms"]["scale_y"]["unit"], "mm/m");
        assert_eq!(v["symptoms"]["shift_x"].is_null(), a.symptoms.shift_x.is_none());
        assert_eq!(v["causes"][0]["name"], "length_left");
        same(&v["causes"][0]["max"], 6.02);
        let e = &v["error"];
        same(&e["as_cut"]["rms"], a.error.as_cut.rms_mm);
        same(&e["after_correction"]["bound95"], 0.412);
        same(&e["floor"]["max"], a.error.floor.max_mm);
        for s in &a.settings_new {
            same(&v["settings_new"][s.unknown.name()], s.to);
        }
        for (row, h) in v["holes"].as_array().unwrap().iter().zip(&a.holes) {
            assert_eq!(row["id"], h.id.as_str());
            same(&row["x"], h.target.x_mm);
            same(&row["dy"], h.displacement.y_mm);
        }
        assert_eq!(v["holes"].as_array().unwrap().len(), 36);
    }
}

#[test]
fn the_three_verdicts_are_told_apart_everywhere() {
    for (verdict, word, sentence) in [
        (Verdict::Pass, "pass", "Within the limit of 0.80 mm"),
        (Verdict::Fail, "fail", "Not within the limit of 0.80 mm"),
        (Verdict::CannotTell, "cannot tell", "Cannot tell whether the machine is within 0.80 mm"),
    ] {
        let mut a = specimen::analysis();
        a.error.verdict = verdict;
        assert_eq!(parsed(&a)["error"]["verdict"], word);
        assert!(squeezed(&screen(&a, 80)).contains(sentence));
        assert!(html::render(&a).replace(TIED, " ").contains(sentence));
    }
}

#[test]
fn what_is_not_known_is_never_a_number() {
    let mut a = specimen::analysis();
    a.fit.p_value = None;
    a.fit.dof = 0;
    a.causes[0].rms.u = f64::NAN;
    a.unknowns[0].estimate.u = f64::INFINITY;
    a.holes[3].displacement.x_mm = f64::NAN;
    a.map.after[5].y_mm = f64::NAN;
    a.symptoms.skew.share = f64::NAN;
    let v = parsed(&a);
    assert!(v["fit"]["p_value"].is_null() && v["fit"]["observed_over_stated"].is_null());
    assert!(v["causes"][0]["u"].is_null() && v["holes"][3]["dx"].is_null());
    for page in [json::render(&a), screen(&a, 80), html::render(&a), heatmap::svg(&a)] {
        // Embedded fonts are letters at random.
        let words = page.split("base64,").map(|s| s.split_once(')').map_or(s, |(_, rest)| rest));
        for word in words.flat_map(|s| s.split(|c: char| !c.is_alphanumeric() && c != '-' && c != '.')) {
            assert!(!["NaN", "inf", "-inf", "-0.0", "-0.00", "-0"].contains(&word), "{word}");
        }
    }
    assert!(!heatmap::png(&a).is_empty());
}

#[test]
fn screen_and_page_show_the_same_numbers_in_the_persons_unit() {
    let mm = specimen::analysis();
    let inch = specimen::analysis_inch();
    // Worked out by hand from the specimen: settings to 0.01 mm and 0.001 mm/m; value ± u by two digits of u.
    let rows_mm = [
        "spacing 3300.00 3302.91 +2.91 1.31 mm",
        "length_right 0.00 -2.04 -2.04 0.87 mm",
        "pitch_left 0.000 0.903 +0.903 0.15 mm/m",
        "width too wide +1.84 ± 0.13 mm/m",
        "left chain length +4.13 ± 0.84 mm 2.73 ± 0.55 6.02 readings",
        "Line 7, A1 to G5: read 2592.50 mm, expected 2529.26 mm, excess +63.24 mm.",
        "Likely slip: two digits swapped: 2529.5.",
        "23 readings used, 1 set aside, 3 planned distances not yet read",
    ];
    // 2592.5 / 25.4 = 102.067 -> 102 1/16; 2529.26 / 25.4 = 99.577 -> 99 37/64; 63.24 / 25.4 = 2.490;
    // 4.126 / 25.4 = 0.1624, u 0.842 / 25.4 = 0.0331; 0.8 / 25.4 = 0.031.
    let rows_inch = [
        "read 102 1/16 in, expected 99 37/64 in, excess +2.490 in",
        "left chain length +0.162 ± 0.033 in",
        "within 0.031 in",
    ];
    for (a, rows) in [(&mm, &rows_mm[..]), (&inch, &rows_inch[..])] {
        let on_screen = squeezed(&screen(a, 96));
        let on_page = squeezed(&words_of(&html::render(a)));
        for row in rows {
            assert!(on_screen.contains(row), "{row} not on the screen:\n{on_screen}");
            assert!(on_page.contains(row), "{row} not on the page");
        }
    }
}

/// The words of a page, tags taken out and minus signs made hyphens.
fn words_of(page: &str) -> String {
    let body = page.split_once("<body>").map_or(page, |(_, body)| body);
    let mut words = String::new();
    for piece in body.split('<') {
        let (tag, rest) = piece.split_once('>').unwrap_or(("", piece));
        // Inline tags do not part words.
        if !tag.trim_start_matches('/').starts_with("strong")
            && !tag.trim_start_matches('/').starts_with("code")
        {
            words.push(' ');
        }
        words.push_str(rest);
    }
    let words = words.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&");
    words.replace(TIED, " ").replace('\u{2212}', "-")
}

#[test]
fn every_hole_and_reading_is_on_the_page() {
    let a = specimen::analysis();
    let page = squeezed(&words_of(&html::render(&a)));
    for h in &a.holes {
        let row = format!("{} {:.2} {:.2}", h.id, h.target.x_mm, h.target.y_mm);
        let place = page.find(&row).unwrap_or_else(|| panic!("{row}"));
        let size = format!("{:.2}", h.displacement.norm_mm());
        assert!(page[place..].split(' ').take(6).any(|word| word == size), "{row}: {size}");
    }
    for r in a.used.iter().chain(&a.set_aside) {
        let row = format!(
            "{} {} to {} {} {:.2} {:.2}",
            r.line, r.from, r.to, r.instrument, r.reading_mm, r.expected_mm
        );
        assert!(page.contains(&row), "{row}");
    }
}

#[test]
fn the_screen_keeps_its_width_and_its_styles_to_itself() {
    for a in [specimen::analysis(), specimen::analysis_inch()] {
        for width in [60, 72, 80, 100, 200] {
            for line in screen(&a, width).lines() {
                assert!(line.chars().count() <= width, "{} wide at {width}: {line}", line.chars().count());
            }
        }
        assert!(text::render(&a, 80).contains("\u{1b}[1m"), "headings are strong");
        assert!(!screen(&a, 80).contains('\u{1b}'));
    }
}

#[test]
fn pages_and_pictures_fetch_nothing_and_are_well_formed() {
    for a in [specimen::analysis(), specimen::analysis_inch()] {
        let page = html::render(&a);
        for outside in ["http:", "https:", "src=", "@import", "<link", "<script", "url(\"", "url(/"] {
            assert!(!page.contains(outside), "{outside}");
        }
        assert!(page.contains("lang=\"en\"") && page.contains("<h1>") && page.contains("scope=\"col\""));
        let picture = heatmap::svg(&a);
        well_formed(&picture);
        for text in ["role=\"img\"", "<title>", "<desc>", "viewBox=", "@font-face"] {
            assert!(picture.contains(text), "{text}");
        }
        assert_eq!(picture.matches("http").count(), 1, "the name of SVG itself, nothing else");
        let parts = heatmap::parts(&a);
        for part in [&parts.as_cut, &parts.after, &parts.key] {
            well_formed(part);
            assert!(page.contains(part.as_str()));
        }
    }
}

/// Checks that tags are closed in their order and that `&` and `<` only stand where XML 1.0 lets them.
#[track_caller]
fn well_formed(xml: &str) {
    let mut open: Vec<&str> = Vec::new();
    let mut rest = xml;
    while let Some((text, after)) = rest.split_once('<') {
        for entity in text.split('&').skip(1) {
            let name = entity.split_once(';').map(|(name, _)| name);
            assert!(matches!(name, Some("amp" | "lt" | "gt" | "quot" | "apos")), "& in {text}");
        }
        let (tag, after) = after.split_once('>').expect("tag is closed");
        assert_eq!(tag.matches('"').count() % 2, 0, "quotes in <{tag}>");
        let name = tag.trim_start_matches('/').split([' ', '/']).next().unwrap_or_default();
        if tag.starts_with('/') {
            assert_eq!(open.pop(), Some(name));
        } else if !tag.ends_with('/') {
            open.push(name);
        }
        rest = after;
    }
    assert_eq!(open, Vec::<&str>::new());
    assert_eq!(rest.trim(), "");
}

#[test]
fn hostile_names_come_out_harmless() {
    let mut a = specimen::analysis();
    let nasty = "<script>alert(1)</script>&\"'\u{1b}[2J\u{202e}\u{0}x";
    a.machine = nasty.to_owned();
    a.cut = nasty.to_owned();
    a.holes[0].id = nasty.to_owned();
    a.set_aside[0].from = nasty.to_owned();
    a.set_aside[0].hint = nasty.to_owned();
    a.used[0].instrument = nasty.to_owned();
    a.instruments[0].name = nasty.to_owned();
    a.not_determined.push(nasty.to_owned());
    let hidden = ['\u{1b}', '\u{202e}', '\u{0}'];
    let page = html::render(&a);
    let picture = heatmap::svg(&a);
    well_formed(&picture);
    for out in [&page, &picture] {
        assert!(!out.contains("<script") && !out.contains(hidden));
        assert!(out.contains("&lt;script&gt;alert(1)"));
    }
    assert!(!screen(&a, 80).contains(hidden));
    // JSON keeps the names, escaped, for programs to compare.
    assert_eq!(parsed(&a)["machine"], nasty);
    assert!(!json::render(&a).contains(['\u{1b}', '\u{0}']));
}

#[test]
fn every_notice_says_what_and_what_next() {
    let a = specimen::analysis_inch();
    let (on_screen, page) = (squeezed(&screen(&a, 80)), squeezed(&words_of(&html::render(&a))));
    let notices = parsed(&a)["notices"].as_array().unwrap().clone();
    assert_eq!(notices.len(), 10);
    for n in notices {
        for key in ["text", "next"] {
            let words = n[key].as_str().unwrap().to_owned();
            assert!(words.ends_with('.'), "{words}");
            // A screen marks items by a dash, and a page sets code without its backticks.
            assert!(on_screen.contains(&squeezed(&words)), "{words}");
            assert!(page.contains(&squeezed(&words.replace('`', ""))), "{words}");
        }
    }
}

#[test]
fn nothing_is_to_be_changed_when_nothing_should_be() {
    let mut a = specimen::analysis();
    a.notices = vec![Notice::LeaveAlone];
    let leave = screen(&a, 80);
    assert!(leave.contains("Nothing: the improvement") && !leave.contains("3302.91"));
    a.notices = vec![Notice::NotSettled];
    a.fit.converged = false;
    assert!(screen(&a, 80).contains("Nothing yet: the fit did not settle."));
    a = specimen::analysis();
    for s in &mut a.settings_new {
        s.to = s.from + 1e-4;
    }
    assert!(screen(&a, 80).contains("Nothing: the settings are as good as these readings can make them."));
}

#[test]
fn the_picture_is_a_png_with_maps_and_paper() {
    let a = specimen::analysis();
    let bytes = heatmap::png(&a);
    let mut reader = png::Decoder::new(std::io::Cursor::new(&bytes)).read_info().expect("a PNG");
    let mut pixels = vec![0; reader.output_buffer_size().expect("a size")];
    let info = reader.next_frame(&mut pixels).expect("a frame");
    assert_eq!(info.width, 1000);
    let at = |x: f64, y: f64| {
        let k = 3 * ((y * f64::from(info.height)) as usize * 1000 + (x * 1000.0) as usize);
        let [r, g, b] = [pixels[k], pixels[k + 1], pixels[k + 2]].map(f64::from);
        0.2126 * r + 0.7152 * g + 0.0722 * b
    };
    // The error as cut is largest in the upper right corner and small right of the middle low down: darker means
    // more. After the correction the same corner is pale.
    assert!(at(0.955, 0.095) < 60.0, "upper right as cut: {}", at(0.955, 0.095));
    assert!(at(0.67, 0.40) > 200.0, "low middle as cut: {}", at(0.67, 0.40));
    assert!(at(0.955, 0.512) > 200.0, "upper right after: {}", at(0.955, 0.512));
    assert!(at(0.5, 0.003) > 254.0, "paper is white");
    assert!(bytes.len() < 600_000, "{} bytes", bytes.len());
}

#[test]
fn odd_records_still_make_reports() {
    let mut bare = specimen::analysis();
    bare.holes.clear();
    bare.used.clear();
    bare.set_aside.clear();
    bare.causes.clear();
    bare.unknowns.clear();
    bare.correlation_names.clear();
    bare.correlation.clear();
    bare.settings_new.clear();
    bare.map.points.clear();
    bare.map.as_cut.clear();
    bare.map.after.clear();
    let mut upright = specimen::analysis();
    (upright.sheet.width_mm, upright.sheet.height_mm) = (1250.0, 2500.0);
    let mut exact = specimen::analysis();
    for d in exact.map.as_cut.iter_mut().chain(&mut exact.map.after) {
        *d = Default::default();
    }
    exact.holes.iter_mut().for_each(|h| h.displacement = Default::default());
    exact.symptoms.skew.estimate = Estimate::default();
    for a in [bare, upright, exact] {
        assert!(parsed(&a)["error"].is_object());
        assert!(screen(&a, 60).contains("What to change"));
        assert!(html::render(&a).ends_with("</html>\n"));
        well_formed(&heatmap::svg(&a));
        assert!(!heatmap::png(&a).is_empty());
    }
}
