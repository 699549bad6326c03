//! Air that rushes through a vent too small for it is heard.

use super::site::{self, Site};
use crate::judge::{Figure, Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_most};
use crate::plan::EnclosureKind;
use crate::quantity::{Length, Power, Quantity, Range, Speed, Volume};
use crate::solve::enclosure::{Opening, tuning, vent_speed};
use crate::solve::{Job, Origin, all};

/// The rule.
pub const RULE: Rule = Rule {
    code: "BOX-03",
    name: "vent-speed",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("vent_speed.md"),
    check: Subjects::Each(|job| site::each(job, check)),
    slips: &[
        super::Slip::Past("enclosures.*.vent.width"),
        super::Slip::Past("enclosures.*.vent.height"),
        super::Slip::Past("enclosures.*.vent.length"),
        super::Slip::Past("enclosures.*.vent.diameter"),
    ],
};

/// The longest vent that goes into a box of a car, in metres (common practice, no published source).
const LONGEST: f64 = 1.0;

fn check(site: &Site<'_>, job: &Job<'_>) -> Judged {
    let driver = site.parameters()?;
    site.only(EnclosureKind::Vented, "the box has no vent")?;
    let (litres, vent) = (site.net()?.0.base(), site.vent()?);
    let each = all(site.drivers.iter().map(|driver| driver.need("rms", &driver.rms)))?;
    let power = Quantity::<Power>::new(each.iter().map(|power| power.base()).sum());
    // What a vented box is built for is music: the loudest passages of bass, and no tone that stands for minutes.
    let share = &job.house.assumptions.duty_bass;
    let duty = share.range.high();
    let programme = Quantity::<Power>::new(power.base() * duty);
    // To a tenth, as it is told.
    let speed = (vent_speed(driver, litres, vent, programme.base()) * 10.0).round() / 10.0;
    // A litre a second through a square centimetre moves at ten metres a second.
    let area = vent.area * vent.count * 1e4;
    let flow = speed * area / 10.0;
    let limit = job.house.limits.vent_speed;
    let place = site.enclosure.at("vent");
    Ok(at_most(Range::<Speed>::point(speed), limit.value)
        .formula("10 x flow of air / area of the vent, at the tuning, with programme, for a box without losses")
        .given_all(
            site.drivers.iter().zip(&each).map(|(driver, own)| Input::stated("rated power", *own, driver.at("rms"))),
        )
        .given_all((each.len() > 1).then(|| Input::from("of all drivers in it", power, Origin::Computed("added"))))
        .given(Input::from("share with programme", Figure::ratio(duty, duty), Origin::House(share.name, share.source)))
        .given(Input::from("flow of air", Figure::ratio(flow, flow), Origin::Computed("litres a second, peak")))
        .given(Input::from("area of the vent", Figure::ratio(area, area), Origin::Computed("square centimetres")))
        .limit_from(limit.source)
        .verdict(|is| {
            Finding::new(
                place,
                format!("air at {} in the vent with {programme} of bass, {} allowed", is.result(), is.limit()),
            )
            .label(format!("tuned to {:.0} Hz", tuning(vent, litres)))
            .because("fast air hisses and chuffs at the ends of the vent, and the vent stops working as one")
            .mend(mend(site, vent, speed / limit.base()))
            .offers(wider(site, vent, speed / limit.base()))
        }))
}

/// The vent widened and lengthened so that it keeps its tuning, where it is round.
fn wider(site: &Site<'_>, vent: Opening, over: f64) -> Option<Offer> {
    let stated = site.enclosure.vent.as_ref()?;
    let diameter = stated.diameter?;
    let times = (over * 10.0).ceil() / 10.0;
    let length = vent.widened(times).length;
    let across = whole(diameter.with_base(diameter.base() * times.sqrt()));
    let long = whole(stated.length.unwrap_or(diameter).with_base(length));
    let offer = Offer::new(format!("vent of {across}, {long} long")).set(site.enclosure.at("vent.diameter"), across);
    let offer = offer.set(site.enclosure.at("vent.length"), long);
    // The net volume stays, so what is around it grows.
    let offer = match (site.enclosure.gross_volume, more(site, vent, times)) {
        (Some(gross), Some(more)) => {
            let gross = gross.with_base(gross.base() + more.base()).rounded_up();
            offer.set(site.enclosure.at("gross_volume"), gross)
        }
        _ => offer,
    };
    (length <= LONGEST).then_some(offer)
}

/// How much more room than now the vent takes that is so many times as wide, in the unit of the box; walls not counted.
fn more(site: &Site<'_>, vent: Opening, times: f64) -> Option<Quantity<Volume>> {
    let (net, _) = site.net().ok()?;
    Some(net.with_base(vent.widened(times).litres() - vent.litres()).rounded_up())
}

/// A length to the whole millimetre, or to three digits of another unit that somebody wrote it in.
fn whole(length: Quantity<Length>) -> Quantity<Length> {
    let is_metric = length.unit().is_none_or(|unit| unit.shown);
    if is_metric { length.with_base((length.base() * 1000.0).ceil() / 1000.0) } else { length.rounded_up() }
}

/// How much larger the vent has to be, and how long then.
fn mend(site: &Site<'_>, vent: Opening, over: f64) -> String {
    let times = (over * 10.0).ceil() / 10.0;
    let wider = vent.widened(times);
    if wider.length <= LONGEST {
        let (area, length) = ((wider.area * vent.count * 1e4).ceil(), Quantity::<Length>::new(wider.length));
        let room = more(site, vent, times)
            .map_or(String::new(), |more| format!("; it takes {more} more of the gross volume, and its walls besides"));
        format!(
            "give the vent {times} times the area, {area:.0} cm2, at a length of {length}, which keeps the tuning{room}"
        )
    } else {
        format!(
            "give the vent {times} times the area; at this tuning that takes {:.1} m of it, so look for a larger box or less power",
            wider.length
        )
    }
}

#[cfg(test)]
mod tests {
    use crate::judge::{Outcome, Value};
    use crate::rules::trial::{after, check, offered, outcome};

    fn speed(vent: &str, power: &str) -> Outcome {
        let text = format!(
            "plan: 1\ndrivers: {{sub: {{enclosure: box, {power} resonance: 30 Hz, total_q: 0.4, compliance_volume: 60 L}}}}\n\
             enclosures: {{box: {{kind: vented, net_volume: 50 L, vent: {{{vent}}}}}}}\n"
        );
        outcome(&text, "BOX-03", "enclosures.box")
    }

    /// Each driver's power stands at its own place, and what they come to together is a sum.
    #[test]
    fn what_two_drivers_are_rated_for_is_told_of_each() {
        let sub = "{enclosure: box, rms: 100 W, resonance: 30 Hz, total_q: 0.4, compliance_volume: 60 L}";
        let text = format!(
            "plan: 1\ndrivers: {{one: {sub}, two: {sub}}}\nenclosures: {{box: {{kind: vented, net_volume: 50 L, vent: \
             {{diameter: 50 mm, length: 60 mm}}}}}}\n"
        );
        let working = check(&text, "BOX-03", "enclosures.box").working.expect("it has a working");
        let power = |at: usize| match &working.inputs[at].value {
            Value::Figure(figure) => figure.high,
            Value::Word(word) => panic!("{word} is no number"),
        };
        let stated =
            |driver: &str| crate::solve::Origin::Stated(crate::solve::Place::of(format!("drivers.{driver}.rms")));
        assert_eq!([0, 1].map(|at| working.inputs[at].origin.clone()), ["one", "two"].map(stated));
        assert_eq!([0, 1, 2].map(power), [100.0, 100.0, 200.0]);
    }

    /// 50 mm are 19.6 cm2. The speed is in proportion to one over the area as long as the tuning stays.
    #[test]
    fn the_mend_is_a_vent_that_passes() {
        let text = |vent: &str| {
            format!(
                "plan: 1\ndrivers: {{sub: {{enclosure: box, rms: 100 W, resonance: 30 Hz, total_q: 0.4, compliance_volume: 60 L}}}}\n\
                 enclosures: {{box: {{kind: vented, net_volume: 50 L, vent: {{{vent}}}}}}}\n"
            )
        };
        let mend =
            check(&text("diameter: 50 mm, length: 60 mm"), "BOX-03", "enclosures.box").finding.expect("it fails").mend;
        let words: Vec<&str> = mend.split(' ').collect();
        let at = |word: &str| words.iter().position(|other| *other == word).expect("it says so");
        let area: f64 = words[at("cm2,") - 1].parse().expect("an area");
        let length = format!("{} {}", words[at("of") + 1], words[at("of") + 2].trim_end_matches(','));
        let vent = format!("width: {area} cm, height: 1 cm, length: {length}");
        assert_eq!(outcome(&text(&vent), "BOX-03", "enclosures.box"), Outcome::Pass, "{mend}");
    }

    /// The net volume stays: what a longer vent takes is added around it, or BOX-05 finds it missing.
    #[test]
    fn a_box_of_stated_gross_volume_grows_with_its_vent() {
        let text = "plan: 1\ndrivers: {sub: {enclosure: box, rms: 300 W, displacement: 2 L, resonance: 30 Hz, total_q: 0.4, \
                    compliance_volume: 60 L}}\nenclosures: {box: {kind: vented, gross_volume: 52.5 L, net_volume: 50 L, vent: {diameter: \
                    50 mm, length: 60 mm, count: 2}}}\n";
        assert_eq!(outcome(text, "BOX-05", "enclosures.box"), Outcome::Pass);
        let after = after(text, "BOX-03", "enclosures.box");
        // 52.5 L and 5.22 L more.
        assert!(after[0].contains("gross_volume: 57.8 L"), "{}", after[0]);
        for code in ["BOX-03", "BOX-05"] {
            assert_eq!(outcome(&after[0], code, "enclosures.box"), Outcome::Pass, "{code} {}", after[0]);
        }
    }

    #[test]
    fn a_narrow_vent_is_too_fast_at_power_and_not_at_a_whisper() {
        assert_eq!(speed("diameter: 50 mm, length: 100 mm", "rms: 500 W,"), Outcome::Fail);
        assert_eq!(speed("diameter: 50 mm, length: 100 mm", "rms: 1 W,"), Outcome::Pass);
        assert_eq!(speed("width: 400 mm, height: 80 mm, length: 700 mm", "rms: 300 W,"), Outcome::Pass);
        assert_eq!(speed("diameter: 50 mm", "rms: 500 W,"), Outcome::Open);
        assert_eq!(speed("diameter: 50 mm, length: 100 mm", ""), Outcome::Open);
    }

    /// A round vent is offered wider and longer: what is offered passes, and is tuned as the old one.
    #[test]
    fn the_round_vent_that_is_offered_passes() {
        let text = |vent: &str| {
            format!(
                "plan: 1\ndrivers: {{sub: {{enclosure: box, rms: 100 W, resonance: 30 Hz, total_q: 0.4, compliance_volume: 60 L}}}}\n\
                 enclosures: {{box: {{kind: vented, net_volume: 50 L, vent: {{{vent}}}}}}}\n"
            )
        };
        let offer = offered(&text("diameter: 50 mm, length: 60 mm"), "BOX-03", "enclosures.box")[0].clone();
        assert_eq!(offer.1, ["enclosures.box.vent.diameter", "enclosures.box.vent.length"]);
        let (across, long) =
            offer.0.strip_prefix("vent of ").and_then(|rest| rest.split_once(", ")).expect("its words");
        let vent = format!("diameter: {across}, length: {}", long.trim_end_matches(" long"));
        assert_eq!(outcome(&text(&vent), "BOX-03", "enclosures.box"), Outcome::Pass, "{vent}");
        let metres = |words: &str| words.trim_end_matches(" mm").parse::<f64>().expect("millimetres") / 1000.0;
        let tuned = |across: f64, length: f64| {
            let area = std::f64::consts::PI / 4.0 * across * across;
            super::tuning(super::Opening { area, length, count: 1.0 }, 50.0)
        };
        let (old, new) = (tuned(0.05, 0.06), tuned(metres(across), metres(long.trim_end_matches(" long"))));
        assert!((new / old - 1.0).abs() < 0.01, "{old} and {new} Hz");
    }

    /// Two vents of 19.6 cm2 in 50 L are tuned to 49.2 Hz. A third of 300 W moves 274 L/s of air through them, which is
    /// 69.7 m/s: 4.1 times too fast.
    #[test]
    fn what_moves_and_how_much_wider_the_vents_have_to_be_is_told() {
        let text = "plan: 1\ndrivers: {sub: {enclosure: box, rms: 300 W, resonance: 30 Hz, total_q: 0.4, compliance_volume: 60 L}}\n\
                    enclosures: {box: {kind: vented, net_volume: 50 L, vent: {diameter: 50 mm, length: 60 mm, count: 2}}}\n";
        let check = check(text, "BOX-03", "enclosures.box");
        let working = check.working.expect("it is computed");
        let figure = |name: &str| match working.inputs.iter().find(|input| input.name == name).map(|input| &input.value)
        {
            Some(Value::Figure(figure)) => figure.low,
            other => panic!("{name}: {other:?}"),
        };
        assert!((figure("area of the vent") - 39.27).abs() < 0.01 && (figure("flow of air") - 273.7).abs() < 0.1);
        let finding = check.finding.expect("it fails");
        assert_eq!(finding.title, "air at 69.7 m/s in the vent with 100 W of bass, 17 m/s allowed");
        assert_eq!(
            finding.mend,
            "give the vent 4.2 times the area, 165 cm2, at a length of 33.1 cm, which keeps the tuning; it takes 5.22 L more of the \
             gross volume, and its walls besides"
        );
        // Two of 19.63 cm2 x 4.2 and 33.1 cm hold 5.45 L, those of 6 cm held 0.24 L.
        assert_eq!(finding.offers[0].title, "vent of 103 mm, 331 mm long");
    }
}
