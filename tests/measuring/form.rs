//! The form for the phone: it reads lengths as the program does, keeps what was typed, and hands over a table.

use crate::browser::Browser;
use crate::shop::Shop;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use std::fs;
use tautgrid::frame::Unit;
use tautgrid::readings::length::{Context, read};

/// What the program makes of a spelling, as the script writes it: the length and whether inches were assumed, or why
/// it is none.
fn by_the_program(text: &str, unit: Unit) -> String {
    match read(text, Context::of(unit)) {
        Ok(length) => format!("{:.9} {}", length.mm, length.assumed_inches),
        Err(refusal) => refusal.why,
    }
}

#[test]
fn it_understands_lengths_as_the_program_does() {
    let Some(browser) = Browser::find() else { return };
    let mut texts: Vec<String> = serde_json::from_str(include_str!("spellings.json")).expect("the table");
    let listed = texts.len();
    // And strings of chance, from the signs that lengths are made of.
    let signs: Vec<char> = "0123456789012345.,/ -'\"mcinft½\u{2032}l+".chars().collect();
    let mut random = Pcg64Mcg::seed_from_u64(390);
    for _ in 0..4000 {
        let length = random.random_range(1..9);
        texts.push((0..length).map(|_| signs[random.random_range(0..signs.len())]).collect());
    }
    let shop = Shop::new("mm", &[]);
    let script = format!(
        "const out = []; for (const text of {}) for (const unit of ['mm', 'inch']) {{ \
         try {{ const l = tautgrid.read(text, unit); out.push(`${{l.mm.toFixed(9)}} ${{l.assumed}}`); }} \
         catch (e) {{ if (!(e instanceof tautgrid.Refused)) throw e; out.push(e.why); }} }} return JSON.stringify(out);",
        serde_json::to_string(&texts).expect("JSON")
    );
    let left = browser.run_script(&shop.file("form.html"), &script);
    let found: Vec<String> = serde_json::from_str(&left).unwrap_or_else(|_| panic!("{left}"));
    assert_eq!(found.len(), 2 * texts.len());
    let mut lengths = 0;
    for (k, text) in texts.iter().enumerate() {
        for (unit, found) in [Unit::Mm, Unit::Inch].into_iter().zip(&found[2 * k..]) {
            let expected = by_the_program(text, unit);
            lengths += usize::from(read(text, Context::of(unit)).is_ok());
            // signs that cannot be shown are quoted in different ways
            let quoted = expected.contains("character") && found.contains("character");
            assert!(
                *found == expected || quoted,
                "{text:?} in {unit:?}: {found:?} in the form, {expected:?} in the program"
            );
        }
    }
    println!(
        "{listed} spellings and 4000 strings of chance in mm and inch, {lengths} of them lengths: no difference"
    );
}

#[test]
fn what_is_typed_is_kept_and_handed_over_to_the_analysis() {
    let Some(browser) = Browser::find() else { return };
    for unit in ["mm", "inch"] {
        let shop = Shop::new(unit, &["--readings", "20"]);
        let form = shop.file("form.html");
        let spellings = shop.spellings(7);
        // The tape was started at a mark from the ninth on: the person writes what the tape shows.
        let start = if unit == "mm" { "100" } else { "10" };
        let typed: Vec<String> = spellings
            .iter()
            .enumerate()
            .map(|(k, s)| match (k >= 8, unit) {
                (true, "mm") => {
                    format!("{:.1}", s.parse::<f64>().expect("a number") + 100.0).replace('.', ",")
                }
                (true, _) => {
                    let (whole, rest) = s.split_once(' ').unwrap_or((s, ""));
                    format!("{} {rest}", whole.parse::<u32>().expect("inches") + 10).trim().to_owned()
                }
                _ => s.clone(),
            })
            .collect();
        let type_all = format!(
            "const type = (e, t) => {{ e.value = t; e.dispatchEvent(new Event('input', {{ bubbles: true }})); }}; \
             const rows = [...document.querySelectorAll('li')]; const out = []; \
             {}.forEach((t, k) => {{ if (k === 8) type(document.getElementById('start'), '{start}'); \
             type(rows[k].querySelector('.reading'), t); out.push(rows[k].querySelector('.said').textContent); }}); \
             type(rows[1].querySelector('.note input'), '=rim \"torn\", read twice'); \
             return JSON.stringify(out);",
            serde_json::to_string(&typed).expect("JSON")
        );
        let said: Vec<String> = serde_json::from_str(&browser.run_script(&form, &type_all)).expect("words");
        for (k, said) in said.iter().enumerate() {
            let from = said.contains("from the mark");
            assert!(said.starts_with("Taken: ") && from == (k >= 8), "{}: {said}", typed[k]);
        }
        // Another day: all is still there; then it is saved.
        let hand_over = "let blob; URL.createObjectURL = (b) => { blob = b; return 'about:blank'; }; \
                         HTMLAnchorElement.prototype.click = () => {}; document.getElementById('save').click(); \
                         return document.getElementById('count').textContent + '\\n' + await blob.text();";
        let left = browser.run_script(&form, hand_over);
        let (count, csv) = left.split_once('\n').expect("two parts");
        assert_eq!(count, format!("{0} of {0} taken", spellings.len()));
        fs::write(shop.file("readings.csv"), csv).expect("a written table");
        let table = shop.table();
        assert_eq!(table.blank(), 0);
        assert!(csv.contains("\"'=rim \"\"torn\"\", read twice\""), "{csv}");
        let (code, said) = shop.run(&["analyse"]);
        assert!(code < 2, "{said}");
        println!("{unit}: {}", said.lines().next().unwrap_or_default());
    }
}

#[test]
fn slips_are_told_at_once() {
    let Some(browser) = Browser::find() else { return };
    let shop = Shop::new("mm", &["--no-edges"]);
    let read = shop.table().rows[0].clone();
    let script = "const row = document.querySelector('li'), field = row.querySelector('.reading'); \
        const low = Number(row.dataset.low), high = Number(row.dataset.high), out = []; \
        for (const t of [String((low + high) / 2), String(high + 150), '12l9.4', '24 1/2', '-5', '1,234', '']) { \
        field.value = t; field.dispatchEvent(new Event('input', { bubbles: true })); \
        out.push([t, field.getAttribute('aria-invalid'), row.querySelector('.said').textContent]); } return JSON.stringify(out);";
    let left: Vec<[String; 3]> =
        serde_json::from_str(&browser.run_script(&shop.file("form.html"), script)).expect("words");
    for (row, (wrong, words)) in left.iter().zip([
        ("false", "Taken: "),
        ("true", "Which holes are they? Read again."),
        ("true", "did you mean 1219.4?"),
        ("true", "could be mm or inches"),
        ("true", "not negative"),
        ("true", "thousands or decimals"),
        ("false", ""),
    ]) {
        println!("{:10} {}", row[0], row[2]);
        assert!(row[1] == wrong && row[2].contains(words), "{row:?}");
    }
    assert_eq!(read.spelling, "");
}

#[test]
fn it_fetches_nothing_and_gives_nothing_away() {
    for unit in ["mm", "inch"] {
        let shop = Shop::new(unit, &[]);
        let page = fs::read_to_string(shop.file("form.html")).expect("the form");
        for forbidden in ["http://", "https://", "src=", "fetch(", "XMLHttp", "innerHTML", "eval("] {
            assert!(!page.replace("src:url(data:", "").contains(forbidden), "{forbidden}");
        }
        for row in shop.table().rows {
            let (tautgrid::readings::Place::Hole(a), tautgrid::readings::Place::Hole(b)) = (row.from, row.to)
            else {
                continue;
            };
            let length = shop.holes[a].target.distance_mm(shop.holes[b].target);
            // bands in inches have such numbers of mm themselves
            let away = unit == "mm" && page.contains(&format!("{length:.1}"));
            assert!(!away && !page.contains(&format!("{length:.3}")), "{length} is given away");
        }
    }
}
