//! Aluminium, clad in copper or plain, bought by its size as if it were copper.

use super::site;
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Material, Wire};
use crate::quantity::{Area, Gauge, Range};
use crate::solve::{Job, Thing, conductor};

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-03",
    name: "clad-as-copper",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("clad.md"),
    check: Subjects::Wire(check),
    slips: &[
        super::Slip::Say("wires.*.conductor", &["copper-clad-aluminium", "aluminium"]),
        super::Slip::Say("loads.*.lead.conductor", &["copper-clad-aluminium"]),
    ],
};

fn check(wire: &Thing<'_, Wire>, job: &Job<'_>) -> Judged {
    let metal = wire.need("conductor", &wire.conductor)?;
    if metal == Material::Copper {
        return Ok(Verdict::pass());
    }
    let size = wire.need("size", &wire.size)?;
    Ok(Verdict::fail(finding(wire, size, metal, job)))
}

/// What to say of a metal: its name, why it matters, and what its ends ask for.
const fn words(metal: Material) -> (&'static str, &'static str, &'static str) {
    match metal {
        Material::Aluminium => (
            "aluminium",
            "it has 1.6 times the resistance of copper, creeps under a screw, and its oxide does not conduct: a lug made for copper loosens on it and gets hot",
            " with lugs made for aluminium",
        ),
        _ => (
            "copper-clad aluminium",
            "it has half again the resistance of copper, carries less and breaks sooner where it moves",
            "",
        ),
    }
}

fn finding(wire: &Thing<'_, Wire>, size: Gauge, metal: Material, job: &Job<'_>) -> Finding {
    let equal: Range<Area> = conductor::equal_copper(size, metal);
    let (metal, because, lugs) = words(metal);
    // The same conductance takes as much more aluminium as this size is worth less copper; the lower end is safe.
    let needed = size.square_millimetres().powi(2) / equal.low();
    let mend = match site::at_least(needed, size, job) {
        Some(clad) => format!("fit {size} of copper, or {clad} of {metal}{lugs}"),
        None => format!("fit {size} of copper"),
    };
    let title = format!("{size} {metal} conducts like {equal} of copper{}", size_below(equal.low()));
    Finding::new(wire.at("conductor"), title)
        .label(format!("{equal} of copper would do the same"))
        .also(wire.at("size"), format!("{size} is {} of metal", size.area()))
        .because(because)
        .mend(mend)
        .offer(Offer::new(format!("lay {size} of copper")).set(wire.at("conductor"), "copper"))
}

/// The thickest American gauge of copper that conducts no better.
fn size_below(square_millimetres: f64) -> String {
    let sizes = (-3_i8..=24).map(Gauge::Awg);
    let below = sizes.into_iter().find(|gauge| gauge.square_millimetres() <= square_millimetres);
    below.map(|gauge| format!(", no more than {gauge}")).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, outcome};

    fn plan(conductor: &str) -> String {
        format!("plan: 1\nwires: {{main: {{size: 4 AWG, {conductor}}}}}\n")
    }

    #[test]
    fn copper_passes_and_clad_aluminium_is_told_with_the_copper_it_equals() {
        assert_eq!(outcome(&plan("conductor: copper"), "WIRE-03", "wires.main"), Outcome::Pass);
        let check = check(&plan("conductor: copper-clad-aluminium"), "WIRE-03", "wires.main");
        assert_eq!(check.outcome, Outcome::Fail);
        // 4 AWG is 21.15 mm2; 62.9 % IACS of it is 13.30 mm2, and 6 AWG is 13.30 mm2 as well.
        let finding = check.finding.unwrap();
        assert!(finding.title.contains("13.3 to 14.1 mm2"), "{}", finding.title);
        // 21.15 / 0.629 = 33.6 mm2, just what 2 AWG (33.6 mm2) has.
        assert!(finding.mend.ends_with("copper-clad aluminium"), "{}", finding.mend);
    }

    #[test]
    fn a_metal_that_is_not_stated_leaves_it_open() {
        let open = check(&plan("length: 4 m"), "WIRE-03", "wires.main");
        assert_eq!(open.outcome, Outcome::Open);
        assert_eq!(open.needs[0].path(), "wires.main.conductor");
    }

    /// Aluminium of 61 % IACS: 21.15 mm2 are worth 12.9 mm2 of copper, less than 6 AWG (13.3 mm2). That it wants lugs of its own
    /// is common practice, no published source.
    #[test]
    fn plain_aluminium_is_told_with_the_lugs_that_it_asks_for() {
        let finding = finding(&plan("conductor: aluminium"), "WIRE-03", "wires.main");
        assert!(finding.title.starts_with("4 AWG aluminium conducts like 12.9 "), "{}", finding.title);
        assert!(finding.title.ends_with("no more than 7 AWG"), "{}", finding.title);
        assert_eq!(finding.mend, "fit 4 AWG of copper, or 1 AWG of aluminium with lugs made for aluminium");
    }

    /// 62.9 % of the conductance: from 4 to 6 AWG, from 4/0 (107.2 mm2, worth 67.4 mm2) to 2/0 (67.4 mm2) or 1/0.
    #[test]
    fn the_copper_that_it_is_worth_is_named_as_a_gauge_and_the_clad_wire_that_does() {
        let of = |size: &str| {
            let text = plan("conductor: copper-clad-aluminium").replace("4 AWG", size);
            finding(&text, "WIRE-03", "wires.main")
        };
        assert!(of("4 AWG").title.ends_with("no more than 6 AWG") || of("4 AWG").title.ends_with("7 AWG"));
        assert!(of("4/0 AWG").title.ends_with("2/0 AWG") || of("4/0 AWG").title.ends_with("1/0 AWG"));
        let clad = of("8 AWG").mend;
        let clad = clad.strip_prefix("fit 8 AWG of copper, or ").and_then(|rest| rest.split(" of ").next());
        let clad = crate::quantity::Gauge::read(clad.expect("a size")).expect("a gauge");
        let ratio = clad.square_millimetres() / crate::quantity::Gauge::Awg(8).square_millimetres();
        assert!((1.58..2.6).contains(&ratio), "{ratio}");
    }
}
