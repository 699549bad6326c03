//! A wire that its terminal does not take.

use super::site::{self, WireEnd, each_end};
use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_most};
use crate::plan::{Wire, word};
use crate::quantity::Gauge;
use crate::solve::{Decided, Job, Place, Thing, Undecided};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-05",
    name: "terminal-too-small",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("terminal.md"),
    check: Subjects::Each(|job| each_end(job, check)),
    slips: &[
        super::Slip::Past("amplifiers.*.terminals.power"),
        super::Slip::Past("amplifiers.*.terminals.speaker"),
        super::Slip::Past("wires.*.ends.*.takes"),
        super::Slip::Past("blocks.*.takes"),
        super::Slip::Past("blocks.*.outputs.*.takes"),
        super::Slip::Past("capacitors.*.takes"),
        super::Slip::Past("loads.*.lead.size"),
    ],
};

fn check(end: &WireEnd<'_, '_>, job: &Job<'_>) -> Judged {
    let (place, takes) = takes(end, job)?;
    let (wire, piece) = (end.wire, end.at("takes"));
    let size = wire.need("size", &wire.size)?;
    Ok(at_most(size.area(), takes.takes())
        .formula(
            "cross-section of the wire <= the largest that is sold as what goes into the terminal, or its metric neighbour",
        )
        .given(Input::word("wire size", size.to_string(), wire.at("size")))
        .given(Input::word("terminal takes", takes.to_string(), place.clone()))
        .limit_from(
            "the terminal's maker; metric sizes of American ones: IEC 60947-1, table 1 (from memory); what is sold as one size: common practice",
        )
        .verdict(|_| {
            let finding = |into: &str| {
                Finding::new(wire.at("size"), format!("{size} into {into} that takes {takes}"))
                    .label(format!("{} at {}", size.area(), end.name()))
                    .also(place.clone(), format!("takes {takes} at most"))
                    .because("strands that are cut off or left outside to make a wire fit leave a hot, loose joint")
            };
            // The piece was bought for another wire: it is cheaper than the wire, and the wire is what the rest was sized by.
            if place == piece {
                let kind = end
                    .end
                    .and_then(|end| end.kind)
                    .map_or("end piece".to_owned(), |kind| word(&kind).replace('-', " "));
                return finding(&words::a(&kind))
                    .mend(format!("fit {} for {size}", words::a(&kind)))
                    .offer(Offer::new(format!("fit {} for {size}", words::a(&kind))).set(place.clone(), size));
            }
            finding("a terminal")
                .mend(format!("fit a terminal or a reducing end piece for {size}, or a wire of at most {takes} there"))
                .offer(Offer::new(format!("lay {takes}")).set(wire.at("size"), takes))
        }))
}

/// An end of a wire that does not take a size, with the largest that it takes.
pub fn too_small(wire: &Thing<'_, Wire>, size: Gauge, job: &Job<'_>) -> Option<(String, Gauge)> {
    site::ends(wire).into_iter().find_map(|end| {
        let (_, takes) = takes(&end, job).ok()?;
        (size.area().low() > takes.takes().high()).then(|| (end.name(), takes))
    })
}

/// The largest conductor the terminal takes: what is on the wire's end, or what it is held in.
fn takes(end: &WireEnd<'_, '_>, job: &Job<'_>) -> Decided<(Place, Gauge)> {
    let piece = end.end.and_then(|piece| piece.takes).map(|takes| (end.at("takes"), takes));
    // A piece on the wire's end is made for the terminal it goes into: then the piece is what has to take the wire.
    if let Some(piece) = piece {
        return Ok(piece);
    }
    if let Some(amplifier) = end.amplifier(job) {
        let takes = amplifier.terminals.as_ref().and_then(|terminals| terminals.power);
        return Ok((amplifier.at("terminals.power"), amplifier.need("terminals.power", &takes)?));
    }
    let capacitor = end.terminal.and_then(|terminal| Some((terminal, job.plan.capacitors.get(&terminal.thing)?)));
    if let Some((terminal, capacitor)) = capacitor {
        let place = Place::of(format!("capacitors.{}.takes", terminal.thing));
        return capacitor.takes.map(|takes| (place.clone(), takes)).ok_or_else(|| Undecided::need(place));
    }
    // Most isolators have studs, on which the end piece is all there is to say.
    let isolator = end.terminal.filter(|terminal| !matches!(terminal.terminal.as_str(), "sense" | "remote"));
    let isolator = isolator.and_then(|terminal| Some((terminal, job.plan.isolators.get(&terminal.thing)?.takes?)));
    if let Some((terminal, takes)) = isolator {
        return Ok((Place::of(format!("isolators.{}.takes", terminal.thing)), takes));
    }
    let block = end.terminal.and_then(|terminal| {
        let block = job.blocks.iter().find(|block| block.name == terminal.thing)?;
        Some((block, terminal.terminal.as_str()))
    });
    let (block, terminal) =
        block.ok_or(Undecided::NotApplicable("nothing says what this end or its terminal takes"))?;
    let (key, takes) = match block.outputs.get(terminal) {
        Some(output) => (format!("outputs.{terminal}.takes"), output.takes),
        None if terminal == "in" => ("takes".to_owned(), block.takes),
        None => return Err(Undecided::NotApplicable("the block has no such terminal (PLAN-01 reports that)")),
    };
    Ok((block.at(key.clone()), block.need(key, &takes)?))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, finding, outcome};

    fn plan(size: &str, takes: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{{takes}}}}}\nblocks: {{hub: {{takes: 1/0 AWG, outputs: {{one: {{takes: 8 AWG}}, two: \
             {{}}}}}}}}\nwires:\n  main: {{from: battery.positive, to: hub.in, size: {size}}}\n  one: {{from: hub.one, to: \
             amp.power, size: {size}}}\n  two: {{from: hub.two, to: amp.power, size: {size}, ends: {{to: {{takes: 2 AWG}}}}}}\n"
        )
    }

    #[test]
    fn the_size_it_takes_passes_and_the_next_fails() {
        let takes = "terminals: {power: 4 AWG}";
        assert_eq!(outcome(&plan("4 AWG", takes), "WIRE-05", "wires.one.ends.to"), Outcome::Pass);
        assert_eq!(outcome(&plan("3 AWG", takes), "WIRE-05", "wires.one.ends.to"), Outcome::Fail);
        assert_eq!(outcome(&plan("22 mm2", takes), "WIRE-05", "wires.one.ends.to"), Outcome::Pass);
        let metric = "terminals: {power: 50 mm2}";
        assert_eq!(outcome(&plan("1/0 AWG", metric), "WIRE-05", "wires.one.ends.to"), Outcome::Pass, "53.5 mm2");
        assert_eq!(outcome(&plan("54 mm2", metric), "WIRE-05", "wires.one.ends.to"), Outcome::Fail);
        assert_eq!(outcome(&plan("25 mm2", takes), "WIRE-05", "wires.one.ends.to"), Outcome::Pass);
        assert_eq!(outcome(&plan("26 mm2", takes), "WIRE-05", "wires.one.ends.to"), Outcome::Fail);
        assert_eq!(outcome(&plan("35 mm2", takes), "WIRE-05", "wires.one.ends.to"), Outcome::Fail);
    }

    #[test]
    fn a_capacitors_terminals_take_what_it_says() {
        let of = |takes: &str| {
            let text = format!(
                "plan: 1\ncapacitors: {{cap: {{{takes}}}}}\nwires: {{back: {{from: cap.ground, size: 4 AWG}}}}\n"
            );
            check(&text, "WIRE-05", "wires.back.ends.from")
        };
        assert_eq!((of("takes: 4 AWG").outcome, of("takes: 6 AWG").outcome), (Outcome::Pass, Outcome::Fail));
        assert_eq!(of("").needs[0].path(), "capacitors.cap.takes");
    }

    #[test]
    fn blocks_count_by_input_and_output_and_a_piece_on_the_end_comes_first() {
        let text = plan("4 AWG", "terminals: {power: 8 AWG}");
        assert_eq!(outcome(&text, "WIRE-05", "wires.main.ends.to"), Outcome::Pass);
        assert_eq!(outcome(&text, "WIRE-05", "wires.one.ends.from"), Outcome::Fail);
        assert_eq!(outcome(&text, "WIRE-05", "wires.two.ends.to"), Outcome::Pass);
        assert_eq!(outcome(&text, "WIRE-05", "wires.main.ends.from"), Outcome::NotApplicable);
    }

    /// The wire was sized by ampacity and drop: a ring that was bought for another one is what goes.
    #[test]
    fn where_the_end_piece_is_too_small_another_piece_mends_it() {
        let text =
            "plan: 1\nwires: {main: {size: 4 AWG, ends: {from: {kind: ring, takes: 8 AWG}, to: {takes: 8 AWG}}}}\n";
        let ring = finding(text, "WIRE-05", "wires.main.ends.from");
        assert_eq!(ring.title, "4 AWG into a ring that takes 8 AWG");
        assert_eq!((ring.mend.as_str(), ring.offers.len()), ("fit a ring for 4 AWG", 1));
        assert_eq!(finding(text, "WIRE-05", "wires.main.ends.to").mend, "fit an end piece for 4 AWG");
        let after = after(text, "WIRE-05", "wires.main.ends.from");
        assert_eq!(outcome(&after[0], "WIRE-05", "wires.main.ends.from"), Outcome::Pass);
        assert_eq!(outcome(&after[0], "WIRE-09", "wires.main.ends.from"), Outcome::Open, "how it is made");
    }

    #[test]
    fn a_terminal_that_does_not_say_leaves_it_open() {
        let text = plan("4 AWG", "");
        assert_eq!(check(&text, "WIRE-05", "wires.one.ends.to").needs[0].path(), "amplifiers.amp.terminals.power");
        assert_eq!(check(&text, "WIRE-05", "wires.two.ends.from").needs[0].path(), "blocks.hub.outputs.two.takes");
    }

    #[test]
    fn the_end_is_named_and_a_terminal_that_is_not_there_takes_nothing() {
        let text = plan("3 AWG", "terminals: {power: 4 AWG}");
        assert!(finding(&text, "WIRE-05", "wires.one.ends.to").at.text.ends_with("at the end at `amp.power`"));
        let gone = text.replace("from: hub.two", "from: hub.nine");
        assert_eq!(outcome(&gone, "WIRE-05", "wires.two.ends.from"), Outcome::NotApplicable);
    }

    /// A charger with screw terminals says what goes in; one with studs says nothing.
    #[test]
    fn the_terminals_of_a_charger_take_what_it_says() {
        let of = |takes: &str, terminal: &str| {
            let text = format!(
                "plan: 1\nisolators: {{dcdc: {{kind: charger{takes}}}}}\nwires: {{one: {{to: dcdc.{terminal}, size: 4 AWG}}}}\n"
            );
            check(&text, "WIRE-05", "wires.one.ends.to").outcome
        };
        for terminal in ["in", "out", "ground"] {
            assert_eq!(of(", takes: 4 AWG", terminal), Outcome::Pass, "{terminal}");
            assert_eq!(of(", takes: 6 AWG", terminal), Outcome::Fail, "{terminal}");
            assert_eq!(of("", terminal), Outcome::NotApplicable, "{terminal}");
        }
        assert_eq!(of(", takes: 14 AWG", "sense"), Outcome::NotApplicable);
    }
}
