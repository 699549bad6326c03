//! Where wires stand in the supply: their ends, and which side they are on.

use crate::judge::{Judged, METRIC, Offer};
use crate::plan::{Amplifier, End, Terminal, Wire};
use crate::quantity::{Current, Gauge, Range};
use crate::solve::graph::LinkKind;
use crate::solve::{Decided, Job, Place, Thing, Undecided};

/// One end of a wire.
pub struct WireEnd<'j, 'a> {
    /// The wire.
    pub wire: &'j Thing<'a, Wire>,
    /// `from` or `to`.
    pub key: &'static str,
    /// What the plan says of it.
    pub end: Option<&'a End>,
    /// What it is connected to.
    pub terminal: Option<&'a Terminal>,
}

impl<'a> WireEnd<'_, 'a> {
    /// The place of one of its facts.
    pub fn at(&self, key: &str) -> Place {
        self.wire.at(format!("ends.{}.{key}", self.key))
    }

    /// A fact of the end that has to be stated to go on.
    pub fn need<F: Copy>(&self, key: &str, fact: impl Fn(&End) -> Option<F>) -> Decided<F> {
        self.end.and_then(fact).ok_or_else(|| Undecided::need(self.at(key)))
    }

    /// The amplifier whose supply terminal it is on.
    pub fn amplifier<'j>(&self, job: &'j Job<'a>) -> Option<&'j Thing<'a, Amplifier>> {
        let terminal = self.terminal?;
        let supply = matches!(terminal.terminal.as_str(), "power" | "ground");
        supply.then(|| job.amplifier(&terminal.thing)).flatten()
    }

    /// Where it is, for a title, with the terminal marked as a name.
    pub fn name(&self) -> String {
        match self.terminal {
            Some(terminal) => format!("the end at `{terminal}`"),
            None => format!("the `{}` end", self.key),
        }
    }
}

/// Both ends of a wire.
pub fn ends<'j, 'a>(wire: &'j Thing<'a, Wire>) -> [WireEnd<'j, 'a>; 2] {
    let stated = wire.plan().ends.as_ref();
    let terminals = (wire.plan().from.as_ref(), wire.plan().to.as_ref());
    [
        WireEnd { wire, key: "from", end: stated.and_then(|ends| ends.from.as_ref()), terminal: terminals.0 },
        WireEnd { wire, key: "to", end: stated.and_then(|ends| ends.to.as_ref()), terminal: terminals.1 },
    ]
}

/// Judges both ends of every wire.
pub fn each_end(job: &Job<'_>, check: fn(&WireEnd<'_, '_>, &Job<'_>) -> Judged) -> Vec<(Place, Judged)> {
    let ends = job.wires.iter().flat_map(ends);
    ends.map(|end| (end.wire.at(format!("ends.{}", end.key)), check(&end, job))).collect()
}

/// Which side of the supply a wire is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// It leads from a positive post to a load.
    Feed,
    /// It leads from a load to the body or to a negative post.
    Return,
}

/// Which side of the supply a wire is on, where exactly one is within reach through wires, blocks and isolators.
pub fn side(job: &Job<'_>, wire: &Thing<'_, Wire>) -> Option<Side> {
    let graph = job.graph();
    let run = |kind: &LinkKind| {
        matches!(kind, LinkKind::Wire(_) | LinkKind::Output(..) | LinkKind::Isolator(_) | LinkKind::ChargeCable)
    };
    let mut ends = wire.terminals().filter_map(|end| graph.terminal(end));
    let start = ends.next()?;
    let terminals = |name: &'static str| job.amplifiers.iter().filter_map(move |thing| graph.node(thing.name, name));
    let grounds = job.grounds.iter().filter_map(|ground| graph.node("grounds", ground.name));
    let feeds: Vec<usize> = graph.positives(job).into_iter().chain(terminals("power")).collect();
    let returns: Vec<usize> = graph.negatives(job).into_iter().chain(terminals("ground")).chain(grounds).collect();
    let reaches = |goals: &[usize]| graph.nearest(start, goals, run).is_some();
    match (reaches(&feeds), reaches(&returns)) {
        (true, false) => Some(Side::Feed),
        (false, true) => Some(Side::Return),
        _ => None,
    }
}

/// The next wire in stock that has at least this cross-section, in mm2; without one, the next that is made in the system of
/// a size that the plan states.
pub fn at_least(square_millimetres: f64, like: Gauge, job: &Job<'_>) -> Option<Gauge> {
    let stocked = job.house.stock.wire_at_least(square_millimetres);
    stocked.or_else(|| made_at_least(square_millimetres, like))
}

/// So many thicker sizes are tried.
const TRIED: usize = 6;

/// A thicker wire in the place of one, the next first.
pub fn lay_thicker(wire: &Thing<'_, Wire>, job: &Job<'_>) -> Vec<Offer> {
    let sizes = wire.size.map_or_else(Vec::new, |size| thicker(size, job));
    sizes.into_iter().take(TRIED).map(|size| Offer::new(format!("lay {size}")).set(wire.at("size"), size)).collect()
}

/// Thicker wires than one, the next first: those in stock, or those that are made in its system.
pub fn thicker(than: Gauge, job: &Job<'_>) -> Vec<Gauge> {
    let made = made(than);
    let stocked = &job.house.stock.wires;
    let sizes = if stocked.is_empty() { &made } else { stocked };
    let is_thicker = |size: &&Gauge| size.square_millimetres() > than.square_millimetres() * (1.0 + 1e-9);
    sizes.iter().filter(is_thicker).copied().collect()
}

/// What to lay in the place of a wire for so much current, in words, where `thicker` says what to do as long as a thicker one
/// helps: no size does where its insulation stands no more heat than its place has, nor beyond the thickest that is made.
pub fn enough(wire: &Thing<'_, Wire>, amperes: f64, thicker_one: &str, job: &Job<'_>) -> String {
    let carries = |size: Gauge| job.ampacity_at(wire, size).ampacity;
    let Some(size) = wire.size else { return thicker_one.to_owned() };
    if carries(size).high() <= 0.0 {
        return format!(
            "lay a wire of a better insulation class: one of {} carries nothing at {}, whatever its size (WIRE-04)",
            job.insulation(wire).range,
            job.ambient(wire).range
        );
    }
    // What is assumed of it may be better: only where the best would not do is a thicker one no help.
    if size_enough(wire, size, amperes, job) {
        return thicker_one.to_owned();
    }
    let most = thicker(size, job).last().map_or(size, |thickest| *thickest);
    let most = Range::<Current>::point(carries(most).high());
    format!(
        "lay several wires side by side, each with a fuse of its own for what it carries: no single one that is made carries \
         more than {most} here"
    )
}

fn size_enough(wire: &Thing<'_, Wire>, size: Gauge, amperes: f64, job: &Job<'_>) -> bool {
    let carries = |size: &Gauge| job.ampacity_at(wire, *size).ampacity.high() >= amperes * (1.0 - 1e-9);
    thicker(size, job).iter().any(carries)
}

/// Sizes that are made, thin to thick: preferred metric ones beside a metric size, American gauges beside others.
fn made(like: Gauge) -> Vec<Gauge> {
    match like {
        Gauge::Metric(_) => METRIC.into_iter().map(Gauge::Metric).collect(),
        Gauge::Awg(_) => (-3_i8..=18).rev().filter(|number| *number <= 2 || number % 2 == 0).map(Gauge::Awg).collect(),
    }
}

fn made_at_least(square_millimetres: f64, like: Gauge) -> Option<Gauge> {
    made(like).into_iter().find(|gauge| gauge.square_millimetres() >= square_millimetres * (1.0 - 1e-9))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Even numbers down to 2 AWG, then each: what is sold.
    #[test]
    fn wires_are_made_in_even_gauges_and_thick_ones_in_each() {
        let plan = crate::plan::read("plan: 1\n".to_owned()).plan;
        let house = crate::house::House::default();
        let job = Job::new(&plan, &house);
        let after = |than: &str| {
            let sizes = thicker(Gauge::read(than).expect("a gauge"), &job);
            sizes.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
        };
        assert_eq!(after("10 AWG"), "8 AWG 6 AWG 4 AWG 2 AWG 1 AWG 1/0 AWG 2/0 AWG 3/0 AWG 4/0 AWG");
        assert_eq!(after("21 mm2"), "25 mm2 35 mm2 50 mm2 70 mm2 95 mm2 120 mm2");
        assert_eq!(after("4/0 AWG"), "");
    }

    #[test]
    fn the_next_gauge_that_is_made_is_found_by_area() {
        for (least, gauge) in
            [(0.5, 18), (21.0, 4), (22.0, 2), (34.0, 1), (43.0, 0), (54.0, -1), (68.0, -2), (86.0, -3)]
        {
            assert_eq!(made_at_least(least, Gauge::Awg(8)), Some(Gauge::Awg(gauge)), "{least} mm2");
        }
        let four = Gauge::Awg(4);
        assert_eq!(made_at_least(6.1, Gauge::Metric(6.0)), Some(Gauge::Metric(10.0)));
        assert_eq!(made_at_least(four.square_millimetres(), four), Some(four));
        assert_eq!(made_at_least(120.0, four), None);
    }
}
