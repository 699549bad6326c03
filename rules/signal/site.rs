//! What the rules of this family ask of a signal: its device, its taps, the levels on its way.

use crate::house::Assumption;
use crate::plan::{
    Amplifier, Coils, Converter, DriverKind, Inputs, Load, OutputKind, Signal, Source, TakenAt, Terminal,
};
use crate::quantity::{Range, Voltage, Window};
use crate::solve::{Decided, Job, Known, Place, Thing, Undecided, coils, levels};

/// A fact about where a signal is taken.
pub fn taken<F>(signal: &Signal, fact: impl Fn(&TakenAt) -> Option<F>) -> Option<F> {
    signal.taken_at.as_ref().and_then(fact)
}

/// The device whose output a signal is, with the key that names it.
pub fn device<'a>(signal: &Thing<'a, Signal>, job: &Job<'a>) -> Decided<(&'static str, Thing<'a, Source>)> {
    let after = signal.plan().taken_at.as_ref().and_then(|at| at.after.as_deref());
    let (key, name) = match (after, signal.plan().from.as_deref()) {
        (Some(after), _) => ("taken_at.after", after),
        (None, Some(from)) => ("from", from),
        (None, None) => return Err(Undecided::need(signal.at("from"))),
    };
    let source = job.plan.sources.get(name).ok_or(Undecided::NotApplicable("its source is not declared"))?;
    Ok((key, Thing::new("sources", name, source)))
}

/// Whether a signal is taken at speaker level: the tap says so, or the device's kind of output.
pub fn is_speaker_level(signal: &Thing<'_, Signal>, device: &Thing<'_, Source>) -> Decided<bool> {
    let tap = signal.plan().taken_at.as_ref();
    match (device.outputs, tap) {
        (_, Some(tap)) if tap.speaker.is_some() => Ok(true),
        (_, Some(tap)) if tap.output.is_some() => Ok(false),
        (Some(outputs), _) => Ok(outputs == OutputKind::SpeakerLevel),
        (None, _) => Err(Undecided::need(device.at("outputs"))),
    }
}

/// Whether a tap is an output made for bass, by its name.
pub fn is_bass_output(tap: &TakenAt) -> bool {
    tap.output.as_deref().is_some_and(|name| {
        let name = name.to_lowercase();
        name.contains("bass") || name.contains("sub")
    })
}

/// The converter a signal goes through.
pub fn converter<'a>(signal: &Thing<'a, Signal>, job: &Job<'a>) -> Decided<Option<Thing<'a, Converter>>> {
    let Some(name) = signal.plan().through.as_deref() else { return Ok(None) };
    let converter = job.plan.converters.get(name).ok_or(Undecided::NotApplicable("its converter is not declared"))?;
    Ok(Some(Thing::new("converters", name, converter)))
}

/// Whether a signal ends at an input that is made for speaker level.
pub fn to_speaker_input(signal: &Thing<'_, Signal>) -> Decided<bool> {
    Ok(signal.need("to", &signal.to)?.terminal.starts_with("speaker"))
}

/// The highest clean level of a device: stated, or sqrt(P Z) of a speaker output.
pub fn source_level(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Decided<Known<Voltage>> {
    let (_, device) = device(signal, job)?;
    let speaker = is_speaker_level(signal, &device)?;
    if device.outputs.is_some_and(|outputs| (outputs == OutputKind::SpeakerLevel) != speaker) {
        return Err(Undecided::NotApplicable("the stated level is that of the other outputs, not of this one"));
    }
    match (device.level, device.power) {
        (Some(level), _) => Ok(Known { range: level.into(), origin: crate::solve::Origin::Stated(device.at("level")) }),
        (None, Some(power)) if speaker => {
            let usual = Assumption {
                range: Range::new(2.0, 4.0),
                source: "factory speakers are made for 2 to 4 ohm (common practice, no published source)",
            };
            let load = job.assume(device.at("speaker_load"), device.speaker_load, &usual);
            Ok(Known::computed(levels::speaker_output(power.into(), load.range), "sqrt(power x speaker load)"))
        }
        _ => Err(Undecided::need(device.at("level"))),
    }
}

/// What arrives at the amplifier: the source's level, or what the converter makes of it up to its highest output.
pub fn arriving(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Decided<Known<Voltage>> {
    let level = source_level(signal, job)?;
    let Some(converter) = converter(signal, job)? else { return Ok(level) };
    let ratio = converter.need("ratio", &converter.ratio)?;
    let given = levels::converted(level.range, ratio);
    let given = converter.output_maximum.map_or(given, |most| given.min(most.into()));
    Ok(Known::computed(given, "source level x converter ratio, at most the converter's highest output"))
}

/// The window of the input where a signal ends. Speaker level on a line input has none (SIGNAL-05 reports that).
pub fn window(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Decided<(Window<Voltage>, Place)> {
    let to = signal.need("to", &signal.to)?;
    let (gear, inputs) = inputs(&to.thing, job).ok_or(Undecided::NotApplicable("it ends at no amplifier"))?;
    let (_, device) = device(signal, job)?;
    let speaker_input = to_speaker_input(signal)?;
    if signal.through.is_none() && !speaker_input && is_speaker_level(signal, &device)? {
        return Err(Undecided::NotApplicable("speaker level on a line input (SIGNAL-05 reports that)"));
    }
    let (key, window) = if speaker_input {
        ("inputs.speaker_level", inputs.and_then(|inputs| inputs.speaker_level))
    } else {
        ("inputs.line", inputs.and_then(|inputs| inputs.line))
    };
    let place = Place::of(format!("{gear}.{key}"));
    Ok((window.ok_or_else(|| Undecided::need(place.clone()))?, place))
}

/// The inputs of an amplifier or a processor, with its place.
pub fn inputs<'a>(name: &str, job: &Job<'a>) -> Option<(Place, Option<&'a Inputs>)> {
    if let Some(amplifier) = job.amplifier(name) {
        return Some((amplifier.place(), amplifier.plan().inputs.as_ref()));
    }
    let (name, source) = job.plan.sources.get_key_value(name)?;
    source.is_processor().then(|| (Place::of(format!("sources.{name}")), source.inputs.as_ref()))
}

/// Whether a signal ends at a processor.
pub fn to_processor(signal: &Signal, job: &Job<'_>) -> bool {
    let name = signal.to.as_ref().map(|to| to.thing.as_str());
    name.is_some_and(|name| job.amplifier(name).is_none() && inputs(name, job).is_some())
}

/// Whether an amplifier has a load that plays bass only.
pub fn plays_bass(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> bool {
    let mut loads = job.loads.iter().filter(|load| load.amplifier.as_deref() == Some(amplifier.name));
    loads.any(|load| coils::is_bass(job, load))
}

/// The drivers that play what ends at an input of an amplifier or a processor, with their kinds where stated: those on the
/// output with the number of the input, where something hangs on it, else all; behind a processor those of all it feeds.
pub fn playing<'a>(to: &Terminal, job: &Job<'a>) -> Vec<(&'a str, Option<DriverKind>)> {
    if job.amplifier(&to.thing).is_none() {
        let fed = job.signals.iter().filter(|signal| signal.plan().from.as_ref() == Some(&to.thing));
        let amplifiers = fed.filter_map(|signal| signal.plan().to.as_ref());
        return amplifiers.filter(|to| job.amplifier(&to.thing).is_some()).flat_map(|to| playing(to, job)).collect();
    }
    let own: Vec<_> = own_loads(to, job).collect();
    let loads = if own.is_empty() {
        job.loads.iter().filter(|load| load.amplifier.as_ref() == Some(&to.thing)).collect()
    } else {
        own
    };
    let coils = loads.into_iter().filter_map(|load| load.plan().coils.as_ref()).flat_map(Coils::coils);
    let drivers = coils.filter_map(|coil| job.plan.drivers.get_key_value(&coil.driver));
    drivers.map(|(name, driver)| (name.as_str(), driver.kind)).collect()
}

/// The loads on the output with the number of an input.
pub fn own_loads<'j, 'a>(to: &'j Terminal, job: &'j Job<'a>) -> impl Iterator<Item = &'j Thing<'a, Load>> {
    let on = |load: &Load| number(to).is_some_and(|number| load.outputs.contains(&number));
    job.loads.iter().filter(move |load| load.amplifier.as_ref() == Some(&to.thing) && on(load))
}

/// The number at the end of an input's name: it belongs to the output of that number.
pub fn input_number(signal: &Signal) -> Option<u8> {
    number(signal.to.as_ref()?)
}

/// The number at the end of an input's name.
pub fn number(input: &Terminal) -> Option<u8> {
    input.terminal.rsplit('-').next()?.parse().ok()
}

/// The signals that a load may play: where some end at inputs with the numbers of its outputs, those without a number
/// besides, else all that end at its amplifier.
pub fn played<'j, 'a>(amplifier: &str, load: &Load, job: &'j Job<'a>) -> Vec<&'j Thing<'a, Signal>> {
    let (all, own) = (reaching(amplifier, job), |number: u8| load.outputs.contains(&number));
    if !all.iter().any(|signal| input_number(signal).is_some_and(own)) {
        return all;
    }
    all.into_iter().filter(|signal| input_number(signal).is_none_or(own)).collect()
}

/// The signals that end at an amplifier.
pub fn reaching<'j, 'a>(amplifier: &str, job: &'j Job<'a>) -> Vec<&'j Thing<'a, Signal>> {
    job.signals.iter().filter(|signal| signal.to.as_ref().is_some_and(|to| to.thing == amplifier)).collect()
}

/// A side of the vehicle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The left.
    Left,
    /// The right.
    Right,
}

impl Side {
    /// The side that a name states: `rear-left`, `line-right`, `door-l`. None where it names both or neither.
    pub fn of(name: &str) -> Option<Self> {
        let name = name.to_lowercase();
        let parts = || name.split(|letter: char| !letter.is_ascii_alphabetic());
        let left = parts().any(|part| matches!(part, "left" | "l"));
        let right = parts().any(|part| matches!(part, "right" | "r"));
        match (left, right) {
            (true, false) => Some(Self::Left),
            (false, true) => Some(Self::Right),
            _ => None,
        }
    }

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}
