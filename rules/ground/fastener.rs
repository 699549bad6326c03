//! A ground stays tight by a bolt that is its own.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Ground, GroundFastener, GroundFastenerKind, GroundOn, Thread, word};
use crate::quantity::Gauge;
use crate::solve::{Decided, Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "GROUND-08",
    name: "ground-fastener",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("fastener.md"),
    check: Subjects::Ground(check),
    slips: &[
        super::Slip::Say("grounds.*.fastener.kind", &["sheet-metal-screw"]),
        super::Slip::Say("grounds.*.fastener.locking", &["false"]),
        super::Slip::Say("grounds.*.fastener.shared", &["true"]),
        super::Slip::Say("grounds.*.fastener.thread", &["M4", "M5", "M6"]),
    ],
};

/// One thing that can be wrong with a fastener: its key, whether it is wrong, and what to say.
type Fault = (&'static str, Option<bool>, &'static str, &'static str);

/// The largest conductor, in mm2, for which the bolt of a thread holds its ring down; M8 and more hold any (common
/// practice, no published source).
const HOLDS: [(Thread, f64); 4] = [(Thread::M3, 1.0), (Thread::M4, 2.5), (Thread::M5, 6.0), (Thread::M6, 25.0)];

fn check(ground: &Thing<'_, Ground>, job: &Job<'_>) -> Judged {
    let judged = judge(ground).and_then(|verdict| match thin_bolt(ground, job)? {
        Some(thin) if verdict.finding.is_none() => Ok(Verdict::fail(thin)),
        _ => Ok(verdict),
    });
    super::stays::where_it_stays(ground, judged)
}

/// A bolt too thin for the thickest return that it holds.
fn thin_bolt(ground: &Thing<'_, Ground>, job: &Job<'_>) -> Decided<Option<Finding>> {
    let ends_here = |wire: &&Thing<'_, crate::plan::Wire>| wire.terminals().any(|end| end.is("grounds", ground.name));
    let sized = job.wires.iter().filter(ends_here).filter_map(|wire| Some((wire, wire.size?)));
    let area = |size: Gauge| size.square_millimetres();
    let Some((wire, size)) = sized.max_by(|one, other| area(one.1).total_cmp(&area(other.1))) else { return Ok(None) };
    let thread = ground.fastener.as_ref().and_then(|fastener| fastener.thread);
    let thread = ground.need("fastener.thread", &thread)?;
    let least = HOLDS.iter().find(|(_, most)| area(size) <= *most).map_or(Thread::M8, |(thread, _)| *thread);
    Ok((thread < least).then(|| {
        let larger = larger_bolt(ground, least, job);
        let (thread, least) = (word(&thread), word(&least));
        Finding::new(
            ground.at("fastener.thread"),
            format!("ground of a {size} return on {thread}; {least} is the least"),
        )
        .label(format!("{thread} does not press its ring down"))
        .also(wire.at("size"), format!("{size}"))
        .because("a thin bolt cannot press a heavy ring hard enough: the joint gets hot, and works loose with it")
        .mend(format!("use {least} or larger, with a ring for it"))
        .offers(larger)
    }))
}

/// A bolt of this thread, with rings for it on the wires that say for which stud theirs are. The factory's studs are as they are.
fn larger_bolt(ground: &Thing<'_, Ground>, thread: Thread, job: &Job<'_>) -> Option<Offer> {
    if ground.on == Some(GroundOn::FactoryStud) {
        return None;
    }
    let bolt = Offer::new(format!("bolt it with {}", word(&thread))).set(ground.at("fastener.thread"), word(&thread));
    let rings = job.wires.iter().flat_map(|wire| {
        let ends = wire.ends.as_ref();
        let ends = [
            ("from", &wire.from, ends.and_then(|ends| ends.from.as_ref())),
            ("to", &wire.to, ends.and_then(|ends| ends.to.as_ref())),
        ];
        let here = ends.into_iter().filter(|(_, end, is)| {
            let has_ring = is.is_some_and(|is| is.stud.is_some());
            has_ring && end.as_ref().is_some_and(|end| end.is("grounds", ground.name))
        });
        here.map(|(key, ..)| wire.at(format!("ends.{key}.stud"))).collect::<Vec<_>>()
    });
    Some(rings.fold(bolt, |offer, ring| offer.set(ring, format!("{} mm", thread.millimetres()))))
}

fn judge(ground: &Thing<'_, Ground>) -> Judged {
    let faults = faults(ground.fastener.as_ref());
    let mut wrong = faults.iter().filter(|(_, wrong, ..)| *wrong == Some(true));
    if let Some((key, _, title, mend)) = wrong.next() {
        let finding = Finding::new(ground.at(*key), *title)
            .label("wanted: a locked bolt of its own")
            .because("a ground that works loose gets hot, makes noise and takes the amplifier down")
            .mend(*mend)
            .offer(super::site::own_bolt(ground));
        return Ok(Verdict::fail(
            wrong.fold(finding, |finding, (key, _, title, _)| finding.also(ground.at(*key), *title)),
        ));
    }
    let needs: Vec<_> =
        faults.iter().filter(|(_, wrong, ..)| wrong.is_none()).map(|(key, ..)| ground.at(*key)).collect();
    if needs.is_empty() { Ok(Verdict::pass()) } else { Err(Undecided::Open(needs)) }
}

fn faults(fastener: Option<&GroundFastener>) -> [Fault; 3] {
    let kind = fastener.and_then(|fastener| fastener.kind);
    let locking = fastener.and_then(|fastener| fastener.locking);
    [
        (
            "fastener.kind",
            kind.map(|kind| kind == GroundFastenerKind::SheetMetalScrew),
            "ground held by a sheet-metal screw",
            "use a bolt with a nut, a weld nut or a rivet nut, M6 or larger, with a toothed washer",
        ),
        (
            "fastener.locking",
            locking.map(|locking| !locking),
            "nothing keeps the ground from working loose",
            "add a toothed washer or a locking nut",
        ),
        (
            "fastener.shared",
            fastener.and_then(|fastener| fastener.shared),
            "ground shares its stud with something of the vehicle",
            "give the amplifier a bolt of its own",
        ),
    ]
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, outcome};

    fn plan(fastener: &str) -> String {
        format!("plan: 1\ngrounds: {{floor: {{fastener: {{{fastener}}}}}}}\n")
    }

    fn of(fastener: &str) -> Outcome {
        outcome(&plan(fastener), "GROUND-08", "grounds.floor")
    }

    #[test]
    fn a_bolt_of_its_own_that_is_locked_passes() {
        for kind in ["bolt", "stud", "rivet-nut"] {
            assert_eq!(of(&format!("kind: {kind}, locking: true, shared: false")), Outcome::Pass, "{kind}");
        }
        assert_eq!(of("kind: sheet-metal-screw, locking: true, shared: false"), Outcome::Fail);
        assert_eq!(of("kind: bolt, locking: false, shared: false"), Outcome::Fail);
        assert_eq!(of("kind: bolt, locking: true, shared: true"), Outcome::Fail);
    }

    /// The page's own table: M4 to 2.5 mm2, M5 to 6 mm2, M6 to about 4 AWG, M8 above (common practice, no published source).
    #[test]
    fn the_bolt_grows_with_the_return() {
        let of = |size: &str, thread: &str| {
            let text = plan(&format!("kind: rivet-nut, locking: true, shared: false{thread}"));
            let text = format!(
                "{text}wires: {{return: {{to: grounds.floor, size: {size}}}, thin: {{to: grounds.floor, size: 1 mm2}}}}\n"
            );
            outcome(&text, "GROUND-08", "grounds.floor")
        };
        for (size, least, thinner) in [
            ("2.5 mm2", "M4", "M3"),
            ("10 AWG", "M5", "M4"),
            ("4 AWG", "M6", "M5"),
            ("25 mm2", "M6", "M4"),
            ("2 AWG", "M8", "M6"),
            ("4/0 AWG", "M8", "M6"),
        ] {
            assert_eq!(of(size, &format!(", thread: {least}")), Outcome::Pass, "{size} on {least}");
            assert_eq!(of(size, &format!(", thread: {thinner}")), Outcome::Fail, "{size} on {thinner}");
        }
        assert_eq!(of("4 AWG", ""), Outcome::Open);
    }

    /// Only the ring on this ground, and only where a wire says for which stud it is.
    #[test]
    fn a_larger_bolt_takes_the_rings_on_it_along() {
        let text = plan("kind: bolt, locking: true, shared: false, thread: M5")
            + "wires:\n  return: {to: grounds.floor, size: 4 AWG, ends: {from: {kind: ring, stud: 5 mm}, to: {kind: ring, stud: 5 mm}}}\n  \
               other: {to: grounds.floor, size: 1 mm2, ends: {to: {kind: ring}}}\n";
        let offers = check(&text, "GROUND-08", "grounds.floor").finding.expect("it fails").offers;
        let places: Vec<String> = offers[0].deeds.iter().map(|(place, _)| place.path()).collect();
        assert_eq!(places, ["grounds.floor.fastener.thread", "wires.return.ends.to.stud"]);
    }

    #[test]
    fn what_is_wrong_for_sure_fails_and_what_is_not_said_is_open() {
        assert_eq!(of("kind: sheet-metal-screw"), Outcome::Fail);
        assert_eq!(of("kind: bolt, locking: true"), Outcome::Open);
        assert_eq!(of(""), Outcome::Open);
        let finding = check(&plan("locking: false, shared: true"), "GROUND-08", "grounds.floor").finding;
        assert_eq!(finding.map(|finding| finding.also.len()), Some(1));
    }

    /// A screw that is none to hold a ground is exchanged first, whatever its thread.
    #[test]
    fn the_wrong_kind_is_told_before_a_thin_bolt() {
        let text = plan("kind: sheet-metal-screw, locking: true, shared: false, thread: M4")
            + "wires: {return: {to: grounds.floor, size: 4 AWG}}\n";
        let title = check(&text, "GROUND-08", "grounds.floor").finding.expect("it fails").title;
        assert!(title.contains("screw"), "{title}");
    }

    /// The ring goes with the bolt, or it would not go on (WIRE-09); a stud of the factory's is not made larger.
    #[test]
    fn the_next_thread_that_is_enough_is_offered_with_a_ring_for_it() {
        let text = |on: &str| {
            format!(
                "plan: 1\ngrounds: {{floor: {{on: {on}, fastener: {{kind: bolt, locking: true, shared: false, thread: M5}}}}}}\n\
                 wires:\n  return: {{to: grounds.floor, size: 4 AWG, ends: {{to: {{kind: ring, stud: 5 mm, made: crimped}}}}}}\n  \
                 thin: {{to: grounds.floor, size: 1 mm2}}\n"
            )
        };
        let mended = &after(&text("body-sheet"), "GROUND-08", "grounds.floor")[0];
        assert!(mended.contains("thread: M6") && mended.contains("stud: 6 mm"), "{mended}");
        assert!(after(&text("factory-stud"), "GROUND-08", "grounds.floor").is_empty());
    }
}
