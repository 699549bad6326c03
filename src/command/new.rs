//! `new`: start a plan.

use std::fmt::Display;
use std::io::{self, BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use serde::de::DeserializeOwned;

use super::whole::Whole;
use super::{Status, complain, houses};
use crate::house::House;
use crate::judge::judge;
use crate::plan::{Airbags, Body, HighVoltage, Shelves, SystemVoltage, Zone, choices, read_with};
use crate::quantity::{Current, Quantity};
use crate::report::clean;
use crate::rules;
use crate::start::{self, Amplifier, Driver, Facts, Side, draft};
use crate::words::{all, count, either, excerpt};

/// Keys of a plan that take a word of a closed list.
const VOLTAGE: &str = "vehicle.voltage";
const BODY: &str = "vehicle.body";
const HIGH_VOLTAGE: &str = "vehicle.high_voltage";
const AIRBAGS: &str = "vehicle.airbags";
/// What is said of the channels of an amplifier.
const OUTPUTS: &str = "like 1 x 500 W at 2 ohm, 4 x 75 W + 1 x 300 W at 2 ohm, or 4 channels";

/// What `new` takes.
#[derive(Debug, Args)]
#[command(after_help = "Without any fact `new` asks for them on a terminal. An amplifier is said like\n  \
                        --amplifier \"bass-amp: 1 x 500 W at 2 ohm, in cargo\" or --amplifier \"bass-amp: shelf mono-500\"\n\
                        and a driver like\n  --driver \"sub: subwoofer, 4 ohm + 4 ohm, 500 W, on bass-amp\" or \
                        --driver \"door: full-range, 4 ohm, 2 pieces\".")]
pub struct Arguments {
    /// The file to write, which must not be there yet; - is standard output
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Take gear from the shelves of this house file, and of none that lies above the plan
    #[arg(long, value_name = "FILE")]
    house: Option<PathBuf>,
    /// Ask even where standard input is no terminal
    #[arg(long, conflicts_with = "facts")]
    ask: bool,
    #[command(flatten)]
    said: Said,
}

/// Facts of a job.
#[derive(Debug, Args)]
#[group(id = "facts", multiple = true)]
struct Said {
    /// The shop's own number of the job, like J-2041
    #[arg(long, value_name = "TEXT", value_parser = start::one_line)]
    number: Option<String>,
    /// One line that says what is built
    #[arg(long, value_name = "TEXT", value_parser = start::one_line)]
    summary: Option<String>,
    /// One line that says what vehicle it is, like "estate car, diesel"
    #[arg(long, value_name = "TEXT", value_parser = start::one_line)]
    vehicle: Option<String>,
    /// The vehicle on the shelf of the house that it is like
    #[arg(long, value_name = "THING", value_parser = start::name)]
    vehicle_shelf: Option<String>,
    /// The system voltage: "12 V" or "24 V"
    #[arg(long, value_name = "VOLTAGE", value_parser = closed::<SystemVoltage>(VOLTAGE))]
    voltage: Option<SystemVoltage>,
    /// What the body is made of: steel, aluminium or composite
    #[arg(long, value_name = "METAL", value_parser = closed::<Body>(BODY))]
    body: Option<Body>,
    /// Whether it has a traction battery: none, hybrid or electric
    #[arg(long, value_name = "KIND", value_parser = closed::<HighVoltage>(HIGH_VOLTAGE))]
    high_voltage: Option<HighVoltage>,
    /// Which airbags it has: none, front, front-and-side or front-side-and-curtain
    #[arg(long, value_name = "WHICH", value_parser = closed::<Airbags>(AIRBAGS))]
    airbags: Option<Airbags>,
    /// Where the battery sits, like engine-bay
    #[arg(long, value_name = "PLACE", value_parser = start::battery_zone)]
    battery: Option<Zone>,
    /// What the alternator is rated for, like "110 A"
    #[arg(long, value_name = "CURRENT", value_parser = Quantity::<Current>::read)]
    alternator: Option<Quantity<Current>>,
    /// The side on which the supply runs, left or right; signals take the other one
    #[arg(long, value_name = "SIDE")]
    side: Option<Side>,
    /// An amplifier: a name, a colon, and what is known of it; as often as there are any
    #[arg(long, value_name = "AMPLIFIER", value_parser = start::amplifier)]
    amplifier: Vec<Amplifier>,
    /// A capacitor sits beside the first amplifier
    #[arg(long)]
    capacitor: bool,
    /// A driver, or several alike: a name, a colon, and what is known of it; as often as there are any
    #[arg(long, value_name = "DRIVER", value_parser = start::driver)]
    driver: Vec<Driver>,
}

impl Said {
    fn facts(&self) -> Facts {
        Facts {
            number: self.number.clone(),
            summary: self.summary.clone(),
            vehicle: self.vehicle.clone(),
            vehicle_shelf: self.vehicle_shelf.clone(),
            voltage: self.voltage,
            body: self.body,
            high_voltage: self.high_voltage,
            airbags: self.airbags,
            battery: self.battery,
            alternator: self.alternator,
            side: self.side,
            amplifiers: self.amplifier.clone(),
            capacitor: self.capacitor,
            drivers: self.driver.clone(),
        }
    }
}

/// A word of the closed list that a key of a plan takes, or so much of it that only one can be meant.
fn closed<T: DeserializeOwned>(key: &'static str) -> impl Fn(&str) -> Result<T, String> + Clone {
    move |written| {
        let known = choices(key);
        let meant = start::meant(written, known.iter().map(String::as_str));
        meant.and_then(|word| serde_json::from_value(word.into()).ok()).ok_or_else(|| {
            let what = key.rsplit('.').next().unwrap_or(key).replace('_', " ");
            format!("`{}` is no {what} that a plan knows; write {}", excerpt(written.trim(), 40), either(&known))
        })
    }
}

fn yes_or_no(written: &str) -> Result<bool, String> {
    let meant = start::meant(written, ["yes", "no"].into_iter());
    let refused = || format!("`{}` is neither; write yes or no", excerpt(written.trim(), 40));
    meant.map(|word| word == "yes").ok_or_else(refused)
}

/// Starts a plan.
///
/// # Errors
/// When it cannot be written.
pub fn run(arguments: &Arguments, out: &mut dyn Write) -> io::Result<Status> {
    let file = &arguments.file;
    let is_stdout = file.as_os_str() == "-";
    if !is_stdout && file.symlink_metadata().is_ok() {
        complain(&format!("{} is there already, and stays as it is; name another file", file.display()));
        return Ok(Status::Usage);
    }
    if let Some(folder) =
        file.parent().filter(|folder| !is_stdout && !folder.as_os_str().is_empty() && !folder.is_dir())
    {
        complain(&format!("there is no folder {}; make it first, or name another", folder.display()));
        return Ok(Status::Usage);
    }
    let house = match houses::of_plan(arguments.house.as_deref(), file) {
        Ok(house) => house,
        Err(status) => return Ok(status),
    };
    let said = arguments.said.facts();
    let is_asked = arguments.ask || (said == Facts::default() && io::stdin().is_terminal());
    let facts = if is_asked {
        Interview { answers: &mut io::stdin().lock(), questions: &mut io::stderr(), shelves: &house.shelves }.facts()?
    } else {
        said
    };
    let text = match draft(&facts, &house.shelves) {
        Ok(text) => text,
        Err(why) => {
            complain(&why);
            return Ok(Status::Usage);
        }
    };
    if is_stdout {
        out.write_all(text.as_bytes())?;
    } else {
        Whole::create(file, &text)?;
        tell(file, text, &house, out)?;
    }
    Ok(Status::Clear)
}

/// What stands in the draft: how much there is to find out, and what the facts already make impossible.
fn tell(file: &Path, text: String, house: &House, out: &mut dyn Write) -> io::Result<()> {
    let reading = read_with(text, &house.shelves);
    let judgement = judge(&reading, house, &rules::all());
    let name = clean(&file.display().to_string());
    if reading.plan.amplifiers.is_empty() {
        writeln!(out, "{name} is a draft without an amplifier: what there is to find out shows when it has one")?;
    } else {
        let open = count(judgement.find_out.len(), "fact");
        writeln!(out, "{name} is a draft; {open} to find out: `testlamp check {name}` lists them")?;
    }
    for check in judgement.failed().filter(|check| check.follows.is_none()) {
        let title = check.finding.as_ref().map_or("", |finding| finding.title.as_str());
        writeln!(out, "what is known does not fit: {} {}", check.rule.code, clean(title))?;
    }
    Ok(())
}

/// Questions, one a line, each with an answer that may be left open.
struct Interview<'a> {
    answers: &'a mut dyn BufRead,
    questions: &'a mut dyn Write,
    shelves: &'a Shelves,
}

impl Interview<'_> {
    fn facts(&mut self) -> io::Result<Facts> {
        writeln!(self.questions, "One line for each question; press return to leave it open.")?;
        let mut facts = Facts {
            number: self.ask("number of the job", "like J-2041", start::one_line)?,
            summary: self.ask("what is built", "one line", start::one_line)?,
            ..Facts::default()
        };
        facts.vehicle_shelf = self.thing("vehicle from the shelf", "vehicles")?;
        facts.vehicle = self.ask("vehicle", "like estate car, diesel", start::one_line)?;
        facts.voltage = self.ask("system voltage", &either(&choices(VOLTAGE)), closed(VOLTAGE))?;
        facts.body = self.ask("body", &either(&choices(BODY)), closed(BODY))?;
        facts.high_voltage = self.ask("traction battery", &either(&choices(HIGH_VOLTAGE)), closed(HIGH_VOLTAGE))?;
        facts.airbags = self.ask("airbags", &either(&choices(AIRBAGS)), closed(AIRBAGS))?;
        facts.battery = self.ask("where the battery sits", "like engine-bay", start::battery_zone)?;
        facts.alternator = self.ask("alternator", "like 110 A", Quantity::read)?;
        facts.side = self.ask("side on which the supply runs", "left or right", str::parse)?;
        let next = "return when there is no other";
        while let Some(said) = self.ask("amplifier", &format!("a name like bass-amp; {next}"), start::amplifier)? {
            let is_whole = said.shelf.is_some() || !said.outputs.is_empty() || said.location.is_some();
            facts.amplifiers.push(if is_whole { said } else { self.amplifier(said.name)? });
        }
        if !facts.amplifiers.is_empty() {
            let is_there = self.ask("capacitor beside the amplifier", "yes or no", yes_or_no)?;
            facts.capacitor = is_there.unwrap_or(false);
        }
        while let Some(said) = self.ask("driver", &format!("a name like sub; {next}"), start::driver)? {
            let driver = self.driver(said, &facts.amplifiers)?;
            facts.drivers.push(driver);
        }
        Ok(facts)
    }

    fn amplifier(&mut self, name: String) -> io::Result<Amplifier> {
        let shelf = self.thing("  from the shelf", "amplifiers")?;
        let outputs = match shelf {
            Some(_) => None,
            None => self.ask("  channels and power", OUTPUTS, start::outputs)?,
        };
        let location = self.ask("  where it sits", "like cargo", start::amplifier_zone)?;
        Ok(Amplifier { name, shelf, outputs: outputs.unwrap_or_default(), location })
    }

    fn driver(&mut self, said: Driver, amplifiers: &[Amplifier]) -> io::Result<Driver> {
        let is_bare = said == Driver { name: said.name.clone(), ..Driver::default() };
        let mut driver = if is_bare { self.kind_of(said.name)? } else { said };
        if amplifiers.len() > 1 && driver.on.is_none() {
            let names: Vec<&str> = amplifiers.iter().map(|amplifier| amplifier.name.as_str()).collect();
            let known = |written: &str| match names.iter().find(|name| **name == written) {
                Some(name) => Ok((*name).to_owned()),
                None => {
                    Err(format!("`{}` is no amplifier of this job; write {}", excerpt(written, 40), either(&names)))
                }
            };
            // It has to hang on one of them.
            driver.on =
                self.ask("  on which amplifier", &format!("{}; return for {}", either(&names), names[0]), known)?;
            driver.on.get_or_insert_with(|| names[0].to_owned());
        }
        Ok(driver)
    }

    fn kind_of(&mut self, name: String) -> io::Result<Driver> {
        let mut driver = Driver { shelf: self.thing("  from the shelf", "drivers")?, ..Driver::default() };
        let part = |key: &'static str| move |written: &str| start::driver(&format!("{key}: {written}"));
        if driver.shelf.is_none() {
            driver.kind = self.ask("  kind", &either(&choices(start::DRIVER_KIND)), closed(start::DRIVER_KIND))?;
            driver.coils = self.ask("  voice coils", "like 4 ohm + 4 ohm", start::coils)?.unwrap_or_default();
            driver.rms = self.ask("  power it takes for good", "like 500 W", |written: &str| {
                part("power")(written).and_then(|said| said.rms.ok_or_else(|| "write it like 500 W".into()))
            })?;
        }
        driver.count = self.ask("  how many of them", "like 2; return for one", |written: &str| {
            part("count")(&format!("{written} pieces")).map(|said| said.count.unwrap_or(1))
        })?;
        Ok(Driver { name, ..driver })
    }

    /// A thing of the shelf; not asked where there is none.
    fn thing(&mut self, question: &str, section: &str) -> io::Result<Option<String>> {
        let known = self.shelves.names(section);
        if known.is_empty() {
            return Ok(None);
        }
        let hint = format!("there: {}", all(&known));
        self.ask(question, &hint, |written: &str| {
            let is_there = known.contains(&written);
            if is_there {
                Ok(written.to_owned())
            } else {
                Err(format!("`{}` is not on the shelf; {hint}", excerpt(written, 40)))
            }
        })
    }

    /// Asks until an answer can be taken; none where it is left open, or where nobody answers any more.
    fn ask<T, E: Display>(
        &mut self,
        question: &str,
        hint: &str,
        take: impl Fn(&str) -> Result<T, E>,
    ) -> io::Result<Option<T>> {
        loop {
            write!(self.questions, "{question} ({hint}): ")?;
            self.questions.flush()?;
            let mut line = String::new();
            if self.answers.read_line(&mut line)? == 0 {
                writeln!(self.questions)?;
                return Ok(None);
            }
            let answer = line.trim();
            if answer.is_empty() {
                return Ok(None);
            }
            match take(answer) {
                Ok(taken) => return Ok(Some(taken)),
                Err(why) => writeln!(self.questions, "  {}", clean(&why.to_string()))?,
            }
        }
    }
}
