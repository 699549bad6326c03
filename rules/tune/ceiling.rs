//! The highest voltage that an amplifier's output may show with the test tone.

use super::plays::{Part, part};
use crate::judge::Input;
use crate::plan::Load;
use crate::quantity::{Power, Range, Voltage};
use crate::solve::channels::Channels;
use crate::solve::{Decided, Job, Origin, Thing, Undecided, all, loads};

/// The ceiling of one load.
pub struct Ceiling<'a> {
    /// The load.
    pub load: Thing<'a, Load>,
    /// Nominal impedance in ohm.
    pub ohms: f64,
    /// What the amplifier is rated for into it.
    pub rated: Range<Power>,
    /// What its drivers take for good.
    pub drivers: Range<Power>,
    /// The voltage that gives the smaller of the two.
    pub volts: Range<Voltage>,
}

impl Ceiling<'_> {
    /// What the voltage was made from.
    pub fn inputs(&self) -> Vec<Input> {
        let coils = self.load.at("coils");
        let ohms = Range::<crate::quantity::Resistance>::point(self.ohms);
        let rated = Origin::Computed("the amplifier's ratings, between two of them on logarithmic scales");
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
    pub fn open(&self, channels: &Channels<'_>) -> Undecided {
        Undecided::need(loads::ratings_at(&self.load, &channels.amplifier))
    }
}

/// The ceiling that a voltage at outputs with one setting is held against: the lowest among their loads, since one gain
/// serves them all.
///
/// Where subwoofers and other speakers share a setting their gains are apart all the same, and the plan does not say whose
/// voltage it is: it has to be above the ceilings of both to be too high.
///
/// # Errors
/// The facts that are missing; not applicable without a load, and to a voltage between such ceilings.
pub fn against<'a>(job: &Job<'a>, channels: &Channels<'a>, volts: Range<Voltage>) -> Decided<Ceiling<'a>> {
    let mut each = all(channels.loads.iter().map(|load| of(job, load)))?;
    each.sort_by(|one, other| one.volts.low().total_cmp(&other.volts.low()));
    let highest = each.len().saturating_sub(1);
    if part(job, channels) != Ok(Part::Mixed) || each.first().is_some_and(|lowest| volts.high() <= lowest.volts.low()) {
        return each.into_iter().next().ok_or(Undecided::NotApplicable("no load hangs on these outputs"));
    }
    let highest = each.swap_remove(highest);
    if volts.low() <= highest.volts.high() {
        return Err(Undecided::NotApplicable(
            "subwoofers and other speakers: whose gain this is shows where a setting names its `outputs`",
        ));
    }
    Ok(highest)
}

/// The ceiling of outputs whose loads share one gain.
pub fn alone<'a>(job: &Job<'a>, channels: &Channels<'a>) -> Option<Ceiling<'a>> {
    against(job, channels, Range::point(f64::MIN_POSITIVE)).ok().filter(|_| part(job, channels) != Ok(Part::Mixed))
}

fn of<'a>(job: &Job<'_>, load: &Thing<'a, Load>) -> Decided<Ceiling<'a>> {
    let loads::Ceiling { ohms, rated, drivers, volts } = loads::ceiling(job, load)?;
    Ok(Ceiling { load: load.clone(), ohms, rated, drivers, volts })
}
