//! The command line of testlamp.

use std::process::ExitCode;

fn main() -> ExitCode {
    testlamp::command::run()
}
