//! The highest voltage that an amplifier's output may show with the test tone.

use crate::judge::Input;
use crate::plan::{Amplifier, Load, Setting};
use crate::quantity::{Power, Quantity, Range, Voltage};
use crate::solve::{Decided, Job, Origin, Thing, Undecided, all, loads};

/// The ceiling of one load.
pub struct Ceiling<'j, 'a> {
    /// The load.
    pub load: &'j Thing<'a, Load>,
    /// Nominal impedance in ohm.
    pub ohms: f64,
    /// What the amplifier is rated for into it.
    pub rated: Range<Power>,
    /// What its drivers take for good.
    pub drivers: Range<Power>,
    /// The voltage that gives the smaller of the two.
    pub volts: Range<Voltage>,
}

impl Ceiling<'_, '_> {
    /// What the voltage was made from.
    pub fn inputs(&self) -> Vec<Input> {
        let coils = self.load.at("coils");
        let ohms = Range::<crate::quantity::Resistance>::point(self.ohms);
        let rated = Origin::Computed("the amplifier's ratings, between two points on a line of logarithms");
        let drivers = Origin::Computed("the drivers' ratings, by their coils on this load");
        vec![
            Input::stated("impedance of the load", ohms, coils),
            Input::from("amplifier's rated power into it", self.rated, rated),
            Input::from("what the drivers take", self.drivers, drivers),
        ]
    }
}

/// The setting of an amplifier as a thing of the plan.
pub fn setting<'a>(job: &Job<'a>, amplifier: &Thing<'_, Amplifier>) -> Option<Thing<'a, Setting>> {
    let (name, setting) = job.plan.settings.get_key_value(amplifier.name)?;
    Some(Thing::new("settings", name, setting))
}

/// The setting of an amplifier with the voltage its gain is set to.
///
/// # Errors
/// Not applicable without one.
pub fn target<'a>(job: &Job<'a>, amplifier: &Thing<'_, Amplifier>) -> Decided<(Thing<'a, Setting>, Quantity<Voltage>)> {
    let setting = setting(job, amplifier).ok_or(Undecided::NotApplicable("no setting is stated"))?;
    let target = setting.gain_target.ok_or(Undecided::NotApplicable("no voltage is stated for the gain"))?;
    Ok((setting, target))
}

/// Loads on an amplifier.
pub fn loads<'j, 'a>(job: &'j Job<'a>, amplifier: &Thing<'_, Amplifier>) -> Vec<&'j Thing<'a, Load>> {
    job.loads.iter().filter(|load| load.amplifier.as_deref() == Some(amplifier.name)).collect()
}

/// The lowest ceiling among an amplifier's loads: one gain serves them all.
///
/// # Errors
/// The facts that are missing; not applicable without a load.
pub fn lowest<'j, 'a>(job: &'j Job<'a>, amplifier: &Thing<'_, Amplifier>) -> Decided<Ceiling<'j, 'a>> {
    let each = all(loads(job, amplifier).into_iter().map(|load| of(job, load)))?;
    let lowest = each.into_iter().min_by(|one, other| one.volts.low().total_cmp(&other.volts.low()));
    lowest.ok_or(Undecided::NotApplicable("no load hangs on this amplifier"))
}

fn of<'j, 'a>(job: &Job<'_>, load: &'j Thing<'a, Load>) -> Decided<Ceiling<'j, 'a>> {
    let loads::Ceiling { ohms, rated, drivers, volts } = loads::ceiling(job, load)?;
    Ok(Ceiling { load, ohms, rated, drivers, volts })
}
