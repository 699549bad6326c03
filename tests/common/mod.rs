//! The program as its users run it.

use assert_cmd::Command;

/// How a run of the program ended: its exit status, and what it wrote to standard output and standard error.
///
/// # Panics
/// When it does not run, is killed, or writes what is not UTF-8.
pub fn ended(command: &mut Command) -> (i32, String, String) {
    let output = command.output().expect("it runs");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    (output.status.code().expect("an exit status"), text(output.stdout), text(output.stderr))
}
