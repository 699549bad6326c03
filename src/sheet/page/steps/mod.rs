//! The order of work: a step a line, with a square to tick by hand and what belongs to the step.

mod connect;
mod fit;
mod run;
mod told;
mod vehicle;

use maud::{Markup, html};

use super::bits::{Asks, nothing};
use crate::judge::Severity;
use crate::plan::{Plan, Step};
use crate::sheet::View;
use told::{Told, does};

/// The steps in their order.
pub fn body(view: &View<'_>, _: &mut Asks) -> Markup {
    let plan = view.job.plan;
    let turned = view.job.polarity().positive_earth.is_some();
    if plan.steps.is_empty() {
        return nothing(if turned {
            "No order of work is stated, and none is given for a vehicle with its positive on the body."
        } else {
            "No order of work is stated; the workshop's own holds. The battery comes off first and on last."
        });
    }
    html! {
        ol.steps {
            @for (number, step) in plan.steps.iter().enumerate() {
                @for (at, Told { does, belongs }) in told(plan, number, turned).into_iter().enumerate() {
                    li {
                        span.tick {}
                        div { (does) @if at == 0 { (standing(view, step)) } @for words in belongs.iter().filter(|words| !words.is_empty()) { small { (words) } } }
                    }
                }
            }
        }
    }
}

/// What stands against what a step makes: a danger that is not mended is not built.
fn standing(view: &View<'_>, step: &Step) -> Markup {
    let things = things(step);
    let is_of = |path: &str| things.iter().any(|thing| path.strip_prefix(thing).is_some_and(ends_there));
    let mut codes: Vec<(&str, Severity)> = Vec::new();
    for found in view.report.findings.iter().filter(|found| found.severity != Severity::Advice && is_of(&found.at.path))
    {
        if !codes.contains(&(found.rule.code, found.severity)) {
            codes.push((found.rule.code, found.severity));
        }
    }
    html! { @for (code, severity) in codes {
        " " strong class={ "standing " (if severity == Severity::Danger { "danger" } else { "fault" }) } { (code) " stands: see the findings" }
    } }
}

/// Whether the rest of a path begins below the thing.
fn ends_there(rest: &str) -> bool {
    rest.is_empty() || rest.starts_with('.')
}

/// The paths of what a step makes.
fn things(step: &Step) -> Vec<String> {
    let of = |name: &Option<String>, sections: &[&str]| {
        let name = name.as_deref();
        sections.iter().filter_map(|section| Some(format!("{section}.{}", name?))).collect::<Vec<_>>()
    };
    [
        of(&step.run, &["wires", "turn_on", "signals", "loads"]),
        of(&step.ground, &["grounds"]),
        of(&step.mount, &["mounts"]),
        of(&step.connect, &["amplifiers", "blocks", "batteries", "isolators", "capacitors", "converters", "sources"]),
        of(&step.charge, &["capacitors"]),
        of(&step.discharge, &["capacitors"]),
        of(&step.fuse, &["wires", "blocks"]),
        of(&step.set, &["settings"]),
    ]
    .concat()
}

/// A step in plain words; one that states several things is told as several. `turned` where the positive is on the body.
fn told(plan: &Plan, number: usize, turned: bool) -> Vec<Told> {
    let step = &plan.steps[number];
    let named = |name: &Option<String>, of: fn(&Plan, &str) -> Told| name.as_deref().map(|name| of(plan, name));
    let mut all: Vec<Told> = [
        step.radio.map(vehicle::radio),
        step.high_voltage.map(|step| vehicle::high_voltage(step, plan)),
        step.battery.map(
            |step| {
                if turned { vehicle::battery_turned(step) } else { vehicle::battery(step, plan, number) }
            },
        ),
        step.airbags.map(vehicle::airbags),
        named(&step.run, run::run),
        named(&step.ground, fit::ground),
        named(&step.mount, fit::mount),
        named(&step.connect, connect::connect),
        named(&step.charge, fit::charge),
        step.discharge.as_deref().map(fit::discharge),
        named(&step.fuse, fit::fuse),
        step.inspect.map(vehicle::inspect),
        named(&step.set, fit::set),
        step.test.map(|step| vehicle::test(step, plan)),
    ]
    .into_iter()
    .flatten()
    .collect();
    match (all.last_mut(), &step.note) {
        (Some(last), Some(note)) => last.belongs.push(note.clone()),
        (None, Some(note)) => all.push(does(note.clone())),
        _ => {}
    }
    all
}

#[cfg(test)]
mod tests {
    use super::told::with;
    use super::*;

    fn steps(text: &str) -> Vec<Vec<Told>> {
        let reading = crate::plan::read(format!("plan: 1\n{text}"));
        assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
        (0..reading.plan.steps.len()).map(|number| told(&reading.plan, number, false)).collect()
    }

    #[test]
    fn a_fuse_step_names_what_goes_in() {
        let told = steps(
            "wires: {main: {fuse: {form: bolt-down, rating: 60 A}}}\n\
             blocks: {rear: {outputs: {left: {fuse: {rating: 30 A}}, right: {}}}}\n\
             steps: [{fuse: main}, {fuse: rear}]\n",
        );
        assert_eq!(told[0][0].belongs, ["60 A bolt-down strip"]);
        assert_eq!(told[1][0].belongs, ["left: 30 A"]);
    }

    /// Ground first, power last; of a battery the positive first and the negative last.
    #[test]
    fn terminals_are_told_in_the_order_in_which_they_are_joined() {
        let told = steps(
            "amplifiers: {amp: {}}\nbatteries: {aux: {}}\nblocks: {split: {outputs: {one: {}}}}\n\
             wires: {aux-return: {from: aux.negative, to: grounds.arch}, feed: {from: aux.positive, to: split.in}, \
             link: {from: battery.positive, to: aux.positive}, main: {from: split.one, to: amp.power}, \
             return: {from: amp.ground, to: grounds.arch}}\n\
             turn_on: {remote: {to: [amp.remote]}}\nsignals: {left: {to: amp.line-left}}\nloads: {bass: {amplifier: amp, outputs: [1, 2]}}\n\
             steps: [{connect: aux}, {connect: amp}, {connect: split}, {connect: other}]\n",
        );
        let order: Vec<&str> = told.iter().map(|told| told[0].belongs[0].as_str()).collect();
        assert_eq!(
            order,
            [
                "positive: feed, link · negative: aux-return",
                "in this order: ground: return · output 1 + 2: bass · line-left: left · remote: remote · power: main",
                "in this order: one: main · in: feed",
                ""
            ]
        );
        let does: Vec<&str> = told.iter().map(|told| told[0].does.as_str()).collect();
        assert_eq!(does[..2], ["Connect aux, negative last, with its positive on and looked over", "Connect amp"]);
    }

    #[test]
    fn what_goes_through_a_converter_and_out_of_a_processor_is_connected_with_it() {
        let told = steps(
            "sources: {radio: {}, dsp: {kind: processor}}\nconverters: {loc: {}}\nturn_on: {remote: {to: [loc.remote]}}\n\
             signals: {left: {from: radio, through: loc, to: dsp.line-1}, right: {from: radio, through: loc, to: dsp.line-2}, \
             tl: {from: dsp, taken_at: {output: tweeter-left}}}\nsteps: [{connect: loc}, {connect: dsp}]\n",
        );
        let order: Vec<&str> = told.iter().map(|told| told[0].belongs[0].as_str()).collect();
        let dsp = "in this order: line-1: left · line-2: right · tweeter-left: tl";
        assert_eq!(order, ["in this order: in and out: left, right · remote: remote", dsp]);
    }

    #[test]
    fn where_the_battery_goes_off_again_the_sheet_says_what_the_added_one_does() {
        let of = |more: &str| {
            steps(&format!(
                "batteries: {{aux: {{}}}}\nsteps: [{{battery: disconnect}}, {{connect: aux}}, {{battery: disconnect}}{more}]\n"
            ))
        };
        let belongs = |told: &[Vec<Told>], at: usize| told[at][0].belongs.concat();
        let (kept, off) = (of(""), of(", {connect: aux}"));
        assert_eq!(belongs(&kept, 0), "");
        assert_eq!(belongs(&kept, 2), "aux stays on and goes on feeding");
        assert_eq!(belongs(&off, 2), "and aux with it, negative first");
    }

    #[test]
    fn a_capacitor_is_charged_and_discharged_through_something() {
        let told = steps(
            "capacitors: {buffer: {voltage: 16 V, strip: 8 mm}}\nwires: {main: {to: buffer.power}}\n\
             steps: [{connect: buffer}, {charge: buffer}, {discharge: buffer}]\n",
        );
        assert_eq!(told[0][0].belongs, ["power: main", "strip 8 mm"]);
        assert_eq!(told[1][0].does, "Charge buffer through a resistor or a lamp");
        assert!(told[1][0].belongs.concat().ends_with("never above 16 V"), "{:?}", told[1][0]);
        assert_eq!(told[2][0].does, "Discharge buffer through a resistor or a lamp");
    }

    #[test]
    fn what_is_isolated_is_called_by_its_volts() {
        let of = |kind: &str| {
            let steps = steps(&format!(
                "vehicle: {{high_voltage: {kind}}}\nsteps: [{{high_voltage: isolated-by-qualified-person}}, {{high_voltage: \
                 restored-by-qualified-person}}]\n"
            ));
            steps.iter().map(|told| told[0].does.clone()).collect::<Vec<_>>().join("; ")
        };
        let (mild, full) = (of("mild-hybrid"), of("hybrid"));
        assert!(mild.matches("48 V").count() == 2 && !mild.contains("high voltage"), "{mild}");
        assert!(full.matches("high voltage").count() == 2 && !full.contains("48 V"), "{full}");
    }

    #[test]
    fn a_breaker_is_closed_and_stays_open_until_then() {
        let of = |far: &str| {
            steps(&format!(
                "wires: {{main: {{fuse: {{form: circuit-breaker}}{far}}}}}\nsteps: [{{run: main}}, {{fuse: main}}]\n"
            ))
        };
        let told = of("");
        assert!(told[0][0].belongs.concat().contains("its breaker stays open"), "{:?}", told[0][0].belongs);
        assert_eq!(told[1][0].does, "Close the breaker of main");
        assert_eq!(of(", far_fuse: {rating: 60 A}")[1][0].does, "Put in the fuse and close the breaker of main");
    }

    #[test]
    fn a_lead_is_called_what_it_is_and_a_gain_is_set_without_its_speakers() {
        let told = steps(
            "wires: {main: {}}\nturn_on: {remote: {}}\nsignals: {left: {through: loc, taken_at: {speaker: rear-left}}}\n\
             settings: {amp: {gain_target: 20 V}, other: {low_pass: 80 Hz}, high: {amplifier: quad, gain_target: 9 V}}\n\
             steps: [{run: main}, {run: remote}, {run: left}, {set: amp}, {set: other}, {set: quad}]\n",
        );
        let does: Vec<&str> = told.iter().map(|told| told[0].does.as_str()).collect();
        assert_eq!(
            does,
            [
                "Lay the wire main",
                "Lay the turn-on lead remote",
                "Lay the signal lead left",
                "Take its speaker leads off and set amp",
                "Set other",
                "Take its speaker leads off and set quad"
            ]
        );
        assert_eq!(told[2][0].belongs[0], "joined to the speaker wires rear-left, through the converter loc");
        assert_eq!(told[5][0].belongs[0], "high: gain to 9 V");
        assert_eq!(told[3][0].belongs[1], "then its speaker leads on again");
    }

    #[test]
    fn a_signal_lead_and_a_speaker_lead_of_one_name_are_both_told() {
        let told = steps(
            "signals: {tl: {from: dsp, to: amp.line-1}}\n\
             loads: {tl: {amplifier: amp, lead: {size: 14 AWG, length: 5 m}}, tr: {}}\nsteps: [{run: tl}, {run: tr}]\n",
        );
        assert_eq!(told[0][0].does, "Lay the signal lead tl and the speaker lead tl");
        assert_eq!(told[0][0].belongs.join("; "), "from dsp, to amp.line-1; ; 14 AWG, 5 m, from amp; ");
        assert_eq!(told[1][0].does, "Lay the speaker lead tr");
    }

    #[test]
    fn a_speaker_lead_has_its_size_its_ends_and_its_way() {
        let told = steps(
            "loads: {sp-tl: {amplifier: six, outputs: [1], coils: tl, lead: {size: 14 AWG, length: 5 m, path: [cargo, left-sill, \
             door-jamb, left-door], crossings: {door-jamb: {through: boot}}}}, bass: {coils: {parallel: [sub.1, sub.2]}}}\n\
             steps: [{run: sp-tl}, {run: bass}]\n",
        );
        let way = "through cargo – left sill – door jamb (boot) – left door";
        let words = ["14 AWG, 5 m, from six, output 1, to tl".to_owned(), way.to_owned()];
        assert_eq!(told[0], [with("Lay the speaker lead sp-tl", words)]);
        assert_eq!(told[1], [with("Lay the speaker lead bass", ["to sub".to_owned(), String::new()])]);
    }

    #[test]
    fn outputs_are_connected_by_their_numbers() {
        let told = steps(
            "loads: {mid: {amplifier: six, outputs: [3]}, rear: {amplifier: six, outputs: [5, 6]}, tweeter: {amplifier: six, \
             outputs: [1]}}\nsteps: [{connect: six}]\n",
        );
        assert_eq!(told[0][0].belongs[0], "in this order: output 1: tweeter · output 3: mid · output 5 + 6: rear");
    }

    #[test]
    fn a_step_that_is_only_a_note_is_told_and_a_name_that_leads_nowhere_too() {
        let told = steps("steps: [{note: sweep up}, {run: nowhere, note: slowly}]\n");
        assert_eq!(told[0], [does("sweep up")]);
        assert_eq!(told[1], [with("Lay nowhere", ["slowly".to_owned()])]);
    }
}
