//! Every planned part is installed by a step, and a test ends the work.

use super::order::{added, half_said, is_work, place, puts_on, steps, takes_off, told, whole};
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Plan, Setting, Step, TestStep};
use crate::rules::fuse::in_return::has_to_go;
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "STEP-07",
    name: "work-unfinished",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("unfinished.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Drop("steps.*")],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let steps = match steps(job) {
        Ok(steps) => steps,
        Err(undecided) => return vec![(whole(), Err(undecided))],
    };
    let parts = parts(job);
    // A step that says nothing yet may be any.
    let half = half_said(steps);
    let judged =
        |verdict: &dyn Fn() -> Verdict| half.clone().map_or_else(|| Ok(verdict()), |at| Err(Undecided::need(at)));
    if !parts.is_empty() && !steps.iter().any(is_work) {
        return vec![(whole(), judged(&|| Verdict::fail(sketch(steps))))];
    }
    let parts = parts.into_iter().map(|part| {
        let done = steps.iter().any(|step| part.is_done_by(step));
        let verdict = if !done {
            judged(&|| Verdict::fail(part.missing(steps)))
        } else if let Some(finding) = part.connected_to_nothing(job.plan, steps) {
            judged(&|| Verdict::fail(finding.clone()))
        } else {
            Ok(Verdict::pass())
        };
        (part.place.clone(), verdict)
    });
    std::iter::once((whole(), judged(&|| tested(steps)))).chain(parts).collect()
}

/// What to say where the steps install nothing of what is planned.
fn sketch(steps: &[Step]) -> Finding {
    let end = steps.len() - 1;
    Finding::new(place(end, &steps[end]), "no step installs anything of what is planned")
        .label("the work ends here")
        .because("what no step names is what is left in the box, or left half done")
        .mend("write the whole order, from `battery: disconnect` to `test: commissioning`, or leave the steps out")
}

/// A part of the plan with the step that installs it.
struct Part<'a> {
    place: Place,
    name: &'a str,
    key: &'static str,
    /// What else does it: the ground whose making includes this return wire, the amplifier that is set as a whole.
    with: Option<&'a str>,
}

impl Part<'_> {
    /// What a step of its kind installs.
    fn named<'s>(&self, step: &'s Step) -> Option<&'s str> {
        let named = match self.key {
            "run" => &step.run,
            "ground" => &step.ground,
            "mount" => &step.mount,
            "connect" => &step.connect,
            "set" => &step.set,
            _ => &step.fuse,
        };
        named.as_deref()
    }

    fn is_done_by(&self, step: &Step) -> bool {
        let also = match self.key {
            "run" => &step.ground,
            "set" => &step.set,
            _ => &None,
        };
        self.named(step) == Some(self.name) || (self.with.is_some() && also.as_deref() == self.with)
    }

    /// Gear is connected before any of its wires and turn-on leads is laid. Signal leads may follow: a converter is often
    /// joined to the speaker wires first. Of an added battery STEP-03 tells.
    fn connected_to_nothing(&self, plan: &Plan, steps: &[Step]) -> Option<Finding> {
        if self.key != "connect" || plan.batteries.contains_key(self.name) {
            return None;
        }
        let connect = steps.iter().rposition(|step| step.connect.as_deref() == Some(self.name))?;
        let laid: Vec<usize> = laid(plan, steps, self.name);
        let (first, last) = (*laid.iter().min()?, *laid.iter().max()?);
        (connect < first).then(|| {
            let title = format!("{} before any wire or turn-on lead of it is laid", told(&steps[connect]));
            Finding::new(place(connect, &steps[connect]), title)
                .label("there is nothing to connect yet")
                .also(place(first, &steps[first]), "the first of them comes here")
                .because(
                    "a step that cannot be done is ticked all the same, and what is laid later is joined by no step",
                )
                .mend("connect it after all that leads to it is laid")
                .offer(Offer::new("connect it later").shift(Place::of(format!("steps.{connect}")), last + 1))
        })
    }

    fn missing(&self, steps: &[Step]) -> Finding {
        let (key, name) = (self.key, self.name);
        Finding::new(self.place.clone(), format!("{name} is planned and no step has `{key}: {name}`"))
            .label("no step installs this")
            .because("what no step names is what is left in the box, or left half done")
            .mend(format!("add a step `{key}: {name}` where it belongs, or take the part out of the plan"))
            .offers(self.places(steps).map(|at| added(&format!("{key}: {name}"), at, &format!("{{{key}: {name}}}"))))
    }

    /// Where its step can stand: behind its like, before anything is set or tested, then wherever it does. The negative of an
    /// added battery goes on beside the other's.
    fn places(&self, steps: &[Step]) -> impl Iterator<Item = usize> {
        let is_battery = self.place.path().starts_with("batteries.");
        let beside = steps.iter().rposition(puts_on).filter(|_| is_battery);
        let like = steps.iter().rposition(|step| self.named(step).is_some()).map(|at| at + 1);
        let work = steps.iter().rposition(|step| is_work(step) || puts_on(step)).map(|at| at + 1);
        beside.or(like).into_iter().chain(work).chain((0..=steps.len()).rev())
    }
}

fn parts<'a>(job: &Job<'a>) -> Vec<Part<'a>> {
    let plan = job.plan;
    // What FUSE-14 wants out of a return is not asked to be fitted.
    let stays = |fuse: &str| !has_to_go(&Place::of(fuse), job);
    let mut parts = Vec::new();
    let mut add = |section: &str, name, key, below: &str, with| {
        parts.push(Part { place: Place::of(format!("{section}.{name}{below}")), name, key, with });
    };
    for (name, wire) in &plan.wires {
        let ends = [&wire.to, &wire.from].into_iter().flatten();
        let ground = ends.into_iter().find(|end| end.thing == "grounds").map(|end| end.terminal.as_str());
        // A ground that is not there is told by PLAN-01; which step makes it cannot be said.
        if ground.is_none_or(|ground| plan.grounds.contains_key(ground)) {
            add("wires", name.as_str(), "run", "", ground);
        }
        let fuses = [(".fuse", wire.fuse.is_some()), (".far_fuse", wire.far_fuse.is_some())];
        let fitted = fuses.into_iter().find(|(key, there)| *there && stays(&format!("wires.{name}{key}")));
        if let Some((key, _)) = fitted {
            add("wires", name, "fuse", key, None);
        }
    }
    plan.grounds.keys().for_each(|name| add("grounds", name, "ground", "", None));
    for (name, lead) in &plan.turn_on {
        if lead.is_lead() {
            add("turn_on", name, "run", "", None);
        }
    }
    plan.signals.keys().for_each(|name| add("signals", name, "run", "", None));
    plan.amplifiers.keys().for_each(|name| add("amplifiers", name, "connect", "", None));
    let processors = plan.sources.iter().filter(|(_, source)| source.is_processor());
    processors.for_each(|(name, _)| add("sources", name, "connect", "", None));
    plan.converters.keys().for_each(|name| add("converters", name, "connect", "", None));
    plan.batteries.keys().for_each(|name| add("batteries", name, "connect", "", None));
    plan.isolators.keys().for_each(|name| add("isolators", name, "connect", "", None));
    plan.capacitors.keys().for_each(|name| add("capacitors", name, "connect", "", None));
    for (name, block) in &plan.blocks {
        add("blocks", name, "connect", "", None);
        let mut fused = block.outputs.iter().filter(|(_, output)| output.fuse.is_some());
        if fused.any(|(output, _)| stays(&format!("blocks.{name}.outputs.{output}.fuse"))) {
            add("blocks", name, "fuse", ".outputs", None);
        }
    }
    plan.mounts.keys().for_each(|name| add("mounts", name, "mount", "", None));
    let set = plan.settings.iter().filter(|(_, setting)| **setting != Setting::default());
    set.for_each(|(name, setting)| add("settings", name, "set", "", setting.amplifier.as_deref()));
    parts
}

/// The steps that lay the wires and turn-on leads of a thing; a wire to a ground is laid with that ground.
fn laid(plan: &Plan, steps: &[Step], name: &str) -> Vec<usize> {
    let wires = plan.wires.iter().filter_map(|(wire, stated)| {
        let ends = stated.terminals();
        let ground = ends.clone().find(|end| end.thing == "grounds").map(|end| end.terminal.as_str());
        ends.into_iter().any(|end| end.thing == name).then_some((wire, ground))
    });
    let leads = plan.turn_on.iter().filter(|(_, lead)| lead.is_lead() && lead.to.iter().any(|end| end.thing == name));
    let all = wires.chain(leads.map(|(lead, _)| (lead, None)));
    all.filter_map(|(lead, ground)| {
        let lays =
            |step: &Step| step.run.as_ref() == Some(lead) || (ground.is_some() && step.ground.as_deref() == ground);
        steps.iter().position(lays)
    })
    .collect()
}

/// Whether a step changes something that the test at the end has to see.
fn is_tested(step: &Step) -> bool {
    is_work(step) || puts_on(step) || takes_off(step) || step.set.is_some()
}

/// A commissioning test after the last work, with the battery on.
fn tested(steps: &[Step]) -> Verdict {
    let test = steps.iter().rposition(|step| step.test == Some(TestStep::Commissioning));
    let last = steps.iter().rposition(is_tested).unwrap_or(0);
    let (off, on) = (steps.iter().rposition(takes_off), steps.iter().rposition(puts_on));
    let powered = off.is_none() || on > off;
    let late = test.and_then(|test| (test..steps.len()).find(|at| is_tested(&steps[*at])));
    if test.is_some() && late.is_none() && powered {
        return Verdict::pass();
    }
    let end = steps.len() - 1;
    let (at, title, label) = match (late, test) {
        (Some(late), _) => {
            (late, format!("{} after the last `test: commissioning`", told(&steps[late])), "no test follows this")
        }
        (None, Some(_)) => (end, "the battery is never put back on before the test".to_owned(), "the work ends here"),
        (None, None) => (end, "no test ends the work".to_owned(), "the work ends here"),
    };
    let finding = Finding::new(place(at, &steps[at]), title)
        .label(label)
        .because("a fault found in the workshop costs minutes, the same fault on the road costs the customer's trust")
        .mend("let `test: commissioning` come after the last work, with the battery on and every fuse in");
    let finding = match late.and(test) {
        Some(test) => finding
            .also(place(test, &steps[test]), "the test")
            .offer(Offer::new("test after it").shift(Place::of(format!("steps.{test}")), last + 1)),
        None => finding,
    };
    Verdict::fail(
        finding.offer(added("test at the end", steps.len(), "{test: commissioning}")).offer(
            added("battery on, then test", steps.len(), "{battery: reconnect}")
                .insert(Place::of(format!("steps.{}", steps.len() + 1)), "{test: commissioning}"),
        ),
    )
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, finding, outcome};

    const HEAD: &str = "plan: 1\nvehicle: {high_voltage: none}\namplifiers: {amp: {}}\n\
        wires: {main: {from: battery.positive, to: amp.power, fuse: {rating: 60 A}}}\n";

    fn plan(steps: &str) -> String {
        format!("{HEAD}steps: [{steps}]\n")
    }

    const ALL: &str = "{battery: disconnect}, {run: main}, {connect: amp}, {battery: reconnect}, {fuse: main}";

    #[test]
    fn a_test_after_the_last_work_passes_and_none_or_an_early_one_fails() {
        let of = |steps: String| outcome(&plan(&steps), "STEP-07", "steps");
        assert_eq!(of(format!("{ALL}, {{test: commissioning}}")), Outcome::Pass);
        assert_eq!(of(ALL.to_owned()), Outcome::Fail);
        assert_eq!(of(format!("{{test: commissioning}}, {ALL}")), Outcome::Fail);
        assert_eq!(of(format!("{ALL}, {{test: key-off}}")), Outcome::Fail);
        assert_eq!(of("{battery: disconnect}, {test: commissioning}".to_owned()), Outcome::Fail);
    }

    #[test]
    fn every_part_wants_the_step_that_installs_it() {
        let extra = "sources: {dsp: {kind: processor}, radio: {kind: aftermarket}}\nconverters: {loc: {}}\ngrounds: {floor: {}}\nturn_on: {remote: {}}\nsignals: {left: {}}\nmounts: {amp: {}}\nbatteries: {rear: {}}\n\
                     isolators: {relay: {}}\ncapacitors: {cap: {}}\nblocks: {split: {outputs: {one: {fuse: {rating: 40 A}}}}}\n\
                     settings: {amp: {low_pass: 80 Hz}, front: {amplifier: quad, high_pass: 80 Hz}, empty: {}}\n";
        let text = |steps: &str| plan(steps) + extra;
        for (subject, step) in [
            ("wires.main", "run: main"),
            ("wires.main.fuse", "fuse: main"),
            ("grounds.floor", "ground: floor"),
            ("turn_on.remote", "run: remote"),
            ("signals.left", "run: left"),
            ("amplifiers.amp", "connect: amp"),
            ("sources.dsp", "connect: dsp"),
            ("converters.loc", "connect: loc"),
            ("mounts.amp", "mount: amp"),
            ("batteries.rear", "connect: rear"),
            ("isolators.relay", "connect: relay"),
            ("capacitors.cap", "connect: cap"),
            ("blocks.split", "connect: split"),
            ("blocks.split.outputs", "fuse: split"),
            ("settings.amp", "set: amp"),
            ("settings.front", "set: front"),
            ("settings.front", "set: quad"),
        ] {
            assert_eq!(
                outcome(&text(&format!("{{run: main}}, {{{step}}}")), "STEP-07", subject),
                Outcome::Pass,
                "{subject}"
            );
            assert_eq!(outcome(&text("{run: other}"), "STEP-07", subject), Outcome::Fail, "{subject}");
        }
        let judged = crate::rules::trial::judged(&text("{run: other}"));
        let radio =
            judged.checks.iter().find(|check| check.subject.path() == "sources.radio" && check.rule.code == "STEP-07");
        assert!(radio.is_none(), "the radio is there already");
    }

    /// A wire to a ground is laid with that ground; another amplifier's lead is none of its own. Of an added battery STEP-03 tells.
    #[test]
    fn gear_is_connected_behind_the_first_of_its_own_leads() {
        let of = |steps: &str, subject: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}, other: {{}}}}\nbatteries: {{rear: {{}}}}\ngrounds: {{floor: {{}}}}\nturn_on: {{lead: {{to: \
                 [other.remote]}}}}\nwires: {{back: {{from: amp.ground, to: grounds.floor}}, link: {{from: battery.positive, to: rear.positive}}}}\n\
                 steps: [{steps}]\n"
            );
            outcome(&text, "STEP-07", subject)
        };
        let amp = |steps: &str| of(steps, "amplifiers.amp");
        assert_eq!(
            (amp("{connect: amp}, {ground: floor}"), amp("{ground: floor}, {connect: amp}")),
            (Outcome::Fail, Outcome::Pass)
        );
        assert_eq!(amp("{run: lead}, {connect: amp}, {run: back}"), Outcome::Fail);
        assert_eq!(amp("{run: link}, {connect: amp}, {run: back}"), Outcome::Fail);
        assert_eq!(of("{connect: rear}, {run: link}", "batteries.rear"), Outcome::Pass);
    }

    #[test]
    fn a_step_that_says_nothing_yet_may_be_the_one_that_is_missing() {
        let text = plan("{run: main}, {}, {battery: reconnect}");
        for (subject, expected) in
            [("wires.main", Outcome::Pass), ("amplifiers.amp", Outcome::Open), ("steps", Outcome::Open)]
        {
            assert_eq!(outcome(&text, "STEP-07", subject), expected, "{subject}");
        }
        assert_eq!(check(&text, "STEP-07", "steps").needs[0].path(), "steps.1");
    }

    #[test]
    fn steps_that_install_nothing_give_one_finding() {
        let checks = crate::rules::trial::judged(&plan("{note: as usual}, {test: commissioning}")).checks;
        let own: Vec<_> = checks.iter().filter(|check| check.rule.code == "STEP-07").collect();
        assert_eq!((own.len(), own[0].outcome), (1, Outcome::Fail));
        let nothing = "plan: 1\nsteps: [{battery: disconnect}, {battery: reconnect}, {test: commissioning}]\n";
        assert_eq!(outcome(nothing, "STEP-07", "steps"), Outcome::Pass);
    }

    #[test]
    fn a_return_wire_is_made_with_its_ground_and_a_sensed_signal_needs_no_lead() {
        let text = "plan: 1\ngrounds: {floor: {}}\nwires: {back: {to: grounds.floor}, turned: {from: grounds.floor}}\nturn_on: {sensed: {from: {kind: signal-sensing}}}\n\
                    steps: [{ground: floor}]\n";
        assert_eq!(outcome(text, "STEP-07", "wires.back"), Outcome::Pass);
        assert_eq!(outcome(text, "STEP-07", "wires.turned"), Outcome::Pass);
        let judged = crate::rules::trial::judged(text);
        assert!(!judged.checks.iter().any(|c| c.rule.code == "STEP-07" && c.subject.path() == "turn_on.sensed"));
        assert_eq!(check("plan: 1\n", "STEP-07", "steps").outcome, Outcome::NotApplicable);
    }

    /// FUSE-14 wants such a fuse out: no step has to fit it.
    #[test]
    fn a_fuse_in_a_return_is_not_asked_to_be_fitted() {
        let asks = |text: &str, subject: &str| {
            let judged = crate::rules::trial::judged(text);
            judged.checks.iter().any(|check| check.rule.code == "STEP-07" && check.subject.path() == subject)
        };
        for (key, other) in [("fuse", "far_fuse"), ("far_fuse", "fuse")] {
            let wire = |ends: &str| {
                format!(
                    "plan: 1\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{}}}}\nwires: {{one: {{{ends}, {key}: {{rating: 60 \
                     A}}}}}}\nsteps: [{{connect: amp}}]\n"
                )
            };
            let (back, feed) =
                (wire("from: amp.ground, to: grounds.floor"), wire("from: battery.positive, to: amp.power"));
            let subject = format!("wires.one.{key}");
            assert_eq!((asks(&back, &subject), asks(&feed, &subject)), (false, true), "{key}");
            assert!(!asks(&feed, &format!("wires.one.{other}")));
            assert_eq!(outcome(&back, "FUSE-14", &subject), Outcome::Fail);
        }
        let block = |main: &str, branch: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{}}}}\nblocks: {{hub: {{outputs: {{one: {{fuse: {{rating: \
                 30 A}}}}}}}}}}\nwires: {{one: {{from: hub.one, to: {branch}}}, main: {{from: {main}, to: hub.in}}}}\n\
                 steps: [{{connect: amp}}]\n"
            )
        };
        assert!(!asks(&block("grounds.floor", "amp.ground"), "blocks.hub.outputs"));
        assert!(asks(&block("battery.positive", "amp.power"), "blocks.hub.outputs"));
    }

    #[test]
    fn a_test_before_the_battery_is_on_tests_nothing() {
        let early = "{battery: disconnect}, {run: main}, {connect: amp}, {fuse: main}, {test: commissioning}, {battery: reconnect}";
        assert_eq!(outcome(&plan(early), "STEP-07", "steps"), Outcome::Fail);
        let title = |steps: &str| check(&plan(steps), "STEP-07", "steps").finding.expect("it fails").title;
        assert_eq!(title(early), "`battery: reconnect` after the last `test: commissioning`");
        let off = "{battery: disconnect}, {run: main}, {connect: amp}, {fuse: main}, {test: commissioning}";
        assert_eq!(title(off), "the battery is never put back on before the test");
    }

    /// Whatever is fastened, laid or set behind the test has been tested by nobody.
    #[test]
    fn work_behind_the_test_is_told_where_it_is_done_and_the_test_is_offered_behind_it() {
        for late in ["mount: amp", "run: left", "set: amp", "fuse: main", "airbags: handle", "ground: floor"] {
            let order = |end: &str| plan(&format!("{ALL}, {end}, {{test: key-off}}"));
            let early = order(&format!("{{test: commissioning}}, {{{late}}}"));
            let found = finding(&early, "STEP-07", "steps");
            assert_eq!(found.title, format!("`{late}` after the last `test: commissioning`"));
            assert_eq!(found.at.place.path(), format!("steps.6.{}", late.split(':').next().expect("a key")));
            let right = order(&format!("{{{late}}}, {{test: commissioning}}"));
            assert_eq!(after(&early, "STEP-07", "steps")[0], right);
            assert_eq!(outcome(&right, "STEP-07", "steps"), Outcome::Pass);
        }
        let looked = plan(&format!(
            "{ALL}, {{test: commissioning}}, {{test: charging}}, {{inspect: no-short}}, {{note: wash it}}"
        ));
        assert_eq!(outcome(&looked, "STEP-07", "steps"), Outcome::Pass);
    }

    /// A terminal without its wire cannot be connected; a signal lead may be pushed in later.
    #[test]
    fn gear_is_connected_after_a_wire_of_it_is_laid() {
        let of = |order: &str| {
            let more =
                "grounds: {floor: {}}\nturn_on: {remote: {to: [amp.remote]}}\nsignals: {left: {to: amp.line-left}}\n";
            let text = plan(order).replace("wires: {", "wires: {back: {from: amp.ground, to: grounds.floor}, ") + more;
            (outcome(&text, "STEP-07", "amplifiers.amp"), text)
        };
        let early = "{connect: amp}, {run: left}, {run: main}, {ground: floor}, {run: remote}";
        let (judged, text) = of(early);
        assert_eq!(judged, Outcome::Fail);
        assert_eq!(finding(&text, "STEP-07", "amplifiers.amp").also[0].place.path(), "steps.2.run");
        let late = "{run: left}, {run: main}, {ground: floor}, {run: remote}, {connect: amp}";
        assert_eq!(after(&text, "STEP-07", "amplifiers.amp"), [of(late).1]);
        for first in ["run: main", "ground: floor", "run: remote"] {
            let order = format!("{{{first}}}, {{connect: amp}}, {{run: main}}, {{ground: floor}}, {{run: remote}}");
            assert_eq!(of(&order).0, Outcome::Pass, "{first}");
        }
        assert_eq!(of("{run: left}, {connect: amp}, {run: main}").0, Outcome::Fail);
        assert_eq!(of("{connect: amp}").0, Outcome::Pass, "the wires are told as missing");
    }

    #[test]
    fn a_step_that_is_missing_comes_behind_its_like_and_before_the_settings() {
        let text = plan("{run: main}, {fuse: other}, {set: amp}, {test: commissioning}");
        let steps = |subject: &str| after(&text, "STEP-07", subject)[0].clone();
        assert!(steps("wires.main.fuse").contains("{fuse: other}, {fuse: main}, {set: amp}"));
        assert!(steps("amplifiers.amp").contains("{fuse: other}, {connect: amp}, {set: amp}"));
        let added = plan("{connect: amp}, {fuse: main}, {battery: reconnect}, {test: commissioning}")
            + "batteries: {rear: {}}\n";
        assert!(
            after(&added, "STEP-07", "batteries.rear")[0]
                .contains("{fuse: main}, {connect: rear}, {battery: reconnect}")
        );
    }
}
