//! `fix`: make the changes that rules can prove.

use std::collections::HashSet;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use similar::DiffTag;

use super::bench::standing;
use super::difference::Difference;
use super::houses::Houses;
use super::inputs::{Input, Inputs, Kind, looks_like_plan};
use super::load::reading;
use super::whole::Whole;
use super::{Status, complain, reason, sizes};
use crate::house::House;
use crate::judge::{
    Check, FindOut, Judgement, Left, Made, Tier, Wanted, Workshop, judge, left, mend, with_facts, with_waivers,
};
use crate::plan::{Day, Reading};
use crate::report::clean;
use crate::rules;
use crate::solve::Place;
use crate::text::Lines;
use crate::words;

/// Words that only a person can finish are put in one after the other, and the text is read anew for each: no more than so
/// many bytes in all. A plan as long as any job comes nowhere near.
const MOST_READ: usize = 2_000_000;

/// How far fixes may be trusted, as the help tells.
const TIERS: &str = "Fixes come in three tiers:
  safe     says what was clearly meant: a name, a unit; made without asking
  offered  changes what is built: a smaller fuse, a grommet, another order of work; made with --offered
  shown    only a person can finish it: a waiver to sign (of no danger), a fact to find out, work on a vehicle that is built;
           shown by --diff as words to put in, never made
Each fix is proved before it is made: its finding is gone, nothing as bad is new, every comment stays.
Sizes hold by the rules on wires and fuses; what stays open with them or comes to light is told.
What the plan states of the vehicle and the gear is never changed, nor what is built at stage installed.";

/// What `fix` takes.
#[derive(Debug, Args)]
#[command(after_long_help = TIERS)]
pub struct Arguments {
    /// Plans, folders or patterns; - reads standard input and writes the mended plan to standard output
    #[arg(value_name = "PATH", required = true)]
    paths: Vec<PathBuf>,
    /// Also make changes of what is built, like a smaller fuse; otherwise only what was clearly meant
    #[arg(long)]
    offered: bool,
    /// Choose wire sizes and fuses of the supply that are missing or do not hold, with the least copper, out of the
    /// stock of the house; what holds stays, so that nobody buys a wire twice
    #[arg(long, conflicts_with_all = ["rule", "at"])]
    sizes: bool,
    /// Show what would change, and what is left for a person; write nothing
    #[arg(long)]
    diff: bool,
    /// Judge by this house file, and by none that lies above the plans
    #[arg(long, value_name = "FILE")]
    house: Option<PathBuf>,
    /// Only findings of this rule; may be given several times
    #[arg(long, value_name = "RULE")]
    rule: Vec<String>,
    /// Only findings about this element, like wires.main
    #[arg(long, value_name = "PATH")]
    at: Option<String>,
}

/// Makes the changes that rules can prove.
///
/// # Errors
/// When the answer cannot be written.
pub fn run(arguments: &Arguments, out: &mut dyn Write) -> io::Result<Status> {
    if arguments.sizes && arguments.offered {
        complain("--sizes and --offered are done one after the other: run `fix --sizes` first, then `fix --offered`");
        return Ok(Status::Usage);
    }
    if let Some(word) = arguments.rule.iter().find(|word| rules::find(word).is_none()) {
        complain(&rules::unknown(word));
        return Ok(Status::Usage);
    }
    let mut houses = match Houses::open(arguments.house.as_deref(), Some(Day::today())) {
        Ok(houses) => houses,
        Err(status) => return Ok(status),
    };
    let mut inputs = Inputs::find(&arguments.paths, "stdin");
    houses.assign(&mut inputs.list);
    let desk = Desk { arguments, houses, out };
    desk.run(&inputs)
}

/// What was done to all plans, and what is left.
#[derive(Default)]
struct Sum {
    made: usize,
    chosen: usize,
    offered: usize,
    without: usize,
}

impl Sum {
    /// What is left, in words; nothing where nothing is.
    fn left(&self) -> String {
        let offered = (self.offered > 0).then(|| format!("; --offered mends {} more", self.offered));
        let without =
            (self.without > 0).then(|| format!("; {} without a proved fix", words::count(self.without, "finding")));
        [offered, without].into_iter().flatten().collect()
    }
}

struct Desk<'a> {
    arguments: &'a Arguments,
    houses: Houses,
    out: &'a mut dyn Write,
}

impl Desk<'_> {
    fn run(mut self, inputs: &Inputs) -> io::Result<Status> {
        let mut status = Status::Nothing;
        let mut sum = Sum::default();
        for input in &inputs.list {
            let own = self.plan(input, &mut sum)?;
            // What is worst of all plans counts; nothing is the least.
            status = match (status, own) {
                (Status::Nothing, own) => own,
                (status, Status::Nothing) => status,
                (one, other) if (one as u8) >= (other as u8) => one,
                (_, other) => other,
            };
        }
        for not_read in &inputs.not_read {
            complain(&format!("{} could not be read: {}", not_read.path, not_read.why));
            status = Status::NotRead;
        }
        if status == Status::Nothing {
            complain("nothing to fix: no plan there");
        }
        self.out.flush()?;
        if !self.to_stdout(&inputs.list) {
            let could = if self.arguments.diff { " could be" } else { "" };
            let done = if self.arguments.sizes {
                format!(
                    "{} {}{could} chosen",
                    sum.chosen,
                    if sum.chosen == 1 { "size or fuse" } else { "sizes and fuses" }
                )
            } else {
                format!("{} {}{could} made", sum.made, if sum.made == 1 { "fix" } else { "fixes" })
            };
            writeln!(self.out, "{done}{}", sum.left())?;
        }
        Ok(status)
    }

    fn to_stdout(&self, list: &[Input]) -> bool {
        !self.arguments.diff && list.iter().any(|input| input.kind == Kind::Stdin)
    }

    /// One plan: how it stands afterwards.
    fn plan(&mut self, input: &Input, sum: &mut Sum) -> io::Result<Status> {
        // What is wrong with its file has been said.
        let Some(house) = self.houses.at(input.house).house.clone() else { return Ok(Status::Usage) };
        if self.houses.leaves_out(input) {
            return Ok(Status::Nothing);
        }
        let bytes = match input.read() {
            Ok(bytes) => bytes,
            Err(not_read) => {
                complain(&format!("{} could not be read: {}", not_read.path, not_read.why));
                return Ok(Status::NotRead);
            }
        };
        if self.houses.may_be_no_plan(input) && !looks_like_plan(&bytes) {
            return Ok(Status::Nothing);
        }
        let before = reading(bytes.clone(), &house.shelves);
        let all = rules::all();
        if self.arguments.sizes {
            return self.sizes(input, &bytes, &before, &house, sum);
        }
        let is_wanted = |check: &Check| self.is_wanted(check);
        let tier = if self.arguments.offered { Tier::Offered } else { Tier::Safe };
        let unreadable = self.arguments.rule.is_empty() && self.arguments.at.is_none();
        let is_plan = before.tree.node("plan").is_some();
        let wanted = Wanted { tier, check: &is_wanted, unreadable };
        // A text in another encoding than UTF-8 cannot be written back as it was.
        let faithful = before.text.as_bytes() == bytes;
        let (after, made) =
            if is_plan && faithful { mend(&before, &house, &all, &wanted) } else { (before.clone(), Vec::new()) };
        if !faithful {
            complain(&format!("{}: not in plain UTF-8; save it so first", input.name()));
        }
        if !self.write(input, &bytes, &before, &after, &made)? {
            return Ok(Status::NotRead);
        }
        sum.made += made.len();
        let judgement = judge(&after, &house, &all);
        if is_plan && !self.to_stdout(std::slice::from_ref(input)) {
            let left = left(&Workshop::new(&after, &judgement, &house, &all), &|check| self.is_wanted(check));
            sum.offered += left.iter().filter(|left| left.tier < Tier::Shown).count();
            sum.without += left.iter().filter(|left| left.tier == Tier::Shown).count();
            if self.arguments.diff {
                self.tell_left(&input.name(), &after, &left)?;
                self.tell_waivers(&input.name(), &after, &judgement, &left)?;
                self.tell_unknown(&input.name(), &after, &judgement)?;
            }
        }
        Ok(standing(&after, &judgement))
    }

    /// What is left for a person: a line each.
    fn tell_left(&mut self, name: &str, after: &Reading, left: &[Left]) -> io::Result<()> {
        for left in left.iter().filter(|left| left.tier == Tier::Shown) {
            let (line, column) = Lines::new(&after.text).position(&after.text, left.at);
            let what = left.rework.clone().unwrap_or_else(|| format!("no proved fix: {}", left.mend));
            writeln!(self.out, "{}", clean(&format!("{name}:{line}:{column}: {}: {what}", left.code)))?;
        }
        Ok(())
    }

    /// The waivers that somebody may sign for what is left, as words to put in.
    fn tell_waivers(&mut self, name: &str, after: &Reading, judgement: &Judgement, left: &[Left]) -> io::Result<()> {
        let is_left = |check: &&Check| {
            left.iter()
                .any(|left| left.tier == Tier::Shown && left.code == check.rule.code && left.subject == check.subject)
        };
        let text = with_waivers(after, judgement.failed().filter(is_left).take(MOST_READ / after.text.len().max(1)));
        if text != after.text {
            writeln!(self.out, "{}", clean(&format!("{name}: or accept it; put in and sign:")))?;
            self.put_in(after, &text)?;
        }
        Ok(())
    }

    /// The facts to find out whose keys are not in the plan, as words to put in.
    fn tell_unknown(&mut self, name: &str, after: &Reading, judgement: &Judgement) -> io::Result<()> {
        let open: HashSet<(&str, &Place)> = judgement
            .open()
            .filter(|check| self.is_wanted(check))
            .map(|check| (check.rule.code, &check.subject))
            .collect();
        let is_asked = |fact: &&FindOut| fact.settles.iter().any(|(code, at)| open.contains(&(*code, at)));
        let mut facts: Vec<&FindOut> = judgement.find_out.iter().filter(is_asked).collect();
        let more = facts.split_off(facts.len().min(MOST_READ / after.text.len().max(1)));
        let text = with_facts(after, &facts);
        if text != after.text {
            writeln!(self.out, "{}", clean(&format!("{name}: to find out; put in and fill:")))?;
            self.put_in(after, &text)?;
        }
        if !more.is_empty() {
            let more = words::count(more.len(), "fact");
            writeln!(self.out, "{}", clean(&format!("{name}: and {more} more to find out; `check` lists them")))?;
        }
        Ok(())
    }

    /// The lines that a text has more than a plan or has otherwise, below where they stand.
    fn put_in(&mut self, plan: &Reading, text: &str) -> io::Result<()> {
        let diff = Difference::of(&plan.text, text);
        for op in diff.ops() {
            let (old, new) = (op.old_range(), op.new_range());
            let heading = match (op.tag(), old.len()) {
                (DiffTag::Insert, _) => format!("behind line {}", old.start),
                (DiffTag::Replace, 1) => format!("line {}", old.start + 1),
                (DiffTag::Replace, _) => format!("lines {} to {}", old.start + 1, old.end),
                (DiffTag::Equal | DiffTag::Delete, _) => continue,
            };
            writeln!(self.out, "    # {heading}")?;
            for line in text.lines().skip(new.start).take(new.len()).filter(|line| !line.is_empty()) {
                writeln!(self.out, "    {}", clean(line))?;
            }
        }
        Ok(())
    }

    /// Chooses the sizes of one plan.
    fn sizes(
        &mut self,
        input: &Input,
        bytes: &[u8],
        before: &Reading,
        house: &House,
        sum: &mut Sum,
    ) -> io::Result<Status> {
        let chosen = sizes::choose(&input.name(), bytes, before, house);
        if !self.write(input, bytes, before, &chosen.reading, &[])? {
            return Ok(Status::NotRead);
        }
        if input.kind == Kind::Stdin && !self.arguments.diff {
            chosen.obstacles.iter().for_each(|obstacle| complain(&format!("{}: {obstacle}", input.name())));
        } else {
            sizes::print(&input.name(), &chosen, self.out)?;
        }
        let standing = standing(&chosen.reading, &judge(&chosen.reading, house, &rules::all()));
        sum.chosen += chosen.chosen.iter().map(|run| usize::from(run.size.is_some()) + run.fuses.len()).sum::<usize>();
        Ok(if chosen.obstacles.is_empty() { standing } else { Status::Held })
    }

    fn is_wanted(&self, check: &Check) -> bool {
        let Arguments { rule, at, .. } = self.arguments;
        (rule.is_empty() || rule.iter().any(|word| check.rule.is_called(word)))
            && at.as_ref().is_none_or(|at| check.is_within(at))
    }

    /// Whether it could be written.
    fn write(
        &mut self,
        input: &Input,
        bytes: &[u8],
        before: &Reading,
        after: &Reading,
        made: &[Made],
    ) -> io::Result<bool> {
        let stdout = input.kind == Kind::Stdin;
        if self.arguments.diff {
            let difference = Difference::of(&before.text, &after.text);
            write!(self.out, "{}", difference.unified(&clean(&input.name())))?;
        } else if stdout {
            self.out.write_all(after.text.as_bytes())?;
        } else if before.text != after.text
            && let Err(why) = save(&input.path, bytes, after.text.as_bytes())
        {
            complain(&format!("{}: nothing was changed: {why}", input.name()));
            return Ok(false);
        }
        if !stdout || self.arguments.diff {
            self.tell(&input.name(), before, made)?;
        }
        Ok(true)
    }

    /// What was done, a line each, at the lines of the text as it was just before.
    fn tell(&mut self, name: &str, before: &Reading, made: &[Made]) -> io::Result<()> {
        let mut text = before.text.clone();
        for (number, Made { code, at, fix }) in made.iter().enumerate() {
            let (line, column) = Lines::new(&text).position(&text, *at);
            let margin = match fix.margins {
                Some((_, now)) if now < 0.005 => " (just at the limit)".to_owned(),
                Some((_, now)) => format!(" ({:.0} % to spare)", (now * 100.0).round()),
                None => String::new(),
            };
            let code = if code.is_empty() { "unreadable" } else { code };
            // What another rule changes again at the same place is not done twice by a person.
            let later = made[number + 1..].iter().find(|later| !fix.path.is_empty() && later.fix.path == fix.path);
            let words = match later {
                Some(later) => format!("mended with what {} asks for at this place, below", later.code),
                None => format!("{}{margin}", fix.title),
            };
            writeln!(self.out, "{}", clean(&format!("{name}:{line}:{column}: {code}: {words}")))?;
            text = fix.edit.apply(&text);
        }
        Ok(())
    }
}

/// Puts the mended plan in the place of the old one, unless somebody else has changed that meanwhile.
fn save(path: &Path, was: &[u8], now: &[u8]) -> Result<(), String> {
    if fs::read(path).map_err(|error| reason(&error))? != was {
        return Err("somebody else has changed the file meanwhile; run it again".into());
    }
    let rights = path.metadata().map_err(|error| reason(&error))?.permissions();
    if rights.readonly() {
        return Err("it may not be written (no permission)".into());
    }
    Whole::put(path, now).map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What others find is mended; the status says that the verdict is not to be trusted.
    #[test]
    fn a_rule_that_breaks_down_is_told_by_the_status_and_takes_nothing_with_it() {
        let _beside = crate::rules::trial::beside(&crate::rules::trial::FALLS);
        let folder = tempfile::tempdir().expect("a folder");
        let plan = folder.path().join("a.yaml");
        let text = "plan: 1\namplifiers: {amp: {}}\nwires: {main: {to: amq.power}}\n";
        fs::write(&plan, text).expect("written");
        let arguments = Arguments {
            paths: vec![plan.clone()],
            offered: false,
            sizes: false,
            diff: false,
            house: None,
            rule: Vec::new(),
            at: None,
        };
        let status = run(&arguments, &mut Vec::new()).expect("it writes");
        assert_eq!(status, Status::Usage);
        assert_eq!(fs::read_to_string(&plan).expect("the plan"), text.replace("amq", "amp"));
    }
}
