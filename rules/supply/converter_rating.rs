//! A step-down converter gives what it is made for and no more.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, Verdict, at_most};
use crate::plan::Isolator;
use crate::quantity::{Range, Voltage};
use crate::solve::{Case, Decided, Job, Known, Place, Undecided, all};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-20",
    name: "converter-over-rating",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("converter_rating.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Past("isolators.*.rated"), super::Slip::Say("isolators.*.rated", &["10 A", "15 A"])],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let step_downs = job.plan.isolators.iter().filter(|(_, isolator)| isolator.is_step_down());
    step_downs.map(|(name, isolator)| (Place::of(format!("isolators.{name}")), judge(name, isolator, job))).collect()
}

/// The voltage of a twelve-volt battery, in V: a converter holds its output below that of the battery before it.
const TWELVE: f64 = 12.0;

fn judge(name: &str, isolator: &Isolator, job: &Job<'_>) -> Judged {
    if let Some(multiple) = job.multiple_before(name)?
        && isolator.output_voltage.is_none_or(|held| held.base() >= multiple * TWELVE)
        && multiple < 2.0
    {
        return Ok(Verdict::fail(too_low(name, isolator, multiple)));
    }
    let asked: Vec<Decided<Known<_>>> =
        [Case::IdleFull, Case::OffFull].into_iter().map(|case| job.step_down_asked(name, case)).collect();
    // A case without an operating point is SUPPLY-04's; the other one is still judged.
    let works = |asked: &&Decided<_>| !matches!(asked, Err(Undecided::NotApplicable(_)));
    let judged: Vec<_> = asked.iter().filter(works).cloned().collect();
    let asked = all(if judged.is_empty() { asked } else { judged })?;
    let most = asked.iter().map(|known| known.range).reduce(Range::max).unwrap_or(Range::point(0.0));
    let place = Place::of(format!("isolators.{name}.rated"));
    let rated = isolator.rated.ok_or_else(|| Undecided::need(place.clone()))?;
    Ok(at_most(most, rated)
        .formula(
            "current that its output is asked for at full output, engine idling or off <= the current it is made for",
        )
        .given_all(asked.iter().map(|known| Input::known("asked of its output", known)))
        .limit_from("the converter's maker")
        .verdict(|is| {
            let found = is.result();
            Finding::new(
                place,
                format!("converter `{name}` is asked for {found} at full output, it is made for {rated}"),
            )
            .label(format!("made for {rated}"))
            .because("above its rating it lets the voltage fall or shuts down: the music stops in the loudest passage")
            .mend(format!(
                "fit one made for {} all the time, give a part of the gear a converter of its own, or plan less power",
                most.at_high()
            ))
        }))
}

/// A converter with no more before it than it is to give.
fn too_low(name: &str, isolator: &Isolator, multiple: f64) -> Finding {
    let place = Place::of(format!("isolators.{name}"));
    let comes = Range::<Voltage>::point(multiple * TWELVE);
    let gives = isolator.output_voltage.map_or_else(|| "12 V".to_owned(), |held| held.to_string());
    Finding::new(place.sub("kind"), format!("converter `{name}` is to make {gives} of the {comes} that come to it"))
        .label("steps down, and there is nothing to step down from")
        .also(Place::of("vehicle.voltage"), "the battery before it")
        .because("below its lowest input it stays off or passes on less than it gets, and what hangs on it is dead or starved")
        .mend("feed the gear from the battery; for a battery of its own behind the alternator fit a charger (isolator `kind: charger`)")
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    /// 160 W at 80 % are 200 W, at 13.8 V less what little the way loses 14.6 A, and 0.5 A of its own.
    fn plan(isolator: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 24 V, body: steel, body_resistance: 1 mohm, battery: {{internal_resistance: 10 mohm, \
             rest_voltage: 25 V}}, alternator: {{rated: 80 A, at_idle: 50 A, voltage: 28 V, control: fixed}}, \
             factory_load: {{running: 25 A}}}}\nisolators: {{down: {{kind: step-down{isolator}}}}}\n\
             amplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 0.5 A, \
             rated: [{{load: 4 ohm, power: 160 W}}]}}}}\ngrounds: {{beam: {{}}}}\nwires:\n  \
             main: {{from: battery.positive, to: down.in, size: 6 mm2, conductor: copper, length: 3 m, \
             fuse: {{form: blade-large, rating: 20 A, distance: 20 cm}}}}\n  \
             feed: {{from: down.out, to: amp.power, size: 6 mm2, conductor: copper, length: 50 cm}}\n  \
             minus: {{from: down.ground, to: grounds.beam, size: 6 mm2, conductor: copper, length: 30 cm}}\n  \
             return: {{from: amp.ground, to: grounds.beam, size: 6 mm2, conductor: copper, length: 30 cm}}\n"
        )
    }

    const SUBJECT: &str = "isolators.down";

    #[test]
    fn what_its_output_is_asked_for_is_held_against_its_rating() {
        let of = |rated: &str| check(&plan(&format!(", output_voltage: 13.8 V, rated: {rated}")), "SUPPLY-20", SUBJECT);
        assert_eq!(of("16 A").outcome, Outcome::Pass);
        assert_eq!(of("15 A").outcome, Outcome::Fail);
        let (low, high) = of("16 A").working.map(|is| (is.result.low, is.result.high)).unwrap_or_default();
        assert!(low > 200.0 / 13.8 + 0.5 && high < 200.0 / 13.6 + 0.5, "{low} {high}");
        assert_eq!(of(&format!("{} A", high + 0.01)).outcome, Outcome::Pass);
        assert_eq!(of(&format!("{} A", low - 0.01)).outcome, Outcome::Fail);
    }

    /// A battery that cannot give so much with the engine off is told by SUPPLY-04; what the alternator holds is judged still.
    #[test]
    fn a_case_that_does_not_work_leaves_the_other() {
        let text = plan(", output_voltage: 13.8 V, rated: 16 A")
            .replace("internal_resistance: 10 mohm", "internal_resistance: 2 ohm");
        assert_eq!(outcome(&text, "SUPPLY-20", SUBJECT), Outcome::Pass);
        assert_eq!(outcome(&text.replace("rated: 16 A", "rated: 15 A"), "SUPPLY-20", SUBJECT), Outcome::Fail);
    }

    #[test]
    fn its_label_tells_voltage_and_rating() {
        let need = |isolator: &str| check(&plan(isolator), "SUPPLY-20", SUBJECT).needs[0].path();
        assert_eq!(need(", rated: 20 A"), "isolators.down.output_voltage");
        assert_eq!(need(", output_voltage: 13.8 V"), "isolators.down.rated");
    }

    #[test]
    fn one_that_is_not_connected_throughout_is_another_rules() {
        let text = plan(", output_voltage: 13.8 V, rated: 16 A")
            .replace("minus: {from: down.ground, ", "minus: {from: amp.ground, ");
        assert_eq!(outcome(&text, "SUPPLY-20", SUBJECT), Outcome::NotApplicable);
    }

    /// What the truck's battery feels: 15.1 A at 13.8 V are 8.3 to 10 A at 25 V, with 85 to 95 % of them given.
    #[test]
    fn its_input_carries_less_current_than_its_output() {
        use crate::solve::Case;
        let reading = crate::plan::read(plan(", output_voltage: 13.8 V, rated: 16 A"));
        let house = crate::house::House::default();
        let job = crate::solve::Job::new(&reading.plan, &house);
        let of = |name: &str| {
            let wire = job.wires.iter().find(|wire| wire.name == name).expect("a wire");
            job.wire_current(wire, Case::OffFull).expect("solved").range
        };
        let (before, behind) = (of("main"), of("feed"));
        assert!(behind.low() > 14.9 && behind.high() < 15.4, "{behind}");
        assert!(before.low() > 8.5 && before.high() < 10.2, "{before}");
    }

    /// A charger makes 24 V in a vehicle of 12 V, and a battery of 24 V of its own may stand before it.
    #[test]
    fn where_twelve_volts_come_to_it_there_is_nothing_to_step_down() {
        let of = |vehicle: &str, output: &str| {
            let text =
                plan(&format!("{output}, rated: 16 A")).replace("voltage: 24 V, body", &format!("{vehicle}body"));
            check(&text, "SUPPLY-20", SUBJECT)
        };
        let found = of("voltage: 12 V, ", ", output_voltage: 13.8 V");
        let finding = found.finding.expect("it fails");
        assert_eq!(finding.title, "converter `down` is to make 13.8 V of the 12 V that come to it");
        assert_eq!(finding.at.place.path(), "isolators.down.kind");
        let near = of("voltage: 12 V, ", ", output_voltage: 12.5 V").finding.expect("it fails");
        assert_eq!(near.title, "converter `down` is to make 12.5 V of the 12 V that come to it");
        assert_eq!(
            of("voltage: 12 V, ", "").finding.expect("it fails").title,
            "converter `down` is to make 12 V of the 12 V that come to it"
        );
        assert_eq!(of("", ", output_voltage: 13.8 V").needs[0].path(), "vehicle.voltage");
        let small = of("voltage: 12 V, ", ", output_voltage: 5 V");
        assert!(small.finding.is_none_or(|finding| !finding.title.contains("is to make")));
        let added = plan(", output_voltage: 13.8 V, rated: 16 A")
            .replace("voltage: 24 V, body", "voltage: 12 V, body")
            .replace("from: battery.positive", "from: rear.positive")
            + "batteries: {rear: {rest_voltage: 25.4 V}}\n";
        assert!(
            check(&added, "SUPPLY-20", SUBJECT).finding.is_none_or(|finding| !finding.title.contains("is to make"))
        );
    }
}
