//! Odd places: names in any script, links in place of files and folders.

use super::shop::{command, done, end, files, folder, put, shops, start};
use std::fs;
use std::path::Path;

/// The whole round of work in one folder, with every command.
fn round(at: &Path) {
    let answers = shops().answers.join("\n") + "\n";
    let entered = end(start(command(at, &["enter"]), &answers));
    assert_eq!(entered.code, Some(0), "{entered:?}");
    assert!(entered.out.contains("28 readings saved"), "{}", entered.out);
    for args in [
        &["check"][..],
        &["analyse"],
        &["correct", "--write", "--anyway"],
        &["compensate", "job.nc", "-o", "bent ½ job.nc"],
        &["note", "all done"],
        &["prepare", "--date", "2026-11-27"],
    ] {
        done(at, args);
    }
}

#[test]
fn names_in_any_script() {
    let at = folder();
    for name in ["Werkstatt Süd", "工房 №3", "it's a \"shop\" & co; $(x) %PATH%", "-dash", "مَشغَل", "🪚"]
    {
        let shop = at.path().join(name);
        if cfg!(windows) && name.contains('"') {
            continue;
        }
        put(&shop, &shops().blank);
        round(&shop);
        // Named from outside, too.
        let cut = shop.join("cuts/2026-11-25");
        let cut = cut.strip_prefix(at.path()).unwrap();
        let cut = Path::new(".").join(cut);
        done(at.path(), &["analyse", cut.to_str().unwrap(), "--json"]);
        done(at.path(), &["prepare", Path::new(".").join(name).to_str().unwrap(), "--date", "2026-11-28"]);
    }
}

#[cfg(target_os = "linux")]
#[test]
fn names_that_are_no_text() {
    use std::os::unix::ffi::OsStrExt;
    let at = folder();
    let shop = at.path().join(std::ffi::OsStr::from_bytes(b"w\xffrk"));
    put(&shop, &shops().blank);
    round(&shop);
}

/// A link is followed and stays a link; the file behind it is the one that changes.
#[cfg(unix)]
#[test]
fn links_stay_links() {
    use std::os::unix::fs::symlink;
    let (at, real) = (folder(), folder());
    put(real.path(), &shops().blank);
    fs::write(real.path().join("events.csv"), "date,cut,kind,what,from,to,unit,note\n").unwrap();
    for name in ["machine.toml", "cuts", "job.nc", "events.csv"] {
        symlink(real.path().join(name), at.path().join(name)).unwrap();
    }
    let before = files(real.path());
    round(at.path());
    for name in ["machine.toml", "cuts", "job.nc", "events.csv"] {
        assert!(fs::symlink_metadata(at.path().join(name)).unwrap().is_symlink(), "{name}");
    }
    let after = files(real.path());
    for name in ["machine.toml", "cuts/2026-11-25/readings.csv", "events.csv"] {
        assert!(after[Path::new(name)] != before[Path::new(name)], "{name} behind the link is the old one");
    }
    assert!(fs::read_to_string(real.path().join("events.csv")).unwrap().contains("all done"));
    // A link to a file that is not there yet.
    let dangling = folder();
    put(dangling.path(), &shops().measured);
    symlink(real.path().join("elsewhere.csv"), dangling.path().join("events.csv")).unwrap();
    done(dangling.path(), &["note", "through a link"]);
    assert!(fs::read_to_string(real.path().join("elsewhere.csv")).unwrap().contains("through a link"));
}
