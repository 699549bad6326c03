//! Average draw, batteries and what flows asleep, against standards, manuals and textbooks.

#[path = "published/table.rs"]
mod table;

use table::{agree, rows};
use testlamp::house::House;
use testlamp::plan::{self, Battery, Reading};
use testlamp::quantity::{Capacity, Current, Duration, Power, Quantity, Range, Ratio, Share, Voltage};
use testlamp::solve::energy::{endurance, steady_draw};
use testlamp::solve::levels::decibels_above;
use testlamp::solve::network::{self, Load, Network, Operating};
use testlamp::solve::{Job, Place};

const HOUR: f64 = 3600.0;
const DAY: f64 = 24.0 * HOUR;
/// The extremes of every exponent the house knows.
const ANY: Range<Ratio> = Range::new(1.0, 1.3);
const ALL: Range<Share> = Range::point(100.0);

fn ah(capacity: f64) -> Range<Capacity> {
    Range::point(capacity)
}

fn amperes(current: f64) -> Range<Current> {
    Range::point(current)
}

/// 1000 W of class D at 80 % on full-range speakers (or a subwoofer), without idle current.
fn amplifier(class: &str, driver: &str) -> Reading {
    plan::read(format!(
        "plan: 1\namplifiers: {{amp: {{class: {class}, channels: 1, efficiency: 80 %, idle_current: 0.01 A, \
         rated: [{{load: 4 ohm, power: 1000 W}}]}}}}\ndrivers: {{speaker: {{kind: {driver}, coils: [4 ohm]}}}}\n\
         loads: {{one: {{amplifier: amp, outputs: [1], coils: speaker.1}}}}\n"
    ))
}

/// Supply power of that amplifier: with programme, and at full output.
fn asked(driver: &str) -> (Range<Power>, Range<Power>) {
    let reading = amplifier("D", driver);
    assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
    let house = House::default();
    let job = Job::new(&reading.plan, &house);
    let demand = job.demand(&job.amplifiers[0]).expect("everything is stated");
    (demand.programme, demand.full)
}

/// 16 CFR 432.3(c): amplifiers are preconditioned at one eighth of rated power (read). 1000 W at 80 % and 14.4 V are then
/// 10.9 A on average and 86.8 A at full sine output (computed). The 1975 form of the rule took one third (read), which is
/// what bass programme asks here.
#[test]
fn an_eighth_of_the_power_for_an_hour() {
    let volts = Range::<Voltage>::point(14.4);
    let (programme, full) = asked("full-range");
    agree("A at full sine", (full / volts).high(), 86.8, 0.05);
    agree("A on average", (programme / volts).high(), 10.9, 0.05);
    let (bass, _) = asked("subwoofer");
    agree("A on average, bass", (bass / volts).high(), 28.9, 0.05);
}

/// A sine at full power has a crest factor of 3.01 dB; one eighth of the power stands for programme of 12.04 dB, one third
/// for 7.78 dB (computed). Levels are compared as voltages on the same load, which go as the root of the power.
#[test]
fn duties_stand_for_crest_factors() {
    for (driver, crest) in [("full-range", 12.04), ("subwoofer", 7.78)] {
        let (programme, full) = asked(driver);
        let volts = |power: Range<Power>| power.map::<Voltage>(f64::sqrt);
        let peak = volts(full * 2.0);
        agree(driver, decibels_above(peak, volts(programme)), crest, 0.005);
    }
}

/// Lessons In Electric Circuits I, batteries: 70 Ah are 3.5 A for 20 h; 70 A do not last a full hour (read).
#[test]
fn the_textbooks_battery() {
    let lasts = |current| endurance(ah(70.0), amperes(current), ANY, ALL);
    agree("h at 3.5 A", lasts(3.5).low() / HOUR, 20.0, 1e-9);
    agree("h at 3.5 A", lasts(3.5).high() / HOUR, 20.0, 1e-9);
    let lead = House::default().assumptions.peukert_flooded.range;
    assert!(endurance(ah(70.0), amperes(70.0), lead, ALL).high() < HOUR);
    let sealed = House::default().assumptions.peukert_sealed.range;
    assert!(endurance(ah(70.0), amperes(70.0), sealed, ALL).high() < HOUR);
}

/// 60 Ah, half of it usable: 50 mA for 600 h, which is 25 days; 20 mA for 62.5 days (computed).
#[test]
fn weeks_asleep() {
    let usable = House::default().assumptions.usable_charge.range;
    let lasts = |current| endurance(ah(60.0), amperes(current), ANY, usable);
    agree("h", lasts(0.05).low() / HOUR, 600.0, 1e-6);
    agree("days", lasts(0.05).high() / DAY, 25.0, 1e-9);
    agree("days", lasts(0.02).low() / DAY, 62.5, 1e-9);
    let draw = steady_draw(ah(60.0), usable, Quantity::<Duration>::new(25.0 * DAY));
    agree("A", draw.high(), 0.05, 1e-9);
}

/// What each manual calls sound must pass the house's limit, what any calls excessive and is above all others must not;
/// the range for a vehicle of which nothing is known must reach what manuals allow at most.
#[test]
fn manuals_and_the_limit_asleep() {
    let house = House::default();
    let limit = house.limits.key_off_current.value.base() * 1000.0;
    let (low, high) = (house.assumptions.key_off.range.low() * 1000.0, house.assumptions.key_off.range.high() * 1000.0);
    let rows = rows(include_str!("published/key_off_manuals.tsv"));
    let most = rows.iter().map(|row| row.number("high")).fold(0.0, f64::max);
    let awake = rows.iter().filter_map(|row| row.printed("excessive")).fold(0.0, f64::max);
    assert!(most <= limit && limit < awake, "{most} {limit} {awake}");
    agree("mA, highest of a sound vehicle", high, most, 1e-9);
    let usual = rows.iter().filter_map(|row| row.printed("low")).fold(f64::INFINITY, f64::min);
    assert!(low >= usual && low <= 20.0, "{low}");
}

/// Full charge of all three tables lies in the house's range for a rested battery, three quarters of none. Half charge,
/// the end the house allows, is within 0.02 V of the textbook's 2.04 V for each of six cells (read).
#[test]
fn rest_voltages_of_three_tables() {
    let range = House::default().assumptions.rest_lead_acid.range;
    let cells = plan::SystemVoltage::Twelve.nominal().base() / 2.0;
    for column in ["maker", "press", "rounded"] {
        for row in rows(include_str!("published/lead_acid_rest.tsv")) {
            let Some(volts) = row.printed(column) else { continue };
            let charged = (range.low()..=range.high()).contains(&volts);
            assert_eq!(charged, row.text("percent") == "100", "{column}: {volts} V");
            if row.text("percent") == "50" {
                agree("V a cell", volts / cells, 2.04, 0.02);
            }
        }
    }
}

/// A battery whose resistance stands at the upper end for its rating just meets the cold SAE test at its rated current,
/// and so passes the warm load test at half of it; one at the lower end passes every test.
#[test]
fn a_battery_meets_the_test_behind_its_rating() {
    let (rated, house) = (600.0, House::default());
    let reading = plan::read("plan: 1\n".to_owned());
    let job = Job::new(&reading.plan, &house);
    let battery = Battery { cold_cranking: Some(Quantity::new(rated)), ..Battery::default() };
    let resistance = job.battery_resistance(&battery, &Place::of("vehicle.battery"), 1.0).range;
    agree("mohm", resistance.high() * 1e3, 9.0, 1e-9);
    let terminal = |resistance, share| {
        let source = network::Battery { positive: 1, negative: 0, emf: Range::point(12.6), resistance };
        let load = Load { positive: 1, negative: 0, power: Range::point(0.0), current: amperes(rated * share) };
        let network = Network { batteries: vec![source], loads: vec![load], ..Network::default() };
        match network::solve(&network) {
            Operating::Always(solution) => solution.voltage(1, 0).low(),
            other => panic!("{other:?}"),
        }
    };
    for row in rows(include_str!("published/cranking_tests.tsv")) {
        let (test, share, least) = (row.text("test"), row.number("share"), row.number("least_volts"));
        assert!(terminal(resistance.at_low(), share) >= least, "{test}");
        let worst = terminal(resistance.at_high(), share);
        if test == "SAE" {
            agree("V", worst, least, 1e-6);
        } else if test == "half" {
            assert!(worst >= least, "{test}: {worst}");
        }
    }
}

/// Every code of ISO 16750-2 ends at the voltage that fuses must bear, and what an alternator may hold, fixed or
/// controlled, lies in the narrowest of them; 14 V, the test voltage with the generator running (from memory), is a fixed
/// regulator's.
#[test]
fn charging_stays_within_the_supply_codes() {
    let house = House::default();
    let (fixed, ecu) = (house.assumptions.charging_fixed.range, house.assumptions.charging_ecu.range);
    for row in rows(include_str!("published/supply_codes.tsv")) {
        agree(row.text("code"), house.limits.highest_voltage.value.base(), row.number("most"), 1e-9);
        for range in [fixed, ecu] {
            assert!(row.number("least") <= range.low() && range.high() <= row.number("most"), "{}", row.text("code"));
        }
    }
    assert!((fixed.low()..=fixed.high()).contains(&14.0));
}
