//! The order of work: a step a line, with a square to tick by hand and what belongs to the step.

use maud::{Markup, html};

use super::bits::{Asks, fuse_form, listed, nothing, plain};
use crate::judge::Severity;
use crate::plan::{
    AirbagStep, BatteryStep, Coils, Crossing, Fuse, Ground, HighVoltageStep, InspectStep, Load, Mount, Plan, RadioStep,
    Setting, Signal, Step, Terminal, TestStep, TurnOn, Wire, Zone,
};
use crate::sheet::View;

/// The steps in their order.
pub fn body(view: &View<'_>, _: &mut Asks) -> Markup {
    let plan = view.job.plan;
    if plan.steps.is_empty() {
        return nothing(
            "No order of work is stated; the workshop's own holds. The battery comes off first and on last.",
        );
    }
    html! {
        ol.steps {
            @for step in &plan.steps {
                @for (at, Told { does, belongs }) in told(plan, step).into_iter().enumerate() {
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
    let things = things(view.job.plan, step);
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
fn things(plan: &Plan, step: &Step) -> Vec<String> {
    let of = |name: &Option<String>, sections: &[&str]| {
        let name = name.as_deref();
        sections.iter().filter_map(|section| Some(format!("{section}.{}", name?))).collect::<Vec<_>>()
    };
    let run = step.run.as_deref().filter(|name| is_lead(plan, name));
    let lead_sections: &[&str] = if run.is_some() { &["wires", "turn_on", "signals"] } else { &["loads"] };
    [
        of(&step.run, lead_sections),
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

/// What to do, and what belongs to it.
#[derive(Debug, Default, PartialEq, Eq)]
struct Told {
    does: String,
    belongs: Vec<String>,
}

fn does(words: impl Into<String>) -> Told {
    Told { does: words.into(), belongs: Vec::new() }
}

fn with(words: impl Into<String>, belongs: impl IntoIterator<Item = String>) -> Told {
    Told { does: words.into(), belongs: belongs.into_iter().collect() }
}

/// A step in plain words; one that states several things is told as several.
fn told(plan: &Plan, step: &Step) -> Vec<Told> {
    let mut all: Vec<Told> = [
        step.radio.map(|radio| does(radio_words(radio))),
        step.high_voltage.map(|step| does(high_voltage_words(step, plan))),
        step.battery.map(|battery| does(battery_words(battery, plan))),
        step.airbags.map(|airbags| does(airbag_words(airbags))),
        step.run.as_deref().map(|name| run(plan, name)),
        step.ground.as_deref().map(|name| with(format!("Make the ground {name}"), plan.grounds.get(name).map(ground))),
        step.mount.as_deref().map(|name| with(format!("Fasten {name}"), plan.mounts.get(name).map(mount))),
        step.connect.as_deref().map(|name| connect(plan, name)),
        step.charge.as_deref().map(|name| charge(plan, name)),
        step.discharge.as_deref().map(discharge),
        step.fuse.as_deref().map(|name| fuse(plan, name)),
        step.inspect.map(|inspect| does(inspect_words(inspect))),
        step.set.as_deref().map(|name| set(plan, name)),
        step.test.map(|test| does(test_words(test, plan))),
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

const fn radio_words(step: RadioStep) -> &'static str {
    match step {
        RadioStep::NoteCode => "Note the radio's code and stations",
        RadioStep::RestoreCode => "Enter the radio's code and stations again",
    }
}

fn high_voltage_words(step: HighVoltageStep, plan: &Plan) -> &'static str {
    match step {
        HighVoltageStep::IsolatedByQualifiedPerson if plan.has_48_volt() => {
            "A qualified person isolates the 48 V by the maker's procedure: the 12 V negative does not"
        }
        HighVoltageStep::RestoredByQualifiedPerson if plan.has_48_volt() => {
            "A qualified person takes the 48 V back into service"
        }
        HighVoltageStep::IsolatedByQualifiedPerson => {
            "A qualified person isolates the high voltage by the maker's procedure"
        }
        HighVoltageStep::RestoredByQualifiedPerson => "A qualified person takes the high voltage back into service",
    }
}

fn battery_words(step: BatteryStep, plan: &Plan) -> &'static str {
    match step {
        BatteryStep::Disconnect => "Take the battery off, negative first",
        BatteryStep::Reconnect => "Put the battery back on, negative last",
        // The plan's own words; the findings tell what is wrong with it.
        BatteryStep::DisconnectPositiveFirst => "Take the battery off, positive first (stated so; see the findings)",
        BatteryStep::RegisterMonitor if plan.batteries.is_empty() => {
            "Register the battery with its monitor, if it was exchanged for a new one"
        }
        BatteryStep::RegisterMonitor => "Tell the battery monitor about the added battery",
    }
}

const fn airbag_words(step: AirbagStep) -> &'static str {
    match step {
        AirbagStep::Wait => "Wait as long as the vehicle's maker says for the airbag units to discharge",
        AirbagStep::Handle => "Take airbag parts off or move them: for people trained for it",
    }
}

const fn inspect_words(step: InspectStep) -> &'static str {
    match step {
        InspectStep::PolarityAndPolish => "Look over polarity, and how everything is made and fastened",
        InspectStep::NoShort => "Measure that no feed touches the body",
    }
}

fn test_words(step: TestStep, plan: &Plan) -> String {
    match step {
        TestStep::Commissioning => "Test everything, and write down what the table of measurements asks for".to_owned(),
        TestStep::KeyOff => "Measure what the vehicle draws asleep".to_owned(),
        TestStep::Charging => format!("Measure the voltage at the battery with the {}", plan.states()[0]),
    }
}

/// Whether a name is that of a supply wire, a turn-on lead or a signal lead; else it is a load's.
fn is_lead(plan: &Plan, name: &str) -> bool {
    plan.wires.contains_key(name) || plan.turn_on.contains_key(name) || plan.signals.contains_key(name)
}

/// A lead by its name, whichever section states it.
fn run(plan: &Plan, name: &str) -> Told {
    let wire = plan.wires.get(name).map(|stated| ("the wire ", wire(stated)));
    let turn_on = || plan.turn_on.get(name).map(|lead| ("the turn-on lead ", turn_on(lead)));
    let signal = || plan.signals.get(name).map(|stated| ("the signal lead ", signal(stated)));
    let speaker = || plan.loads.get(name).map(|load| ("the speaker lead ", speaker(load)));
    let (what, words) = wire.or_else(turn_on).or_else(signal).or_else(speaker).unwrap_or_default();
    with(format!("Lay {what}{name}"), words)
}

fn between(from: Option<&Terminal>, to: Option<&Terminal>) -> Option<String> {
    Some(format!("from {} to {}", from?, to?))
}

fn wire(wire: &Wire) -> Vec<String> {
    let first = listed([
        wire.size.map(|size| size.to_string()),
        wire.colour.map(|colour| plain(&colour)),
        wire.length.map(|length| length.to_string()),
        between(wire.from.as_ref(), wire.to.as_ref()),
    ]);
    let covering = wire.covering.map(|covering| format!("covering: {}", plain(&covering)));
    let fixed = wire.fixed_every.map(|every| format!("fixed every {every}"));
    let held = wire.fuse.iter().chain(&wire.far_fuse).next();
    let held =
        held.map(|fuse| if fuse.is_breaker() { "its breaker stays open" } else { "its fuse stays out" }.to_owned());
    vec![first, listed([way(&wire.path, &wire.crossings), covering, fixed, held])]
}

fn turn_on(lead: &TurnOn) -> Vec<String> {
    let feed = lead.from.as_ref();
    let from = feed.and_then(|feed| feed.kind).map(|kind| format!("from {}", plain(&kind)));
    let of = feed.and_then(|feed| feed.of.as_ref()).map(|of| format!("of {of}"));
    let to: Vec<String> = lead.to.iter().map(ToString::to_string).collect();
    let to = (!to.is_empty()).then(|| format!("to {}", to.join(", ")));
    let tap = lead.tap.map(|tap| format!("joined by {}", plain(&tap)));
    let fuse = lead.fuse.map(|fuse| format!("fuse {fuse}"));
    let first = listed([lead.size.map(|size| size.to_string()), from, of, to]);
    vec![first, listed([tap, fuse, way(&lead.path, &lead.crossings)])]
}

fn signal(signal: &Signal) -> Vec<String> {
    let to = signal.to.as_ref().map(|to| format!("to {to}"));
    let taken = signal.taken_at.as_ref();
    let speaker =
        taken.and_then(|taken| taken.speaker.as_ref()).map(|speaker| format!("joined to the speaker wires {speaker}"));
    let output = taken.and_then(|taken| taken.output.as_ref()).map(|output| format!("output {output}"));
    let through = signal.through.as_ref().map(|through| format!("through the converter {through}"));
    let first = listed([signal.from.as_ref().map(|from| format!("from {from}")), speaker, output, through, to]);
    let lead = signal.lead.as_ref();
    let length = lead.and_then(|lead| lead.length).map(|length| length.to_string());
    let way = lead.and_then(|lead| way(&lead.path, &lead.crossings));
    vec![first, listed([length, way])]
}

fn speaker(load: &Load) -> Vec<String> {
    let lead = load.lead.as_ref();
    let outputs: Vec<String> = load.outputs.iter().map(u8::to_string).collect();
    let amplifier = load.amplifier.as_ref().map(|name| match outputs.as_slice() {
        [] => format!("from {name}"),
        outputs => format!("from {name}, output {}", outputs.join(" + ")),
    });
    let mut drivers: Vec<&str> = load.coils.iter().flat_map(Coils::coils).map(|coil| coil.driver.as_str()).collect();
    drivers.dedup();
    let first = listed([
        lead.and_then(|lead| lead.size).map(|size| size.to_string()),
        lead.and_then(|lead| lead.conductor).map(|metal| plain(&metal)),
        lead.and_then(|lead| lead.length).map(|length| length.to_string()),
        amplifier,
        (!drivers.is_empty()).then(|| format!("to {}", drivers.join(", "))),
    ]);
    vec![first, lead.and_then(|lead| way(&lead.path, &lead.crossings)).unwrap_or_default()]
}

/// The places on the way, each crossing with what is there.
fn way(path: &[Zone], crossings: &std::collections::BTreeMap<Zone, Crossing>) -> Option<String> {
    let place = |zone: &Zone| match crossings.get(zone).and_then(|crossing| crossing.through) {
        Some(through) => format!("{} ({})", plain(zone), plain(&through)),
        None => plain(zone),
    };
    let places: Vec<String> = path.iter().map(place).collect();
    (!places.is_empty()).then(|| format!("through {}", places.join(" – ")))
}

fn ground(ground: &Ground) -> String {
    let fastener = ground.fastener.as_ref();
    listed([
        ground.on.map(|on| format!("on {}", plain(&on))),
        ground.surface.map(|surface| format!("surface: {}", plain(&surface))),
        fastener.and_then(|fastener| fastener.kind).map(|kind| plain(&kind)),
        fastener.and_then(|fastener| fastener.thread).map(|thread| plain(&thread)),
        fastener.and_then(|fastener| fastener.locking).filter(|is| *is).map(|_| "locking".into()),
        ground.coated_after.filter(|is| *is).map(|_| "coat it again once it is tight".into()),
    ])
}

fn mount(mount: &Mount) -> String {
    let fasteners = mount.fasteners.as_ref();
    let count = fasteners.and_then(|fasteners| fasteners.count).map(|count| format!("{count} ×"));
    let kind = fasteners.and_then(|fasteners| fasteners.kind).map(|kind| plain(&kind));
    let thread = fasteners.and_then(|fasteners| fasteners.thread).map(|thread| plain(&thread));
    let held: Vec<String> = [count, kind, thread].into_iter().flatten().collect();
    listed([
        mount.on.map(|on| format!("on: {}", plain(&on))),
        Some(held.join(" ")),
        mount.clearance.map(|clearance| format!("{clearance} of air around it")),
        mount.blind_side.map(|looked| format!("behind: {}", plain(&looked))),
    ])
}

/// What is fastened to the terminals of a thing.
fn connect(plan: &Plan, name: &str) -> Told {
    let mut ends: Vec<String> = Vec::new();
    for (wire, stated) in &plan.wires {
        for end in [&stated.from, &stated.to].into_iter().flatten().filter(|end| end.thing == name) {
            ends.push(format!("{}: {wire}", end.terminal));
        }
    }
    for (lead, stated) in &plan.turn_on {
        let here = stated.to.iter().filter(|end| end.thing == name);
        ends.extend(here.map(|end| format!("{}: {lead}", end.terminal)));
    }
    for (signal, stated) in &plan.signals {
        let here = stated.to.iter().filter(|end| end.thing == name);
        ends.extend(here.map(|end| format!("{}: {signal}", end.terminal)));
    }
    let mut loads: Vec<_> = plan.loads.iter().filter(|(_, load)| load.amplifier.as_deref() == Some(name)).collect();
    loads.sort_by_key(|(_, load)| load.outputs.iter().min().copied());
    for (load, stated) in loads {
        let outputs: Vec<String> = stated.outputs.iter().map(u8::to_string).collect();
        ends.push(format!("output {}: {load}", outputs.join(" + ")));
    }
    let strip = plan.amplifiers.get(name).and_then(|amplifier| amplifier.terminals.as_ref()?.strip);
    let strip = strip.or_else(|| plan.blocks.get(name)?.strip);
    let strip = strip.or_else(|| plan.capacitors.get(name)?.strip).map(|strip| format!("strip {strip}"));
    with(format!("Connect {name}"), [ends.join(" · "), strip.unwrap_or_default()])
}

/// A capacitor is charged across what keeps its feed open.
fn charge(plan: &Plan, name: &str) -> Told {
    let volts = plan.capacitors.get(name).and_then(|capacitor| capacitor.voltage);
    let most = volts.map(|volts| format!("never above {volts}")).unwrap_or_default();
    let across = "across the open fuse, until the meter reads the battery's voltage".to_owned();
    with(format!("Charge {name} through a resistor or a lamp"), [across, most])
}

fn discharge(name: &str) -> Told {
    with(
        format!("Discharge {name} through a resistor or a lamp"),
        ["with its feed open, until the meter reads less than 1 V; never with a spanner or a wire".to_owned()],
    )
}

/// The fuses of a wire or of a block.
fn fuse(plan: &Plan, name: &str) -> Told {
    let of_wire = plan.wires.get(name).into_iter().flat_map(|wire| wire.fuse.iter().chain(&wire.far_fuse));
    let of_wire = of_wire.map(|fuse| (String::new(), fuse));
    let outputs = plan.blocks.get(name).into_iter().flat_map(|block| &block.outputs);
    let of_block = outputs.filter_map(|(output, stated)| Some((format!("{output}: "), stated.fuse.as_ref()?)));
    let all: Vec<(String, &Fuse)> = of_wire.chain(of_block).collect();
    let does = match (all.iter().any(|(_, fuse)| fuse.is_breaker()), all.iter().any(|(_, fuse)| !fuse.is_breaker())) {
        (true, true) => "Put in the fuse and close the breaker of",
        (true, false) => "Close the breaker of",
        _ => "Put in the fuse of",
    };
    let fuses = all.iter().map(|(at, fuse)| {
        let rating = fuse.rating.map_or_else(|| "rating not stated".into(), |rating| rating.to_string());
        let form = fuse.form.map(|form| format!(" {}", fuse_form(form))).unwrap_or_default();
        format!("{at}{rating}{form}")
    });
    with(format!("{does} {name}"), [fuses.collect::<Vec<_>>().join(" · ")])
}

/// What is set, by the name of the setting or of its amplifier. The gain is measured without the speakers, which are
/// joined by then.
fn set(plan: &Plan, name: &str) -> Told {
    let meant = |(own, stated): &(&String, &Setting)| *own == name || stated.amplifier.as_deref() == Some(name);
    let all: Vec<(&String, &Setting)> = plan.settings.iter().filter(meant).collect();
    let mut belongs: Vec<String> = all
        .iter()
        .map(|(own, stated)| if *own == name { setting(stated) } else { format!("{own}: {}", setting(stated)) })
        .collect();
    if all.iter().all(|(_, stated)| stated.gain_target.is_none()) {
        return with(format!("Set {name}"), belongs);
    }
    belongs.push("then its speaker leads on again".to_owned());
    with(format!("Take its speaker leads off and set {name}"), belongs)
}

fn setting(setting: &Setting) -> String {
    listed([
        setting.gain_target.map(|volts| format!("gain to {volts}")),
        setting.tone.map(|tone| format!("with {tone}")),
        setting.tone_unfiltered.filter(|is| *is).map(|_| "filters off meanwhile".into()),
        setting.low_cut.map(|corner| format!("low cut {corner}")),
        setting.high_pass.map(|corner| format!("high-pass {corner}")),
        setting.low_pass.map(|corner| format!("low-pass {corner}")),
        setting.boost.map(|boost| format!("boost {boost}")),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn steps(text: &str) -> Vec<Vec<Told>> {
        let reading = crate::plan::read(format!("plan: 1\n{text}"));
        assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
        reading.plan.steps.iter().map(|step| told(&reading.plan, step)).collect()
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
        assert_eq!(told[0][0].belongs[0], "output 1: tweeter · output 3: mid · output 5 + 6: rear");
    }

    #[test]
    fn a_step_that_is_only_a_note_is_told_and_a_name_that_leads_nowhere_too() {
        let told = steps("steps: [{note: sweep up}, {run: nowhere, note: slowly}]\n");
        assert_eq!(told[0], [does("sweep up")]);
        assert_eq!(told[1], [with("Lay nowhere", ["slowly".to_owned()])]);
    }
}
