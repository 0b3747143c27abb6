//! A disk that is full, and a folder that cannot be written.

use super::shop::{PROGRAM, all_that_write, done, end, files, folder, halves, put, shops, start};
use std::fs;
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::{Command, Stdio};

/// What the program must say and leave when it cannot save.
fn sound(
    what: &str,
    run: &super::shop::Run,
    at: &Path,
    before: &super::shop::Files,
    after: &super::shop::Files,
) {
    let now = files(at);
    let wrong = halves(&now, before, after);
    assert!(wrong.is_empty(), "{what}: {}", wrong.join("\n"));
    match run.code {
        Some(2) => assert!(
            run.err.contains("error: ") && run.err.contains("cannot be written")
                || run.err.contains("cannot save")
                || run.err.contains("can be written"),
            "{what}: {run:?}"
        ),
        Some(0 | 1) => assert!(now == *after, "{what} says that it is done, and is not"),
        _ => panic!("{what}: {run:?}"),
    }
}

/// No file may be longer than a limit: what a full disk does, and anybody may ask for.
#[test]
fn files_that_cannot_grow() {
    println!("{:12} {:>8} {:>8}", "command", "refused", "done");
    for writes in all_that_write() {
        let (before, (after, _)) = (writes.from.files(), writes.undisturbed());
        let (mut refused, mut finished) = (0, 0);
        // Blocks of 512 bytes.
        for blocks in [0, 1, 2, 4, 8, 12, 16, 64, 128, 256, 512, 1024, 4096] {
            let at = writes.shop();
            let mut limited = Command::new("sh");
            limited.args(["-c", &format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" \"$@\""), PROGRAM]);
            limited.args(writes.args).current_dir(at.path()).env("NO_COLOR", "1");
            limited.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
            let run = end(start(limited, &writes.input));
            // `enter` stops at the answer that it cannot save.
            if writes.name == "enter" {
                assert!(files(at.path()) == before || run.code == Some(0), "{run:?}");
            } else {
                sound(&format!("{} within {blocks} blocks", writes.name), &run, at.path(), &before, &after);
            }
            if run.code == Some(2) { refused += 1 } else { finished += 1 }
        }
        println!("{:12} {refused:>8} {finished:>8}", writes.name);
        assert!(refused > 0 && finished > 0, "{}: {refused} refused, {finished} done", writes.name);
    }
}

/// A small disk of its own, filled to the brim, where the system lets us have one.
#[test]
fn a_full_disk() {
    let at = folder();
    let mounted =
        Command::new("mount").args(["-t", "tmpfs", "-o", "size=2m", "tmpfs"]).arg(at.path()).output();
    if !mounted.is_ok_and(|m| m.status.success()) {
        println!("no small disk can be had here (that takes root): files_that_cannot_grow stands for it");
        return;
    }
    let result = std::panic::catch_unwind(|| {
        for writes in all_that_write() {
            let (before, (after, code)) = (writes.from.files(), writes.undisturbed());
            for left in [0, 1, 4, 16] {
                let shop = at.path().join(format!("{}-{left}", writes.name));
                put(&shop, &before);
                fs::create_dir_all(&shop).unwrap();
                let filler = at.path().join("filler");
                let mut file = fs::File::create(&filler).unwrap();
                while std::io::Write::write(&mut file, &[0; 4096]).is_ok_and(|n| n > 0) {}
                let full = file.metadata().unwrap().len();
                file.set_len(full.saturating_sub(left * 4096)).unwrap();
                let run = end(start(writes.command(&shop), &writes.input));
                if writes.name != "enter" {
                    sound(&format!("{} with {left} pages left", writes.name), &run, &shop, &before, &after);
                }
                drop(file);
                fs::remove_file(&filler).unwrap();
                // With room again, the same words do the work.
                if writes.repeats && files(&shop) != after {
                    let run = end(start(writes.command(&shop), &writes.input));
                    assert!(run.code == code && files(&shop) == after, "{}: {run:?}", writes.name);
                }
                fs::remove_dir_all(&shop).unwrap();
            }
        }
    });
    Command::new("umount").arg(at.path()).status().unwrap();
    result.unwrap();
}

/// The answer still comes; what cannot be saved is said; nothing changes.
#[test]
fn a_folder_that_cannot_be_written() {
    let place = folder();
    let program = place.path().join("tautgrid");
    fs::copy(PROGRAM, &program).unwrap();
    fs::set_permissions(&program, fs::Permissions::from_mode(0o755)).unwrap();
    let root = fs::metadata(place.path()).unwrap().uid() == 0;
    for writes in all_that_write() {
        let at = writes.shop();
        let before = writes.from.files();
        let set = |mode| {
            let mut folders = vec![at.path().to_owned()];
            while let Some(next) = folders.pop() {
                let inside = fs::read_dir(&next).unwrap().map(|e| e.unwrap().path());
                folders.extend(inside.filter(|p| p.is_dir()));
                fs::set_permissions(&next, fs::Permissions::from_mode(mode)).unwrap();
            }
        };
        set(0o555);
        let mut command = Command::new(&program);
        command.args(writes.args).current_dir(at.path()).env("NO_COLOR", "1");
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        if root {
            // No folder is closed to root: be nobody.
            command.uid(65534).gid(65534);
        }
        let run = end(start(command, &writes.input));
        set(0o755);
        assert_eq!(run.code, Some(2), "{}: {run:?}", writes.name);
        assert!(run.err.contains("ermission denied") || run.err.contains("ead-only"), "{run:?}");
        assert!(files(at.path()) == before, "{}", writes.name);
        if writes.name == "analyse" {
            assert!(run.out.contains("What to change") || run.out.contains("spacing"), "{run:?}");
        }
    }
}

/// An answer that cannot be printed is no success.
#[test]
fn a_full_disk_under_the_answer() {
    let Ok(full) = fs::File::options().write(true).open("/dev/full") else { return };
    let at = folder();
    put(at.path(), &shops().measured);
    done(at.path(), &["check"]);
    let mut command = super::shop::command(at.path(), &["check"]);
    command.stdout(full);
    let run = end(start(command, ""));
    assert_eq!(run.code, Some(2));
    assert!(run.err.contains("cannot be written"), "{run:?}");
}
