//! What is set and what is done, in its order.

use super::{BLOCK, Draft, GROUND, MAIN, REMOTE, RETURN, RETURNS, driven_by};
use crate::plan::{DriverKind, HighVoltage};
use crate::quantity::{Quantity, Voltage};
use crate::start::paper::Paper;
use crate::start::{Amplifier, Driver};

impl Draft<'_> {
    pub(super) fn settings(&self, paper: &mut Paper) {
        let setting = |amplifier| Some((amplifier, self.setting(amplifier)?, self.gain(amplifier)?));
        let set: Vec<(&Amplifier, _, _)> = self.facts.amplifiers.iter().filter_map(setting).collect();
        if !set.is_empty() {
            paper.section("settings");
        }
        for (amplifier, (filter, tone), gain) in set {
            paper.key(1, &amplifier.name, "", "");
            paper.key(2, "gain_target", gain, "proposal: all that amplifier and coils are rated for");
            paper.key(2, "tone", tone, "proposal");
            paper.key(2, filter, "80 Hz", "proposal");
            paper.key(2, "filters", "", "their design, like butterworth");
            paper.key(2, "boost", "0 dB", "proposal: none");
        }
    }

    /// The voltage that all loads of an amplifier bear; none where one of them is not known well enough.
    fn gain(&self, amplifier: &Amplifier) -> Option<Quantity<Voltage>> {
        let own = self.loads.iter().filter(|(on, _)| *on == Some(amplifier.name.as_str()));
        let gains: Vec<Quantity<Voltage>> = own.map(|(_, load)| load.gain).collect::<Option<_>>()?;
        gains.into_iter().min_by(|one, other| one.base().total_cmp(&other.base()))
    }

    /// The filter and the test tone of an amplifier that drives one part of the music.
    fn setting(&self, amplifier: &Amplifier) -> Option<(&'static str, &'static str)> {
        let own = |said: &Driver| driven_by(self.facts, said).ok().flatten() == Some(amplifier.name.as_str());
        let kinds: Vec<_> =
            self.drivers.iter().filter(|(_, said)| own(said)).map(|(name, _)| self.kind(name)).collect();
        let all = |allowed: &[DriverKind]| {
            !kinds.is_empty() && kinds.iter().all(|kind| kind.is_some_and(|kind| allowed.contains(&kind)))
        };
        match () {
            () if all(&[DriverKind::Subwoofer]) => Some(("low_pass", "50 Hz")),
            () if all(&[DriverKind::Woofer, DriverKind::FullRange]) => Some(("high_pass", "1 kHz")),
            () => None,
        }
    }

    pub(super) fn steps(&self, paper: &mut Paper) {
        let is_high = matches!(self.high_voltage(), Some(HighVoltage::Hybrid | HighVoltage::Electric));
        paper.section("steps");
        let mut step = |words: String| paper.entry(&words, "");
        step("radio: note-code".into());
        if is_high {
            step("high_voltage: isolated-by-qualified-person".into());
        }
        step("battery: disconnect".into());
        step(format!("run: {MAIN}"));
        for amplifier in self.facts.amplifiers.iter().filter(|_| self.is_shared()) {
            step(format!("run: {}-feed", amplifier.name));
        }
        if !self.returns_by_cable() {
            step(format!("ground: {GROUND}"));
        }
        for amplifier in &self.facts.amplifiers {
            step(format!("run: {}", self.return_of(amplifier)));
        }
        if self.returns_by_cable() && self.is_shared() {
            step(format!("run: {RETURN}"));
        }
        step(format!("run: {REMOTE}"));
        for (name, _) in self.facts.amplifiers.iter().flat_map(|amplifier| self.signals_of(amplifier)) {
            step(format!("run: {name}"));
        }
        let names: Vec<&String> = self.facts.amplifiers.iter().map(|amplifier| &amplifier.name).collect();
        for name in names.iter().copied().chain(self.boxes().iter().map(|(name, _)| name)) {
            step(format!("mount: {name}"));
        }
        if self.is_shared() {
            step(format!("connect: {BLOCK}"));
            if self.returns_by_cable() {
                step(format!("connect: {RETURNS}"));
            }
        }
        for name in &names {
            step(format!("connect: {name}"));
        }
        step("inspect: polarity-and-polish".into());
        step("inspect: no-short".into());
        step("battery: reconnect".into());
        if self.is_shared() {
            step(format!("fuse: {BLOCK}"));
        }
        step(format!("fuse: {MAIN}"));
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
