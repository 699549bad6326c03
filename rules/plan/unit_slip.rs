//! A number far outside of what is ever built is a slip of unit or of the point.

use super::quantities;
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::solve::{Job, Place};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "PLAN-05",
    name: "unit-slip",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("unit_slip.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Say("vehicle.factory_load.key_off", &["22 A", "30 A"]),
        super::Slip::Past("vehicle.alternator.rated"),
        super::Slip::Say("loads.*.lead.length", &["150 m", "5000 m"]),
        super::Slip::Say("wires.*.length", &["450 m"]),
        super::Slip::Say("wires.*.fixed_every", &["30 m", "45 m"]),
        super::Slip::Say("signals.*.lead.length", &["500 m"]),
        super::Slip::Say("amplifiers.*.remote_current", &["15 A"]),
        super::Slip::Say("settings.*.tone", &["50 kHz"]),
    ],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let judge = |stated: quantities::Stated| {
        let quantities::Stated { place, slip } = stated;
        let verdict = slip.map_or_else(Verdict::pass, |slip| Verdict::fail(finding(&place, &slip)));
        (place, Ok(verdict))
    };
    quantities::of(job.plan).into_iter().map(judge).collect()
}

fn finding(place: &Place, slip: &quantities::Slip) -> Finding {
    let mend = match slip.meant.as_slice() {
        [] if slip.beside.is_some() => "look at both again: only one of them can be right".to_owned(),
        [] => "look at the number and its unit again".to_owned(),
        meant => format!("look at the unit: {} would fit", words::either(meant)),
    };
    let finding = Finding::new(place.clone(), format!("{} here looks like a slip: {}", slip.written, slip.usual));
    let beside = slip.beside.iter().cloned();
    beside
        .fold(finding, |finding, (place, says)| finding.also(place, says))
        .label(if slip.beside.is_some() { "these two do not agree" } else { "number or unit" })
        .meant(Some("~".into()))
        .because(if slip.beside.is_some() {
            "one of the two is wrong, and with it every figure that is computed from it"
        } else {
            "a slip of unit makes every figure that is computed from it wrong"
        })
        .mend(mend)
}

#[cfg(test)]
mod tests {
    use super::super::plausible::RANGES;
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};
    use crate::solve::Place;

    #[test]
    fn a_lead_of_twenty_metres_passes_and_two_hundred_feet_fail() {
        let plan = |length: &str| format!("plan: 1\nwires: {{main: {{length: {length}}}}}\n");
        assert_eq!(outcome(&plan("20 m"), "PLAN-05", "wires.main.length"), Outcome::Pass);
        assert_eq!(outcome(&plan("20.1 m"), "PLAN-05", "wires.main.length"), Outcome::Fail);
        let finding = check(&plan("200 ft"), "PLAN-05", "wires.main.length").finding.expect("it fails");
        assert_eq!(finding.title, "200 ft here looks like a slip: 0.0656 to 65.6 ft is usual");
        assert_eq!(finding.mend, "look at the unit: 200 cm, 200 mm or 200 in would fit");
    }

    #[test]
    fn what_is_usual_is_told_in_the_writers_unit_unless_that_is_the_slip() {
        let of = |key: &str, text: &str| {
            let title = check(&format!("plan: 1\n{text}\n"), "PLAN-05", key).finding.expect("it fails").title;
            title.split_once(": ").map(|(_, usual)| usual.to_owned()).unwrap_or_default()
        };
        let length = |written: &str| of("wires.main.length", &format!("wires: {{main: {{length: {written}}}}}"));
        assert_eq!([length("900 in"), length("45 m")], ["0.787 to 787 in is usual", "0.02 to 20 m is usual"]);
        assert_eq!(length("1 mm"), "20 mm to 20 m is usual");
        let asleep = |written: &str| {
            of("vehicle.factory_load.key_off", &format!("vehicle: {{factory_load: {{key_off: {written}}}}}"))
        };
        assert_eq!([asleep("2100 mA"), asleep("22 A")], ["0.5 to 2000 mA is usual", "0.5 mA to 2 A is usual"]);
    }

    /// A dynamo below its cut-in gives nothing, and behind a master switch nothing is drawn; an alternator gives something.
    #[test]
    fn nought_is_taken_where_it_can_be_true() {
        let text = |nought: &str| {
            format!(
                "plan: 1\nvehicle: {{alternator: {{rated: {nought} A, at_idle: {nought} A}}, factory_load: {{running: {nought} A, \
                 key_off: {nought} mA}}}}\nmeasured: {{key_off: {nought} mA}}\n"
            )
        };
        let of = |nought: &str, place: &str| outcome(&text(nought), "PLAN-05", place);
        for place in ["vehicle.alternator.at_idle", "vehicle.factory_load.key_off", "measured.key_off"] {
            assert_eq!((of("0", place), of("0.01", place)), (Outcome::Pass, Outcome::Fail), "{place}");
        }
        for place in ["vehicle.alternator.rated", "vehicle.factory_load.running"] {
            assert_eq!(of("0", place), Outcome::Fail, "{place}");
        }
    }

    #[test]
    fn slips_by_a_thousand_are_seen_both_ways() {
        let text = "plan: 1\nvehicle: {factory_load: {key_off: 22 A}}\namplifiers: {amp: {remote_current: 15 A}}\n\
                    wires: {main: {joint_resistance: 4 ohm, fuse: {rating: 60 kA}, far_fuse: {rating: 60 mA}}}\n";
        for place in [
            "vehicle.factory_load.key_off",
            "amplifiers.amp.remote_current",
            "wires.main.joint_resistance",
            "wires.main.fuse.rating",
            "wires.main.far_fuse.rating",
        ] {
            assert_eq!(outcome(text, "PLAN-05", place), Outcome::Fail, "{place}");
        }
    }

    /// Two of 320 A on one engine are 640 A; ten times as much is a slip.
    #[test]
    fn two_alternators_are_no_slip() {
        let of = |rated: &str| {
            outcome(
                &format!("plan: 1\nvehicle: {{alternator: {{rated: {rated}}}}}\n"),
                "PLAN-05",
                "vehicle.alternator.rated",
            )
        };
        assert_eq!((of("640 A"), of("1000 A"), of("1001 A")), (Outcome::Pass, Outcome::Pass, Outcome::Fail));
    }

    /// Both may be the same in a note that was taken in a hurry; more at idle than at its best is a slip.
    #[test]
    fn an_alternator_gives_no_more_at_idle_than_it_is_rated_for() {
        let of = |rated: &str| {
            let text = format!("plan: 1\nvehicle: {{alternator: {{{rated}at_idle: 72 A}}}}\n");
            check(&text, "PLAN-05", "vehicle.alternator.at_idle")
        };
        assert_eq!(of("rated: 72 A, ").outcome, Outcome::Pass);
        assert_eq!(of("").outcome, Outcome::Pass);
        let finding = of("rated: 71 A, ").finding.expect("it fails");
        let says = "72 A here looks like a slip: at idle an alternator gives less than the 71 A that it is rated for";
        assert_eq!(finding.title, says);
    }

    /// A maker who rates an amplifier into 2 ohm allows 2 ohm; bridged ratings have a least load of their own.
    #[test]
    fn the_least_load_of_an_amplifier_is_none_above_its_ratings() {
        let of = |least: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{minimum_load: {least}, rated: [{{load: 4 ohm, power: 300 W}}, {{load: 2 ohm, power: \
                 500 W}}], bridged: {{minimum_load: {least}, rated: [{{load: 4 ohm, power: 900 W}}]}}}}}}\n"
            );
            [".", ".bridged."].map(|key| check(&text, "PLAN-05", &format!("amplifiers.amp{key}minimum_load")))
        };
        assert_eq!(of("2 ohm").map(|check| check.outcome), [Outcome::Pass; 2]);
        assert_eq!(of("4 ohm").map(|check| check.outcome), [Outcome::Fail, Outcome::Pass]);
        let [own, bridged] = of("4.1 ohm").map(|check| check.finding.expect("it fails"));
        assert_eq!(own.title, "4.1 ohm here looks like a slip: its maker rates it for 500 W at 2 ohm");
        assert_eq!(own.also[0].place.path(), "amplifiers.amp.rated.1.load");
        assert_eq!(own.mend, "look at both again: only one of them can be right");
        assert_eq!(bridged.also[0].place.path(), "amplifiers.amp.bridged.rated.0.load");
    }

    #[test]
    fn what_a_section_states_is_held_against_itself() {
        let text = "plan: 1\namplifiers: {quint: {channels: 5, minimum_load: 4 ohm, rated: [{load: 4 ohm, power: 75 W}], sections: \
                    {bass: {outputs: [5], minimum_load: 4 ohm, rated: [{load: 2 ohm, power: 300 W}], efficiency: 8 %}}}}\n";
        let of = |key: &str| check(text, "PLAN-05", &format!("amplifiers.quint.{key}"));
        assert_eq!(of("minimum_load").outcome, Outcome::Pass);
        let least = of("sections.bass.minimum_load").finding.expect("it is rated into less");
        assert_eq!(least.also[0].place.path(), "amplifiers.quint.sections.bass.rated.0.load");
        assert_eq!(of("sections.bass.efficiency").outcome, Outcome::Fail);
    }

    #[test]
    fn an_amplifier_states_ratings_where_an_output_is_left_for_them() {
        let of = |outputs: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{quint: {{channels: 5, rated: [{{load: 4 ohm, power: 75 W}}], sections: {{bass: {{outputs: \
                 [5]}}, doors: {{outputs: [{outputs}]}}}}}}}}\n"
            );
            check(&text, "PLAN-05", "amplifiers.quint.rated.0.power")
        };
        assert_eq!(of("1, 2, 3").outcome, Outcome::Pass);
        let finding = of("1, 2, 3, 4").finding.expect("none is left");
        assert_eq!(finding.title, "75 W here looks like a slip: its sections name all of its 5 outputs");
    }

    #[test]
    fn the_largest_fuse_in_front_of_an_amplifier_is_none_below_those_on_its_case() {
        let of = |most: &str| {
            let text = format!("plan: 1\namplifiers: {{amp: {{onboard_fuses: [25 A, 25 A], maximum_fuse: {most}}}}}\n");
            check(&text, "PLAN-05", "amplifiers.amp.maximum_fuse")
        };
        assert_eq!(of("50 A").outcome, Outcome::Pass);
        let finding = of("49 A").finding.expect("it fails");
        assert_eq!(finding.title, "49 A here looks like a slip: the fuses on its case make 50 A together");
        assert_eq!(finding.also[0].place.path(), "amplifiers.amp.onboard_fuses");
        assert_eq!(finding.also[0].text, "50 A together");
    }

    /// A source of a given voltage gives twice the power into half the load: 300 W into 4 ohm are 600 W into 2 ohm, and what
    /// makers measure at more distortion is a little more. 751 W are more than a quarter more.
    #[test]
    fn half_the_load_takes_no_more_than_twice_the_power() {
        let of = |power: &str, more: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{rated: [{{load: 4 ohm, power: 300 W}}, {{load: 2 ohm, power: {power}}}{more}]}}}}\n"
            );
            check(&text, "PLAN-05", "amplifiers.amp.rated.1.power")
        };
        assert_eq!((of("600 W", "").outcome, of("750 W", "").outcome), (Outcome::Pass, Outcome::Pass));
        let finding = of("900 W", "").finding.expect("it fails");
        assert_eq!(finding.title, "900 W here looks like a slip: 300 W at 4 ohm are 600 W at 2 ohm at most");
        assert_eq!(finding.also[0].place.path(), "amplifiers.amp.rated.0.power");
        assert_eq!(finding.mend, "look at both again: only one of them can be right");
    }

    /// 2 x 25 A at 14.4 V are 720 W. Bursts are rated at up to twice that and more; 5 kW on them are a slip, and so are four
    /// channels of 600 W.
    #[test]
    fn an_amplifier_gives_no_multiple_of_what_its_fuses_let_in() {
        let of = |channels: &str, power: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{channels: {channels}, rated: [{{load: 2 ohm, power: {power}}}], rated_at: 14.4 V, \
                 onboard_fuses: [25 A, 25 A]}}}}\n"
            );
            check(&text, "PLAN-05", "amplifiers.amp.rated.0.power")
        };
        assert_eq!((of("1", "2160 W").outcome, of("4", "540 W").outcome), (Outcome::Pass, Outcome::Pass));
        assert_eq!(of("4", "541 W").outcome, Outcome::Fail);
        let finding = of("1", "5 kW").finding.expect("it fails");
        assert_eq!(
            finding.title,
            "5 kW here looks like a slip: the fuses on its case make 50 A together, 720 W at 14.4 V"
        );
        assert_eq!(finding.also[0].place.path(), "amplifiers.amp.onboard_fuses");
    }

    /// 4 x 75 W and the bass make 2160 W at most: 1860 W are left for it.
    #[test]
    fn sections_count_with_what_each_of_them_gives() {
        let of = |bass: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{quint: {{channels: 5, rated: [{{load: 4 ohm, power: 75 W}}], rated_at: 14.4 V, \
                 onboard_fuses: [25 A, 25 A], sections: {{bass: {{outputs: [5], rated: [{{load: 2 ohm, power: {bass}}}]}}}}}}}}\n"
            );
            outcome(&text, "PLAN-05", "amplifiers.quint.sections.bass.rated.0.power")
        };
        assert_eq!((of("1860 W"), of("1870 W")), (Outcome::Pass, Outcome::Fail));
    }

    #[test]
    fn a_window_is_judged_by_both_ends() {
        let plan = |window: &str| format!("plan: 1\namplifiers: {{amp: {{inputs: {{line: {window}}}}}}}\n");
        assert_eq!(outcome(&plan("0.2 V .. 5 V"), "PLAN-05", "amplifiers.amp.inputs.line"), Outcome::Pass);
        assert_eq!(outcome(&plan("0.2 mV .. 5 V"), "PLAN-05", "amplifiers.amp.inputs.line"), Outcome::Fail);
    }

    /// Places of quantities below a part of the schema, `*` for any name or number.
    fn quantities(schema: &serde_json::Value, at: &serde_json::Value, path: &str, found: &mut Vec<String>) {
        let at = match at["$ref"].as_str() {
            Some(link) => schema.pointer(&link[1..]).expect("the schema holds what it refers to"),
            None => at,
        };
        if let Some(kind) = at["x-quantity"].as_str() {
            if !["terminal", "coil", "day"].contains(&kind) {
                found.push(path.to_owned());
            }
            return;
        }
        let below = |key: &str| if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") };
        for (key, value) in at["properties"].as_object().into_iter().flatten() {
            // Coils nest in coils; there is no quantity in them.
            if key != "series" && key != "parallel" {
                quantities(schema, value, &below(key), found);
            }
        }
        for any in [&at["additionalProperties"], &at["items"]] {
            if any.is_object() {
                quantities(schema, any, &below("*"), found);
            }
        }
        for branch in at["anyOf"].as_array().into_iter().flatten() {
            quantities(schema, branch, path, found);
        }
    }

    /// A value for a part of the schema with every key stated: one thing in each map and list.
    fn filled(schema: &serde_json::Value, at: &serde_json::Value) -> serde_json::Value {
        use serde_json::Value;
        let at = match at["$ref"].as_str() {
            Some(link) => schema.pointer(&link[1..]).expect("the schema holds what it refers to"),
            None => at,
        };
        if let Some(example) = at["examples"].get(0).or_else(|| at["enum"].get(0)) {
            return example.clone();
        }
        if let Some(branches) = at["anyOf"].as_array() {
            let object =
                branches.iter().find(|branch| branch["$ref"].as_str().is_some_and(|link| link.ends_with("Ratings")));
            return filled(schema, object.unwrap_or(&branches[0]));
        }
        match at["type"].get(0).unwrap_or(&at["type"]).as_str() {
            Some("string") => Value::from("a"),
            Some("boolean") => Value::from(true),
            Some("integer" | "number") => Value::from(1),
            Some("array") => Value::Array(vec![filled(schema, &at["items"])]),
            _ => {
                let mut map = serde_json::Map::new();
                // A thing of a shelf is written out instead.
                let keys = at["properties"].as_object().into_iter().flatten().filter(|(key, _)| *key != "shelf");
                for (key, value) in keys {
                    map.insert(key.clone(), filled(schema, value));
                }
                if at["additionalProperties"].is_object() {
                    let names = at["propertyNames"]["$ref"].as_str();
                    let name = if names.is_some() { "cargo" } else { "a" };
                    map.insert(name.into(), filled(schema, &at["additionalProperties"]));
                }
                Value::Object(map)
            }
        }
    }

    fn everything(schema: &serde_json::Value) -> crate::plan::Plan {
        let reading = crate::plan::read(filled(schema, schema).to_string());
        assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
        reading.plan
    }

    #[test]
    fn every_quantity_of_the_format_has_a_range() {
        let schema = crate::plan::schema();
        let mut found = Vec::new();
        quantities(&schema, &schema, "", &mut found);
        assert!(found.len() > 90, "only {} quantities found", found.len());
        let without: Vec<_> =
            found.iter().filter(|path| super::super::plausible::range(&Place::of(path.as_str())).is_none()).collect();
        assert!(without.is_empty(), "{without:?}");
    }

    #[test]
    fn every_quantity_of_a_plan_that_states_everything_is_looked_at() {
        let schema = crate::plan::schema();
        let mut found = Vec::new();
        quantities(&schema, &schema, "", &mut found);
        let stated = super::quantities::of(&everything(&schema));
        let walked: Vec<String> = stated.iter().map(|stated| stated.place.path()).collect();
        let missed: Vec<_> = found
            .iter()
            .filter(|path| !walked.iter().any(|walked| super::super::plausible::fits(path, walked)))
            .collect();
        assert!(missed.is_empty(), "{missed:?}");
    }

    #[test]
    fn ranges_are_ranges_and_no_pattern_stands_twice() {
        for (at, (pattern, low, high)) in RANGES.iter().enumerate() {
            assert!(low < high, "{pattern}");
            assert!(RANGES[at + 1..].iter().all(|(other, ..)| other != pattern), "{pattern} stands twice");
        }
    }

    #[test]
    fn both_ends_of_what_is_usual_pass() {
        let of = |volts: &str| {
            outcome(
                &format!("plan: 1\namplifiers: {{amp: {{rated_at: {volts}}}}}\n"),
                "PLAN-05",
                "amplifiers.amp.rated_at",
            )
        };
        assert_eq!((of("8.99 V"), of("9 V")), (Outcome::Fail, Outcome::Pass));
        assert_eq!((of("32 V"), of("32.1 V")), (Outcome::Pass, Outcome::Fail));
    }

    /// 480 F are 249 C, which silicone stands.
    #[test]
    fn degrees_of_the_other_scale_are_recognised() {
        let mend = |degrees: &str| {
            let text = format!("plan: 1\nwires: {{main: {{insulation: {degrees}}}}}\n");
            check(&text, "PLAN-05", "wires.main.insulation").finding.expect("it fails").mend
        };
        assert_eq!(mend("480 C"), "look at the unit: 480 F would fit");
        assert_eq!(mend("105 F"), "look at the unit: 105 C would fit");
    }

    /// No unit makes 900 km of cable usual.
    #[test]
    fn a_number_that_fits_in_no_unit_is_to_be_looked_at_itself() {
        let text = "plan: 1\nwires: {main: {length: 900000 m}}\n";
        let finding = check(text, "PLAN-05", "wires.main.length").finding.expect("it fails");
        assert_eq!(finding.mend, "look at the number and its unit again");
    }
}
