//! Rules of the house's own, worked on a plan.

use std::sync::{Arc, Mutex, PoisonError};

use serde_json::{Map, Value, json};

use super::apply::check_of;
use super::check::Check;
use super::verdict::{Finding, Verdict};
use super::{Rule, Subjects};
use crate::house::{Each, Expression, House, OwnRule, Seen, Unworked, keep};
use crate::plan::{self, Reading, word};
use crate::quantity::text::digits;
use crate::quantity::{Dimension, Range};
use crate::solve::{Case, Decided, Job, Place, Undecided, coils, loads};
use crate::text::{Map as Entries, Tree};

/// The house's own rules as rules, each made once for the run.
pub fn rules(house: &House) -> Vec<&'static Rule> {
    house.own.iter().map(rule).collect()
}

static MADE: Mutex<Vec<&'static Rule>> = Mutex::new(Vec::new());

fn rule(own: &OwnRule) -> &'static Rule {
    let page = page(own);
    let mut made = MADE.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(known) = made.iter().find(|rule| rule.code == own.code && rule.page == page) {
        return known;
    }
    let name = keep(&format!("{}-of-the-house", own.code.to_lowercase()));
    let check = Subjects::Stated(Box::leak(Box::new(own.clone())));
    let page = keep(&page);
    let rule = Rule { code: own.code, name, severity: own.severity, since: "the house", page, check, slips: &[] };
    // Rules live as long as the run: one is made for each text of a rule that a house file has had.
    let rule: &'static Rule = Box::leak(Box::new(rule));
    made.push(rule);
    rule
}

/// Its page.
fn page(own: &OwnRule) -> String {
    let OwnRule { code, says, mend, source, written, each, .. } = own;
    let mend = if mend.is_empty() { String::new() } else { format!("## How to mend it\n\n{mend}\n\n") };
    format!(
        "# {code} of the house\n\n{says}.\n\n## Working\n\nJudges each {}, in CEL:\n\n```cel\n{written}\n```\n\n\
         {mend}## Sources\n\n{source}\n",
        each.name()
    )
}

/// All checks of the house's own rules.
pub(super) fn apply(rule: &'static Rule, reading: &Reading, job: &Job<'_>) -> Vec<Check> {
    let Subjects::Stated(stated) = rule.check else { return Vec::new() };
    let asked = stated.when.iter().chain([&stated.must]).map(AsRef::as_ref);
    let plan = Arc::new(Expression::look_at_plan(asked, |path| plan::data(&reading.tree, path)));
    subjects(stated.each, &reading.tree)
        .into_iter()
        .map(|path| {
            let (seen, needs) = seen(stated.each, &path, reading, job, &plan);
            let judged = judged(stated, &seen, &needs, &path, reading);
            check_of(rule, Place::of(path), judged)
        })
        .collect()
}

/// The paths of all things of a kind.
fn subjects(each: Each, tree: &Tree) -> Vec<String> {
    let Some(section) = each.section() else { return vec!["job".to_owned()] };
    let entries = tree.node(section).and_then(|node| tree.map(node)).into_iter().flat_map(Entries::entries);
    let stated = entries.filter(|entry| !tree.is_null(entry.value));
    stated.map(|entry| format!("{section}.{}", entry.key)).collect()
}

fn judged(stated: &OwnRule, seen: &Seen, needs: &[Need], path: &str, reading: &Reading) -> super::Judged {
    let worked = |expression: &Expression| {
        expression.holds(stated.each, seen).map_err(|why| match why {
            Unworked::NotStated(key) => Undecided::need(needed(&key, needs, path)),
            Unworked::Broken(_) => Undecided::NotApplicable("the expression cannot be worked on this thing"),
        })
    };
    if let Some(when) = &stated.when
        && !worked(when)?
    {
        return Err(Undecided::NotApplicable("the house's rule is about others"));
    }
    Ok(Verdict::pass_if(worked(&stated.must)?, || finding(stated, seen, path, reading)))
}

/// Points at what the rule looks at, as far as the plan states it, and names its figures.
fn finding(stated: &OwnRule, seen: &Seen, path: &str, reading: &Reading) -> Finding {
    let (keys, figures) = stated.must.looks_at(stated.each);
    let places = keys.iter().map(|key| format!("{path}.{key}")).filter(|place| reading.tree.locate(place).exact);
    let mut places = places.map(Place::of);
    let figures: Vec<String> = figures.iter().filter_map(|name| figure(stated.each, name, seen)).collect();
    let figures = if figures.is_empty() { String::new() } else { format!(" ({})", figures.join(", ")) };
    let at = places.next().unwrap_or_else(|| Place::of(path.to_owned()));
    let finding = Finding::new(at, format!("{}{figures}", stated.says)).because(stated.source).mend(stated.mend);
    places.fold(finding, |finding, place| finding.also(place, "the rule looks at this too"))
}

/// A figure in words, like `drop_full 0.31 to 0.42 V`.
fn figure(each: Each, name: &str, seen: &Seen) -> Option<String> {
    let (name, unit) = each.figures().iter().find(|(known, _)| *known == name)?;
    let [low, high] = ["low", "high"].map(|end| seen.figures[*name][end].as_f64().map(digits));
    let (low, high) = (low?, high?);
    Some(if low == high { format!("{name} {low} {unit}") } else { format!("{name} {low} to {high} {unit}") })
}

/// Where a plan would state a key that an expression asks for; a figure is decided by what its thing states.
fn needed(key: &str, needs: &[Need], path: &str) -> Place {
    if let Some(need) = needs.iter().find(|(figure, _)| *figure == key) {
        return need.1.clone();
    }
    match key.strip_prefix("plan.") {
        Some(place) => Place::of(place.to_owned()),
        None => Place::of(format!("{path}.{key}")),
    }
}

fn seen(each: Each, path: &str, reading: &Reading, job: &Job<'_>, plan: &Arc<Value>) -> (Seen, Vec<Need>) {
    let mut is = plan::data(&reading.tree, path);
    if let (Some(map), Some((_, name))) = (is.as_object_mut(), path.rsplit_once('.')) {
        map.insert("name".into(), json!(name));
    }
    let is = if is.is_null() { json!({}) } else { is };
    let mut figures = Figures::default();
    figures.solve(each, path, job);
    let Figures { known, needs } = figures;
    let seen = Seen { is, figures: known.into(), plan: plan.clone(), stage: word(&job.plan.stage()) };
    (seen, needs)
}

/// What is solved of a thing, and where a plan would state what a figure waits for.
#[derive(Default)]
struct Figures {
    known: Map<String, Value>,
    needs: Vec<Need>,
}

/// A figure, and where a plan would state what it waits for.
type Need = (&'static str, Place);

impl Figures {
    fn add<D: Dimension>(&mut self, name: &'static str, value: Decided<Range<D>>) {
        match value {
            Ok(range) => {
                self.known.insert(name.to_owned(), json!({ "low": range.low(), "high": range.high() }));
            }
            Err(Undecided::Open(places)) => self.needs.extend(places.into_iter().next().map(|place| (name, place))),
            Err(Undecided::NotApplicable(_)) => {}
        }
    }

    fn solve(&mut self, each: Each, path: &str, job: &Job<'_>) {
        let name = path.rsplit_once('.').map_or(path, |(_, name)| name);
        match each {
            Each::Wire => {
                let Some(wire) = job.wire(name) else { return };
                self.add("current_full", job.wire_current(wire, Case::IdleFull).map(|known| known.range));
                self.add("current_programme", job.wire_current(wire, Case::IdleProgramme).map(|known| known.range));
                self.add("drop_full", job.wire_drop(wire, Case::IdleFull).map(|known| known.range));
                self.add("ampacity", job.ampacity(wire).map(|carries| carries.ampacity));
                self.add("temperature", job.wire_temperature(wire));
            }
            Each::Amplifier => {
                let Some(amplifier) = job.amplifier(name) else { return };
                self.add("audio_power", job.demand(amplifier).map(|demand| demand.audio));
                self.add("supply_power", job.demand(amplifier).map(|demand| demand.full));
                let voltage = |case| job.terminal_voltage(amplifier.name, case).map(|known| known.range);
                self.add("voltage_idle_full", voltage(Case::IdleFull));
                self.add("voltage_off_full", voltage(Case::OffFull));
                self.add("run_drop", job.run_drop(amplifier.name, Case::IdleFull).map(|known| known.range));
                self.add("return_drop", job.return_drop(amplifier.name, Case::IdleFull).map(|known| known.range));
            }
            Each::Load => {
                let Some(load) = job.loads.iter().find(|load| load.name == name) else { return };
                self.add("impedance", coils::load_impedance(job, load));
                self.add("rated_power", loads::power(load, job));
                self.add("gain_target", loads::ceiling(job, load).map(|ceiling| ceiling.volts));
            }
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::Outcome;

    fn house(rules: &str) -> House {
        let known: Vec<_> = crate::rules::all().into_iter().map(Rule::known).collect();
        let reading = crate::house::read(format!("house: 1\nown_rules:\n{rules}"), "house.yaml", &known);
        assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
        reading.house
    }

    fn ohms(code: &str, least: &str) -> String {
        format!("  {code}: {{each: load, must: figures.impedance.low >= {least}, says: hums, source: ours}}\n")
    }

    /// A house file that was changed brings another rule under the same code; two rules may say the same.
    #[test]
    fn a_rule_is_made_once_for_each_of_its_texts() {
        let made = |text: &str| rules(&house(text))[0];
        let (first, again) = (made(&ohms("HOUSE-91", "3.0")), made(&ohms("HOUSE-91", "3.0")));
        let (changed, other) = (made(&ohms("HOUSE-91", "2.0")), made(&ohms("HOUSE-92", "3.0")));
        assert!(std::ptr::eq(first, again) && !std::ptr::eq(first, changed));
        assert_eq!((other.code, first.page == changed.page), ("HOUSE-92", false));
        assert!(first.is_of_the_house() && !first.judges_the_plan());
        let fuse = crate::rules::find("FUSE-01").expect("a rule");
        assert!(!fuse.is_of_the_house() && fuse.judges_the_plan());
    }

    /// Each load is worked by its own figure, which is one number and told as one.
    #[test]
    fn a_rule_about_loads_sees_the_impedance_of_each() {
        let text = "plan: 1\namplifiers: {amp: {}}\ndrivers: {sub: {coils: [2 ohm]}, door: {coils: [4 ohm]}}\n\
                    loads: {bass: {amplifier: amp, outputs: [1], coils: sub}, front: {amplifier: amp, outputs: [2], coils: door}}\n";
        let house = house(&ohms("HOUSE-93", "3.0"));
        let of = |subject: &str| crate::rules::trial::check_by(&house, text, "HOUSE-93", subject);
        assert_eq!((of("loads.bass").outcome, of("loads.front").outcome), (Outcome::Fail, Outcome::Pass));
        assert_eq!(of("loads.bass").finding.expect("it fails").title, "hums (impedance 2 ohm)");
    }
}
