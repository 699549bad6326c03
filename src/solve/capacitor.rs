//! What a capacitor holds, what it gives before the battery does, and what flows into one that is empty.

use super::charging::charging_voltage;
use super::graph::Graph;
use super::job::Job;
use super::known::{self, Decided, Known, Place, Undecided};
use super::protection::Way;
use crate::plan::{Battery, Capacitor};
use crate::quantity::{Current, Duration, Energy, Quantity, Range, Voltage};

/// What a capacitor gives while its voltage falls: E = C / 2 x (from^2 - to^2) (textbooks on electricity). Nothing where it
/// does not fall.
pub fn given(farads: f64, from: Range<Voltage>, to: Range<Voltage>) -> Range<Energy> {
    let joules = |from: f64, to: f64| (farads / 2.0 * (from * from - to * to)).max(0.0);
    Range::new(joules(from.low(), to.high()), joules(from.high(), to.low()))
}

impl Job<'_> {
    /// A capacitor by name, with its place.
    fn capacitor(&self, name: &str) -> Decided<(Place, &Capacitor)> {
        let found = self.plan.capacitors.get(name).ok_or(Undecided::NotApplicable("no such capacitor"))?;
        Ok((Place::of(format!("capacitors.{name}")), found))
    }

    fn farads(&self, name: &str) -> Decided<f64> {
        let (place, is) = self.capacitor(name)?;
        is.capacitance.map(Quantity::base).ok_or_else(|| Undecided::need(place.sub("capacitance")))
    }

    /// What a capacitor holds while the alternator charges.
    ///
    /// # Errors
    /// The needs for its capacitance and for the system's voltage.
    pub fn capacitor_holds(&self, name: &str) -> Decided<Range<Energy>> {
        let volts = charging_voltage(self, self.system_multiple()?).range;
        Ok(given(self.farads(name)?, volts, Range::point(0.0)))
    }

    /// What a capacitor gives from the charging voltage down to that of the starting battery at rest: from there on the
    /// battery gives.
    ///
    /// # Errors
    /// As [`Job::capacitor_holds`].
    pub fn capacitor_gives(&self, name: &str) -> Decided<Range<Energy>> {
        let multiple = self.system_multiple()?;
        Ok(given(self.farads(name)?, charging_voltage(self, multiple).range, self.starting_rest(multiple)))
    }

    /// For how long a capacitor carries a current from the charging voltage down to that of the starting battery at rest:
    /// t = C x (from - to) / I (textbooks on electricity). The current is above nothing.
    ///
    /// # Errors
    /// As [`Job::capacitor_holds`].
    pub fn capacitor_carries(&self, name: &str, current: Range<Current>) -> Decided<Range<Duration>> {
        let multiple = self.system_multiple()?;
        let falls = (charging_voltage(self, multiple).range - self.starting_rest(multiple)).max(Range::point(0.0));
        let farads = self.farads(name)?;
        Ok(Range::new(farads * falls.low() / current.high(), farads * falls.high() / current.low()))
    }

    /// The voltage of the starting battery at rest.
    fn starting_rest(&self, multiple: f64) -> Range<Voltage> {
        let stated = self.plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.as_ref());
        let unknown = Battery::default();
        self.rest_voltage(stated.unwrap_or(&unknown), &Place::of("vehicle.battery"), multiple).range
    }

    /// The current into an empty capacitor at the moment at which its feed is closed straight: that of a short there, less
    /// what the capacitor itself resists. The largest, where several batteries feed it.
    ///
    /// # Errors
    /// The facts that are missing; not applicable where no battery feeds it.
    pub fn capacitor_inrush(&self, name: &str) -> Decided<Range<Current>> {
        let (place, is) = self.capacitor(name)?;
        let resists =
            self.assume(place.sub("resistance"), is.resistance, &self.house.assumptions.capacitor_resistance).range;
        let currents =
            known::all(self.ways_to_capacitor(name).into_iter().map(|way| self.drawn_through(way, resists)))?;
        let largest = currents.into_iter().reduce(Range::max);
        largest.ok_or(Undecided::NotApplicable("no battery feeds it"))
    }

    /// The ways from batteries that end at a capacitor's plus terminal.
    pub fn ways_to_capacitor(&self, name: &str) -> Vec<&Way> {
        let leads = |way: &&Way| {
            let wire = &self.wires[way.wire];
            let end = if way.stretch.1 { &wire.to } else { &wire.from };
            end.as_ref().is_some_and(|end| end.is(name, "power"))
        };
        self.ways_to_gear(name).into_iter().filter(leads).collect()
    }

    /// What each capacitor that a wire feeds draws with the vehicle asleep.
    pub(super) fn capacitors_asleep(&self) -> Vec<Known<Current>> {
        let graph: &Graph = self.graph();
        let fed = self.plan.capacitors.iter().filter(|(name, _)| graph.node(name, "power").is_some());
        let drawn = fed.map(|(name, is)| {
            let place = Place::of(format!("capacitors.{name}.off_current"));
            self.assume(place, is.off_current, &self.house.assumptions.capacitor_off_current)
        });
        drawn.collect()
    }
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::*;

    /// 12.6 V behind 5 mohm; 4 m of 21.15 mm2 at 0.017241 ohm mm2/m are 3.26 mohm cold.
    fn plan(capacitor: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, body: steel, body_resistance: 2 mohm, alternator: {{voltage: 14.4 V, control: \
             fixed}}, battery: {{internal_resistance: 5 mohm, rest_voltage: 12.6 V}}}}\namplifiers: {{amp: {{}}}}\n\
             grounds: {{floor: {{}}}}\ncapacitors: {{cap: {{{capacitor}}}}}\nwires:\n  feed: {{from: battery.positive, to: \
             cap.power, length: 4 m, size: 4 AWG, conductor: copper, stranding: solid, insulation: 75 C, joint_resistance: \
             0.5 mohm}}\n  on: {{from: cap.power, to: amp.power, length: 30 cm, size: 4 AWG}}\n  back: {{from: cap.ground, to: \
             grounds.floor}}\n"
        )
    }

    /// 1 F at 14.4 V: 0.5 x 14.4^2 = 103.68 J; down to 12.6 V it gives 0.5 x (207.36 - 158.76) = 24.3 J.
    #[test]
    fn a_farad_holds_a_hundred_joules_and_gives_a_quarter_of_them() {
        of_job(&plan("capacitance: 1 F"), |job| {
            let (holds, gives) =
                (job.capacitor_holds("cap").expect("stated"), job.capacitor_gives("cap").expect("stated"));
            assert!((holds.middle() - 103.68).abs() < 1e-6, "{holds}");
            assert!((gives.middle() - 24.3).abs() < 1e-6, "{gives}");
        });
        of_job(&plan(""), |job| {
            assert_eq!(
                job.capacitor_holds("cap").err(),
                Some(Undecided::need(Place::of("capacitors.cap.capacitance")))
            );
        });
    }

    /// 1 F x (14.4 V - 12.6 V) / 20 A are 90 ms.
    #[test]
    fn a_farad_carries_twenty_ampere_for_a_blink() {
        of_job(&plan("capacitance: 1 F"), |job| {
            let lasts = job.capacitor_carries("cap", Range::new(20.0, 40.0)).expect("stated");
            assert!((lasts.high() - 0.09).abs() < 1e-9 && (lasts.low() - 0.045).abs() < 1e-9, "{lasts}");
        });
    }

    /// A battery that stands higher than the alternator charges leaves it nothing to give.
    #[test]
    fn it_gives_nothing_where_the_voltage_does_not_fall() {
        assert_eq!(given(1.0, Range::point(12.4), Range::point(12.6)), Range::point(0.0));
        assert_eq!(given(2.0, Range::point(14.0), Range::point(12.0)), Range::point(52.0));
    }

    /// At most 12.6 V / (5 + 0.5 + 0.5 + 3.26 + 2 mohm) with 2 mohm of its own; the wire that leads on is no way to it.
    #[test]
    fn an_empty_capacitor_draws_like_a_short_less_its_own_resistance() {
        of_job(&plan("capacitance: 1 F, resistance: 2 mohm"), |job| {
            let inrush = job.capacitor_inrush("cap").expect("stated");
            let short = job.fault_current(job.ways_to_capacitor("cap")[0]).expect("stated");
            let least = 12.6 / short.high();
            assert!((12.6 / inrush.high() - least - 0.002).abs() < 1e-9, "{inrush}, {short}");
            assert_eq!(job.ways_to_capacitor("cap").len(), 1);
        });
    }

    /// The amplifier behind it is fed through its terminal, and it carries no current itself.
    #[test]
    fn it_draws_its_leakage_asleep_and_nothing_in_the_network() {
        of_job(&plan("off_current: 12 mA"), |job| {
            let added = job.asleep().added;
            let own: Vec<f64> = added.iter().map(|known| known.range.high()).collect();
            assert!(own.contains(&0.012), "{own:?}");
        });
        of_job(&plan("").replace("cap.power", "amp.power"), |job| assert!(job.capacitors_asleep().is_empty()));
    }
}
