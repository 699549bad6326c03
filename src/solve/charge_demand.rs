//! What the alternator or converter is asked for while chargers fill empty batteries.

use super::case::Case;
use super::charged::Charged;
use super::job::Job;
use super::known::{Decided, Known, Origin, Place, Undecided};
use super::{chargers, charging};
use crate::plan::{Isolator, IsolatorKind};
use crate::quantity::{Current, Quantity, Range, Ratio};

/// A charger that takes its current from the alternator or converter.
#[derive(Debug, Clone)]
pub struct ChargerDemand {
    /// Where it stands in the plan.
    pub place: Place,
    /// What it gives.
    pub rated: Quantity<Current>,
    /// How many ampere it takes for each that it gives.
    pub for_each: Range<Ratio>,
}

impl ChargerDemand {
    /// What it takes while it gives all it can.
    pub fn taken(&self) -> Known<Current> {
        let range = Range::from(self.rated).scaled(self.for_each.low(), self.for_each.high());
        Known { range, origin: Origin::Computed("what it gives, by the voltages of its batteries and what it loses") }
    }
}

/// What flows for hours while an empty battery is charged.
#[derive(Debug, Clone)]
pub struct ChargeDemand {
    /// What the alternator or converter gives.
    pub output: Known<Current>,
    /// What the vehicle takes of it for itself.
    pub running: Known<Current>,
    /// What is left.
    pub spare: Range<Current>,
    /// What added gear draws on average, of that which no charger feeds.
    pub music: Known<Current>,
    /// The chargers.
    pub chargers: Vec<ChargerDemand>,
}

impl ChargeDemand {
    /// What all of it asks together.
    pub fn asked(&self) -> Range<Current> {
        self.music.range + self.chargers.iter().map(|charger| charger.taken().range).sum()
    }

    /// What a single charger may give at most, for certain; nothing where that is less than an ampere, or where several
    /// share what is left.
    pub fn most_given(&self) -> Option<Range<Current>> {
        let [only] = self.chargers.as_slice() else { return None };
        let left = (self.spare.low() - self.music.range.high()) / only.for_each.high();
        (left >= 1.0).then(|| Range::point(left.floor()))
    }
}

impl Job<'_> {
    /// What is asked of the alternator or converter in a case with the engine running, while every charger gives what it is
    /// made for: gear behind a charger takes a part of that and asks for no more. Relays and switches are left out: what an
    /// empty battery takes through them falls within minutes.
    ///
    /// # Errors
    /// The facts that are missing; not applicable where neither gear nor a charger is connected.
    pub fn charge_demand(&self, case: Case) -> Decided<ChargeDemand> {
        let chargers = self.charger_demands()?;
        let music = match self.drawn_before_chargers(case) {
            Err(Undecided::NotApplicable(_)) if !chargers.is_empty() => {
                Known::computed(Range::point(0.0), "nothing is connected that plays")
            }
            music => music?,
        };
        let (output, running) = (charging::output(self, case), charging::running(self));
        Ok(ChargeDemand { output, running, spare: charging::spare(self, case), music, chargers })
    }

    /// Chargers that the alternator's voltage reaches, with a battery behind them.
    fn charger_demands(&self) -> Decided<Vec<ChargerDemand>> {
        let found = self.plan.isolators.iter().map(|(name, isolator)| self.charger_demand(name, isolator));
        Ok(super::known::all(found)?.into_iter().flatten().collect())
    }

    fn charger_demand(&self, name: &str, isolator: &Isolator) -> Decided<Option<ChargerDemand>> {
        let graph = self.graph();
        let Some((before, behind)) = chargers::posts_beside(self, graph, name) else { return Ok(None) };
        if self.charged(name, "in") != Charged::Directly {
            return Ok(None);
        }
        let place = Place::of(format!("isolators.{name}"));
        let kind = isolator.kind.ok_or_else(|| Undecided::need(place.sub("kind")))?;
        if kind != IsolatorKind::Charger {
            return Ok(None);
        }
        let rated = isolator.rated.ok_or_else(|| Undecided::need(place.sub("rated")))?;
        Ok(Some(ChargerDemand { place, rated, for_each: chargers::taken_by(self, graph, name, before, behind) }))
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Case, of_job};

    /// 30 A at 90 % are 33.3 A; the amplifier behind the charger draws 300 W / 3 / 80 % at 12.5 V and 1 A, of those. One on the
    /// starting battery draws its 11 A, less at the alternator's voltage, besides.
    #[test]
    fn what_plays_behind_a_charger_is_a_part_of_what_it_takes() {
        let of = |feed: &str, kind: &str| {
            let wire = "size: 2 AWG, conductor: copper, length: 1 m";
            let text = format!(
                "plan: 1\nvehicle:\n  voltage: 12 V\n  body: steel\n  \
                 battery: {{kind: agm, rest_voltage: 12.6 V, internal_resistance: 5 mohm}}\n  \
                 alternator: {{rated: 120 A, voltage: 14 V}}\n\
                 batteries: {{rear: {{kind: agm, rest_voltage: 12.6 V, internal_resistance: 5 mohm}}}}\n\
                 isolators: {{part: {{{kind}rated: 30 A, efficiency: 90 %}}}}\n\
                 amplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 1 A, rated: [{{load: 4 ohm, power: 300 W}}]}}}}\n\
                 grounds: {{g: {{}}}}\nwires:\n  a: {{from: battery.positive, to: part.in, {wire}}}\n  \
                 b: {{from: part.out, to: rear.positive, {wire}}}\n  c: {{from: rear.negative, to: grounds.g, {wire}}}\n  \
                 f: {{from: {feed}.positive, to: amp.power, {wire}}}\n  h: {{from: amp.ground, to: grounds.g, {wire}}}\n"
            );
            of_job(&text, |job| {
                let demand = job.charge_demand(Case::CruiseProgramme);
                demand.map(|is| (is.music.range.high(), is.asked().high())).map_err(|need| format!("{need:?}"))
            })
        };
        let (music, asked) = of("rear", "kind: charger, ").expect("stated");
        assert!(music == 0.0 && (asked - 30.0 / 0.9).abs() < 1e-9, "{music} {asked}");
        let (music, asked) = of("battery", "kind: charger, ").expect("stated");
        assert!((9.5..11.0).contains(&music) && (asked - music - 30.0 / 0.9).abs() < 1e-9, "{music} {asked}");
        let (music, asked) = of("rear", "kind: relay, ").expect("stated");
        assert!((9.5..12.0).contains(&music) && (asked - music).abs() < 1e-9, "{music} {asked}");
        assert!(of("rear", "").is_err_and(|need| need.contains("isolators.part")));
    }

    /// A plan with a charger on an alternator of so much, and gear on the starting battery.
    fn demanded<T>(alternator: &str, charger: &str, gear: &str, look: impl FnOnce(&super::Job<'_>) -> T) -> T {
        let wire = "size: 2 AWG, conductor: copper, length: 1 m";
        of_job(
            &format!(
                "plan: 1\nvehicle:\n  voltage: 12 V\n  body: steel\n  factory_load: {{running: 40 A}}\n  \
                 battery: {{kind: agm, rest_voltage: 12.6 V, internal_resistance: 5 mohm}}\n  \
                 alternator: {{rated: {alternator}, voltage: 14 V}}\n\
                 batteries: {{rear: {{kind: agm, rest_voltage: 12.6 V, internal_resistance: 5 mohm}}}}\n\
                 isolators: {{part: {{{charger}}}}}\n\
                 amplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 1 A, rated: [{{load: 4 ohm, power: 300 W}}]}}}}\n\
                 grounds: {{g: {{}}}}\nwires:\n  a: {{from: battery.positive, to: part.in, {wire}}}\n  \
                 b: {{from: part.out, to: rear.positive, {wire}}}\n  c: {{from: rear.negative, to: grounds.g, {wire}}}\n{gear}"
            ),
            look,
        )
    }

    const PLAYS: &str = "  f: {from: battery.positive, to: amp.power, size: 2 AWG, conductor: copper, length: 1 m}\n  \
                         h: {from: amp.ground, to: grounds.g, size: 2 AWG, conductor: copper, length: 1 m}\n";

    /// What the music takes of the 50 A that are left is not there for the charger, and of those each that it gives costs 1 / 0.9 A.
    #[test]
    fn a_charger_may_give_what_the_music_leaves() {
        let most = |gear: &str| {
            demanded("90 A", "kind: charger, rated: 60 A, efficiency: 90 %", gear, |job| {
                let demand = job.charge_demand(Case::CruiseProgramme).expect("stated");
                (demand.music.range.high(), demand.most_given().expect("one charger").high())
            })
        };
        assert_eq!(most(""), (0.0, 45.0));
        let (music, given) = most(PLAYS);
        assert!((9.0..11.0).contains(&music) && given == ((50.0 - music) * 0.9).floor(), "{music} {given}");
    }

    /// 41 A of which the vehicle takes 40 A leave one.
    #[test]
    fn less_than_an_ampere_is_no_charger() {
        let most = |alternator: &str| {
            demanded(alternator, "kind: charger, rated: 60 A, efficiency: 100 %", "", |job| {
                job.charge_demand(Case::CruiseProgramme).expect("stated").most_given().map(crate::quantity::Range::high)
            })
        };
        assert_eq!((most("41 A"), most("40.9 A")), (Some(1.0), None));
    }

    /// Nothing plays and nothing charges: there is nothing to be asked.
    #[test]
    fn without_gear_and_without_a_charger_nothing_is_asked() {
        let found =
            demanded("90 A", "kind: relay, rated: 60 A", "", |job| job.charge_demand(Case::CruiseProgramme).err());
        assert!(matches!(found, Some(super::Undecided::NotApplicable(_))), "{found:?}");
    }
}
