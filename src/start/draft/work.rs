//! What is set and what is done, in its order.

use super::{BLOCK, BUFFER, BUFFER_FEED, BUFFER_RETURN, Draft, GROUND, MAIN, REMOTE, RETURN, RETURNS};
use crate::plan::{Airbags, DriverKind, HighVoltage};
use crate::quantity::{Quantity, Voltage};
use crate::start::Amplifier;
use crate::start::hang::Load;
use crate::start::paper::Paper;

/// A part of the music, with what is usually set for it.
struct Part {
    name: &'static str,
    drivers: &'static [DriverKind],
    filter: &'static str,
    /// Where the filter is set; for tweeters well above their resonance (common practice, no published source).
    corner: &'static str,
    tone: &'static str,
}

const PARTS: [Part; 3] = [
    Part { name: "tweeters", drivers: &[DriverKind::Tweeter], filter: "high_pass", corner: "3 kHz", tone: "8 kHz" },
    Part {
        name: "mains",
        drivers: &[DriverKind::Woofer, DriverKind::FullRange],
        filter: "high_pass",
        corner: "80 Hz",
        tone: "1 kHz",
    },
    Part { name: "bass", drivers: &[DriverKind::Subwoofer], filter: "low_pass", corner: "80 Hz", tone: "50 Hz" },
];

/// A setting of an amplifier, or of some of its outputs.
struct Set<'d> {
    name: String,
    /// The amplifier and the outputs, where the setting is not for all of them.
    only: Option<(&'d str, String)>,
    gain: Quantity<Voltage>,
    part: &'static Part,
}

impl Draft<'_> {
    pub(super) fn settings(&self, paper: &mut Paper) {
        let set: Vec<Set<'_>> = self.facts.amplifiers.iter().flat_map(|amplifier| self.sets(amplifier)).collect();
        if !set.is_empty() {
            paper.section("settings");
        }
        for set in set {
            paper.key(1, &set.name, "", "");
            if let Some((amplifier, outputs)) = &set.only {
                paper.key(2, "amplifier", amplifier, "");
                paper.key(2, "outputs", format!("[{outputs}]"), "");
            }
            paper.key(2, "gain_target", set.gain, "proposal: all that amplifier and coils are rated for");
            paper.key(2, "tone", set.part.tone, "proposal");
            paper.key(2, set.part.filter, set.part.corner, "proposal");
            paper.key(2, "filters", "", "their design, like butterworth");
            paper.key(2, "boost", "0 dB", "proposal: none");
        }
    }

    /// One setting for an amplifier that drives one part of the music; one for each part where it drives several. None for
    /// a part of which a load is not known well enough.
    fn sets<'d>(&'d self, amplifier: &'d Amplifier) -> Vec<Set<'d>> {
        let on = |load: &&(Option<&str>, Load)| load.0 == Some(amplifier.name.as_str());
        let loads: Vec<&Load> = self.loads.iter().filter(on).map(|(_, load)| load).collect();
        let of = |part: &'static Part| {
            let own: Vec<&&Load> = loads.iter().filter(|load| self.plays(load, part)).collect();
            let gains: Vec<Quantity<Voltage>> = own.iter().map(|load| load.gain).collect::<Option<_>>()?;
            let gain = gains.into_iter().min_by(|one, other| one.base().total_cmp(&other.base()))?;
            if own.len() == loads.len() {
                return Some(Set { name: amplifier.name.clone(), only: None, gain, part });
            }
            let outputs: Vec<String> = own.iter().flat_map(|load| &load.outputs).map(u8::to_string).collect();
            let name = format!("{}-{}", amplifier.name, part.name);
            let is_free = self.facts.amplifiers.iter().all(|other| other.name != name);
            let only = Some((amplifier.name.as_str(), outputs.join(", ")));
            (is_free && !outputs.is_empty()).then_some(Set { name, only, gain, part })
        };
        PARTS.iter().filter_map(of).collect()
    }

    fn plays(&self, load: &Load, part: &Part) -> bool {
        let coils = load.coils.coils();
        coils.iter().all(|coil| self.kind(&coil.driver).is_some_and(|kind| part.drivers.contains(&kind)))
    }

    pub(super) fn steps(&self, paper: &mut Paper) {
        let is_high = self.high_voltage().is_some_and(|is| is != HighVoltage::None);
        let signals: Vec<(String, String)> =
            self.facts.amplifiers.iter().flat_map(|amplifier| self.signals_of(amplifier)).collect();
        paper.section("steps");
        let remark = |words: &str| match words.strip_prefix("run: ") {
            Some(name) if signals.iter().any(|(signal, _)| signal == name) => {
                "joined where it is taken; a converter gets a step of its own: connect"
            }
            _ if words == format!("charge: {BUFFER}") => "through a lamp between the battery's post and its clamp",
            _ if words == format!("fuse: {MAIN}") => {
                "a strip, bolted in; a blade or a breaker may go behind `battery: reconnect`"
            }
            _ => "",
        };
        let mut step = |words: String| paper.entry(&words, remark(&words));
        step("radio: note-code".into());
        if is_high {
            step("high_voltage: isolated-by-qualified-person".into());
        }
        step("battery: disconnect".into());
        if self.gear.airbags().is_some_and(|fitted| fitted != Airbags::None) {
            step("airbags: wait".into());
        }
        step(format!("run: {MAIN}"));
        for amplifier in self.facts.amplifiers.iter().filter(|_| self.is_shared()) {
            step(format!("run: {}-feed", amplifier.name));
        }
        if self.has_capacitor() {
            step(format!("run: {BUFFER_FEED}"));
        }
        if !self.returns_by_cable() {
            step(format!("ground: {GROUND}"));
        }
        if self.has_capacitor() {
            step(format!("run: {BUFFER_RETURN}"));
        }
        for amplifier in &self.facts.amplifiers {
            step(format!("run: {}", self.return_of(amplifier)));
        }
        if self.returns_by_cable() && self.is_shared() {
            step(format!("run: {RETURN}"));
        }
        step(format!("run: {REMOTE}"));
        for (name, _) in &signals {
            step(format!("run: {name}"));
        }
        let names: Vec<&String> = self.facts.amplifiers.iter().map(|amplifier| &amplifier.name).collect();
        for name in names.iter().copied().chain(self.boxes().iter().map(|(name, _)| name)) {
            step(format!("mount: {name}"));
        }
        if self.has_capacitor() {
            step(format!("mount: {BUFFER}"));
        }
        if self.is_shared() {
            step(format!("connect: {BLOCK}"));
            if self.returns_by_cable() {
                step(format!("connect: {RETURNS}"));
            }
        }
        if self.has_capacitor() {
            step(format!("connect: {BUFFER}"));
        }
        for name in &names {
            step(format!("connect: {name}"));
        }
        step("inspect: polarity-and-polish".into());
        step("inspect: no-short".into());
        if self.is_shared() {
            step(format!("fuse: {BLOCK}"));
        }
        // A strip is bolted in on a dead stud (STEP-02).
        step(format!("fuse: {MAIN}"));
        if self.has_capacitor() {
            step(format!("charge: {BUFFER}"));
        }
        step("battery: reconnect".into());
        if is_high {
            step("high_voltage: restored-by-qualified-person".into());
        }
        step("radio: restore-code".into());
        for name in &names {
            step(format!("set: {name}"));
        }
        step("test: commissioning".into());
    }
}
