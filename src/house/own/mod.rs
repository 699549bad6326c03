//! Rules of a house's own, in CEL, the Common Expression Language.
//!
//! An expression is tried when the house file is read, on a thing with every key stated: a name that does not exist and
//! words compared with numbers are found there, and not on the first plan that has such a thing.

mod lenient;
mod plain;
mod seen;
mod walk;

use std::collections::BTreeSet;
use std::sync::Arc;

use cel::common::ast::{Expr, IdedExpr, operators};
use cel::{Context, ExecutionError, Program, Value};

use super::Severity;
use crate::plan::specimen;
use crate::words;
use lenient::lenient;
use plain::{kind, plain};
pub use seen::{Each, Seen};
use seen::{context, trial};
use walk::{loops, names_sections, selects};

/// A rule of the house's own: what it asks of each thing, and what it says where that does not hold.
#[derive(Debug, Clone)]
pub struct OwnRule {
    /// Its code, like `HOUSE-01`.
    pub code: &'static str,
    /// How much harm a finding stands for.
    pub severity: Severity,
    /// What it judges.
    pub each: Each,
    /// Where it applies; without one, everywhere.
    pub when: Option<Arc<Expression>>,
    /// What must hold.
    pub must: Arc<Expression>,
    /// What a finding says.
    pub says: &'static str,
    /// What to do about it.
    pub mend: &'static str,
    /// Where it comes from, with its place in the house file.
    pub source: &'static str,
    /// Both expressions, as written.
    pub written: &'static str,
}

/// An expression that can be worked.
#[derive(Debug)]
pub struct Expression {
    program: Program,
    /// The same, as it is worked on plans: what an item of a list does not state is not what is asked of it.
    lenient: IdedExpr,
}

/// Longer expressions are refused.
const LONGEST: usize = 2000;
/// Loops within loops within loops are refused: what an expression costs stays within the square of what a plan holds.
const DEEPEST_LOOP: usize = 2;

impl Expression {
    /// Compiles an expression and tries it on a thing with every key stated.
    ///
    /// # Errors
    /// A sentence: what is wrong, and what would do.
    pub fn new(text: &str, each: Each) -> Result<Self, String> {
        if text.len() > LONGEST {
            return Err(format!("the expression is longer than {LONGEST} letters"));
        }
        let program = Program::compile(text).map_err(|errors| match errors.errors.first() {
            Some(error) => {
                let what = error.msg.split("expecting").next().unwrap_or_default().trim().replace("Syntax error: ", "");
                format!("the expression cannot be read at its character {}: {}", error.pos.1, words::excerpt(&what, 80))
            }
            None => "the expression cannot be read".to_owned(),
        })?;
        if loops(program.expression()) > DEEPEST_LOOP {
            return Err(format!("more than {DEEPEST_LOOP} loops within one another cost too much"));
        }
        let plan = part_of_plan([program.expression()], specimen);
        let context = context(each, &Seen { plan: plan.into(), ..trial(each) });
        tried(program.expression(), &context, each)?;
        match program.execute(&context) {
            Ok(Value::Bool(_)) => {
                let lenient = lenient(program.expression(), &mut Vec::new());
                Ok(Self { program, lenient })
            }
            Ok(other) => Err(format!("the expression gives {}, where true or false belongs", kind(&other))),
            Err(error) => Err(plain(&error, each, program.expression())),
        }
    }

    /// The keys of the thing and the figures that the expression looks at, in its order: `size` and `ends.to.kind` of the
    /// thing, `drop_full` of the figures.
    pub fn looks_at(&self, each: Each) -> (Vec<String>, Vec<String>) {
        let (mut keys, mut figures) = (Vec::new(), Vec::new());
        selects(self.program.expression(), &mut |path| {
            let (root, key) = path.split_once('.').unwrap_or_default();
            let seen = if root == each.name() { &mut keys } else { &mut figures };
            let key = if root == "figures" { key.split('.').next().unwrap_or_default() } else { key };
            if (root == each.name() || root == "figures") && !seen.iter().any(|other| other == key) {
                seen.push(key.to_owned());
            }
        });
        (keys, figures)
    }

    /// The place of a key that is not stated: below the thing, or where the expression looks for it in the plan.
    fn way_to(&self, key: &str, each: Each, thing: &Seen) -> String {
        let mut ways = Vec::new();
        selects(self.program.expression(), &mut |path| {
            let (root, below) = path.split_once('.').unwrap_or_default();
            let seen = if root == "plan" { &thing.plan } else { &thing.is };
            if (root == "plan" || root == each.name())
                && let Some(gap) = gap(seen, below).filter(|gap| gap.rsplit('.').next() == Some(key))
            {
                ways.push(if root == "plan" { format!("plan.{gap}") } else { gap });
            }
        });
        ways.into_iter().next().unwrap_or_else(|| key.to_owned())
    }

    /// The part of a plan that expressions look at, put together of what is at each path: of sections, or of the whole
    /// where one looks at the plan as such.
    pub fn look_at_plan<'e>(
        all: impl IntoIterator<Item = &'e Self>,
        at: impl Fn(&str) -> serde_json::Value,
    ) -> serde_json::Value {
        part_of_plan(all.into_iter().map(|expression| expression.program.expression()), at)
    }

    /// Works the expression on a thing.
    ///
    /// # Errors
    /// The key that is not stated, or why it cannot be worked.
    pub fn holds(&self, each: Each, thing: &Seen) -> Result<bool, Unworked> {
        match context(each, thing).resolve(&self.lenient) {
            Ok(Value::Bool(yes)) => Ok(yes),
            Ok(_) => Err(Unworked::Broken("it gives neither true nor false here".into())),
            Err(ExecutionError::NoSuchKey(key)) => Err(Unworked::NotStated(self.way_to(&key, each, thing))),
            Err(error) => Err(Unworked::Broken(plain(&error, each, self.program.expression()))),
        }
    }
}

/// The way down to the first key that is not there.
fn gap(value: &serde_json::Value, path: &str) -> Option<String> {
    let (mut at, mut way) = (value, String::new());
    for key in path.split('.') {
        way = if way.is_empty() { key.to_owned() } else { format!("{way}.{key}") };
        let item = key.parse::<usize>().ok().and_then(|number| at.get(number));
        match item.or_else(|| at.get(key)) {
            Some(below) => at = below,
            None => return Some(way),
        }
    }
    None
}

/// Why an expression has no answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unworked {
    /// A key is not stated: its way below the thing, or below `plan.` where it is looked for in the whole plan.
    NotStated(String),
    /// It cannot be worked on this thing.
    Broken(String),
}

/// Making data of a whole plan costs several times what judging it does, and most rules look at a section.
fn part_of_plan<'e>(
    all: impl IntoIterator<Item = &'e IdedExpr>,
    at: impl Fn(&str) -> serde_json::Value,
) -> serde_json::Value {
    let mut sections = BTreeSet::new();
    if all.into_iter().any(|expression| !names_sections(expression, &mut sections)) {
        return at("");
    }
    let stated = sections.into_iter().map(|section| (section.to_owned(), at(section)));
    serde_json::Value::Object(stated.filter(|(_, is)| !is.is_null()).collect())
}

/// Tries the parts that a true or false beside them would hide.
fn tried(expression: &IdedExpr, context: &Context<'_, '_>, each: Each) -> Result<(), String> {
    let Expr::Call(call) = &expression.expr else { return Ok(()) };
    let hides = [operators::LOGICAL_AND, operators::LOGICAL_OR, operators::CONDITIONAL, operators::LOGICAL_NOT];
    if !hides.contains(&call.func_name.as_str()) {
        return Ok(());
    }
    for part in &call.args {
        tried(part, context, each)?;
        context.resolve(part).map_err(|error| plain(&error, each, part))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::plain::FUNCTIONS;
    use super::*;

    fn refused(text: &str) -> String {
        Expression::new(text, Each::Wire).expect_err(text)
    }

    #[test]
    fn a_rule_is_given_the_sections_that_it_looks_at_and_the_whole_where_it_asks_for_it() {
        let given = |text: &str| {
            let expression = Expression::new(text, Each::Job).expect("it can be worked");
            Expression::look_at_plan([&expression], |path| json!(path))
        };
        let two = given("has(plan.waivers) || plan.steps.exists(step, step.test == \"key-off\")");
        assert_eq!(two, json!({"steps": "steps", "waivers": "waivers"}));
        assert_eq!(given("plan.exists(section, section == \"steps\")"), json!(""));
        assert_eq!(given("stage == \"draft\""), json!({}));
    }

    #[test]
    fn what_can_be_worked_is_taken() {
        for text in [
            "wire.size >= 20.0",
            "wire.size >= 20",
            "wire.covering == 'loom' || wire.covering == 'conduit'",
            "'engine-bay' in wire.path",
            "wire.path.exists(zone, zone == 'underbody') ? wire.covering == 'conduit' : true",
            "figures.drop_full.high <= 0.3",
            "has(wire.colour) && wire.colour == 'red'",
            "stage != 'installed' || has(plan.measured)",
            "wire.crossings.firewall.sealed",
            "wire.name.startsWith('main')",
            "plan.wires.all(name, plan.wires[name].size > 0.0)",
        ] {
            assert!(Expression::new(text, Each::Wire).is_ok(), "{text}: {:?}", Expression::new(text, Each::Wire).err());
        }
    }

    #[test]
    fn what_cannot_be_is_told_before_any_plan_is_judged() {
        assert!(refused("wire.sise >= 20.0").contains("did you mean `size`?"));
        assert!(refused("true || wire.sise >= 20.0").contains("did you mean `size`?"));
        assert!(refused("wires.size >= 20.0").contains("did you mean `wire`?"));
        assert!(refused("wire.size").contains("gives a number, where true or false belongs"));
        assert!(refused("wire.size >=").contains("cannot be read at its character"));
        assert!(refused("wire.size > 'thick'").contains("number"), "{}", refused("wire.size > 'thick'"));
        assert!(refused(&format!("{} true", "true &&".repeat(400))).contains("longer than"));
        assert!(refused("figures.drop.high < 1.0").contains("not a key"));
    }

    /// What an owner writes down first, each taken as it stands.
    #[test]
    fn the_rules_that_an_owner_writes_first_are_taken() {
        for (each, text) in [
            (Each::Job, "plan.steps.exists(s, s.test == 'key-off')"),
            (Each::Job, "plan.steps[0].radio == 'note-code'"),
            (Each::Job, "plan.steps.exists_one(s, s.battery == 'disconnect')"),
            (Each::Job, "plan.steps.filter(s, has(s.inspect)).size() >= 2"),
            (Each::Job, "size(plan.steps.filter(s, s.battery == 'reconnect')) == 1"),
            (Each::Job, "plan.steps.all(s, !has(s.note) || s.note.size() < 80)"),
            (Each::Job, "stage != 'installed' || has(plan.measured)"),
            (Each::Job, "plan.waivers.all(w, w.by.startsWith('M'))"),
            (Each::Amplifier, "amplifier.rated.all(r, r.power <= 1000.0)"),
            (Each::Amplifier, "amplifier.onboard_fuses.all(fuse, fuse <= 40.0)"),
            (Each::Signal, "signal.lead.shielded"),
            (Each::TurnOn, "turn_on.from.kind != 'constant'"),
            (Each::Load, "load.lead.size >= 1.5"),
            (Each::Wire, "plan.steps.exists(s, s.run == wire.name)"),
        ] {
            assert!(Expression::new(text, each).is_ok(), "{text}: {:?}", Expression::new(text, each).err());
        }
    }

    #[test]
    fn an_item_that_does_not_state_a_key_is_not_what_is_looked_for() {
        let plan = json!({ "steps": [{ "run": "main" }, { "test": "key-off" }, { "battery": "reconnect", "note": "slowly" }] });
        let holds = |text: &str| {
            let seen = Seen { plan: Arc::new(plan.clone()), ..Seen::default() };
            Expression::new(text, Each::Job).expect(text).holds(Each::Job, &seen)
        };
        assert_eq!(holds("plan.steps.exists(s, s.test == 'key-off')"), Ok(true));
        assert_eq!(holds("plan.steps.exists(s, s.test == 'charging')"), Ok(false));
        assert_eq!(holds("plan.steps.exists_one(s, s.battery == 'reconnect')"), Ok(true));
        assert_eq!(holds("plan.steps.all(s, s.run == 'main')"), Ok(false));
        assert_eq!(holds("plan.steps.all(s, s.run != 'spare')"), Ok(true));
        assert_eq!(holds("plan.steps.exists(s, s.note.startsWith('slow'))"), Ok(true));
        assert_eq!(holds("size(plan.steps.filter(s, has(s.run) || s.test == 'key-off')) == 2"), Ok(true));
        assert_eq!(holds("plan.steps[0].run == 'main'"), Ok(true));
        let missing = Err(Unworked::NotStated("plan.steps.0.radio".into()));
        assert_eq!(holds("plan.steps[0].radio == 'note-code'"), missing);
        assert_eq!(holds("has(plan.measured)"), Ok(false));
        let measured = Err(Unworked::NotStated("plan.measured".into()));
        assert_eq!(holds("plan.measured.key_off < 0.05"), measured);
    }

    #[test]
    fn functions_that_are_not_there_are_told_with_those_that_are() {
        let told = refused("wire.name.matches('^main')");
        assert!(told.starts_with("there is no function `matches` here; "), "{told}");
        assert!(told.contains("startsWith"), "{told}");
        assert!(refused("plan.steps.exists(s, s.tets == 'key-off')").contains("did you mean `test`?"));
        for name in FUNCTIONS {
            let used = match name {
                "all" | "exists" | "exists_one" => format!("wire.path.{name}(zone, zone == 'cargo')"),
                "filter" | "map" => format!("size(wire.path.{name}(zone, zone == 'cargo')) > 0"),
                "has" => "has(wire.size)".to_owned(),
                "contains" | "startsWith" | "endsWith" => format!("wire.name.{name}('a')"),
                "size" => "size(wire.name) > 0".to_owned(),
                "string" => "string(wire.size) != ''".to_owned(),
                _ => format!("{name}(wire.size) > {name}(0)"),
            };
            assert!(
                Expression::new(&used, Each::Wire).is_ok(),
                "{used}: {:?}",
                Expression::new(&used, Each::Wire).err()
            );
        }
    }

    #[test]
    fn loops_within_loops_are_bounded() {
        let two = "wire.path.all(a, wire.path.all(b, a == b))";
        assert!(Expression::new(two, Each::Wire).is_ok());
        assert!(refused("wire.path.all(a, wire.path.all(b, wire.path.all(c, a == c)))").contains("cost too much"));
    }

    #[test]
    fn a_key_that_is_not_stated_is_named() {
        let covered = Expression::new("wire.covering != 'none'", Each::Wire).expect("it is sound");
        let thing = |is| Seen { is, ..Seen::default() };
        assert_eq!(covered.holds(Each::Wire, &thing(json!({ "covering": "loom" }))), Ok(true));
        assert_eq!(covered.holds(Each::Wire, &thing(json!({}))), Err(Unworked::NotStated("covering".into())));
    }
}
