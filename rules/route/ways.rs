//! The ways that leads take: supply wires, turn-on leads, signal leads, speaker leads.

use std::collections::BTreeMap;

use crate::judge::{Finding, Judged, Offer, Verdict};
use crate::plan::{Covering, Crossing, PastAirbags, Terminal, Zone, ZoneKind};
use crate::quantity::{Length, Quantity};
use crate::solve::{Job, Place, Thing, Undecided};
use crate::words;

/// The way of one lead.
pub struct Way<'a> {
    /// Its name.
    pub name: &'a str,
    /// The lead as a subject.
    pub subject: Place,
    /// Where its path stands, without the last key: `wires.main` or `signals.left.lead`.
    base: String,
    /// The places it runs through.
    pub path: &'a [Zone],
    /// How it gets through each crossing.
    pub crossings: &'a BTreeMap<Zone, Crossing>,
    /// What it is covered with, where that can be stated.
    pub covering: Option<Covering>,
    /// How it gets past airbags in pillars and roof.
    pub airbags: Option<PastAirbags>,
    /// How long it is, where that can be stated.
    pub length: Option<Quantity<Length>>,
    /// The terminal it starts at, if it starts at one.
    pub from: &'a [Terminal],
    /// The terminals it leads to.
    pub to: &'a [Terminal],
}

impl Way<'_> {
    /// Whether it is that of a speaker lead.
    pub fn is_load(&self) -> bool {
        self.subject.segments().next() == Some("loads")
    }

    /// The place of one of its keys.
    pub fn at(&self, key: &str) -> Place {
        Place::of(format!("{}.{key}", self.base))
    }

    /// The place of a zone on its path.
    pub fn zone(&self, at: usize) -> Place {
        self.at(&format!("path.{at}"))
    }

    /// The place of a fact about a crossing.
    pub fn crossing(&self, zone: Zone, key: &str) -> Place {
        self.at(&format!("crossings.{}.{key}", zone.word()))
    }

    /// A grommet that is fitted at a crossing, and seals it.
    pub fn grommet(&self, zone: Zone) -> Offer {
        let offer = Offer::new("fit a grommet that seals").set(self.crossing(zone, "through"), "new-grommet");
        offer.set(self.crossing(zone, "sealed"), true)
    }

    /// The pass at a crossing is sealed.
    pub fn seal(&self, zone: Zone) -> Offer {
        Offer::new("seal the pass").set(self.crossing(zone, "sealed"), true)
    }

    /// What it says to leave places of its path out.
    fn past(&self, there: &[usize]) -> String {
        let word = |at: &usize| self.path[*at].word();
        let left_out = words::all(&there.iter().map(word).collect::<Vec<_>>());
        let neighbours = |at: usize| Some((self.path.get(at.checked_sub(1)?)?, self.path.get(at + 1)?));
        match there {
            [at] => neighbours(*at).map(|(before, after)| (before.word(), after.word())),
            _ => None,
        }
        .map_or_else(
            || format!("lead it without {left_out}"),
            |(before, after)| format!("lead it from {before} straight to {after}, past {left_out}"),
        )
    }

    /// Other ways than through places of its path: without them, or through a place where leads usually run.
    fn detours(&self, there: &[usize]) -> Vec<Offer> {
        let without = Offer::new(self.past(there));
        // From behind, so that the numbers of the places before stay true.
        let without = there.iter().rev().fold(without, |offer, at| offer.remove(self.zone(*at)));
        let usual = [Zone::LeftSill, Zone::RightSill, Zone::CentreTunnel, Zone::CabinFloor];
        let through = usual.into_iter().filter(|zone| !self.path.contains(zone)).map(|zone| {
            let offer = Offer::new(format!("lead it through {}", zone.word()));
            let (first, more) = there.split_first().map_or((0, there), |(first, more)| (*first, more));
            let offer = more.iter().rev().fold(offer, |offer, at| offer.remove(self.zone(*at)));
            offer.set(self.zone(first), zone.word())
        });
        std::iter::once(without).chain(through).collect()
    }

    /// The need for its path, where that is not stated.
    pub fn known(&self) -> Result<(), Undecided> {
        if self.path.is_empty() { Err(Undecided::need(self.at("path"))) } else { Ok(()) }
    }
}

static NO_CROSSINGS: BTreeMap<Zone, Crossing> = BTreeMap::new();

/// The way of every lead of a job.
pub fn of<'a>(job: &Job<'a>) -> Vec<Way<'a>> {
    let mut ways = wires(job);
    ways.extend(turn_on(job));
    ways.extend(signals(job));
    ways.extend(loads(job));
    ways
}

/// The way of every supply wire.
pub fn wires<'a>(job: &Job<'a>) -> Vec<Way<'a>> {
    let way = |wire: &Thing<'a, crate::plan::Wire>| Way {
        name: wire.name,
        subject: wire.place(),
        base: wire.address.to_string(),
        path: &wire.plan().path,
        crossings: &wire.plan().crossings,
        covering: wire.covering,
        airbags: wire.airbags,
        length: wire.length,
        from: wire.plan().from.as_slice(),
        to: wire.plan().to.as_slice(),
    };
    job.wires.iter().map(way).collect()
}

fn turn_on<'a>(job: &Job<'a>) -> Vec<Way<'a>> {
    let way = |lead: &Thing<'a, crate::plan::TurnOn>| Way {
        name: lead.name,
        subject: lead.place(),
        base: lead.address.to_string(),
        path: &lead.plan().path,
        crossings: &lead.plan().crossings,
        covering: None,
        airbags: lead.airbags,
        length: None,
        from: &[],
        to: &lead.plan().to,
    };
    job.turn_on.iter().filter(|lead| lead.is_lead()).map(way).collect()
}

/// The way of every signal lead.
pub fn signals<'a>(job: &Job<'a>) -> Vec<Way<'a>> {
    let way = |signal: &Thing<'a, crate::plan::Signal>| {
        let lead = signal.plan().lead.as_ref();
        Way {
            name: signal.name,
            subject: signal.place(),
            base: format!("{}.lead", signal.address),
            path: lead.map_or(&[], |lead| lead.path.as_slice()),
            crossings: lead.map_or(&NO_CROSSINGS, |lead| &lead.crossings),
            covering: None,
            airbags: lead.and_then(|lead| lead.airbags),
            length: lead.and_then(|lead| lead.length),
            from: &[],
            to: signal.plan().to.as_slice(),
        }
    };
    job.signals.iter().map(way).collect()
}

/// The way of every speaker lead of which the plan says where it runs. Most lie in the place where their amplifier is.
pub fn loads<'a>(job: &Job<'a>) -> Vec<Way<'a>> {
    let way = |load: &Thing<'a, crate::plan::Load>| {
        let lead = load.plan().lead.as_ref().filter(|lead| !lead.path.is_empty() || !lead.crossings.is_empty())?;
        Some(Way {
            name: load.name,
            subject: load.place(),
            base: format!("{}.lead", load.address),
            path: &lead.path,
            crossings: &lead.crossings,
            covering: None,
            airbags: lead.airbags,
            length: lead.length,
            from: &[],
            to: &[],
        })
    };
    job.loads.iter().filter_map(way).collect()
}

/// Judges the way of every lead.
pub fn each(job: &Job<'_>, check: fn(&Way<'_>) -> Judged) -> Vec<(Place, Judged)> {
    of(job).into_iter().map(|way| (way.subject.clone(), check(&way))).collect()
}

/// What to say of a lead that runs where it must not.
pub struct Forbidden {
    /// The kind of place.
    pub kind: ZoneKind,
    /// What is there, to end the title: "`main` runs through `hinge`, …".
    pub title: &'static str,
    /// Why it matters.
    pub why: &'static str,
    /// What to do.
    pub mend: &'static str,
}

/// Judges every lead by whether it stays away from a kind of place.
pub fn stay_away(job: &Job<'_>, from: &Forbidden) -> Vec<(Place, Judged)> {
    let judge = |way: Way<'_>| {
        let verdict = way.known().map(|()| {
            let there: Vec<usize> = (0..way.path.len()).filter(|at| way.path[*at].kind() == from.kind).collect();
            Verdict::pass_if(there.is_empty(), || finding(&way, &there, from))
        });
        (way.subject, verdict)
    };
    of(job).into_iter().map(judge).collect()
}

fn finding(way: &Way<'_>, there: &[usize], from: &Forbidden) -> Finding {
    let zones: Vec<String> = there.iter().map(|at| format!("`{}`", way.path[*at].word())).collect();
    let first = there.first().copied().unwrap_or_default();
    let finding =
        Finding::new(way.zone(first), format!("`{}` runs through {}, {}", way.name, words::all(&zones), from.title))
            .label("it must not come here")
            .because(from.why)
            .mend(from.mend)
            .offers(way.detours(there));
    there.iter().skip(1).fold(finding, |finding, at| finding.also(way.zone(*at), "nor here"))
}

/// What the rules that stay away from something are tried by.
#[cfg(test)]
pub mod trial {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(zone: &str) -> String {
        format!(
            "plan: 1\nwires: {{main: {{path: [dash, {zone}, cargo]}}}}\n\
             turn_on: {{remote: {{path: [dash, {zone}, cargo]}}}}\nsignals: {{left: {{lead: {{path: [dash, {zone}]}}}}}}\n\
             loads: {{bass: {{lead: {{path: [cargo, {zone}]}}}}}}\n"
        )
    }

    /// Each of these places fails for wires, turn-on, signal and speaker leads, at the word in the path.
    ///
    /// # Panics
    /// When it does not.
    pub fn fails_at_its_word(code: &str, zones: &[&str]) {
        for zone in zones {
            for (lead, base) in [
                ("wires.main", "wires.main"),
                ("turn_on.remote", "turn_on.remote"),
                ("signals.left", "signals.left.lead"),
                ("loads.bass", "loads.bass.lead"),
            ] {
                let check = check(&plan(zone), code, lead);
                assert_eq!(check.outcome, Outcome::Fail, "{zone} {lead}");
                assert_eq!(check.finding.expect("it fails").at.place.path(), format!("{base}.path.1"));
            }
        }
    }

    /// A way through another place passes; a way that is not stated is open.
    ///
    /// # Panics
    /// When it does not.
    pub fn passes_clear_and_is_open_unstated(code: &str, clear: &str) {
        assert_eq!(outcome(&plan(clear), code, "wires.main"), Outcome::Pass);
        let check = check("plan: 1\nsignals: {left: {}}\n", code, "signals.left");
        assert_eq!(check.outcome, Outcome::Open);
        assert_eq!(check.needs[0].path(), "signals.left.lead.path");
    }

    #[test]
    fn what_senses_a_signal_has_no_lead_that_could_run_anywhere() {
        let asked = |kind: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nturn_on: {{remote: {{from: {{kind: {kind}}}, to: [amp.remote]}}}}\n"
            );
            let checks = crate::rules::trial::judged(&text).checks;
            checks.iter().flat_map(|check| &check.needs).filter(|need| need.path() == "turn_on.remote.path").count()
        };
        assert!(asked("accessory") > 0);
        assert_eq!(asked("signal-sensing"), 0);
    }
}
