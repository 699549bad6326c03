//! What an empty battery takes through a fuse in line with a relay or switch, a part of FUSE-04.

use crate::judge::{Finding, Input, Verdict, at_least};
use crate::plan::word;
use crate::quantity::{Range, Ratio};
use crate::solve::{Decided, Job, Origin, Place, Undecided};

/// A fuse in line with a relay or switch, held to that; nothing for any other fuse.
pub fn charge(fuse: usize, job: &Job<'_>) -> Decided<Option<Verdict>> {
    let site = &job.protection().fuses[fuse];
    let Some(asked) = job.charge_asked(fuse)? else { return Ok(None) };
    let place = site.place.sub("rating");
    let rating = site.fuse.rating.ok_or_else(|| Undecided::need(place.clone()))?;
    let rated = Place::of(format!("isolators.{}.rated", asked.isolator));
    let share = job.house.limits.charge_fuse;
    let copper = asked.limited.map(|most| {
        let origin = Origin::Computed("charging voltage less an empty battery's 12 V, over the cold copper in line");
        Input::from("what the wires let through to an empty battery", most, origin)
    });
    let shared = asked.shared.map(|share| {
        let origin = Origin::Computed("by the cold copper of the runs side by side");
        Input::from("of that in this run", Range::<Ratio>::from(share), origin)
    });
    let comparison = at_least(rating, asked.current)
        .formula("fuse in line >= share of what the relay or switch is made for, or what the wires let through")
        .given(Input::stated("fuse rating", rating, place.clone()))
        .given(Input::stated("made for", asked.rated, rated.clone()))
        .given(Input::limit("share", &share))
        .given_all(copper)
        .given_all(shared)
        .limit_from(share.source);
    Ok(Some(comparison.verdict(|is| {
        let (noun, kind) = (site.fuse.noun(), word(&asked.kind));
        let kept = job.house.stock.named_at_least(site.fuse.form, asked.current.base());
        Finding::new(place, format!("{rating} {noun} in line with a {kind} for {} that charges a battery", asked.rated))
            .label(format!("{rating}, at least {} asked", is.limit()))
            .also(rated, format!("{kind} made for {}", asked.rated))
            .because("an empty battery takes all that it can get: the fuse opens on the first long drive after a long night")
            .mend(format!(
                "fit a {noun} of at least {}{kept}, and no more than the {kind} is made for (SUPPLY-13), on a wire that carries it (FUSE-01)",
                asked.current
            ))
            .offers(super::offers::at_least(site, asked.current.base(), job))
    })))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, outcome};

    /// A van with an empty leisure battery: 140 A of relay behind strips of 80 A blow them, strips of 100 A are what is sold
    /// with it. Nothing else draws through them.
    #[test]
    fn a_fuse_between_two_batteries_lasts_while_an_empty_one_charges() {
        let link = |kind: &str, rating: &str| {
            format!(
                "plan: 1\nvehicle: {{voltage: 12 V, body: steel, battery: {{kind: agm}}}}\nbatteries: {{leisure: {{kind: agm}}}}\n\
                 grounds: {{floor: {{}}}}\nisolators: {{vsr: {{kind: {kind}, rated: 140 A}}}}\nwires:\n  \
                 a: {{from: battery.positive, to: vsr.in, size: 35 mm2, length: 40 cm, fuse: {{form: bolt-down, rating: {rating}, \
                 resistance: 1 mohm}}}}\n  b: {{from: vsr.out, to: leisure.positive, size: 35 mm2, length: 5 m, far_fuse: \
                 {{form: bolt-down, rating: {rating}, resistance: 1 mohm}}}}\n  c: {{from: leisure.negative, to: grounds.floor, \
                 size: 35 mm2, length: 40 cm}}\n"
            )
        };
        let charger = "charger, efficiency: 90 %";
        for (subject, charged) in [("wires.a.fuse", ["194 A", "195 A"]), ("wires.b.far_fuse", ["174 A", "175 A"])] {
            let of = |kind: &str, rating: &str| outcome(&link(kind, rating), "FUSE-04", subject);
            for kind in ["relay", "switch"] {
                let enough = check(&link(kind, "98 A"), "FUSE-04", subject);
                assert_eq!(
                    (of(kind, "97 A"), enough.outcome),
                    (Outcome::Fail, Outcome::Pass),
                    "{kind}: {:?}",
                    enough.needs
                );
            }
            // It limits its own current, to 140 A for hours, for which it takes 155.6 A: a fuse carries 80 % of its rating for
            // so long.
            assert_eq!(charged.map(|rating| of(charger, rating)), [Outcome::Fail, Outcome::Pass], "{subject}");
        }
        let finding = finding(&link("relay", "80 A"), "FUSE-04", "wires.a.fuse");
        assert_eq!(finding.title, "80 A fuse in line with a relay for 140 A that charges a battery");
        let unrated = link("relay", "80 A").replace(", rated: 140 A", "");
        assert_eq!(check(&unrated, "FUSE-04", "wires.a.fuse").needs[0].path(), "isolators.vsr.rated");
    }

    /// Some 30 A of music go through the link as well: 80 A carry that and open while an empty battery charges; 10 A carry neither,
    /// and the music is told.
    #[test]
    fn a_fuse_that_carries_the_music_may_open_while_the_battery_charges() {
        let title = |rating: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{voltage: 12 V, body: steel, body_resistance: 1 mohm, battery: {{kind: agm, internal_resistance: 5 mohm}}, \
                 alternator: {{rated: 200 A, at_idle: 150 A, voltage: 14 V}}, factory_load: {{running: 20 A}}}}\nbatteries: {{leisure: {{kind: \
                 agm, internal_resistance: 5 mohm}}}}\ngrounds: {{floor: {{}}}}\nisolators: {{vsr: {{kind: relay, rated: 140 A}}}}\n\
                 amplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 1 A, rated: [{{load: 2 ohm, power: 300 W}}]}}}}\n\
                 wires:\n  a: {{from: battery.positive, to: vsr.in, size: 35 mm2, conductor: copper, length: 40 cm, fuse: {{form: bolt-down, \
                 rating: {rating}, resistance: 1 mohm}}}}\n  b: {{from: vsr.out, to: leisure.positive, size: 35 mm2, conductor: copper, \
                 length: 5 m}}\n  c: {{from: leisure.negative, to: grounds.floor, size: 35 mm2, conductor: copper, length: 40 cm}}\n  \
                 feed: {{from: leisure.positive, to: amp.power, size: 16 mm2, conductor: copper, length: 1 m}}\n  \
                 return: {{from: amp.ground, to: grounds.floor, size: 16 mm2, conductor: copper, length: 40 cm}}\n"
            );
            finding(&text, "FUSE-04", "wires.a.fuse").title
        };
        assert!(title("80 A").starts_with("80 A fuse in line with a relay for 140 A"), "{}", title("80 A"));
        assert!(title("10 A").starts_with("10 A fuse under a load of"), "{}", title("10 A"));
    }

    /// Two like runs side by side in line with a relay for 200 A: of 70 % of that, 140 A, each carries 70 A. Of one that is three
    /// times as long as the other the shorter carries three quarters, 105 A, the longer 35 A.
    #[test]
    fn runs_side_by_side_share_what_an_empty_battery_takes() {
        let of = |rating: &str, length: &str| {
            let run = |name: &str, length: &str| {
                format!(
                    "  {name}: {{from: battery.positive, to: vsr.in, size: 35 mm2, conductor: copper, length: {length}, \
                     fuse: {{form: bolt-down, rating: {rating}, resistance: 1 mohm}}}}\n"
                )
            };
            let text = format!(
                "plan: 1\nvehicle: {{voltage: 12 V, body: steel, battery: {{kind: agm}}}}\nbatteries: {{leisure: {{kind: agm}}}}\n\
                 isolators: {{vsr: {{kind: relay, rated: 200 A}}}}\nwires:\n{}{}  \
                 b: {{from: vsr.out, to: leisure.positive, size: 50 mm2, conductor: copper, length: 50 cm}}\n",
                run("one", "2 m"),
                run("two", length)
            );
            ["wires.one.fuse", "wires.two.fuse"].map(|subject| outcome(&text, "FUSE-04", subject))
        };
        assert_eq!((of("70 A", "2 m"), of("69 A", "2 m")), ([Outcome::Pass; 2], [Outcome::Fail; 2]));
        assert_eq!((of("105 A", "6 m"), of("104 A", "6 m")), ([Outcome::Pass; 2], [Outcome::Fail, Outcome::Pass]));
        assert_eq!(of("34 A", "6 m"), [Outcome::Fail; 2]);
    }

    /// An amplifier of 50 W on the leisure battery loads the fuses of the link a little; the empty battery asks 98 A of them.
    #[test]
    fn a_fuse_that_carries_the_music_may_be_too_small_for_the_charge() {
        let link = |rating: &str, rated: &str| {
            format!(
                "plan: 1\nvehicle: {{voltage: 12 V, body: steel, battery: {{kind: agm}}}}\nbatteries: {{leisure: {{kind: agm}}}}\n\
                 amplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 0.5 A{rated}}}}}\n\
                 grounds: {{floor: {{}}}}\nisolators: {{vsr: {{kind: relay, rated: 140 A}}}}\nwires:\n  \
                 a: {{from: battery.positive, to: vsr.in, size: 35 mm2, length: 40 cm, conductor: copper, fuse: {{form: bolt-down, \
                 rating: {rating}, resistance: 1 mohm}}}}\n  b: {{from: vsr.out, to: leisure.positive, size: 35 mm2, length: 5 m, \
                 conductor: copper}}\n  c: {{from: leisure.negative, to: grounds.floor, size: 35 mm2, length: 40 cm, conductor: \
                 copper}}\n  d: {{from: leisure.positive, to: amp.power, size: 8 AWG, length: 1 m, conductor: copper}}\n  \
                 e: {{from: amp.ground, to: grounds.floor, size: 8 AWG, length: 40 cm, conductor: copper}}\n"
            )
        };
        let small = ", rated: [{load: 2 ohm, power: 50 W}]";
        let found = finding(&link("80 A", small), "FUSE-04", "wires.a.fuse");
        assert_eq!(found.title, "80 A fuse in line with a relay for 140 A that charges a battery");
        assert_eq!(outcome(&link("100 A", small), "FUSE-04", "wires.a.fuse"), Outcome::Pass);
        // Enough for the charge, and of the music nobody knows.
        assert_eq!(outcome(&link("100 A", ""), "FUSE-04", "wires.a.fuse"), Outcome::Open);
    }
}
