//! Headless Chromium for tests of pages. Where it is not installed these tests say so and check nothing, except where
//! the environment has `TAUTGRID_BROWSER=needed`, as `.ci/run` sets it: then they fail.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

const NAMES: [&str; 4] = ["chromium", "chromium-browser", "google-chrome", "chrome"];

/// A browser with a memory of its own.
pub struct Browser {
    program: PathBuf,
    memory: tempfile::TempDir,
}

impl Browser {
    /// The browser, when there is one.
    pub fn find() -> Option<Self> {
        let path = std::env::var_os("PATH").unwrap_or_default();
        let found = std::env::split_paths(&path)
            .flat_map(|folder| NAMES.map(|name| folder.join(name)))
            .find(|p| p.is_file());
        if found.is_none() {
            assert!(
                std::env::var_os("TAUTGRID_BROWSER").is_none(),
                "Chromium is needed here and not installed"
            );
            eprintln!("no Chromium on this machine: pages are not checked");
        }
        Some(Self { program: found?, memory: tempfile::tempdir().expect("a folder") })
    }

    fn run(&self, arguments: &[String], page: &Path) -> Vec<u8> {
        let output = Command::new(&self.program)
            .args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking"])
            .args(["--disable-dev-shm-usage", "--no-pdf-header-footer"])
            .arg(format!("--user-data-dir={}", self.memory.path().display()))
            .args(arguments)
            .arg(format!("file://{}", page.display()))
            .stderr(Stdio::null())
            .output()
            .expect("the browser runs");
        output.stdout
    }

    /// Pages that a document takes when printed, and their size in points.
    pub fn print(&self, page: &Path) -> (usize, String) {
        let pdf = self.memory.path().join("out.pdf");
        self.run(&[format!("--print-to-pdf={}", pdf.display())], page);
        let text = String::from_utf8_lossy(&std::fs::read(&pdf).expect("a PDF")).into_owned();
        let pages = text.split("/Type /Page").skip(1).filter(|rest| !rest.starts_with('s')).count();
        let size =
            text.split("/MediaBox [").nth(1).and_then(|rest| rest.split(']').next()).unwrap_or_default();
        (pages, size.to_owned())
    }

    /// What a script, run at the end of a page, leaves as the text of an element `left`; the page keeps its memory from
    /// one run to the next.
    pub fn run_script(&self, page: &Path, script: &str) -> String {
        let whole = std::fs::read_to_string(page).expect("a page");
        let tail = format!(
            "<script>(async () => {{ let left; try {{ left = await (async () => {{ {script} }})(); }} catch (e) {{ left = String(e.stack); }} \
             const pre = document.createElement('pre'); pre.id = 'left'; pre.textContent = encodeURIComponent(left); \
             document.body.append(pre); }})();</script></body>"
        );
        std::fs::write(page, whole.replace("</body>", &tail)).expect("a written page");
        let found = self.run(&["--virtual-time-budget=10000".to_owned(), "--dump-dom".to_owned()], page);
        std::fs::write(page, whole).expect("a written page");
        let found = String::from_utf8(found).expect("UTF-8");
        let left = found.split("<pre id=\"left\">").nth(1).and_then(|rest| rest.split("</pre>").next());
        decoded(left.unwrap_or_else(|| panic!("the script left nothing:\n{found}")))
    }
}

/// What `encodeURIComponent` encoded.
fn decoded(text: &str) -> String {
    let mut bytes = Vec::new();
    let mut rest = text.bytes();
    while let Some(b) = rest.next() {
        if b == b'%' {
            let pair = [rest.next(), rest.next()]
                .map(|d| char::from(d.expect("two digits")).to_digit(16).expect("hex"));
            bytes.push((pair[0] * 16 + pair[1]) as u8);
        } else {
            bytes.push(b);
        }
    }
    String::from_utf8(bytes).expect("UTF-8")
}
