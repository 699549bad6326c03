//! The whole way back counts, the body with it.

use super::site::ReturnEnd;
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::Amplifier;
use crate::solve::gear::{Gear, GearKind};
use crate::solve::{Case, Decided, Job, Known, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "GROUND-10",
    name: "ground-return-drop",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("return_drop.md"),
    check: Subjects::Gear(check),
    slips: &[
        super::Slip::Past("vehicle.body_resistance"),
        super::Slip::Past("grounds.*.joint_resistance"),
        super::Slip::Say("grounds.*.joint_resistance", &["4 mohm", "8 mohm"]),
    ],
};

fn check(gear: &Gear<'_>, job: &Job<'_>) -> Judged {
    let end = super::site::return_end(job, gear.name)
        .ok_or(Undecided::NotApplicable("no return leaves it yet (PLAN-03 reports that)"))?;
    let drop = job.return_drop(gear.name, Case::IdleFull)?;
    let limit = job.house.limits.return_drop;
    let body = (!end.reaches_battery).then(|| Input::known("body", &crate::solve::resistance::body(job)));
    Ok(at_most(drop.range, limit.value)
        .formula("voltage from its ground terminal to the battery's negative post, engine idling, full output")
        .given_all(drawn(gear, job)?)
        .given_all(body)
        .limit_from(limit.source)
        .verdict(|is| {
            let cause = shared_with(gear, &end, job);
            let reaches_battery = end.reaches_battery;
            let finding = Finding::new(
                end.place,
                format!("{} lost on the way back, at most {}", is.result(), is.limit()),
            )
            .label(format!("`{}` returns here", gear.name))
            .because(match gear.kind {
                GearKind::Amplifier => {
                    "what is lost on the way back is missing at the amplifier and lifts its ground above the radio's"
                }
                GearKind::Processor | GearKind::Converter => {
                    "what is lost on the way back lifts its ground above the radio's, and the signal leads carry the difference"
                }
            });
            let finding = if reaches_battery {
                // A cable that need not be is not made thicker.
                finding.mend("use a thicker return").follows("GROUND-05", end.wire)
            } else {
                finding.mend(
                    "improve the ground joint, shorten or thicken the return, and add a strap from body to battery",
                )
            };
            match cause {
                Some(amplifier) => finding.follows(RULE.code, amplifier),
                None => finding,
            }
        }))
}

/// What gear asks of the supply.
fn drawn(gear: &Gear<'_>, job: &Job<'_>) -> Decided<Vec<Input>> {
    let Some(amplifier) = job.amplifier(gear.name) else {
        return Ok(vec![Input::known("what it draws itself", &gear.drawn_on(job))]);
    };
    let demand = job.demand(amplifier)?;
    let full = Known::computed(demand.full, "audio power / efficiency");
    let efficiencies = demand.efficiencies.iter().map(|efficiency| Input::known("efficiency", efficiency));
    Ok(std::iter::once(Input::known("supply power at full output", &full)).chain(efficiencies).collect())
}

/// The amplifier that loses most on a way back which other gear shares with it: from the same ground or the post of a second
/// battery on, or through the body. Cables that meet at the battery's own post share nothing.
fn shared_with(gear: &Gear<'_>, end: &ReturnEnd, job: &Job<'_>) -> Option<Place> {
    if gear.kind == GearKind::Amplifier {
        return None;
    }
    let post = job.graph().node("battery", "negative");
    let shares = |amplifier: &&Thing<'_, Amplifier>| {
        let other = super::site::return_end(job, amplifier.name);
        other.is_some_and(|other| {
            (other.node == end.node && Some(end.node) != post) || !(other.reaches_battery || end.reaches_battery)
        })
    };
    let lost = |amplifier: &&Thing<'_, Amplifier>| {
        job.return_drop(amplifier.name, Case::IdleFull).map_or(0.0, |drop| drop.range.high())
    };
    let sharing = job.amplifiers.iter().filter(shares);
    sharing.max_by(|one, other| lost(one).total_cmp(&lost(other))).map(Thing::place)
}

#[cfg(test)]
mod tests {
    use crate::judge::{Check, Outcome};
    use crate::rules::trial::check;

    fn of_text(body: &str, length: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, body: steel, {body} alternator: {{voltage: 14.2 V, rated: 200 A, at_idle: 150 A}}, \
             battery: {{internal_resistance: 5 mohm, rest_voltage: 12.6 V}}, factory_load: {{running: 40 A}}}}\n\
             amplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 0.8 A, rated: [{{load: 2 ohm, power: 500 W}}]}}}}\n\
             grounds: {{floor: {{joint_resistance: 0.1 mohm}}}}\nwires:\n\
             \x20 main: {{from: battery.positive, to: amp.power, size: 4 AWG, conductor: copper, insulation: 105 C, joint_resistance: 0.1 mohm, \
             length: 5 m, path: [cargo], fuse: {{form: bolt-down, rating: 60 A, distance: 20 cm, resistance: 1.4 mohm}}}}\n\
             \x20 return: {{from: amp.ground, to: grounds.floor, size: 4 AWG, conductor: copper, insulation: 105 C, \
             joint_resistance: 0.1 mohm, path: [cargo], {length}}}\n"
        )
    }

    fn of(body: &str, length: &str) -> Check {
        check(&of_text(body, length), "GROUND-10", "amplifiers.amp")
    }

    /// 500 W at 80 % are 625 W, which is 48 A at the 13.2 V or so that arrive: 4.2 mohm lose 0.2 V.
    #[test]
    fn about_four_milliohms_are_the_most_at_this_power() {
        let good = of("body_resistance: 3 mohm,", "length: 40 cm");
        assert_eq!(good.outcome, Outcome::Pass, "{:?}", good.working);
        let bad = of("body_resistance: 4.5 mohm,", "length: 40 cm");
        assert_eq!(bad.outcome, Outcome::Fail, "{:?}", bad.working);
    }

    #[test]
    fn the_body_decides_where_it_alone_is_not_known() {
        let open = of("", "length: 3 m");
        assert_eq!(open.outcome, Outcome::Open, "{:?}", open.working);
        assert_eq!(open.turns[0].place.path(), "vehicle.body_resistance");
    }

    #[test]
    fn a_long_cable_that_the_body_would_save_is_told_once() {
        let text = of_text("", "length: 6 m").replace("grounds.floor", "battery.negative");
        let found = check(&text, "GROUND-10", "amplifiers.amp");
        assert_eq!(found.outcome, Outcome::Fail, "{:?}", found.working);
        let (code, subject) = found.finding.and_then(|it| it.follows).expect("it follows");
        assert_eq!(check(&text, code, &subject.path()).outcome, Outcome::Fail);
    }

    #[test]
    fn a_length_that_is_missing_is_asked_for() {
        let open = of("", "");
        assert!(open.needs.iter().any(|place| place.path() == "wires.return.length"), "{:?}", open.needs);
    }

    #[test]
    fn the_body_is_part_of_the_way_only_where_current_takes_it() {
        let names = |text: &str| -> Vec<&str> {
            let working = check(text, "GROUND-10", "amplifiers.amp").working.expect("it is computed");
            working.inputs.iter().map(|input| input.name).collect()
        };
        let body = of_text("body_resistance: 3 mohm,", "length: 40 cm");
        assert!(names(&body).contains(&"body"));
        assert!(!names(&body.replace("grounds.floor", "battery.negative")).contains(&"body"));
    }

    /// A processor on the amplifier's ground is lifted by what the amplifier draws through the body, which is told once; on a
    /// cable of its own to the post it is not.
    #[test]
    fn what_shares_the_way_back_is_lifted_with_the_amplifier() {
        let text = |body: &str, to: &str| {
            let wires = format!(
                "  dsp-feed: {{from: battery.positive, to: dsp.power, size: 16 AWG, conductor: copper, length: 1 m}}\n  \
                 dsp-back: {{from: dsp.ground, to: {to}, size: 16 AWG, conductor: copper, length: 40 cm}}\n\
                 sources: {{dsp: {{kind: processor, current: 0.5 A}}}}\n"
            );
            of_text(&format!("body_resistance: {body},"), "length: 40 cm") + &wires
        };
        let of = |body: &str, to: &str| check(&text(body, to), "GROUND-10", "sources.dsp");
        let lifted = of("4.5 mohm", "grounds.floor");
        assert_eq!(lifted.outcome, Outcome::Fail, "{:?}", lifted.working);
        let (code, cause) = lifted.finding.and_then(|it| it.follows).expect("it follows");
        assert_eq!((code, cause.path().as_str()), ("GROUND-10", "amplifiers.amp"));
        assert_eq!(check(&text("4.5 mohm", "grounds.floor"), code, "amplifiers.amp").outcome, Outcome::Fail);
        assert_eq!(of("3 mohm", "grounds.floor").outcome, Outcome::Pass);
        assert_eq!(of("4.5 mohm", "battery.negative").outcome, Outcome::Pass);
    }

    /// A converter of 5 A on six metres of thin cable, beside an amplifier that loses too much as well.
    #[test]
    fn gear_follows_the_amplifier_only_where_they_share_a_way() {
        let cause = |ground: &str, amplifiers: &str, own: &str, length: &str| {
            let wires = format!(
                "  dsp-feed: {{from: battery.positive, to: dsp.power, size: 16 AWG, conductor: copper, length: 1 m}}\n  \
                 dsp-back: {{from: dsp.ground, to: {own}, size: 16 AWG, conductor: copper, length: {length}}}\n{ground}\
                 sources: {{dsp: {{kind: processor, current: 5 A}}}}\n"
            );
            let text = of_text("body_resistance: 4.5 mohm,", "length: 6 m")
                .replace("to: grounds.floor", &format!("to: {amplifiers}"))
                + &wires;
            let text =
                text.replace("floor: {joint_resistance: 0.1 mohm}", "floor: {joint_resistance: 0.1 mohm}, rail: {}");
            let check = check(&text, "GROUND-10", "sources.dsp");
            check.finding.expect("it fails").follows.filter(|(code, _)| *code == "GROUND-10").map(|(_, at)| at.path())
        };
        let amplifier = Some("amplifiers.amp".to_owned());
        assert_eq!(cause("", "grounds.floor", "grounds.rail", "40 cm"), amplifier, "through the body");
        let strap =
            "  strap: {from: grounds.floor, to: battery.negative, size: 4 AWG, conductor: copper, length: 6 m}\n";
        assert_eq!(cause(strap, "grounds.floor", "grounds.floor", "6 m"), amplifier, "through one cable");
        assert_eq!(cause("", "battery.negative", "battery.negative", "6 m"), None, "each has a cable of its own");
        assert_eq!(cause("", "grounds.floor", "battery.negative", "6 m"), None);
    }
}
