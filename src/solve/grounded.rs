//! Everything that has a minus of its own and brings a current back through it.

use super::facts::Facts;
use super::known::Place;

/// Something with a ground terminal, `NAME.ground`.
#[derive(Debug, Clone)]
pub struct Grounded<'a> {
    /// Its name.
    pub name: &'a str,
    /// Where it stands, like `capacitors.buffer`.
    pub place: Place,
    /// What it is called.
    pub noun: &'static str,
    /// The terminal that the supply comes to: `power` or `in`.
    pub fed: &'static str,
    /// Whether sound passes it: what its ground is lifted by comes into the music.
    pub plays: bool,
}

impl<'a> Facts<'a> {
    /// All that may have a feed and a return, whatever it is: its section, its name, and the terminal that it is fed by.
    pub(super) fn fed_and_grounded(&self) -> impl Iterator<Item = (&'static str, &'a str, &'static str)> {
        let plan = self.plan;
        let of = |section: &'static str| move |name: &'a String| (section, name.as_str(), "power");
        let amplifiers = plan.amplifiers.keys().map(of("amplifiers"));
        let sources = plan.sources.keys().map(of("sources"));
        let converters = plan.converters.keys().map(of("converters"));
        let capacitors = plan.capacitors.keys().map(of("capacitors"));
        let isolators = plan.isolators.iter().filter(|(_, isolator)| isolator.has_ground());
        let isolators = isolators.map(|(name, _)| ("isolators", name.as_str(), "in"));
        amplifiers.chain(sources).chain(converters).chain(capacitors).chain(isolators)
    }

    /// All that has a ground terminal: amplifiers, processors, converters, capacitors, then chargers and step-down converters.
    pub fn grounded(&self) -> Vec<Grounded<'a>> {
        let gear = self.gear.iter().map(|gear| {
            let (place, noun) = (gear.place.clone(), gear.kind.noun());
            Grounded { name: gear.name, place, noun, fed: "power", plays: true }
        });
        let capacitors = self.plan.capacitors.keys().map(|name| {
            let place = Place::of(format!("capacitors.{name}"));
            Grounded { name, place, noun: "capacitor", fed: "power", plays: false }
        });
        let isolators = self.plan.isolators.iter().filter(|(_, isolator)| isolator.has_ground());
        let isolators = isolators.map(|(name, isolator)| {
            let noun = if isolator.is_step_down() { "step-down converter" } else { "charger" };
            Grounded { name, place: Place::of(format!("isolators.{name}")), noun, fed: "in", plays: false }
        });
        gear.chain(capacitors).chain(isolators).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::super::of_job;

    /// A relay has no minus of its own that a current comes back through, and no factory radio is wired here.
    #[test]
    fn what_has_a_ground_terminal_says_what_it_is_and_where_it_is_fed() {
        let text = "plan: 1\namplifiers: {amp: {}}\nsources: {dsp: {kind: processor}, radio: {kind: factory}}\nconverters: {loc: {}}\n\
                    capacitors: {cap: {}}\nisolators: {a: {kind: relay}, b: {kind: charger}, c: {kind: step-down}, d: {kind: switch}}\n";
        let found = of_job(text, |job| {
            let told = |is: super::Grounded<'_>| format!("{} {} {} {}", is.place.path(), is.noun, is.fed, is.plays);
            job.grounded().into_iter().map(told).collect::<Vec<_>>()
        });
        assert_eq!(
            found,
            [
                "amplifiers.amp amplifier power true",
                "sources.dsp processor power true",
                "converters.loc converter power true",
                "capacitors.cap capacitor power false",
                "isolators.b charger in false",
                "isolators.c step-down converter in false",
            ]
        );
    }
}
