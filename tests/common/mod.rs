//! The program as its users run it.

use std::path::Path;

use assert_cmd::Command;

/// The program in a folder, with arguments.
///
/// # Panics
/// When it was not built.
pub fn program(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::cargo_bin("testlamp").expect("the program");
    command.current_dir(folder).args(arguments);
    command
}

/// How a run of the program ended: its exit status, and what it wrote to standard output and standard error.
///
/// # Panics
/// When it does not run, is killed, or writes what is not UTF-8.
pub fn ended(command: &mut Command) -> (i32, String, String) {
    let output = command.output().expect("it runs");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    (output.status.code().expect("an exit status"), text(output.stdout), text(output.stderr))
}
