//! Fixes: changes of a plan that clear a finding, each proved before it is offered.
//!
//! A fix is proved by doing it: the changed text is read, solved and judged. It is offered only when what it is for is
//! gone, nothing as bad or worse has come, no fault is found with what it changes and no fuse outgrows its wire (`proof`),
//! and it touches only what a plan decides (`decided`).

use std::cell::Cell;

use super::apply::apply_where;
use super::change::{Change, changes_of, facts};
use super::check::{Check, FindOut, Judgement};
use super::decided::{is_decision, may_be_offered};
use super::proof::{difference, is, is_cleared, keeps_comments, margin, name, no_worse, outgrows_wire, spoils};
use super::verdict::{Offer, Outcome};
use super::{Rule, skeleton};
use crate::house::House;
use crate::plan::{Reading, Stage, in_words, read_with};
use crate::solve::{Job, Place};
use crate::text::Edit;

/// How far a fix may be trusted without a look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Tier {
    /// It says what was clearly meant.
    Safe,
    /// It changes what is built.
    Offered,
    /// Only a person can finish it, by a name, a fact or work on a vehicle that is built: it is shown and never made.
    Shown,
}

/// A change of a plan: proved, unless it is only shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Fix {
    /// How far it may be trusted without a look.
    pub tier: Tier,
    /// What it does, in a few words.
    pub title: String,
    /// The path of the first value that it changes; empty where words could not be read.
    pub path: String,
    /// What the check it is for had to spare before and has afterwards, as shares of the limit.
    pub margins: Option<(f64, f64)>,
    /// The bytes that change; all others stay as they are.
    pub edit: Edit,
}

/// A fix that was made.
#[derive(Debug, Clone, PartialEq)]
pub struct Made {
    /// The rule whose finding it cleared; empty where words could not be read.
    pub code: &'static str,
    /// Where it was made: the first byte, in the text as it was just before.
    pub at: usize,
    /// What was done.
    pub fix: Fix,
}

/// A finding that still stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Left {
    /// Its rule.
    pub code: &'static str,
    /// Its first byte in the text.
    pub at: usize,
    /// How far it can be mended; only shown where no fix is proved.
    pub tier: Tier,
    /// What its rule says to do.
    pub mend: String,
    /// What would clear it on a vehicle that is built already, once somebody has done it there.
    pub rework: Option<String>,
    /// What its rule judges there.
    pub subject: Place,
}

/// Which findings are to be fixed, and how boldly.
pub struct Wanted<'a> {
    /// The boldest tier.
    pub tier: Tier,
    /// Whether a check is to be fixed.
    pub check: &'a dyn Fn(&Check) -> bool,
    /// Whether words that cannot be read are to be respelt.
    pub unreadable: bool,
}

/// So many checks are judged to prove fixes of one plan: enough for any that somebody works with, and an end for one of a
/// thousand wires where each has several findings.
const MOST_JUDGED: usize = 300_000;
/// Looking at one rule alone costs about such a part of judging all.
const ALONE: usize = 10;

/// Fixes that follow on fixes end here; a plan has no more to mend than that.
const MOST: usize = 100;

/// A plan with every wanted fix made, one after the other, each on the plan as the one before left it.
pub fn mend(reading: &Reading, house: &House, rules: &[&'static Rule], wanted: &Wanted<'_>) -> (Reading, Vec<Made>) {
    let (mut reading, mut made, mut judged) = (reading.clone(), Vec::new(), 0);
    while made.len() < MOST {
        let judgement = super::judge_briefly(&reading, house, rules);
        let workshop = Workshop { judged: Cell::new(judged), ..Workshop::new(&reading, &judgement, house, rules) };
        let Some(next) = workshop.next(wanted) else { break };
        judged = workshop.judged.get();
        reading = read_with(next.fix.edit.apply(&reading.text), &reading.shelves);
        made.push(next);
    }
    (reading, made)
}

/// How far the findings that are left can be mended: the boldest tier that would do, or only shown.
pub fn left(workshop: &Workshop<'_>, is_asked: &dyn Fn(&Check) -> bool) -> Vec<Left> {
    let Workshop { reading, judgement, .. } = workshop;
    let causes = judgement.failed().filter(|check| check.follows.is_none() && is_asked(check));
    let told = causes.map(|check| {
        let place = check.told_at();
        let fix = workshop.sought(check, true).into_iter().next();
        Left {
            code: check.rule.code,
            at: reading.tree.locate(&place.path()).span.start,
            tier: fix.as_ref().map_or(Tier::Shown, |fix| fix.tier),
            rework: fix.filter(|fix| fix.tier == Tier::Shown).map(|fix| fix.title),
            mend: check.finding.as_ref().map(|finding| finding.mend.clone()).unwrap_or_default(),
            subject: check.subject.clone(),
        }
    });
    told.collect()
}

/// What fixes are proved with.
pub struct Workshop<'a> {
    /// The plan as it is.
    pub reading: &'a Reading,
    /// What was found in it.
    pub judgement: &'a Judgement,
    /// Limits and assumptions.
    pub house: &'a House,
    /// All rules: a fix must not break another one.
    pub rules: &'a [&'static Rule],
    /// How many checks were judged to prove fixes.
    judged: Cell<usize>,
}

impl<'a> Workshop<'a> {
    /// With nothing proved yet.
    pub fn new(reading: &'a Reading, judgement: &'a Judgement, house: &'a House, rules: &'a [&'static Rule]) -> Self {
        Self { reading, judgement, house, rules, judged: Cell::new(0) }
    }

    /// Whether so much more may be judged: all checks of the plan, or a part of them.
    fn may_judge(&self, part: usize) -> bool {
        self.judged.set(self.judged.get() + self.judgement.checks.len() / part);
        !self.is_spent()
    }

    /// Whether nothing more may be judged: what would be searched could not be proved.
    fn is_spent(&self) -> bool {
        self.judged.get() > MOST_JUDGED
    }

    /// The first fix that is wanted, words that cannot be read before findings.
    fn next(&self, wanted: &Wanted<'_>) -> Option<Made> {
        let unreadable = if wanted.unreadable { 0..self.reading.misreads.len() } else { 0..0 };
        let respelt = unreadable.into_iter().find_map(|misread| self.respelling(misread));
        let made = |code: &'static str, fix: Fix| {
            let place = self.reading.tree.locate(&fix.path).span.start;
            Made { code, at: if fix.path.is_empty() { fix.edit.at.start } else { place }, fix }
        };
        if let Some(fix) = respelt {
            return Some(made("", fix));
        }
        let checks = self.judgement.failed().filter(|check| check.follows.is_none() && (wanted.check)(check));
        checks.into_iter().find_map(|check| {
            let fix = self.sought(check, true).into_iter().find(|fix| fix.tier <= wanted.tier.min(Tier::Offered))?;
            Some(made(check.rule.code, fix))
        })
    }

    /// The proved fixes of one failed check: those that say what was meant, then what its rule offers, then the smallest
    /// change of one value that nothing else changes already.
    pub fn fixes(&self, check: &Check) -> Vec<Fix> {
        self.sought(check, false)
    }

    /// The fixes of a check; or no more of them than it takes to have one.
    fn sought(&self, check: &Check, first_only: bool) -> Vec<Fix> {
        let Some(finding) = check.finding.as_ref().filter(|_| check.stands() && !self.is_spent()) else {
            return Vec::new();
        };
        let mut fixes = Vec::new();
        if let Some(meant) = finding.meant.as_ref().filter(|meant| *meant != "~") {
            let offer = Offer::new(format!("write `{meant}`")).set(finding.at.place.clone(), meant);
            fixes.extend(self.proved(check, Tier::Safe, &offer));
        }
        let mut changed: Vec<Vec<&Place>> = Vec::new();
        for offer in &finding.offers {
            let places = offer.places();
            let is_decided = places.iter().all(|place| may_be_offered(&place.path()));
            let is_done = |fix: &Fix| fix.title.ends_with(offer.title.as_str());
            if !is_decided || changed.contains(&places) || fixes.iter().any(is_done) {
                continue;
            }
            if first_only && !fixes.is_empty() {
                break;
            }
            if let Some(fix) = self.proved(check, Tier::Offered, offer) {
                changed.push(places);
                fixes.push(fix);
            }
        }
        // What was measured is not mended on paper.
        if finding.at.place.path().starts_with("measured.") || (first_only && !fixes.is_empty()) {
            return fixes;
        }
        // Where the rule knows what to do, only what its finding names is searched besides, not all of the thing.
        let mut places = if finding.offers.is_empty() { facts(check, self.reading) } else { check.named() };
        places.retain(|place| is_decision(&place.path()) && !changed.iter().flatten().any(|taken| place == *taken));
        let searched = changes_of(self.reading, self.house, check, places);
        fixes.extend(searched.into_iter().filter_map(|Change { place, from, to, .. }| {
            let offer = Offer::new(format!("{place}: {to} instead of {from}")).set(place, to);
            self.proved(check, Tier::Offered, &offer)
        }));
        fixes
    }

    /// What a person can finish about a check: accept the finding by a waiver.
    pub fn waiver(&self, check: &Check) -> Option<Fix> {
        let edit = skeleton::waiver(self.reading, check)?;
        let title = format!("waive {} on {}: give a reason, a name and a day", check.rule.code, check.subject);
        Some(Fix { tier: Tier::Shown, title, path: "waivers".into(), margins: None, edit })
    }

    /// What a person can finish about a fact that has to be found out: state it.
    pub fn fact(&self, fact: &FindOut) -> Option<Fix> {
        let (path, edit) = (fact.place.path(), skeleton::fact(self.reading, fact)?);
        Some(Fix { tier: Tier::Shown, title: format!("state {}", in_words(&path)), path, margins: None, edit })
    }

    /// Does it, and looks what comes of it.
    fn proved(&self, check: &Check, tier: Tier, offer: &Offer) -> Option<Fix> {
        // What the shelf says of gear is the same for every plan.
        let is_elsewhere = |place: &Place| {
            let tree = &self.reading.tree;
            tree.node(&place.path()).is_some_and(|node| tree.elsewhere(node).is_some())
        };
        if tier == Tier::Offered && offer.places().into_iter().any(is_elsewhere) {
            return None;
        }
        if !self.may_judge(ALONE) {
            return None;
        }
        let deeds: Vec<_> = offer.deeds.iter().map(|(place, deed)| (place.path(), deed.clone())).collect();
        let after = self.reading.changed(&deeds).ok()?;
        if !self.clears(check, &after) || !keeps_comments(self.reading, &after) || !self.may_judge(1) {
            return None;
        }
        let judged = self.holding(check, &after, &offer.places())?;
        let now = judged.checks.iter().find(|other| is(other, check));
        let margins = margin(check).zip(now.and_then(margin));
        let path = deeds.into_iter().next().map(|(path, _)| path).unwrap_or_default();
        let edit = difference(&self.reading.text, &after.text);
        // A plan of what is built says how it is built; it changes after the vehicle does.
        if tier == Tier::Offered && self.reading.plan.stage() == Stage::Installed {
            let title = format!("once it is built so: {}", offer.title);
            return Some(Fix { tier: Tier::Shown, title, path, margins, edit });
        }
        Some(Fix { tier, title: offer.title.clone(), path, margins, edit })
    }

    /// What is found in a changed plan, where the check holds there and nothing as bad has come.
    fn holding(&self, check: &Check, after: &Reading, changed: &[&Place]) -> Option<Judgement> {
        let rates = |place: &&Place| place.path().ends_with("fuse.rating");
        if changed.iter().any(rates) && outgrows_wire(&self.reading.plan, &after.plan, self.house) {
            return None;
        }
        let judged = super::judge_briefly(after, self.house, self.rules);
        let holds = is_cleared(check, self.judgement, &judged)
            && no_worse(self.judgement, &judged, check.severity)
            && !spoils(self.judgement, &judged, changed);
        holds.then_some(judged)
    }

    /// Whether a change that turns a verdict may be told. With one that makes a check pass nothing as bad comes; one that
    /// breaks it only shows where the limit lies.
    pub fn may_tell(&self, check: &Check, change: &Change) -> bool {
        if check.outcome == Outcome::Pass {
            return true;
        }
        let Ok(after) = self.reading.with(&change.place.path(), &change.to) else { return false };
        if !self.may_judge(1) {
            return false;
        }
        let judged = super::judge_briefly(&after, self.house, self.rules);
        no_worse(self.judgement, &judged, check.severity)
    }

    /// Whether a check's own rule finds less in a changed plan: most that fails fails here, before all is judged.
    fn clears(&self, check: &Check, after: &Reading) -> bool {
        let job = Job::new(&after.plan, self.house);
        // Items of lists shift, so that they are counted.
        let is_asked = |subject: &Place| *subject == check.subject || name(check).1.contains('*');
        let after = Judgement { checks: apply_where(check.rule, &job, &is_asked), ..Judgement::default() };
        after.checks.is_empty() || is_cleared(check, self.judgement, &after)
    }

    /// The proved fix of a place that cannot be read, by its number in the reading: what was probably meant.
    pub fn respelling(&self, misread: usize) -> Option<Fix> {
        let misread = self.reading.misreads.get(misread)?;
        let meant = misread.meant.as_ref()?;
        let edit = Edit { at: misread.span.clone(), text: meant.clone() };
        let after = read_with(edit.apply(&self.reading.text), &self.reading.shelves);
        let fewer = after.misreads.len() < self.reading.misreads.len();
        let known = |what: &String| self.reading.misreads.iter().any(|misread| misread.what == *what);
        let nothing_new = after.misreads.iter().all(|misread| known(&misread.what));
        // What stands on several lines is told by what is done to it.
        let title = if meant.contains('\n') { misread.mend.clone() } else { format!("write `{meant}`") };
        (fewer && nothing_new && keeps_comments(self.reading, &after)).then_some(Fix {
            tier: Tier::Safe,
            title,
            path: String::new(),
            margins: None,
            edit,
        })
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::*;
    use crate::judge::judge;

    fn fixes(text: &str, code: &str) -> Vec<(Tier, String, String)> {
        let reading = crate::plan::read(text.to_owned());
        let (house, rules) = (House::default(), crate::rules::all());
        let judgement = judge(&reading, &house, &rules);
        let workshop = Workshop::new(&reading, &judgement, &house, &rules);
        let failed = judgement.failed().find(|check| check.rule.code == code).expect("it fails");
        workshop.fixes(failed).into_iter().map(|fix| (fix.tier, fix.title, fix.edit.apply(text))).collect()
    }

    const WIRE: &str = "plan: 1\namplifiers: {amp: {}}\nwires:\n  main: # the feed\n    from: battery.positive\n    \
                        to: amp.power\n    size: 10 AWG # as bought\n    conductor: copper\n    insulation: 105 C\n    \
                        length: 4 m\n    path: [engine-bay]\n    fuse: {form: bolt-down, rating: 60 A, distance: 20 cm}\n";

    /// 10 AWG of class 105 C carries 51 A at 50 C (33 CFR 183.425 table 5).
    #[test]
    fn a_fuse_above_its_wire_gets_a_smaller_fuse_or_a_thicker_wire_and_every_comment_stays() {
        let fixes = fixes(WIRE, "FUSE-01");
        let smaller = WIRE.replace("rating: 60 A", "rating: 50 A");
        let thicker = WIRE.replace("size: 10 AWG", "size: 8 AWG");
        assert!(fixes.iter().any(|(tier, _, text)| *tier == Tier::Offered && *text == smaller), "{fixes:?}");
        assert!(fixes.iter().any(|(_, _, text)| *text == thicker), "{fixes:?}");
    }

    /// Breaks down once the fuse is smaller.
    static FALLS: Rule = Rule {
        check: super::super::Subjects::Wire(|wire, _| {
            let fuse = wire.fuse.as_ref().and_then(|fuse| fuse.rating.as_ref());
            assert!(fuse.is_some_and(|rating| rating.base() >= 60.0), "on purpose");
            Err(crate::solve::Undecided::NotApplicable("it holds"))
        }),
        ..crate::rules::trial::FALLS
    };

    #[test]
    fn a_change_with_which_a_rule_breaks_down_is_not_proved() {
        let smaller = |fixes: &[(Tier, String, String)]| fixes.iter().any(|(_, _, text)| text.contains("rating: 50 A"));
        let thicker = |fixes: &[(Tier, String, String)]| fixes.iter().any(|(_, _, text)| text.contains("size: 8 AWG"));
        let without = fixes(WIRE, "FUSE-01");
        assert!(smaller(&without) && thicker(&without), "{without:?}");
        let _beside = crate::rules::trial::beside(&FALLS);
        let with = fixes(WIRE, "FUSE-01");
        assert!(!smaller(&with) && thicker(&with), "{with:?}");
    }

    /// No other size than 10 AWG will do.
    static TEN_ONLY: Rule = Rule {
        severity: super::super::Severity::Danger,
        check: super::super::Subjects::Wire(|wire, _| {
            if wire.size.as_ref().is_some_and(|size| size.to_string() == "10 AWG") {
                return Err(crate::solve::Undecided::NotApplicable("it is ten"));
            }
            let finding = super::super::Finding::new(wire.at("size"), "not ten");
            Ok(super::super::Verdict::fail(finding.label("").because("").mend("")))
        }),
        ..crate::rules::trial::FALLS
    };

    /// What would let the fuse pass, or no longer pass, as far as it may be told.
    fn turns_told(text: &str) -> Vec<String> {
        let reading = crate::plan::read(text.to_owned());
        let (house, rules) = (House::default(), crate::rules::all());
        let judgement = judge(&reading, &house, &rules);
        let workshop = Workshop::new(&reading, &judgement, &house, &rules);
        let check = judgement.checks.iter().find(|check| check.rule.code == "FUSE-01").expect("it is judged");
        let changes = crate::judge::changes(&reading, &house, check).into_iter();
        changes.filter(|change| workshop.may_tell(check, change)).map(|change| change.to).collect()
    }

    #[test]
    fn what_brings_something_as_bad_is_not_told_as_a_way_out() {
        let has = |told: &[String], value: &str| told.iter().any(|to| to == value);
        let told = turns_told(WIRE);
        assert!(has(&told, "50 A") && has(&told, "8 AWG"), "{told:?}");
        let passing = WIRE.replace("60 A", "50 A");
        let before = turns_told(&passing);
        assert!(has(&before, "60 A"), "where the limit lies is told, though it is a danger there: {before:?}");
        let _beside = crate::rules::trial::beside(&TEN_ONLY);
        let told = turns_told(WIRE);
        assert!(has(&told, "50 A") && !has(&told, "8 AWG"), "{told:?}");
        assert_eq!(turns_told(&passing), before);
    }

    #[test]
    fn a_rule_that_breaks_down_whatever_is_changed_stands_in_no_way() {
        let without = fixes(WIRE, "FUSE-01");
        let _beside = crate::rules::trial::beside(&crate::rules::trial::FALLS);
        assert_eq!(fixes(WIRE, "FUSE-01"), without);
    }

    /// Counts how often it is asked.
    static ASKED: Rule = Rule {
        check: super::super::Subjects::Wire(|wire, _| {
            TIMES.fetch_add(1, Ordering::Relaxed);
            let finding = super::super::Finding::new(wire.at("size"), "too thin");
            Ok(super::super::Verdict::fail(finding.label("").because("").mend("")))
        }),
        ..crate::rules::trial::FALLS
    };
    static TIMES: AtomicUsize = AtomicUsize::new(0);

    /// Four hundred wires side by side bring findings by the thousand: once no more is proved none is searched.
    #[test]
    fn nothing_is_tried_for_a_fix_that_could_not_be_proved() {
        let (reading, house) = (crate::plan::read(WIRE.to_owned()), House::default());
        let rules = [&ASKED];
        let judgement = judge(&reading, &house, &rules);
        let failed = judgement.failed().next().expect("it fails");
        let tried = |judged: usize| {
            let workshop =
                Workshop { judged: Cell::new(judged), ..Workshop::new(&reading, &judgement, &house, &rules) };
            let before = TIMES.load(Ordering::Relaxed);
            assert_eq!(workshop.fixes(failed), []);
            TIMES.load(Ordering::Relaxed) - before
        };
        assert!(tried(0) > 10);
        assert_eq!(tried(MOST_JUDGED + 1), 0);
    }

    #[test]
    fn a_slip_in_a_name_is_a_safe_fix() {
        let right = WIRE.replace("60 A", "50 A");
        let (tier, title, after) = fixes(&right.replace("to: amp.power", "to: amq.power"), "PLAN-01").remove(0);
        assert_eq!((tier, title.as_str(), after), (Tier::Safe, "write `amp.power`", right));
    }

    #[test]
    fn facts_about_the_gear_are_never_turned() {
        let text = "plan: 1\namplifiers: {amp: {channels: 1, minimum_load: 4 ohm, rated: [{load: 4 ohm, power: 300 W}]}}\n\
                    drivers: {sub: {kind: subwoofer, coils: [2 ohm]}}\n\
                    loads: {bass: {amplifier: amp, outputs: [1], coils: sub.1}}\n";
        assert_eq!(fixes(text, "LOAD-01"), []);
    }

    #[test]
    fn a_unit_that_is_only_spelt_otherwise_is_a_safe_fix() {
        for (wrong, right) in [("10AWG", "10 AWG"), ("10 awg", "10 AWG"), ("10 gauge", "10 AWG")] {
            let text = WIRE.replace("size: 10 AWG", &format!("size: {wrong}"));
            let reading = crate::plan::read(text.clone());
            let (house, rules) = (House::default(), crate::rules::all());
            let judgement = judge(&reading, &house, &rules);
            let workshop = Workshop::new(&reading, &judgement, &house, &rules);
            let fix = workshop.respelling(0).unwrap_or_else(|| panic!("{wrong}: {:?}", reading.misreads));
            assert_eq!(fix.edit.apply(&text), WIRE.replace("10 AWG", right), "{wrong}");
        }
    }

    /// What the fuse of 60 A lacks on a wire of 51 A, and what 50 A leave.
    #[test]
    fn a_fix_says_what_was_to_spare_before_and_is_afterwards() {
        let reading = crate::plan::read(WIRE.to_owned());
        let (house, rules) = (House::default(), crate::rules::all());
        let judgement = judge(&reading, &house, &rules);
        let workshop = Workshop::new(&reading, &judgement, &house, &rules);
        let failed = judgement.failed().find(|check| check.rule.code == "FUSE-01").expect("it fails");
        let smaller =
            workshop.fixes(failed).into_iter().find(|fix| fix.path == "wires.main.fuse.rating").expect("50 A");
        let (before, after) = smaller.margins.expect("both are computed");
        assert!((before + 0.176).abs() < 0.005 && (after - 0.020).abs() < 0.005, "{before} {after}");
    }

    #[test]
    fn a_note_on_a_waiver_that_is_taken_out_stays() {
        let waiver = "plan: 1\ngrounds: {floor: {on: body-sheet, surface: bare-metal}}\nwaivers:\n  - rule: GROUND-01\n    at: \
                      grounds.floor # the foreman knows\n    reason: rig\n    by: me\n    until: 2999-06-30\n";
        let (_, title, after) = fixes(waiver, "PLAN-06").remove(0);
        assert!(title == "take the waiver out" && after.contains("# the foreman knows"), "{title} {after}");
    }

    #[test]
    fn what_only_a_person_can_finish_is_named() {
        let text = "plan: 1\ngrounds:\n  floor:\n    on: body-sheet\n    surface: bare-metal\n    coated_after: false\n  rail: {}\n";
        let reading = crate::plan::read(text.to_owned());
        let (house, rules) = (House::default(), crate::rules::all());
        let judgement = judge(&reading, &house, &rules);
        let workshop = Workshop::new(&reading, &judgement, &house, &rules);
        let uncoated = judgement.failed().find(|check| check.rule.code == "GROUND-07").expect("it fails");
        let waiver = workshop.waiver(uncoated).expect("no danger");
        assert_eq!((waiver.tier, waiver.path.as_str()), (Tier::Shown, "waivers"));
        assert_eq!(waiver.title, "waive GROUND-07 on grounds.floor: give a reason, a name and a day");
        let fact =
            judgement.find_out.iter().find(|fact| fact.place.path() == "grounds.rail.surface").expect("it is open");
        let stated = workshop.fact(fact).expect("it has a place");
        assert_eq!(
            (stated.tier, stated.title.as_str()),
            (Tier::Shown, "state rail: what the metal under it looks like")
        );
    }

    #[test]
    fn so_much_is_judged_and_no_more() {
        let (reading, house) = (crate::plan::read(WIRE.to_owned()), House::default());
        let rules = crate::rules::all();
        let judgement = judge(&reading, &house, &rules);
        let all = judgement.checks.len();
        let workshop = Workshop::new(&reading, &judgement, &house, &rules);
        assert!(workshop.may_judge(1) && workshop.may_judge(ALONE));
        assert_eq!(workshop.judged.get(), all + all / ALONE);
        workshop.judged.set(MOST_JUDGED - all);
        assert!(workshop.may_judge(1), "just as many");
        assert!(!workshop.may_judge(1) && workshop.is_spent());
    }
}
