//! Practice plans.

use std::path::Path;

use testlamp::drill::{Level, Wanted, plant};
use testlamp::house::House;
use testlamp::plan;
use testlamp::rules;

const CLEAN: [&str; 11] = [
    "j-2041-one-subwoofer.yaml",
    "j-2043-two-amplifiers.yaml",
    "j-2044-second-battery.yaml",
    "j-2045-24-volt-truck.yaml",
    "j-2051-one-subwoofer-installed.yaml",
    "j-2054-bridged-rear-pair.yaml",
    "j-2055-camper-lithium.yaml",
    "j-2056-motorhome-24-volt.yaml",
    "j-2057-everything-on-one-block.yaml",
    "j-2058-electric-line-output.yaml",
    "j-2070-hybrid-isolated.yaml",
];

#[test]
fn survey() {
    use rayon::prelude::*;
    let house = House { today: Some(plan::Day::read("2026-12-01").expect("a day")), ..House::default() };
    let all = rules::all();
    let readings: Vec<_> = CLEAN
        .iter()
        .map(|job| {
            let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs").join(job);
            plan::read(std::fs::read_to_string(path).expect("the job"))
        })
        .collect();
    let only = std::env::var("DRILL_ONLY").unwrap_or_default();
    let mine: Vec<_> = all.iter().filter(|rule| only.is_empty() || only.contains(rule.code)).copied().collect();
    let lines: Vec<String> = mine
        .par_iter()
        .map(|rule| {
            let start = std::time::Instant::now();
            let mut told = Vec::new();
            for (job, reading) in CLEAN.iter().zip(&readings) {
                let only = [*rule];
                let wanted = Wanted { faults: 1, seed: 1, rules: &only, level: Level::Subtle };
                let practice = plant(reading, &house, &all, &wanted).expect("clean");
                if let Some(fault) = practice.faults.first() {
                    told.push(format!("{}:{}:{:?}", &job[2..6], fault.changed, fault.level));
                }
            }
            format!(
                "{} {} {:.1}s {}",
                rule.code,
                told.len(),
                start.elapsed().as_secs_f32(),
                told.iter().take(4).cloned().collect::<Vec<_>>().join(" ")
            )
        })
        .collect();
    println!("{}", lines.join("\n"));
}
