//! The main fuse goes in last, after a look at everything; one that is bolted in, while the battery is off.

use super::order::{added, added_battery, feeds, joins, live_since, on_until, place, puts_on, steps, takes_off, whole};
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Fuse, FuseForm, Plan, Step, Wire};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "STEP-02",
    name: "main-fuse-early",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("fuse_early.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Move("steps", "fuse"), super::Slip::Move("steps", "connect")],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let steps = match steps(job) {
        Ok(steps) => steps,
        Err(undecided) => return vec![(whole(), Err(undecided))],
    };
    let fuses = steps.iter().enumerate().filter(|(_, step)| is_main_fuse(job.plan, step));
    let mut judged: Vec<_> = fuses.map(|(at, step)| (place(at, step), Ok(judge(job, steps, at)))).collect();
    if judged.is_empty() {
        return vec![(whole(), Err(Undecided::NotApplicable("no step puts a main fuse in")))];
    }
    follow_the_first(&mut judged);
    judged
}

/// Whether a step puts in the first fuse behind a source: that of a wire at a battery or the alternator, or those of a
/// block that such a wire feeds without a fuse of its own. What has no fuse is PLAN-01's.
pub fn is_main_fuse(plan: &Plan, step: &Step) -> bool {
    let Some(name) = &step.fuse else { return false };
    if fuses(plan, name).is_empty() {
        return false;
    }
    let ends = |wire: &Wire, is: &dyn Fn(&str) -> bool| wire.terminals().any(|end| is(&end.thing));
    let at_source = |wire: &Wire| {
        ends(wire, &|thing| thing == "battery" || thing == "alternator" || plan.batteries.contains_key(thing))
    };
    let feeds = |wire: &Wire| wire.fuse.is_none() && at_source(wire) && ends(wire, &|thing| thing == name);
    plan.wires.get(name).is_some_and(at_source) || (plan.blocks.contains_key(name) && plan.wires.values().any(feeds))
}

/// What one round of work is: from a main fuse on until the battery goes off again.
#[derive(Clone, Copy)]
struct Round<'a> {
    plan: &'a Plan,
    steps: &'a [Step],
    fuse: usize,
    end: usize,
    is_bolted: bool,
}

/// Whether the fuses of a step are proposed before the battery is on: strips, whose stud is live with it on, so that a
/// spanner there is as near to the body as one on the battery's post; and any of which the form is not said, since whatever
/// it is can go in dead.
pub fn is_bolted(plan: &Plan, step: &Step) -> bool {
    let fuses = fuses(plan, step.fuse.as_deref().unwrap_or_default());
    fuses.iter().all(|fuse| fuse.form.is_none_or(|form| form == FuseForm::BoltDown))
}

/// The fuses that a step with this name puts in: those of a wire, or of a block's outputs.
fn fuses<'p>(plan: &'p Plan, name: &str) -> Vec<&'p Fuse> {
    let of_wire = plan.wires.get(name).into_iter().flat_map(|wire| [&wire.fuse, &wire.far_fuse]);
    let of_block =
        plan.blocks.get(name).into_iter().flat_map(|block| block.outputs.values().map(|output| &output.fuse));
    of_wire.chain(of_block).flatten().collect()
}

fn judge(job: &Job<'_>, steps: &[Step], fuse: usize) -> Verdict {
    let off = steps[fuse..].iter().position(takes_off).map_or(steps.len(), |more| fuse + more);
    // What is connected once the battery is off again is dead while somebody has hands on it, unless an added battery
    // keeps it live.
    let is_kept =
        (0..off).any(|at| added_battery(job.plan, &steps[at]).is_some() && on_until(job.plan, steps, at) > off);
    let end = if is_kept { steps.len() } else { off };
    let is_bolted = is_bolted(job.plan, &steps[fuse]);
    let round = Round { plan: job.plan, steps, fuse, end, is_bolted };
    let order = if is_bolted {
        "connect everything, look it over with a meter, put the main fuse in, and the battery on after that"
    } else {
        "connect everything, look it over with a meter, put the battery on, and the main fuse in after that"
    };
    let finding = |at: usize, title: String| {
        Finding::new(place(at, &steps[at]), title)
            .because("with the fuse in, the cable is live: a crossed pole or a strand on the body shows as sparks")
            .mend(order)
            .offers(round.offers())
    };
    let here = |title: &str| finding(fuse, title.to_owned()).label("the fuse goes in here");
    if let Some(late) = (fuse..end).find(|at| joins(job.plan, &steps[*at])) {
        let finding = here("main fuse in before everything is connected")
            .also(place(late, &steps[late]), "this is connected later");
        return Verdict::fail(match live_since(job.plan, steps, late) {
            Some(on) => finding.follows("STEP-03", place(on, &steps[on])),
            None => finding,
        });
    }
    if let Some(late) = (fuse..off).find(|at| steps[*at].inspect.is_some()) {
        let finding = here("main fuse in before everything is looked over");
        return Verdict::fail(finding.also(place(late, &steps[late]), "this is looked over later"));
    }
    if let Some(late) = round.after_the_look().filter(|_| is_looked_over(job.plan, &steps[..fuse]) == Some(false)) {
        let finding = finding(late, "connected after the last inspection, and the main fuse goes in on it".to_owned());
        let finding = finding.label("nobody looks this over");
        return Verdict::fail(finding.also(place(fuse, &steps[fuse]), "the fuse goes in here"));
    }
    if is_looked_over(job.plan, &steps[..fuse]) != Some(true) {
        return Verdict::fail(here("main fuse in before anybody has looked over the connections"));
    }
    let is_again = |at: &usize| match added_battery(job.plan, &steps[*at]) {
        Some(name) => steps[..end].iter().any(|step| added_battery(job.plan, step) == Some(name)),
        None => puts_on(&steps[*at]),
    };
    let blind =
        (end..steps.len()).filter(is_again).find(|on| is_looked_over(job.plan, &steps[end..*on]) == Some(false));
    blind.map_or_else(Verdict::pass, |on| {
        Verdict::fail(
            Finding::new(place(on, &steps[on]), "battery on again before anybody has looked over what was connected")
                .label("the cable is live from here")
                .also(place(fuse, &steps[fuse]), "the main fuse is in since here")
                .because("with the fuse in, the cable is live: a crossed pole or a strand on the body shows as sparks")
                .mend("look over what was connected with a meter, and put the battery on after that")
                .offer(added("look it over before", on, "{inspect: no-short}")),
        )
    })
}

impl Round<'_> {
    fn is_joined(&self, at: usize) -> bool {
        joins(self.plan, &self.steps[at])
    }

    /// The first step that connects something behind the last look before the fuse, where there is such a look.
    fn after_the_look(&self) -> Option<usize> {
        let look = self.steps[..self.fuse].iter().rposition(|step| step.inspect.is_some())?;
        (look..self.fuse).find(|at| self.is_joined(*at))
    }

    /// The order of the page: connect, look it over, battery on, main fuse in; or bolted in, and the battery on.
    fn offers(&self) -> Vec<Offer> {
        self.joined_before_the_look().into_iter().chain([self.in_order()]).collect()
    }

    /// The one connection that nobody looks over comes before those who look.
    fn joined_before_the_look(&self) -> Option<Offer> {
        let late = self.after_the_look()?;
        let is_only = (late + 1..self.end).all(|at| !self.is_joined(at));
        let looks = self.steps[..late].iter().rposition(|step| step.inspect.is_none())? + 1;
        let offer =
            || Offer::new("connect this before it is looked over").shift(Place::of(format!("steps.{late}")), looks);
        (is_only && looks < late).then(offer)
    }

    /// The fuse behind everything that comes before it, and the looks that are missing before the battery goes on.
    fn in_order(&self) -> Offer {
        let Self { plan, steps, fuse, end, is_bolted } = *self;
        let is_before = |at: &usize| {
            self.is_joined(*at) || steps[*at].inspect.is_some() || (feeds(plan, &steps[*at]) && !is_bolted)
        };
        let last = (fuse + 1..end).rfind(is_before);
        // Main fuses keep their order among each other.
        let to = last.map(|last| (last + 1..end).find(|at| !is_main_fuse(plan, &steps[*at])).unwrap_or(end));
        let joined = (0..end).rev().find(|at| self.is_joined(*at));
        let behind = joined.map_or(0, |joined| joined + 1);
        // What is bolted in comes before every battery, where it is moved or looked at anyway.
        let before = (behind..fuse).find(|at| feeds(plan, &steps[*at])).filter(|_| is_bolted);
        let to = to.or(before);
        let looked = (behind..end).any(|at| steps[at].inspect.is_some());
        let title = match (to, looked) {
            (Some(_), true) => "fuse in later",
            (Some(_), false) => "look it over, then put the fuse in",
            (None, _) => "look it over before the fuse goes in",
        };
        let offer =
            to.into_iter().fold(Offer::new(title), |offer, to| offer.shift(Place::of(format!("steps.{fuse}")), to));
        if looked {
            return offer;
        }
        let stands = to.map_or(fuse, |to| if to > fuse { to - 1 } else { to });
        let on = (behind..end)
            .find(|at| feeds(plan, &steps[*at]))
            .map(|on| if on > fuse && to.is_some_and(|to| to > on) { on - 1 } else { on });
        let look = Place::of(format!("steps.{}", on.map_or(stands, |on| on.min(stands))));
        // Each comes before the one that was put in before it.
        offer.insert(look.clone(), "{inspect: no-short}").insert(look, "{inspect: polarity-and-polish}")
    }
}

/// Findings of several main fuses with one cause are one: the others follow from the first.
fn follow_the_first(judged: &mut [(Place, Judged)]) {
    let mut told: Vec<(String, Place)> = Vec::new();
    for (subject, judged) in judged {
        let Some(finding) = judged.as_mut().ok().and_then(|verdict| verdict.finding.as_mut()) else { continue };
        match told.iter().find(|(title, _)| *title == finding.title) {
            Some((_, first)) if finding.follows.is_none() => finding.follows = Some((RULE.code, first.clone())),
            Some(_) => {}
            None => told.push((finding.title.clone(), subject.clone())),
        }
    }
}

/// Whether somebody looks over what these steps connect, after the last of it; `None` where they connect nothing and
/// nobody looks.
fn is_looked_over(plan: &Plan, steps: &[Step]) -> Option<bool> {
    let joined = steps.iter().rposition(|step| joins(plan, step));
    let looks = steps[joined.unwrap_or(0)..].iter().any(|step| step.inspect.is_some());
    (looks || joined.is_some()).then_some(looks)
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, finding, judged, outcome};

    const HEAD: &str = "plan: 1\nvehicle: {high_voltage: none}\namplifiers: {amp: {}}\n\
        wires: {main: {from: battery.positive, to: amp.power, fuse: {form: circuit-breaker, rating: 60 A}}}\n";

    fn plan(steps: &str) -> String {
        format!("{HEAD}steps: [{steps}]\n")
    }

    #[test]
    fn connect_look_fuse_is_the_order() {
        for (order, expected) in [
            ("{run: main}, {connect: amp}, {inspect: no-short}, {fuse: main}", Outcome::Pass),
            ("{run: main}, {connect: amp}, {inspect: no-short}, {battery: reconnect}, {fuse: main}", Outcome::Pass),
            ("{run: main}, {connect: amp}, {mount: amp}, {fuse: main}", Outcome::Fail),
            ("{battery: disconnect}, {fuse: main}", Outcome::Fail),
            ("{run: main}, {inspect: no-short}, {connect: amp}, {fuse: main}", Outcome::Fail),
        ] {
            let at = order.matches('{').count() - 1;
            assert_eq!(outcome(&plan(order), "STEP-02", &format!("steps.{at}.fuse")), expected, "{order}");
        }
    }

    #[test]
    fn what_is_connected_later_is_shown() {
        let order = "{run: main}, {inspect: no-short}, {fuse: main}, {connect: amp}";
        let finding = check(&plan(order), "STEP-02", "steps.2.fuse").finding.expect("it fails");
        assert_eq!(finding.also[0].place.path(), "steps.3.connect");
    }

    #[test]
    fn a_second_round_with_the_battery_off_again_may_leave_the_fuse_in() {
        let first = "{battery: disconnect}, {run: main}, {inspect: no-short}, {battery: reconnect}, {fuse: main}, {test: key-off}";
        let of = |more: &str| outcome(&plan(&format!("{first}, {more}")), "STEP-02", "steps.4.fuse");
        assert_eq!(
            of("{battery: disconnect}, {connect: amp}, {inspect: no-short}, {battery: reconnect}"),
            Outcome::Pass
        );
        assert_eq!(of("{battery: disconnect}, {mount: amp}, {battery: reconnect}"), Outcome::Pass);
        assert_eq!(of("{battery: disconnect}, {connect: amp}, {battery: reconnect}"), Outcome::Fail);
        assert_eq!(of("{connect: amp}, {battery: disconnect}, {battery: reconnect}"), Outcome::Fail);
        let round = "{battery: disconnect}, {connect: amp}, {inspect: no-short}, {battery: reconnect}";
        let added = |order: String| {
            let text = plan(&order) + "batteries: {rear: {}}\n";
            outcome(&text, "STEP-02", "steps.5.fuse")
        };
        let alone = first;
        let first = first.replace("{battery: reconnect}", "{connect: rear}, {battery: reconnect}");
        assert_eq!(added(format!("{first}, {round}")), Outcome::Fail, "the added battery is still on");
        assert_eq!(added(format!("{first}, {round}, {{connect: rear}}")), Outcome::Pass, "it was off too");
        let blind = round.replace("{inspect: no-short}, {battery: reconnect}", "{connect: rear}, {inspect: no-short}");
        assert_eq!(added(format!("{first}, {blind}")), Outcome::Fail, "nobody looks before it is on again");
        let new = "{battery: disconnect}, {run: main}, {connect: rear}, {inspect: no-short}, {battery: reconnect}";
        let text = plan(&format!("{alone}, {new}")) + "batteries: {rear: {}}\n";
        assert_eq!(outcome(&text, "STEP-02", "steps.4.fuse"), Outcome::Pass, "it was not on before");
    }

    #[test]
    fn what_is_connected_on_a_live_system_is_told_by_the_rule_about_the_battery() {
        let order = "{battery: disconnect}, {inspect: no-short}, {battery: reconnect}, {fuse: main}, {connect: amp}";
        let finding = check(&plan(order), "STEP-02", "steps.3.fuse").finding.expect("it fails");
        let (code, subject) = finding.follows.expect("it follows");
        assert_eq!(outcome(&plan(order), code, &subject.path()), Outcome::Fail);
        let dead = "{battery: disconnect}, {inspect: no-short}, {fuse: main}, {connect: amp}, {battery: reconnect}";
        assert_eq!(check(&plan(dead), "STEP-02", "steps.2.fuse").finding.expect("it fails").follows, None);
    }

    #[test]
    fn a_fuse_at_the_alternator_and_those_of_a_block_behind_a_bare_wire_are_main_fuses() {
        let early = |text: &str| check(text, "STEP-02", "steps.0.fuse").outcome;
        let alternator = plan("{fuse: main}, {connect: amp}").replace("battery.positive", "alternator.positive");
        assert_eq!(early(&alternator), Outcome::Fail);
        let block = |fuse: &str| {
            format!(
                "plan: 1\nblocks: {{split: {{outputs: {{one: {{fuse: {{rating: 40 A}}}}}}}}}}\n\
                 wires: {{main: {{from: battery.positive, to: split.in{fuse}}}}}\nsteps: [{{fuse: split}}, {{ground: floor}}]\n"
            )
        };
        assert_eq!(early(&block("")), Outcome::Fail);
        assert_eq!(outcome(&block(", fuse: {rating: 60 A}"), "STEP-02", "steps"), Outcome::NotApplicable);
    }

    #[test]
    fn a_fuse_away_from_the_battery_is_no_main_fuse() {
        let text = plan("{fuse: main}").replace("from: battery.positive", "from: block.one");
        assert_eq!(outcome(&text, "STEP-02", "steps"), Outcome::NotApplicable);
    }

    #[test]
    fn a_fuse_that_is_not_planned_does_not_go_in_too_early() {
        let text = plan("{fuse: main}, {connect: amp}");
        let bare = text.replace(", fuse: {form: circuit-breaker, rating: 60 A}", "");
        assert_eq!(outcome(&text, "STEP-02", "steps.0.fuse"), Outcome::Fail);
        assert_eq!(outcome(&bare, "STEP-02", "steps"), Outcome::NotApplicable);
        assert_eq!(outcome(&bare, "PLAN-01", "steps.0.fuse"), Outcome::Fail);
    }

    /// A block behind a fused cable has nothing to do with what else hangs on the battery.
    #[test]
    fn the_fuses_of_a_block_are_main_fuses_where_its_own_cable_has_none() {
        let of = |fuse: &str, order: &str, subject: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nblocks: {{split: {{outputs: {{one: {{fuse: {{rating: 40 A}}}}}}}}}}\n\
                 wires: {{main: {{from: battery.positive, to: split.in{fuse}}}, sense: {{from: battery.positive, to: amp.power}}}}\n\
                 steps: [{order}]\n"
            );
            outcome(&text, "STEP-02", subject)
        };
        let order = "{fuse: split}, {run: main}";
        assert_eq!(of("", order, "steps.0.fuse"), Outcome::Fail);
        assert_eq!(of(", fuse: {rating: 60 A}", order, "steps"), Outcome::NotApplicable);
    }

    #[test]
    fn what_is_connected_before_the_battery_goes_off_again_is_too_late() {
        let order = "{run: main}, {inspect: no-short}, {fuse: main}, {connect: amp}, {battery: disconnect}";
        assert_eq!(outcome(&plan(order), "STEP-02", "steps.2.fuse"), Outcome::Fail);
        let off = "{run: main}, {inspect: no-short}, {fuse: main}, {battery: disconnect}, {connect: amp}";
        assert_eq!(outcome(&plan(off), "STEP-02", "steps.2.fuse"), Outcome::Pass);
    }

    #[test]
    fn the_fuse_goes_in_after_every_look() {
        let title = |order: &str, at: usize| finding(&plan(order), "STEP-02", &format!("steps.{at}.fuse")).title;
        let early = "{run: main}, {connect: amp}, {inspect: polarity-and-polish}, {fuse: main}, {inspect: no-short}";
        assert_eq!(title(early, 3), "main fuse in before everything is looked over");
    }

    const DEAD: &str = "{battery: disconnect}, {run: main}, {connect: amp}, {inspect: no-short}, {fuse: main}, \
                        {battery: reconnect}, {test: commissioning}";

    fn with_form(steps: &str, form: &str) -> String {
        plan(steps).replace("form: circuit-breaker, ", form)
    }

    /// Negative last is what the trade prints, and pushing a blade in dead sparks nowhere; some push it in last.
    #[test]
    fn before_or_after_the_negative_a_fuse_goes_in_behind_the_look() {
        let live = DEAD.replace("{fuse: main}, {battery: reconnect}", "{battery: reconnect}, {fuse: main}");
        for form in ["form: bolt-down, ", "form: blade-large, ", "form: circuit-breaker, ", ""] {
            let of = |order: &str, at: usize| outcome(&with_form(order, form), "STEP-02", &format!("steps.{at}.fuse"));
            assert_eq!((of(DEAD, 4), of(&live, 5)), (Outcome::Pass, Outcome::Pass), "{form}");
            let blind = |order: &str| order.replace("{inspect: no-short}, ", "");
            assert_eq!((of(&blind(DEAD), 3), of(&blind(&live), 4)), (Outcome::Fail, Outcome::Fail), "{form}");
        }
    }

    /// Strips in a block are bolted in; one blade among them is pushed in where it sparks away from the battery. A fuse of
    /// which the form is not said goes in as a strip: that is right for every form.
    #[test]
    fn the_form_of_a_fuse_decides_on_which_side_of_the_battery_it_is_proposed() {
        let of = |one: &str, other: &str| {
            let text = format!(
                "plan: 1\nblocks: {{split: {{outputs: {{one: {{fuse: {{{one}}}}}, two: {{fuse: {{{other}}}}}}}}}}}\n\
                 wires: {{main: {{from: battery.positive, to: split.in}}}}\n\
                 steps: [{{battery: disconnect}}, {{fuse: split}}, {{run: main}}, {{inspect: no-short}}, {{battery: reconnect}}]\n"
            );
            after(&text, "STEP-02", "steps.1.fuse")[0].contains("{battery: reconnect}, {fuse: split}")
        };
        let bolted = "form: bolt-down";
        assert!(!of(bolted, bolted) && !of(bolted, "rating: 40 A"));
        assert!(of(bolted, "form: blade-regular"));
    }

    #[test]
    fn what_is_offered_for_a_strip_bolts_it_in_before_the_battery_is_on() {
        let of = |order: &str, at: usize| {
            let text = with_form(order, "form: bolt-down, ");
            let text = after(&text, "STEP-02", &format!("steps.{at}.fuse"))[0].clone();
            text[text.find("steps:").expect("steps")..]
                .replace("steps: [", "")
                .trim_end()
                .trim_end_matches(']')
                .to_owned()
        };
        let looks = "{inspect: polarity-and-polish}, {inspect: no-short}";
        let right = DEAD.replace("{inspect: no-short}", looks);
        let early = "{battery: disconnect}, {run: main}, {fuse: main}, {connect: amp}";
        let last = "{battery: reconnect}, {test: commissioning}";
        assert_eq!(of(&format!("{early}, {looks}, {last}"), 2), right);
        assert_eq!(of(&format!("{early}, {last}"), 2), right);
        let live = "{battery: disconnect}, {run: main}, {connect: amp}, {battery: reconnect}, {fuse: main}, {test: commissioning}";
        assert_eq!(of(live, 4), right);
    }

    /// Inspect, strips, both batteries, blades, test.
    #[test]
    fn with_an_added_battery_strips_are_offered_before_either_battery_and_blades_behind_both() {
        let of = |form: &str, order: &str| {
            let text = plan(order).replace("circuit-breaker", form).replace("to: amp.power", "to: rear.positive")
                + "batteries: {rear: {}}\n";
            let text = after(&text, "STEP-02", "steps.1.fuse")[0].clone();
            text[text.find("steps:").expect("steps")..text.find("\nbatt").expect("batteries")].replace("steps: ", "")
        };
        let looks = "{inspect: polarity-and-polish}, {inspect: no-short}";
        let on = "{connect: rear}, {battery: reconnect}";
        let dead = "[{battery: disconnect}, {run: main}, {connect: amp}";
        for seen in ["", "{inspect: polarity-and-polish}, {inspect: no-short}, "] {
            let early = format!("{{battery: disconnect}}, {{fuse: main}}, {{run: main}}, {{connect: amp}}, {seen}{on}");
            assert_eq!(of("bolt-down", &early), format!("{dead}, {looks}, {{fuse: main}}, {on}]"));
            assert_eq!(of("blade-large", &early), format!("{dead}, {looks}, {on}, {{fuse: main}}]"));
        }
    }

    /// A blade between them goes behind both, and those who look come before the first.
    #[test]
    fn the_look_that_is_missing_comes_before_the_first_battery() {
        let order =
            "{battery: disconnect}, {run: main}, {connect: amp}, {battery: reconnect}, {fuse: main}, {connect: rear}";
        let text = plan(order).replace("circuit-breaker", "blade-large") + "batteries: {rear: {}}\n";
        let text = after(&text, "STEP-02", "steps.4.fuse")[0].clone();
        let looks = "{inspect: polarity-and-polish}, {inspect: no-short}";
        let right = format!("{{connect: amp}}, {looks}, {{battery: reconnect}}, {{connect: rear}}, {{fuse: main}}]");
        assert!(text.contains(&right), "{text}");
    }

    /// Its negative goes on behind the look; so a fuse that follows it is not in too early.
    #[test]
    fn an_added_battery_that_is_connected_last_is_no_connection_behind_the_look() {
        let text = |order: &str| {
            plan(order).replace("to: amp.power", "to: rear.positive").replace("circuit-breaker", "bolt-down")
                + "batteries: {rear: {}}\n"
        };
        let dead = "{battery: disconnect}, {run: main}, {inspect: no-short}";
        for (order, at) in [
            ("{fuse: main}, {connect: rear}, {battery: reconnect}", 3),
            ("{connect: rear}, {fuse: main}, {battery: reconnect}", 4),
            ("{battery: reconnect}, {connect: rear}, {fuse: main}", 5),
        ] {
            let text = text(&format!("{dead}, {order}"));
            assert_eq!(outcome(&text, "STEP-02", &format!("steps.{at}.fuse")), Outcome::Pass, "{order}");
        }
    }

    /// Connect, look it over, battery on, main fuse in.
    #[test]
    fn what_is_offered_keeps_the_order_of_the_page() {
        let of = |order: &str, at: usize| {
            let text = after(&plan(order), "STEP-02", &format!("steps.{at}.fuse"))[0].clone();
            text[text.find("steps:").expect("steps")..].replace("steps: ", "").trim_end().to_owned()
        };
        let right = "[{battery: disconnect}, {run: main}, {connect: amp}, {inspect: polarity-and-polish}, \
                     {inspect: no-short}, {battery: reconnect}, {fuse: main}, {test: commissioning}]";
        let off = "{battery: disconnect}, {run: main}, ";
        let on = "{battery: reconnect}, {fuse: main}, {test: commissioning}";
        let looks = "{inspect: polarity-and-polish}, {inspect: no-short}, ";
        let last = "{battery: reconnect}, {test: commissioning}";
        assert_eq!(of(&format!("{off}{{fuse: main}}, {{connect: amp}}, {looks}{last}"), 2), right);
        assert_eq!(of(&format!("{off}{{fuse: main}}, {{connect: amp}}, {last}"), 2), right);
        assert_eq!(of(&format!("{off}{{connect: amp}}, {on}"), 4), right);
        assert_eq!(of(&format!("{off}{looks}{{connect: amp}}, {on}"), 6), right);
    }

    /// The connection that nobody looks over is what is told, once for all fuses that go in on it.
    #[test]
    fn a_connection_behind_the_last_look_is_one_finding_at_its_line() {
        let text = plan("{run: main}, {inspect: no-short}, {connect: amp}, {fuse: main}, {fuse: rear}")
            .replace("60 A}}}", "60 A}}, rear: {from: battery.positive, to: amp.power, fuse: {rating: 60 A}}}");
        let first = finding(&text, "STEP-02", "steps.3.fuse");
        assert_eq!(
            (first.at.place.path().as_str(), first.also[0].place.path().as_str()),
            ("steps.2.connect", "steps.3.fuse")
        );
        let checks = judged(&text).checks;
        let told =
            checks.iter().filter(|check| check.rule.code == "STEP-02" && check.stands() && check.follows.is_none());
        assert_eq!(told.count(), 1);
    }

    /// What is offered for one connection behind the last look is to make it earlier; for two of them, or where those who look
    /// come just before it, the fuse goes in later or is looked at again.
    #[test]
    fn only_a_single_connection_is_offered_to_come_before_the_look() {
        let first = |order: &str, at: usize| {
            let finding = finding(&plan(order), "STEP-02", &format!("steps.{at}.fuse"));
            finding.offers[0].title.clone()
        };
        let earlier = "connect this before it is looked over";
        assert_eq!(first("{run: main}, {inspect: no-short}, {connect: amp}, {fuse: main}", 3), earlier);
        let two = "{mount: amp}, {inspect: no-short}, {run: main}, {connect: amp}, {fuse: main}";
        assert_ne!(first(two, 4), earlier);
        let apart = "{run: main}, {inspect: no-short}, {mount: amp}, {connect: amp}, {fuse: main}";
        assert_ne!(first(apart, 4), earlier);
    }

    /// Two main fuses before a connection on a live system: each is told by the rule about the battery.
    #[test]
    fn a_second_fuse_with_a_cause_of_its_own_keeps_it() {
        let order = "{battery: disconnect}, {inspect: no-short}, {battery: reconnect}, {fuse: main}, {fuse: rear}, {connect: amp}";
        let text = plan(order)
            .replace("60 A}}}", "60 A}}, rear: {from: battery.positive, to: amp.power, fuse: {rating: 60 A}}}");
        for subject in ["steps.3.fuse", "steps.4.fuse"] {
            assert_eq!(finding(&text, "STEP-02", subject).follows.map(|(code, _)| code), Some("STEP-03"), "{subject}");
        }
    }

    /// On a battery that stays on, those who look come just before the fuse; looks before a connection are not looks at it.
    #[test]
    fn the_look_that_is_missing_comes_between_the_last_connection_and_the_fuse() {
        let of = |order: &str, at: usize, offer: usize| {
            let text = after(&plan(order), "STEP-02", &format!("steps.{at}.fuse"))[offer].clone();
            text[text.find("steps:").expect("steps")..].replace("steps: ", "").trim_end().to_owned()
        };
        let looks = "{inspect: polarity-and-polish}, {inspect: no-short}";
        let right = format!("[{{run: main}}, {{connect: amp}}, {looks}, {{fuse: main}}, {{test: commissioning}}]");
        let early = "{run: main}, {fuse: main}, {connect: amp}";
        assert_eq!(of(&format!("{early}, {{test: commissioning}}"), 1, 0), right);
        assert_eq!(of(&format!("{early}, {looks}, {{test: commissioning}}"), 1, 0), right);
        let behind = format!("{{run: main}}, {looks}, {{connect: amp}}");
        let again = format!("[{behind}, {looks}, {{fuse: main}}]");
        assert_eq!(of(&format!("{behind}, {{fuse: main}}"), 4, 1), again);
    }

    #[test]
    fn what_is_offered_is_called_by_what_it_moves() {
        let title = |text: &str, at: usize| {
            crate::rules::trial::offered(text, "STEP-02", &format!("steps.{at}.fuse")).remove(0).0
        };
        let (off, looks) =
            ("{battery: disconnect}, {run: main}, ", "{inspect: polarity-and-polish}, {inspect: no-short}, ");
        let last = "{battery: reconnect}, {test: commissioning}";
        let early = format!("{off}{{fuse: main}}, {{connect: amp}}, ");
        assert_eq!(title(&plan(&format!("{early}{looks}{last}")), 2), "fuse in later");
        assert_eq!(title(&plan(&format!("{early}{last}")), 2), "look it over, then put the fuse in");
        let strip = |order: &str| with_form(order, "form: bolt-down, ");
        assert_eq!(title(&strip(&format!("{early}{looks}{last}")), 2), "fuse in later");
    }
}
