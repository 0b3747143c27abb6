//! Text that means harm, wherever a person may put text: nothing of it acts in a page, a picture, a terminal, a
//! spreadsheet or a control.

use super::shop::{Run, command, end, files, folder, start};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

const NASTY: [&str; 14] = [
    "<blink onload=alert(1)>Zq</blink>",
    "\"><iframe srcdoc='<b>' onerror=\"x\">",
    "' onmouseover='alert(1)' x='",
    "</style></script></title><object data=x>",
    "&lt;applet&gt; <!-- ]]> <![CDATA[<embed>",
    "\u{1b}[2J\u{1b}]0;owned\u{7}\u{9b}31m",
    "abc\u{202e}cba\u{2066}x\u{2069}\u{200f}\u{61c}\u{200b}",
    "=cmd|'/c calc'!A1",
    "+1+1,@SUM(A1:A9);-2",
    "x) M3 S24000 (y",
    "(MSG, start) ; G0 Z-50 % !~?",
    "first\nM30\nG0 Z-99\r%\r",
    "\"\"\"\n[machine]\nname = 'x' # \\u0000 {a}",
    "\t,\"a\";'b'\\\0\u{feff}\u{e0041}\u{fffe}",
];

/// Pieces that mean something somewhere.
fn any_nasty() -> impl Strategy<Value = String> {
    let pieces: Vec<&str> = vec![
        "<blink ", "onload=", "</", ">", "<", "\"", "'", "&", "&#60;", "]]>", "\u{1b}[", "\u{9b}",
        "\u{202e}", "\u{2028}", "=", "+", "-", "@", "(", ")", ";", "%", "M3", "G0 Z-9", "msg,", "\n", "\r",
        "\t", "\u{0}", "{", "}", "[", "]", "\\", "\"\"\"", "#", ",", "½", "漢",
    ];
    prop::collection::vec(prop::sample::select(pieces), 1..12).prop_map(|p| p.concat())
}

/// Tags and attributes of a page or picture, as `tag` and `tag attribute`.
fn tags(text: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    let mut rest = text;
    while let Some(at) = rest.find('<') {
        rest = &rest[at + 1..];
        if let Some(after) = rest.strip_prefix("!--") {
            rest = after.split_once("-->").map_or("", |(_, r)| r);
            continue;
        }
        let name: String = rest.chars().take_while(|c| c.is_alphanumeric() || "/!?-:".contains(*c)).collect();
        if name.is_empty() {
            found.insert("< without a name".to_owned());
            continue;
        }
        rest = &rest[name.len()..];
        found.insert(name.clone());
        loop {
            rest = rest.trim_start_matches(|c: char| c.is_whitespace() || c == '/' || c == '?');
            if rest.is_empty() || rest.starts_with('>') {
                break;
            }
            let attribute: String =
                rest.chars().take_while(|c| !c.is_whitespace() && !"=>/".contains(*c)).collect();
            rest = &rest[attribute.len().max(1)..];
            found.insert(format!("{name} {attribute}"));
            if let Some(value) = rest.strip_prefix('=') {
                rest = match value.chars().next() {
                    Some(q @ ('"' | '\'')) => value[1..].split_once(q).map_or("", |(_, r)| r),
                    _ => value.trim_start_matches(|c: char| !c.is_whitespace() && c != '>'),
                };
            }
        }
        // What stands in these is no markup.
        if ["script", "style"].contains(&name.as_str()) {
            let end = format!("</{name}");
            rest = rest.find(&end).map_or("", |at| &rest[at..]);
        }
    }
    found
}

/// Does it move a cursor, change colours, or turn the reading direction?
fn unruly(c: char) -> bool {
    (c.is_control() && c != '\n')
        || matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// What a control would do: lines without their comments, blanks and empty ones left out.
fn commands_of(program: &str) -> Vec<String> {
    let mut lines = Vec::new();
    for line in program.lines() {
        assert!(line.is_ascii() && line.len() <= 256, "{line:?}");
        let (mut outside, mut comment) = (String::new(), None::<String>);
        for c in line.chars() {
            match (&mut comment, c) {
                (None, '(') => comment = Some(String::new()),
                (None, ')') => panic!("a bracket closes nothing: {line:?}"),
                (None, c) => outside.push(c),
                (Some(_), ')') => comment = None,
                (Some(inside), c) => {
                    assert!(!"(;%!~?*".contains(c) && !c.is_control(), "{c:?} inside a comment: {line:?}");
                    inside.push(c);
                    assert!(!inside.to_lowercase().contains("msg"), "{line:?}");
                }
            }
        }
        assert!(comment.is_none(), "a comment without an end: {line:?}");
        assert!(!outside.contains(';'), "{line:?}");
        if !outside.trim().is_empty() {
            lines.push(outside.trim().to_owned());
        }
    }
    lines
}

/// Nothing in a table that a spreadsheet computes.
fn tame_table(name: &str, text: &str) {
    let mut reader = csv::ReaderBuilder::new().flexible(true).has_headers(false).from_reader(text.as_bytes());
    for record in reader.records() {
        for cell in &record.unwrap() {
            let computes = cell.trim_start().starts_with(['=', '+', '-', '@', '\t', '\r']);
            assert!(!computes || cell.trim().parse::<f64>().is_ok(), "{name}: {cell:?}");
            assert!(!cell.contains('\u{1b}'), "{name}: {cell:?}");
        }
    }
}

/// The whole round of work with one text put wherever a text may be put. Hands back tags of all pages and pictures,
/// and what the programs do.
fn round(text: &str) -> (BTreeSet<String>, Vec<Vec<String>>) {
    let at = folder();
    let all = |args: &[&str]| -> Run {
        // A command line cannot hold a zero byte.
        let args: Vec<String> = args.iter().map(|a| a.replace('\0', "\u{1}")).collect();
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        let run = end(start(command(at.path(), &args), ""));
        for c in run.out.chars().chain(run.err.chars()) {
            assert!(!unruly(c), "{c:?} on the terminal after {args:?}: {run:?}");
        }
        run
    };
    let made = all(&["new", ".", &format!("--name={text}")]);
    if made.code != Some(0) {
        assert_eq!(all(&["new", ".", "--name", "shop"]).code, Some(0));
    }
    // An instrument's name, where the file allows it.
    let machine = at.path().join("machine.toml");
    let good = fs::read_to_string(&machine).unwrap();
    let quoted = toml::Value::String(text.to_owned()).to_string();
    fs::write(&machine, good.replace("name = \"tape\"", &format!("name = {quoted}"))).unwrap();
    if all(&["check"]).code != Some(0) {
        fs::write(&machine, &good).unwrap();
    }
    let day = ["--material", "--bit", "--operator", "--note"].map(|flag| format!("{flag}={text}"));
    let mut prepare = vec!["prepare", "--date", "2026-11-25"];
    prepare.extend(day.iter().map(String::as_str));
    let prepared = all(&prepare);
    if prepared.code != Some(0) {
        assert_eq!(prepared.code, Some(2), "{prepared:?}");
        assert_eq!(all(&prepare[..3]).code, Some(0));
    }
    assert_eq!(all(&["simulate", "--fault", "spacing=+3"]).code, Some(0));
    let readings = at.path().join("cuts/2026-11-25/readings.csv");
    let mut table = csv::ReaderBuilder::new().has_headers(false).from_path(&readings).unwrap();
    let mut out = csv::Writer::from_writer(Vec::new());
    for (k, record) in table.records().enumerate() {
        let mut cells: Vec<String> = record.unwrap().iter().map(str::to_owned).collect();
        if k > 0 {
            cells[5] = text.replace('\0', " ");
        }
        out.write_record(&cells).unwrap();
    }
    fs::write(&readings, out.into_inner().unwrap()).unwrap();
    let answer = "again\nnote ".to_owned() + &text.replace(['\n', '\r', '\0'], " ") + "\nlist\nstop\n";
    let entered = end(start(command(at.path(), &["enter"]), &answer));
    assert!(!entered.out.chars().any(unruly), "{entered:?}");
    all(&["note", "--", text]);
    all(&["check"]);
    assert_eq!(all(&["analyse"]).code, Some(1));
    let json = all(&["analyse", "--json"]).out;
    serde_json::from_str::<serde_json::Value>(&json).unwrap();
    all(&["correct", "--write", "--anyway"]);
    fs::write(at.path().join("job.nc"), super::shop::JOB).unwrap();
    assert_eq!(all(&["compensate", "job.nc", "-o", "bent.nc"]).code, Some(0));
    all(&["history"]);
    all(&["explain", text]);
    all(&["analyse", text]);
    all(&["check", &format!("./{text}")]);

    let (mut found, mut programs) = (BTreeSet::new(), Vec::new());
    for (name, bytes) in files(at.path()) {
        let name = name.to_string_lossy().into_owned();
        let Ok(content) = String::from_utf8(bytes) else { continue };
        match Path::new(&name).extension().and_then(|e| e.to_str()) {
            Some("html" | "svg") => {
                found.extend(tags(&content).into_iter().map(|t| format!("{name}: {t}")));
                let bad = content.chars().find(|&c| unruly(c) && !"\t\r".contains(c));
                assert_eq!(bad, None, "{name}");
            }
            Some("nc") if name != "job.nc" => programs.push(commands_of(&content)),
            Some("csv") if name != "cuts/2026-11-25/readings.csv" => tame_table(&name, &content),
            Some("toml") => {
                content.parse::<toml::Table>().unwrap_or_else(|e| panic!("{name}: {e}\n{content}"));
            }
            _ => {}
        }
    }
    (found, programs)
}

#[test]
fn no_text_becomes_anything_else() {
    let (tags, programs) = round("an ordinary text");
    assert!(tags.len() > 50 && programs.len() == 3, "{} {}", tags.len(), programs.len());
    let mut cases = 0;
    let mut check = |text: &str| {
        let (now, done) = round(text);
        let new: Vec<_> = now.difference(&tags).collect();
        assert!(new.is_empty(), "{text:?} made {new:?}");
        // The jobs bent and drilled are the same to a hair, whatever the texts: nothing of them is a command.
        assert_eq!(done.len(), programs.len());
        for (now, then) in done.iter().zip(&programs) {
            assert_eq!(now, then, "{text:?}");
        }
        cases += 1;
    };
    NASTY.iter().for_each(|text| check(text));
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    for _ in 0..12 {
        check(&any_nasty().new_tree(&mut runner).unwrap().current());
    }
    println!("{cases} texts in 12 places each came out harmless");
}

/// The measure that this test uses is no blunt one.
#[test]
fn what_acts_is_seen() {
    assert!(tags("<p>a<blink onload=x>").contains("blink onload"));
    assert!(tags("<p title=\"a\" onerror=\"x\">").contains("p onerror"));
    assert!(!tags("<p title=\"a onerror=x\">").contains("p onerror"));
    assert!(tags("<script>if (a<b) x</script><embed>").contains("embed"));
    assert!(std::panic::catch_unwind(|| commands_of("(a) M3 (b))")).is_err());
    assert!(std::panic::catch_unwind(|| commands_of("(a ; b)")).is_err());
    assert_eq!(commands_of("(a)\nG0 X1 (b) Y2\n"), ["G0 X1  Y2"]);
    assert!(std::panic::catch_unwind(|| tame_table("", "a,=b\n")).is_err());
}
