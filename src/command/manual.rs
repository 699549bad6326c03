//! `manual`: the manual as a man page.

use std::io::{self, Write};

use clap::{Args, Command};
use clap_mangen::Man;
use clap_mangen::roff::{Roff, bold, roman};

use super::{STATUSES, Status, complain};
use crate::words::{all, nearest};

/// What `manual` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The page of this command, like check; without it the first page
    command: Option<String>,
}

/// Prints a page.
///
/// # Errors
/// When it cannot be written.
pub fn run(arguments: &Arguments, mut line: Command, out: &mut dyn Write) -> io::Result<Status> {
    line.build();
    let Some(wanted) = &arguments.command else {
        page(line.clone(), &line, out)?;
        return Ok(Status::Clear);
    };
    let names: Vec<&str> = line.get_subcommands().map(Command::get_name).collect();
    let Some(found) = line.find_subcommand(wanted) else {
        let near = nearest(wanted, names.iter().copied());
        let hint = near.map_or_else(|| format!("there: {}", all(&names)), |near| format!("did you mean {near}?"));
        complain(&format!("there is no command of that name; {hint}"));
        return Ok(Status::Usage);
    };
    page(found.clone(), &line, out)?;
    Ok(Status::Clear)
}

fn page(command: Command, line: &Command, out: &mut dyn Write) -> io::Result<()> {
    let is_first = command.get_name() == line.get_name();
    let version = line.get_version().unwrap_or_default();
    let man =
        Man::new(command.display_order(0).after_help("")).source(format!("testlamp {version}")).manual("testlamp");
    man.render_title(out)?;
    man.render_name_section(out)?;
    man.render_synopsis_section(out)?;
    man.render_description_section(out)?;
    man.render_options_section(out)?;
    let mut roff = Roff::new();
    if is_first {
        roff.control("SH", ["COMMANDS"]);
        for command in line.get_subcommands() {
            let about = command.get_about().map(ToString::to_string).unwrap_or_default();
            roff.control("TP", []);
            roff.text([bold(format!("testlamp {}", command.get_name()))]);
            roff.text([roman(format!("{about}; testlamp-{}(1)", command.get_name()))]);
        }
    }
    roff.control("SH", ["EXIT STATUS"]);
    for (status, words) in STATUSES {
        roff.control("TP", []);
        roff.text([bold((status as u8).to_string())]);
        roff.text([roman(words)]);
    }
    if !is_first {
        roff.control("SH", ["SEE ALSO"]);
        roff.text([bold("testlamp"), roman("(1)")]);
    }
    roff.to_writer(out)
}
