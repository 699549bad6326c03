//! Gear that is fed and told to go on: amplifiers, processors, converters, with what a plan states of all of them alike.

use super::known::{Decided, Place, Undecided};
use crate::plan::{Inputs, Plan, TurnOnOutput};
use crate::quantity::{Current, Quantity, Voltage, Window};

/// What gear is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GearKind {
    /// A power amplifier.
    Amplifier,
    /// A source of kind `processor`.
    Processor,
    /// A converter from speaker level to line level.
    Converter,
}

impl GearKind {
    /// What it is called.
    pub const fn noun(self) -> &'static str {
        match self {
            Self::Amplifier => "amplifier",
            Self::Processor => "processor",
            Self::Converter => "converter",
        }
    }

    /// Who says what it works with.
    pub const fn maker(self) -> &'static str {
        match self {
            Self::Amplifier => "the amplifier's maker",
            Self::Processor => "the processor's maker",
            Self::Converter => "the converter's maker",
        }
    }

    const fn section(self) -> &'static str {
        match self {
            Self::Amplifier => "amplifiers",
            Self::Processor => "sources",
            Self::Converter => "converters",
        }
    }
}

/// An amplifier, a processor or a converter.
#[derive(Debug, Clone)]
pub struct Gear<'a> {
    /// Its name.
    pub name: &'a str,
    /// Where it stands, like `sources.dsp`.
    pub place: Place,
    /// What it is.
    pub kind: GearKind,
    /// What it draws switched off, where the plan says so.
    pub off_current: Option<Quantity<Current>>,
    /// Whether it turns itself on when a signal comes.
    pub senses_signal: Option<bool>,
    /// Between which supply voltages it works, where the plan says so.
    pub operating_voltage: Option<Window<Voltage>>,
    pub(super) current: Option<Quantity<Current>>,
    pub(super) remote_current: Option<Quantity<Current>>,
}

/// All gear of a plan: amplifiers, then processors, then converters.
pub(super) fn of(plan: &Plan) -> Vec<Gear<'_>> {
    let senses = |inputs: &Option<Inputs>| inputs.as_ref().and_then(|inputs| inputs.senses_signal);
    let amplifiers = plan.amplifiers.iter().map(|(name, is)| {
        let drawn = [is.idle_current, is.off_current, is.remote_current];
        gear(GearKind::Amplifier, name, drawn, senses(&is.inputs), is.operating_voltage)
    });
    let processors = plan.sources.iter().filter(|(_, is)| is.is_processor()).map(|(name, is)| {
        let drawn = [is.current, is.off_current, is.remote_current];
        gear(GearKind::Processor, name, drawn, senses(&is.inputs), is.operating_voltage)
    });
    let converters = plan.converters.iter().map(|(name, is)| {
        let drawn = [is.current, is.off_current, is.remote_current];
        // One whose own output switches with the signal has to sense it.
        let senses = (is.turn_on_output == Some(TurnOnOutput::Switched)).then_some(true).or(is.senses_signal);
        gear(GearKind::Converter, name, drawn, senses, is.operating_voltage)
    });
    amplifiers.chain(processors).chain(converters).collect()
}

/// `drawn` on and silent, switched off, and by its turn-on terminal.
fn gear(
    kind: GearKind,
    name: &str,
    [current, off_current, remote_current]: [Option<Quantity<Current>>; 3],
    senses_signal: Option<bool>,
    operating_voltage: Option<Window<Voltage>>,
) -> Gear<'_> {
    let place = Place::of(format!("{}.{name}", kind.section()));
    Gear { name, place, kind, off_current, senses_signal, operating_voltage, current, remote_current }
}

impl Gear<'_> {
    /// Where the plan says whether it turns itself on when a signal comes.
    pub fn senses_at(&self) -> Place {
        self.place.sub(if self.kind == GearKind::Converter { "senses_signal" } else { "inputs.senses_signal" })
    }

    /// Between which supply voltages it works.
    ///
    /// # Errors
    /// The need for it.
    pub fn works_within(&self) -> Decided<Window<Voltage>> {
        self.operating_voltage.ok_or_else(|| Undecided::need(self.place.sub("operating_voltage")))
    }
}
