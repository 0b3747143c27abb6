//! Which further readings an analysis asks for, and how they come into the list.

use crate::shop::Shop;
use std::fs;

#[test]
fn six_more_are_named_and_added_only_when_asked_for() {
    let shop = Shop::new("mm", &["--readings", "12", "--no-edges"]);
    let file = shop.file("readings.csv");
    let spellings = shop.spellings(3);
    let table = fs::read_to_string(&file).expect("a table");
    // As a spreadsheet saves it: CRLF, a mark at the start.
    let mut lines = table.lines();
    let mut filled = vec![lines.next().expect("a header").to_owned()];
    for (line, spelling) in lines.zip(&spellings) {
        let mut cells: Vec<&str> = line.split(',').collect();
        cells[2] = spelling;
        filled.push(cells.join(","));
    }
    let filled = format!("\u{feff}{}\r\n", filled.join("\r\n"));
    fs::write(&file, &filled).expect("a written table");

    let (code, said) = shop.run(&["analyse", "--more", "6"]);
    assert!(code < 2, "{said}");
    let asked = said.split("These 6 would bring it to ").nth(1).expect("six more");
    let named = asked.lines().skip(1).take_while(|l| l.starts_with("  ")).count();
    assert_eq!(named, 6, "{said}");
    assert_eq!(fs::read_to_string(&file).expect("the table"), filled);

    let (code, said) = shop.run(&["analyse", "--more", "6", "--add"]);
    assert!(code < 2 && said.contains("6 added to "), "{said}");
    let after = fs::read_to_string(&file).expect("the table");
    assert!(after.starts_with(filled.trim_end()), "{after}");
    let table = shop.table();
    assert_eq!((table.readings.len(), table.blank()), (12, 6));
    // Asked again, with six blanks in the list, it adds none twice.
    let (_, said) = shop.run(&["analyse", "--more", "6", "--add"]);
    assert!(said.contains("0 added to ") && said.contains("still blank: take those first"), "{said}");
}
