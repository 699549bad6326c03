//! What their load asks of fuses.

use super::case::Case;
use super::chargers::Charging;
use super::gear::GearKind;
use super::job::Job;
use super::known::{Decided, Known};
use super::protection::{Pass, Way};
use crate::plan::Amplifier;
use crate::quantity::{Current, Quantity, Range};

/// What its load asks of a fuse.
pub struct FuseAsked {
    /// Current at full output.
    pub full: Known<Current>,
    /// Current with programme.
    pub programme: Known<Current>,
    /// The fuses on the cases of all amplifiers that it feeds, added; nothing where one has none or does not say.
    pub on_cases: Option<Quantity<Current>>,
    /// What chargers do in it.
    pub charger: Charging,
    /// Full output, and programme at the share that a fuse carries for long; no more than the fuses on the cases let
    /// through, and what chargers draw and give.
    pub asked: Range<Current>,
}

impl Job<'_> {
    /// What its load asks of a fuse.
    ///
    /// # Errors
    /// The facts that are missing.
    pub fn fuse_asked(&self, fuse: usize) -> Decided<FuseAsked> {
        let full = self.fuse_current(fuse, Case::IdleFull)?;
        let programme = self.fuse_current(fuse, Case::IdleProgramme)?;
        let on_cases = self.fuses_on_cases(&|way| way.fuses.contains(&fuse));
        let charger = self.charger_through(fuse);
        let asked = self.bounded(full.range, programme.range, on_cases, charger);
        Ok(FuseAsked { full, programme, on_cases, charger, asked })
    }

    /// What programme alone asks of a fuse: all that is known where the supply cannot deliver full output.
    ///
    /// # Errors
    /// The facts that are missing.
    pub fn fuse_asked_by_programme(&self, fuse: usize) -> Decided<Range<Current>> {
        Ok(self.fuse_current(fuse, Case::IdleProgramme)?.range / self.house.limits.fuse_loading.base())
    }

    /// What a fuse in a wire, or before it alone, would be asked: its load, and what an empty battery takes where a relay or
    /// switch joins it to another through this wire.
    ///
    /// # Errors
    /// The facts that are missing.
    pub fn fuse_asked_in(&self, wire: usize) -> Decided<Range<Current>> {
        let thing = &self.wires[wire];
        let full = self.wire_current(thing, Case::IdleFull)?.range;
        let programme = self.wire_current(thing, Case::IdleProgramme)?.range;
        let passes = |way: &Way| way.passes.iter().any(|pass| matches!(pass, Pass::Stretch(at, _) if *at == wire));
        let charger = self.graph().wire(wire).map_or(Charging::NONE, |link| self.charger_current(link));
        let load = self.bounded(full, programme, self.fuses_on_cases(&passes), charger);
        let charge = self.charge_asked_in(wire)?.map(|asked| Range::from(asked.current));
        Ok(charge.map_or(load, |charge| load.max(charge)))
    }

    fn bounded(
        &self,
        full: Range<Current>,
        programme: Range<Current>,
        on_cases: Option<Quantity<Current>>,
        charger: Charging,
    ) -> Range<Current> {
        let loading = self.house.limits.fuse_loading.base();
        let asked = full.max(programme / loading);
        let Charging { drawn, given } = charger;
        on_cases.map_or(asked, |most| asked.min(drawn / loading + Range::from(most).max(given / loading)))
    }

    /// The fuses on the cases of all amplifiers that are fed on some ways, with what other gear there draws, added; nothing
    /// where an amplifier has none or does not say.
    fn fuses_on_cases(&self, passes: &dyn Fn(&Way) -> bool) -> Option<Quantity<Current>> {
        let is_fed = |name: &str| self.ways_to_gear(name).into_iter().any(passes);
        let amplifiers = self.amplifiers.iter().filter(|amplifier| is_fed(amplifier.name));
        let sums: Option<Vec<f64>> = amplifiers.map(|amplifier| on_case(amplifier)).collect();
        let sums = sums.filter(|sums| !sums.is_empty())?;
        let others = self.gear.iter().filter(|gear| gear.kind != GearKind::Amplifier && is_fed(gear.name));
        let others = others.map(|gear| gear.drawn_on(self).range.high());
        Some(Quantity::new(sums.into_iter().chain(others).sum()))
    }
}

/// The fuses on the case of an amplifier, added, in A; nothing where it has none or does not say.
fn on_case(amplifier: &Amplifier) -> Option<f64> {
    let own = amplifier.onboard_fuses.as_ref().filter(|own| !own.is_empty())?;
    Some(own.iter().map(|rating| rating.base()).sum())
}

#[cfg(test)]
mod tests {
    use super::super::of_job;

    /// More than the 40 A on its case opens those first. A charger of 30 A without losses on the same output of a block draws
    /// 15 A for hours besides, of which a fuse carries 80 % of its rating: 18.75 A more.
    #[test]
    fn a_charger_comes_on_top_of_the_fuses_on_a_case() {
        let asked = |charger: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{voltage: 24 V, body: steel}}\nbatteries: {{audio: {{rest_voltage: 12.7 V}}}}\n\
                 amplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 1 A, onboard_fuses: [20 A, 20 A], \
                 rated: [{{load: 2 ohm, power: 1200 W}}]}}}}\ngrounds: {{floor: {{}}}}\n\
                 isolators: {{dcdc: {{kind: {charger}, rated: 30 A, efficiency: 100 %}}}}\n\
                 blocks: {{split: {{outputs: {{one: {{fuse: {{form: bolt-down, resistance: 1 mohm, rating: 80 A}}}}}}}}}}\nwires:\n  \
                 main: {{from: battery.positive, to: split.in, size: 35 mm2, length: 40 cm, conductor: copper}}\n  \
                 feed: {{from: split.one, to: amp.power, size: 35 mm2, length: 3 m, conductor: copper}}\n  \
                 back: {{from: amp.ground, to: grounds.floor, size: 35 mm2, length: 40 cm, conductor: copper}}\n  \
                 charge: {{from: amp.power, to: dcdc.in, size: 16 mm2, length: 1 m, conductor: copper}}\n  \
                 out: {{from: dcdc.out, to: audio.positive, size: 16 mm2, length: 50 cm, conductor: copper}}\n  \
                 link: {{from: audio.negative, to: grounds.floor, size: 16 mm2, length: 40 cm, conductor: copper}}\n"
            );
            of_job(&text, |job| {
                let fuse =
                    job.protection().fuses.iter().position(|site| site.place.path() == "blocks.split.outputs.one.fuse");
                let is = job.fuse_asked(fuse.expect("it is there")).expect("stated");
                (is.charger.drawn.high(), is.asked.high())
            })
        };
        let (charger, most) = asked("charger");
        assert!((charger - 15.0).abs() < 1e-9 && (most - 58.75).abs() < 1e-9, "{charger} {most}");
    }

    /// Behind the charger flow the 30 A that it gives, or what the amplifier takes out of the battery there; never both. The
    /// 20 A on its case open first, and 80 % of 37.5 A are 30 A.
    #[test]
    fn what_a_charger_gives_flows_alone() {
        let text = "plan: 1\nvehicle: {voltage: 12 V, body: steel}\nbatteries: {audio: {}}\n\
                    amplifiers: {amp: {class: D, channels: 1, efficiency: 80 %, idle_current: 1 A, onboard_fuses: [20 A], \
                    rated: [{load: 2 ohm, power: 1200 W}]}}\ngrounds: {floor: {}}\n\
                    isolators: {dcdc: {kind: charger, rated: 30 A, efficiency: 100 %}}\nwires:\n  \
                    charge: {from: battery.positive, to: dcdc.in, size: 16 mm2, length: 4 m, conductor: copper}\n  \
                    out: {from: dcdc.out, to: amp.power, size: 16 mm2, length: 50 cm, conductor: copper}\n  \
                    feed: {from: amp.power, to: audio.positive, size: 35 mm2, length: 1 m, conductor: copper, \
                    far_fuse: {form: bolt-down, resistance: 1 mohm, rating: 80 A, distance: 20 cm}}\n  \
                    back: {from: amp.ground, to: grounds.floor, size: 35 mm2, length: 40 cm, conductor: copper}\n  \
                    link: {from: audio.negative, to: grounds.floor, size: 16 mm2, length: 40 cm, conductor: copper}\n";
        let (given, most) = of_job(text, |job| {
            let is = job.fuse_asked(0).expect("stated");
            (is.charger.given.high(), is.asked.high())
        });
        assert!((given - 30.0).abs() < 1e-9 && (most - 37.5).abs() < 1e-9, "{given} {most}");
    }
}
