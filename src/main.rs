//! The program: flags, files, the clock and exit codes. Everything it knows of machines is in the library.

mod cli;

fn main() -> std::process::ExitCode {
    cli::run()
}
