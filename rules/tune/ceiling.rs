//! The highest voltage that an amplifier's output may show with the test tone.

use super::plays::{Part, part};
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
        let drivers = Origin::Computed("the drivers' ratings, until the first coil on this load is at its own");
        vec![
            Input::stated("impedance", ohms, coils),
            Input::from("rated power", self.rated, rated),
            Input::from("drivers' power", self.drivers, drivers),
            Input::from("power", self.power(), Origin::Computed("the smaller of the two")),
        ]
    }

    /// The smaller of what the amplifier gives and what the drivers take.
    pub fn power(&self) -> Range<Power> {
        self.rated.min(self.drivers)
    }

    /// Where the ratings stand that leave a comparison with this ceiling open: above the largest rated load only bounds
    /// are known.
    pub fn open(&self, amplifier: &Thing<'_, Amplifier>) -> Undecided {
        Undecided::need(amplifier.at(loads::ratings_key(self.load)))
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

/// The ceiling that a voltage at an amplifier's outputs is held against: the lowest among its loads, since one gain
/// serves them all.
///
/// Subwoofers and other speakers on one amplifier have gains of their own, and the plan does not say whose voltage it is:
/// it has to be above the ceilings of both to be too high.
///
/// # Errors
/// The facts that are missing; not applicable without a load, and to a voltage between such ceilings.
pub fn against<'j, 'a>(
    job: &'j Job<'a>,
    amplifier: &Thing<'_, Amplifier>,
    volts: Range<Voltage>,
) -> Decided<Ceiling<'j, 'a>> {
    let mut each = all(loads(job, amplifier).into_iter().map(|load| of(job, load)))?;
    each.sort_by(|one, other| one.volts.low().total_cmp(&other.volts.low()));
    let highest = each.len().saturating_sub(1);
    if part(job, amplifier) != Ok(Part::Mixed) || each.first().is_some_and(|lowest| volts.high() <= lowest.volts.low())
    {
        return each.into_iter().next().ok_or(Undecided::NotApplicable("no load hangs on this amplifier"));
    }
    let highest = each.swap_remove(highest);
    if volts.low() <= highest.volts.high() {
        return Err(Undecided::NotApplicable(
            "subwoofers and other speakers: the plan does not say whose gain this is",
        ));
    }
    Ok(highest)
}

/// The ceiling of an amplifier whose loads share one gain.
pub fn alone<'j, 'a>(job: &'j Job<'a>, amplifier: &Thing<'_, Amplifier>) -> Option<Ceiling<'j, 'a>> {
    against(job, amplifier, Range::point(f64::MIN_POSITIVE)).ok().filter(|_| part(job, amplifier) != Ok(Part::Mixed))
}

fn of<'j, 'a>(job: &Job<'_>, load: &'j Thing<'a, Load>) -> Decided<Ceiling<'j, 'a>> {
    let loads::Ceiling { ohms, rated, drivers, volts } = loads::ceiling(job, load)?;
    Ok(Ceiling { load, ohms, rated, drivers, volts })
}
