//! What was fitted is what has to be judged, not what was planned.

use super::site;
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::Wire;
use crate::quantity::{Current, Gauge, Quantity};
use crate::solve::{Job, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "PROOF-09",
    name: "fitted-otherwise",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("fitted.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Past("measured.wires.*.fuse"),
        super::Slip::Past("measured.wires.*.size"),
        super::Slip::Say("measured.wires.*.fuse", &["80 A", "100 A", "200 A"]),
        super::Slip::Say("measured.wires.*.size", &["6 AWG", "8 AWG", "2 AWG"]),
    ],
};

/// A size by gauge and the same by its rounded area differ by up to this share: 4 AWG is 21.15 mm2 and sold as 21 mm2.
const SAME_SIZE: f64 = 0.02;

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let of = |wire| {
        let measured = site::of_wire(wire, job);
        let fuse = measured.and_then(|is| is.fuse).map(|fitted| (site::at(wire, "fuse"), fuse(wire, fitted)));
        let size = measured.and_then(|is| is.size).map(|fitted| (site::at(wire, "size"), size(wire, fitted)));
        [fuse, size].into_iter().flatten()
    };
    job.wires.iter().flat_map(of).collect()
}

/// The fuse of a wire in the plan: its key and its rating.
fn planned_fuse(wire: &Wire) -> Option<(&'static str, Option<Quantity<Current>>)> {
    let near = wire.fuse.as_ref().map(|fuse| ("fuse.rating", fuse.rating));
    near.or_else(|| wire.far_fuse.as_ref().map(|fuse| ("far_fuse.rating", fuse.rating)))
}

fn same_fuse(fitted: Quantity<Current>, planned: Quantity<Current>) -> bool {
    (fitted.base() - planned.base()).abs() <= planned.base() * 1e-9
}

fn same_size(fitted: Gauge, planned: Gauge) -> bool {
    (fitted.square_millimetres() / planned.square_millimetres() - 1.0).abs() <= SAME_SIZE
}

/// Where a wire says that something else was fitted than planned.
pub fn differs(wire: &Thing<'_, Wire>, job: &Job<'_>) -> Option<Place> {
    let measured = site::of_wire(wire, job)?;
    let size = measured.size.zip(wire.size).filter(|(fitted, planned)| !same_size(*fitted, *planned));
    let planned = planned_fuse(wire).and_then(|(_, rating)| rating);
    let fuse = measured.fuse.zip(planned).filter(|(fitted, planned)| !same_fuse(*fitted, *planned));
    size.map(|_| site::at(wire, "size")).or(fuse.map(|_| site::at(wire, "fuse")))
}

fn fuse(wire: &Thing<'_, Wire>, fitted: Quantity<Current>) -> Judged {
    let place = site::at(wire, "fuse");
    let Some((key, planned)) = planned_fuse(wire) else {
        return Ok(Verdict::fail(
            Finding::new(place, format!("{fitted} fuse fitted in `{}`, the plan has none there", wire.name))
                .label("not in the plan")
                .also(wire.place(), "no fuse here")
                .because("a fuse that is not in the plan was never judged: neither its rating nor where it sits")
                .mend(format!("write the fuse into the plan at `wires.{}.fuse` and judge it again", wire.name)),
        ));
    };
    let planned = planned.ok_or_else(|| Undecided::need(wire.at(key)))?;
    let is_larger = fitted.base() > planned.base();
    Ok(Verdict::pass_if(same_fuse(fitted, planned), || {
        let (label, why) = if is_larger {
            ("larger than planned", "a larger fuse than planned lets the wire glow before it opens")
        } else {
            (
                "smaller than planned",
                "a smaller fuse than planned opens with the music, and is then replaced by whatever is at hand",
            )
        };
        Finding::new(place, format!("{fitted} fuse fitted in `{}` where {planned} is planned", wire.name))
            .label(label)
            .also(wire.at(key), "planned")
            .because(why)
            .mend(format!("fit {planned}, or write {fitted} into the plan and judge it again before it is handed over"))
    }))
}

fn size(wire: &Thing<'_, Wire>, fitted: Gauge) -> Judged {
    let planned = wire.need("size", &wire.size)?;
    let is_thinner = fitted.square_millimetres() < planned.square_millimetres();
    Ok(Verdict::pass_if(same_size(fitted, planned), || {
        let (label, why) = if is_thinner {
            (
                "thinner than planned",
                "a thinner wire than planned carries less: the fuse in front of it may be too large for it",
            )
        } else {
            (
                "thicker than planned",
                "a thicker wire is no danger by itself, but its ends and terminals were planned for another",
            )
        };
        Finding::new(site::at(wire, "size"), format!("{fitted} fitted as `{}` where {planned} is planned", wire.name))
            .label(label)
            .also(wire.at("size"), "planned")
            .because(why)
            .mend(format!("fit {planned}, or write {fitted} into the plan and judge it again before it is handed over"))
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(wire: &str, measured: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nwires: {{main: {{from: battery.positive, to: amp.power, {wire}}}}}\n\
             measured: {{wires: {{main: {{{measured}}}}}}}\n"
        )
    }

    fn of(wire: &str, measured: &str, key: &str) -> Outcome {
        outcome(&plan(wire, measured), "PROOF-09", &format!("measured.wires.main.{key}"))
    }

    #[test]
    fn the_planned_fuse_passes_and_any_other_fails_both_ways() {
        assert_eq!(of("fuse: {rating: 60 A}", "fuse: 60 A", "fuse"), Outcome::Pass);
        assert_eq!(of("far_fuse: {rating: 60 A}", "fuse: 60 A", "fuse"), Outcome::Pass);
        let label = |fitted: &str| {
            let text = plan("fuse: {rating: 60 A}", &format!("fuse: {fitted}"));
            check(&text, "PROOF-09", "measured.wires.main.fuse").finding.expect("a finding").at.text
        };
        assert_eq!(label("61 A"), "larger than planned");
        assert_eq!(label("50 A"), "smaller than planned");
        assert_eq!(of("size: 4 AWG", "fuse: 60 A", "fuse"), Outcome::Fail);
        assert_eq!(of("fuse: {form: bolt-down}", "fuse: 60 A", "fuse"), Outcome::Open);
    }

    /// 21 mm2 are 4 AWG (21.15 mm2) by another name; 16 mm2 are not, and 2 AWG (33.6 mm2) is thicker.
    #[test]
    fn the_planned_size_passes_by_either_name() {
        assert_eq!(of("size: 4 AWG", "size: 4 AWG", "size"), Outcome::Pass);
        assert_eq!(of("size: 4 AWG", "size: 21 mm2", "size"), Outcome::Pass);
        let label = |fitted: &str| {
            let text = plan("size: 4 AWG", &format!("size: {fitted}"));
            check(&text, "PROOF-09", "measured.wires.main.size").finding.expect("a finding").at.text
        };
        assert_eq!(label("16 mm2"), "thinner than planned");
        assert_eq!(label("2 AWG"), "thicker than planned");
        let open = check(&plan("length: 5 m", "size: 4 AWG"), "PROOF-09", "measured.wires.main.size");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "wires.main.size"));
    }
}
