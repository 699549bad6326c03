//! Rings that do not fit their stud, ends that go on no stud, and end pieces that are not crimped.

use super::site::{WireEnd, each_end};
use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, Verdict, at_most};
use crate::plan::{End, EndKind, GroundFastener, JointKind, Thread, word};
use crate::quantity::{Current, Length, Range};
use crate::solve::{Case, Decided, Job, Place, Undecided};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-09",
    name: "ring-or-crimp",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("ring_and_crimp.md"),
    check: Subjects::Each(|job| each_end(job, check)),
    slips: &[
        super::Slip::Past("wires.*.ends.*.stud"),
        super::Slip::Say("wires.*.ends.*.stud", &["5 mm", "6 mm", "10 mm"]),
        super::Slip::Say("grounds.*.fastener.thread", &["M5", "M6", "M10"]),
        super::Slip::Say("wires.*.ends.*.made", &["screwed"]),
        super::Slip::Say("wires.*.ends.*.kind", &["bare"]),
        super::Slip::Say("wires.*.ends.*.takes", &["2 AWG", "1/0 AWG", "4/0 AWG"]),
    ],
};

/// A ring for 5/16 in sits on M8, one for 1/4 in on M6, one for 3/8 in on M10 (common practice, no published source).
const PLAY: f64 = 0.000_5;

/// Up to this cross-section, in mm2, one insulated end piece serves several sizes; beyond it each size has its own
/// (DIN 46234 and DIN 46235, from memory).
const OF_ONE_SIZE: f64 = 6.0;

/// A piece for more than so many times the cross-section of its wire does not hold: beyond one size each (DIN 46234 and DIN
/// 46235, from memory) it only lets the metric neighbour of an American size pass (common practice, no published source).
const LOOSE: f64 = 1.25;

/// What a flat push-on contact of 6.3 mm carries, in A (IEC 61210, from memory).
const PUSHED_ON: f64 = 25.0;

fn check(end: &WireEnd<'_, '_>, job: &Job<'_>) -> Judged {
    let kind = end.need("kind", |end: &End| end.kind)?;
    if let Some(finding) = no_ring(end, kind, job) {
        return Ok(Verdict::fail(finding));
    }
    if kind == EndKind::Bare {
        return Err(Undecided::NotApplicable("bare strands carry no end piece"));
    }
    let made = end.need("made", |end: &End| end.made)?;
    match made {
        JointKind::Crimped | JointKind::CrimpedAndSoldered => {}
        JointKind::Soldered | JointKind::Screwed => return Ok(Verdict::fail(uncrimped(end, kind, made))),
        JointKind::TwistedAndTaped | JointKind::Pierced => {
            return Err(Undecided::NotApplicable("WIRE-08 judges this joint"));
        }
    }
    if let Some(loose) = loose(end) {
        return Ok(Verdict::fail(loose));
    }
    match (kind, stud(end, job)) {
        (EndKind::PushOn, _) => pushed_on(end, job),
        (EndKind::Ring, Some(thread)) => {
            let mut verdict = fits(end, thread?)?;
            // A ground that has to move takes its ring along.
            if let Some(ground) = end.terminal.and_then(|terminal| job.ground(&terminal.terminal)) {
                verdict.finding = verdict.finding.map(|found| Box::new(found.follows("GROUND-04", ground.place())));
            }
            Ok(verdict)
        }
        _ => Ok(Verdict::pass()),
    }
}

/// Whether an end goes on a battery's post, the alternator's stud or a ground.
fn is_on_post(end: &WireEnd<'_, '_>, job: &Job<'_>) -> bool {
    end.terminal.is_some_and(|terminal| {
        matches!(terminal.thing.as_str(), "battery" | "alternator" | "grounds")
            || job.plan.batteries.contains_key(&terminal.thing)
    })
}

/// Strands on a post or a ground without a ring. A sleeve may go into the screw of a battery's clamp, under no bolt.
fn no_ring(end: &WireEnd<'_, '_>, kind: EndKind, job: &Job<'_>) -> Option<Finding> {
    let is_ground = end.terminal.is_some_and(|terminal| terminal.thing == "grounds");
    let wrong = match kind {
        EndKind::Bare => is_on_post(end, job),
        EndKind::Ferrule => is_ground,
        EndKind::Ring | EndKind::PushOn => false,
    };
    let piece = if is_ground { "a ring" } else { "a ring or a clamp" };
    let what = if kind == EndKind::Bare { "bare strands" } else { "a sleeve" };
    wrong.then(|| {
        Finding::new(end.at("kind"), format!("{what} at {}; {piece} is needed", end.name()))
            .label("nothing that a bolt can hold")
            .because("strands under a bolt spread and creep: the joint works loose, gets hot, and lets go of the whole battery")
            .mend(format!("crimp {piece} of the wire's size on it, with the tool made for it"))
            .offer(ring(end))
    })
}

fn ring(end: &WireEnd<'_, '_>) -> Offer {
    Offer::new("crimp a ring on it").set(end.at("kind"), "ring").set(end.at("made"), "crimped")
}

/// A push-on contact is held by its own spring: thin wires and small currents only.
fn pushed_on(end: &WireEnd<'_, '_>, job: &Job<'_>) -> Judged {
    let wire = end.wire;
    let size = wire.need("size", &wire.size)?;
    let instead = if is_on_post(end, job) { "a ring" } else { "a ring or the sleeve that its terminal asks for" };
    let finding = |title: String| {
        Finding::new(end.at("kind"), title)
            .label("held by its own spring")
            .because("a push-on contact that carries too much gets hot, its spring goes soft, and it gets hotter or falls off")
            .mend(format!("crimp {instead} on it"))
            .offer(ring(end))
    };
    if size.square_millimetres() > OF_ONE_SIZE {
        let title = format!("push-on contact on {size} at {}; they are made for 6 mm2 at most", end.name());
        return Ok(Verdict::fail(finding(title).also(wire.at("size"), format!("{size}"))));
    }
    let current = job.wire_current(wire, Case::IdleProgramme)?;
    Ok(at_most(current.range, Range::<Current>::point(PUSHED_ON))
        .formula("average current with programme <= what a push-on contact carries")
        .given(Input::known("current with programme", &current))
        .limit_from("IEC 61210, flat contact of 6.3 mm (from memory)")
        .verdict(|is| finding(format!("{} through a push-on contact that carries {}", is.result(), is.limit()))))
}

/// An end piece that is made for so much thicker a wire that no tool closes it on this one.
fn loose(end: &WireEnd<'_, '_>) -> Option<Finding> {
    let (size, takes) = (end.wire.size?, end.end?.takes?);
    let (wire, barrel) = (size.square_millimetres(), takes.square_millimetres());
    (barrel > OF_ONE_SIZE && barrel > wire * LOOSE).then(|| {
        Finding::new(end.at("takes"), format!("end piece for {takes} crimped on {size}"))
            .label("too wide for the wire")
            .also(end.wire.at("size"), format!("{size}"))
            .because("a barrel that is too wide closes on air: strands pull out, the joint gets hot")
            .mend(format!("fit a piece made for {size}; folding the strands back does not fill a barrel"))
            .offer(Offer::new(format!("fit a piece for {size}")).set(end.at("takes"), size))
    })
}

fn uncrimped(end: &WireEnd<'_, '_>, kind: EndKind, made: JointKind) -> Finding {
    let (piece, made) = (word(&kind).replace('-', " "), word(&made));
    Finding::new(end.at("made"), format!("{piece} at {} is only {made}; crimped is needed", end.name()))
        .label(made)
        .because("solder wicks up the strands, which then break beside it, and melts when the joint gets hot; a screw cuts them")
        .mend("crimp the piece with the tool made for it; solder after that only where the maker asks for it")
        .offer(Offer::new("crimp it").set(end.at("made"), "crimped"))
}

/// The thread of the ground that an end is bolted to.
fn stud(end: &WireEnd<'_, '_>, job: &Job<'_>) -> Option<Decided<(Place, Thread)>> {
    let terminal = end.terminal.filter(|terminal| terminal.thing == "grounds")?;
    let ground = job.ground(&terminal.terminal)?;
    let thread = ground.fastener.as_ref().and_then(|fastener: &GroundFastener| fastener.thread);
    let place = ground.at("fastener.thread");
    Some(ground.need("fastener.thread", &thread).map(|thread| (place, thread)))
}

fn fits(end: &WireEnd<'_, '_>, (place, thread): (Place, Thread)) -> Judged {
    let ring = end.need("stud", |end: &End| end.stud)?;
    let diameter = Range::<Length>::point(thread.millimetres() / 1000.0);
    let off = Range::<Length>::point((ring.base() - diameter.low()).abs());
    Ok(at_most(off, Range::<Length>::point(PLAY))
        .formula("difference between the stud the ring is made for and the thread")
        .given(Input::stated("ring for a stud of", ring, end.at("stud")))
        .given(Input::stated("thread", diameter, place.clone()))
        .limit_from("common practice, no published source: inch rings are used on the metric thread next to them")
        .verdict(|_| {
            let small = ring.base() < diameter.low();
            Finding::new(end.at("stud"), format!("ring for {} stud on {}", words::a(ring), word(&thread)))
                .label(if small { "too small to go on" } else { "too large to sit flat" })
                .also(place, format!("{} is {diameter}", word(&thread)))
                .because("a ring that is drilled out or sits loose touches on an edge and works itself free")
                .mend(format!("fit a ring for {diameter}"))
                .offer(Offer::new(format!("fit a ring for {diameter}")).set(end.at("stud"), diameter))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, finding, outcome};

    fn plan(end: &str, fastener: &str) -> String {
        format!(
            "plan: 1\ngrounds: {{floor: {{{fastener}}}}}\nwires: {{return: {{to: grounds.floor, ends: {{to: {{{end}}}}}}}}}\n"
        )
    }

    const M8: &str = "fastener: {thread: M8}";

    #[test]
    fn the_ring_for_the_thread_passes_and_rings_beyond_the_play_fail() {
        for (stud, expected) in [
            ("8 mm", Outcome::Pass),
            ("0.3125 in", Outcome::Pass),
            ("8.5 mm", Outcome::Pass),
            ("8.6 mm", Outcome::Fail),
            ("7.4 mm", Outcome::Fail),
            ("10 mm", Outcome::Fail),
            ("6 mm", Outcome::Fail),
        ] {
            let text = plan(&format!("kind: ring, stud: {stud}, made: crimped"), M8);
            assert_eq!(outcome(&text, "WIRE-09", "wires.return.ends.to"), expected, "{stud}");
        }
    }

    /// The ring for another bolt is bought when the ground has left the seat bolt.
    #[test]
    fn on_a_seat_bolt_it_only_follows() {
        let text = plan("kind: ring, stud: 8 mm, made: crimped", "on: seat-bolt, fastener: {thread: M10}");
        let follows =
            finding(&text, "WIRE-09", "wires.return.ends.to").follows.map(|(code, place)| (code, place.path()));
        assert_eq!(follows, Some(("GROUND-04", "grounds.floor".to_owned())));
        let reading = crate::plan::read(text);
        let judgement = crate::judge::judge(&reading, &crate::house::House::default(), &crate::rules::all());
        let ring = judgement.checks.iter().find(|check| check.rule.code == "WIRE-09" && check.finding.is_some());
        assert!(ring.is_some_and(|check| check.follows.is_some()));
    }

    #[test]
    fn an_end_piece_must_be_crimped_and_bare_strands_need_not() {
        for (end, expected) in [
            ("kind: ferrule, made: crimped", Outcome::Pass),
            ("kind: ferrule, made: crimped-and-soldered", Outcome::Pass),
            ("kind: ferrule, made: soldered", Outcome::Fail),
            ("kind: ring, made: screwed", Outcome::Fail),
            ("kind: bare, made: screwed", Outcome::NotApplicable),
            ("kind: ring, made: pierced", Outcome::NotApplicable),
        ] {
            let text = plan(end, M8).replace("to: grounds.floor", "to: amp.power");
            assert_eq!(outcome(&text, "WIRE-09", "wires.return.ends.to"), expected, "{end}");
        }
    }

    #[test]
    fn what_is_not_stated_is_asked_for_one_thing_after_the_other() {
        let need = |end: &str, fastener: &str| {
            let check = check(&plan(end, fastener), "WIRE-09", "wires.return.ends.to");
            assert_eq!(check.outcome, Outcome::Open);
            check.needs[0].path()
        };
        assert_eq!(need("strip: 6 mm", M8), "wires.return.ends.to.kind");
        assert_eq!(need("kind: ring", M8), "wires.return.ends.to.made");
        assert_eq!(need("kind: ring, made: crimped", M8), "wires.return.ends.to.stud");
        assert_eq!(need("kind: ring, made: crimped, stud: 8 mm", ""), "grounds.floor.fastener.thread");
    }

    #[test]
    fn a_ring_is_too_small_or_too_large() {
        let of = |stud: &str| {
            let text = plan(&format!("kind: ring, stud: {stud}, made: crimped"), M8);
            finding(&text, "WIRE-09", "wires.return.ends.to").at.text
        };
        assert_eq!((of("6 mm").as_str(), of("10 mm").as_str()), ("too small to go on", "too large to sit flat"));
    }

    /// DIN 46234 and DIN 46235 make a piece for one cross-section each (from memory). 4 AWG is 21.2 mm2: the piece for its metric
    /// neighbour of 25 mm2 closes on it, one for 2 AWG (33.6 mm2) does not.
    #[test]
    fn a_piece_for_a_thicker_wire_fails() {
        let of = |size: &str, takes: &str| {
            let end = format!("kind: ferrule, made: crimped, takes: {takes}");
            let text =
                plan(&end, M8).replace("return: {to: grounds.floor", &format!("return: {{size: {size}, to: amp.power"));
            outcome(&text, "WIRE-09", "wires.return.ends.to")
        };
        assert_eq!(of("8 AWG", "8 AWG"), Outcome::Pass);
        assert_eq!(of("8 AWG", "6 AWG"), Outcome::Fail);
        assert_eq!((of("4 AWG", "25 mm2"), of("4 AWG", "2 AWG")), (Outcome::Pass, Outcome::Fail));
        assert_eq!((of("8 AWG", "10 mm2"), of("6 AWG", "16 mm2")), (Outcome::Pass, Outcome::Pass));
        assert_eq!(of("18 AWG", "14 AWG"), Outcome::Pass, "small pieces serve several sizes");
        assert_eq!((of("2.5 mm2", "6 mm2"), of("2.5 mm2", "6.1 mm2")), (Outcome::Pass, Outcome::Fail));
        assert_eq!((of("10 mm2", "12.5 mm2"), of("10 mm2", "12.6 mm2")), (Outcome::Pass, Outcome::Fail));
    }

    /// A post, a stud and a ground hold a ring, a lug or a clamp (common practice, no published source).
    #[test]
    fn bare_strands_belong_into_a_terminal_and_never_on_a_post_or_a_ground() {
        let of = |to: &str, end: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nbatteries: {{rear: {{}}}}\ngrounds: {{floor: {{fastener: {{thread: M8}}}}}}\n\
                 wires: {{main: {{to: {to}, ends: {{to: {{{end}}}}}}}}}\n"
            );
            outcome(&text, "WIRE-09", "wires.main.ends.to")
        };
        for post in [
            "battery.positive",
            "battery.negative",
            "battery.body-side",
            "rear.positive",
            "alternator.positive",
            "grounds.floor",
        ] {
            assert_eq!(of(post, "kind: bare, made: screwed"), Outcome::Fail, "{post}");
        }
        assert_eq!(of("amp.power", "kind: bare, made: screwed"), Outcome::NotApplicable);
        // The screw of a clamp on the post takes a sleeve, the bolt of a ground does not.
        assert_eq!(of("battery.positive", "kind: ferrule, made: crimped"), Outcome::Pass);
        assert_eq!(of("grounds.floor", "kind: ferrule, made: crimped"), Outcome::Fail);
        assert_eq!(of("battery.positive", "kind: ring, made: crimped"), Outcome::Pass);
    }

    #[test]
    fn the_ring_that_is_offered_is_crimped() {
        let text = plan("kind: bare, made: screwed", M8);
        let after = after(&text, "WIRE-09", "wires.return.ends.to");
        assert!(after[0].contains("kind: ring, made: crimped"), "{after:?}");
    }

    /// IEC 61210 (from memory): flat contacts of 6.3 mm take wires up to 6 mm2 and carry 25 A. 330 W of class AB draw some 25 A
    /// with bass, 170 W half of that.
    #[test]
    fn a_push_on_contact_is_for_thin_wires_and_small_currents() {
        let of = |size: &str, watts: u32| {
            let text = format!(
                "plan: 1\nvehicle: {{voltage: 12 V, body: steel, body_resistance: 1 mohm, battery: {{rest_voltage: 12.6 V, \
                 internal_resistance: 5 mohm}}, alternator: {{rated: 300 A, at_idle: 200 A, voltage: 14 V}}, factory_load: \
                 {{running: 20 A}}}}\namplifiers: {{amp: {{class: AB, channels: 1, rated: [{{load: 4 ohm, power: {watts} W}}], \
                 efficiency: 55 %, idle_current: 1 A}}}}\ngrounds: {{floor: {{}}}}\nwires:\n  main: {{from: battery.positive, to: \
                 amp.power, size: {size}, conductor: copper, length: 1 m, ends: {{from: {{kind: push-on, made: crimped}}}}}}\n  \
                 return: {{from: amp.ground, to: grounds.floor, size: {size}, conductor: copper, length: 40 cm}}\n"
            );
            outcome(&text, "WIRE-09", "wires.main.ends.from")
        };
        assert_eq!((of("10 AWG", 170), of("6 mm2", 170)), (Outcome::Pass, Outcome::Pass));
        assert_eq!(of("10 AWG", 500), Outcome::Fail);
        assert_eq!(of("4 AWG", 170), Outcome::Fail);
    }

    #[test]
    fn bare_strands_and_a_sleeve_are_called_what_they_are() {
        let title = |end: &str| finding(&plan(end, M8), "WIRE-09", "wires.return.ends.to").title;
        assert!(title("kind: bare, made: screwed").starts_with("bare strands at "));
        assert!(title("kind: ferrule, made: crimped").starts_with("a sleeve at "));
    }
}
