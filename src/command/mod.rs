//! The command line: what was asked, and the exit status.

mod baseline;
mod bench;
mod check;
mod completions;
mod deliver;
mod difference;
mod drill;
mod explain;
mod figures;
mod fix;
mod house;
mod houses;
mod inputs;
mod kept;
mod list;
mod load;
mod manual;
mod moved;
mod new;
mod output;
mod progress;
mod record;
mod rulebook;
mod schema;
mod sheet;
mod sizes;
mod suppose;
mod tickets;
mod timings;
mod watch;
mod whole;
mod worked;

use std::io::{self, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process::ExitCode;

use clap::{CommandFactory, Parser, Subcommand};

pub use figures::figures_schema;
pub use house::house_settings_schema;
pub use houses::FOR_EDITOR;
pub use output::ColourChoice;
pub use record::schema as record_schema;

use output::Out;

/// Judges installation plans for vehicle audio: solves the supply, checks every plan by the rules of the trade and
/// shows its working.
#[derive(Debug, Parser)]
#[command(name = "testlamp", version, disable_help_subcommand = true, after_help = statuses())]
struct Line {
    #[command(subcommand)]
    command: Command,
}

/// What the exit statuses mean.
const STATUSES: [(Status, &str); 5] = [
    (Status::Clear, "nothing stands in the way"),
    (Status::Held, "something does: a danger, a fault, or words that cannot be read"),
    (Status::Usage, "wrong usage, a house file or a baseline that cannot be taken, or a fault of testlamp itself"),
    (Status::NotRead, "an input could not be read, or a plan that was mended not be written"),
    (Status::Nothing, "nothing to check"),
];

fn statuses() -> String {
    let lines = STATUSES.map(|(status, words)| format!("  {}  {words}", status as u8));
    format!("Exit status:\n{}", lines.join("\n"))
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Judge plans
    Check(check::Arguments),
    /// Teach one rule
    Explain(explain::Arguments),
    /// Make the changes that rules can prove
    Fix(fix::Arguments),
    /// Make a practice plan for apprentices, or grade their answers
    Drill(drill::Arguments),
    /// Show the solved numbers of a plan
    Figures(figures::Arguments),
    /// Write the job sheet of a plan as one page of HTML, to print or to open on a tablet
    Sheet(sheet::Arguments),
    /// Show what the house decides, and where each setting comes from
    House(house::Arguments),
    /// Start a plan
    New(new::Arguments),
    /// All rules: a list, a book for a browser, or one page to print
    Rulebook(rulebook::Arguments),
    /// Print a JSON Schema
    Schema(schema::Arguments),
    /// Print what completes this command line in a shell
    Completions(completions::Arguments),
    /// Print the manual as a man page
    Manual(manual::Arguments),
    /// Serve an editor: it starts this itself and talks over standard input and output
    LanguageServer,
}

/// How a run ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub enum Status {
    /// Nothing at or above the gate.
    Clear = 0,
    /// Something is.
    Held = 1,
    /// Wrong usage, or the program broke down.
    Usage = 2,
    /// An input could not be read, or a plan that was mended not be written.
    NotRead = 3,
    /// Nothing to check.
    Nothing = 4,
}

/// Runs the command line of this process.
pub fn run() -> ExitCode {
    // A rule that breaks down is reported as such; the message of the machinery below it helps nobody in a workshop.
    std::panic::set_hook(Box::new(|_| {}));
    let status = catch_unwind(AssertUnwindSafe(answer)).unwrap_or_else(|_| {
        complain("testlamp broke down: a fault of testlamp, not of the plan");
        Status::Usage
    });
    ExitCode::from(status as u8)
}

fn answer() -> Status {
    let line = match Line::try_parse() {
        Ok(line) => line,
        Err(error) => {
            // Help and version come this way too; when nobody reads them that is no fault.
            let _ = error.print();
            return if error.use_stderr() { Status::Usage } else { Status::Clear };
        }
    };
    let mut out = Out::stdout();
    let status = match line.command {
        Command::Check(arguments) if arguments.watch => watch::run(&arguments, &mut out),
        Command::Check(arguments) => check::run(&arguments, &mut out),
        Command::Explain(arguments) => explain::run(&arguments, &mut out),
        Command::Fix(arguments) => fix::run(&arguments, &mut out),
        Command::Drill(arguments) => drill::run(&arguments, &mut out),
        Command::Figures(arguments) => figures::run(&arguments, &mut out),
        Command::Sheet(arguments) => sheet::run(&arguments, &mut out),
        Command::House(arguments) => house::run(&arguments, &mut out),
        Command::New(arguments) => new::run(&arguments, &mut out),
        Command::Rulebook(arguments) => rulebook::run(&arguments, &mut out),
        Command::Schema(arguments) => schema::run(&arguments, &mut out),
        Command::Completions(arguments) => completions::run(&arguments, &mut Line::command(), &mut out),
        Command::Manual(arguments) => manual::run(&arguments, Line::command(), &mut out),
        Command::LanguageServer => {
            // The server writes from a thread of its own, so nothing else may hold the output.
            drop(out);
            return if crate::editor::serve(houses::FOR_EDITOR) { Status::Clear } else { Status::Held };
        }
    };
    match status.and_then(|status| out.flush().map(|()| status)) {
        Ok(status) => status,
        Err(error) => {
            complain(&format!("the answer could not be written: {}", reason(&error)));
            Status::Usage
        }
    }
}

/// A sentence for the person at the keyboard, beside the report.
fn complain(words: &str) {
    let _ = writeln!(io::stderr().lock(), "testlamp: {}", crate::report::clean(words));
}

/// Why something could not be read or written, in plain words.
fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder".into(),
        io::ErrorKind::PermissionDenied => "it may not be opened (no permission)".into(),
        io::ErrorKind::AlreadyExists => "it is there already, and stays as it is".into(),
        io::ErrorKind::StorageFull => "there is no space left".into(),
        _ => error.to_string(),
    }
}
