//! Loads, levels and filters against textbooks and standards; each test and table says where its figures stand.

#[path = "published/table.rs"]
mod table;

use std::fmt::Write;

use table::{agree, rows};
use testlamp::house::House;
use testlamp::plan::{FilterKind, Reading, read};
use testlamp::quantity::{Power, Range, Resistance, Voltage};
use testlamp::solve::filters::Filter;
use testlamp::solve::{Job, coils, levels, loads};

/// A plan with one driver of one coil for each resistor, joined so.
fn plan(ohms: &str, coils: &str, amplifier: &str) -> Reading {
    let mut text = format!("plan: 1\namplifiers: {{amp: {{{amplifier}}}}}\ndrivers:\n");
    for (at, ohms) in ohms.split(',').enumerate() {
        writeln!(text, "  d{at}: {{rms: 1000 W, coils: [{ohms} ohm]}}").expect("a line");
    }
    writeln!(text, "loads: {{bass: {{amplifier: amp, outputs: [1], coils: {coils}}}}}").expect("a line");
    let reading = read(text);
    assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
    reading
}

/// Impedance, and the share of every coil.
fn solved(ohms: &str, joined: &str) -> (f64, Vec<f64>) {
    let (reading, house) = (plan(ohms, joined, ""), House::default());
    let job = Job::new(&reading.plan, &house);
    let impedance = coils::load_impedance(&job, &job.loads[0]).expect("coils");
    let shares = coils::shares(&job, job.loads[0].coils.as_ref().expect("coils")).expect("coils");
    (impedance.high(), shares)
}

#[test]
fn filters_have_the_computed_magnitudes() {
    let (butterworth, linkwitz_riley) = (FilterKind::Butterworth, FilterKind::LinkwitzRiley);
    for row in rows(include_str!("published/filter_magnitudes.tsv")) {
        let ratio = row.number("f_over_fc");
        for (column, kind, order) in [
            ("bw1_db", butterworth, 1),
            ("bw2_db", butterworth, 2),
            ("bw3_db", butterworth, 3),
            ("bw4_db", butterworth, 4),
            ("lr2_db", linkwitz_riley, 2),
            ("lr4_db", linkwitz_riley, 4),
        ] {
            let filter = Filter::new(kind, order).expect("a filter");
            agree(&format!("{column} at {ratio}"), filter.low_pass(ratio), row.number(column), 0.000_51);
            agree(&format!("{column} at 1/{ratio}"), filter.high_pass(1.0 / ratio), row.number(column), 0.000_51);
        }
    }
}

#[test]
fn first_order_filters_of_lessons_in_electric_circuits() {
    let filter = Filter::new(FilterKind::Butterworth, 1).expect("a filter");
    for row in rows(include_str!("published/first_order.tsv")) {
        let ratio = row.number("hertz") / row.number("corner");
        let level = if row.text("pass") == "low" { filter.low_pass(ratio) } else { filter.high_pass(ratio) };
        let what = format!("{} at {} Hz", row.text("example"), row.text("hertz"));
        agree(&what, 10_f64.powf(level / 20.0), row.number("printed"), row.last_decimal("printed"));
    }
}

#[test]
fn networks_of_textbooks_have_the_printed_resistance() {
    for row in rows(include_str!("published/coil_networks.tsv")) {
        let (impedance, _) = solved(row.text("ohms"), row.text("coils"));
        let what = format!("{} of {}", row.text("coils"), row.text("ohms"));
        agree(&what, impedance, row.number("printed"), 0.501 * row.last_decimal("printed"));
    }
}

/// College Physics 2e: 12.0 V on 1, 6, 13 ohm in series: 0.360, 2.16, 4.68 W; in parallel 12.0, 2.00, 0.92 A; 36 V on
/// (20 || 20 || 10) with 4 ohm: 20, 20, 40 and 64 W, together 144 W. A mixed pair of 4 and 8 ohm in parallel: two to one
/// (computed).
#[test]
fn every_branch_takes_the_printed_power() {
    for (ohms, joined, volts, printed) in [
        ("1,6,13", "{series: [d0, d1, d2]}", 12.0, vec![(0.360, 0.0005), (2.16, 0.005), (4.68, 0.005)]),
        (
            "1,6,13",
            "{parallel: [d0, d1, d2]}",
            12.0,
            vec![(12.0 * 12.0, 0.6), (12.0 * 2.00, 0.06), (12.0 * 0.92, 0.06)],
        ),
        (
            "20,20,10,4",
            "{series: [{parallel: [d0, d1, d2]}, d3]}",
            36.0,
            vec![(20.0, 1e-9), (20.0, 1e-9), (40.0, 1e-9), (64.0, 1e-9)],
        ),
        ("4,8", "{parallel: [d0, d1]}", 12.0, vec![(36.0, 1e-9), (18.0, 1e-9)]),
    ] {
        let (impedance, shares) = solved(ohms, joined);
        assert_eq!(shares.len(), printed.len());
        for (share, (watts, tolerance)) in shares.iter().zip(printed) {
            agree(&format!("{joined} of {ohms}"), share * volts * volts / impedance, watts, tolerance);
        }
    }
}

/// College Physics 2e: 12.0 V behind 0.100 ohm: 0.500 ohm has 10.0 V and 200 W, 10 ohm has 11.9 V. What is lost on the
/// way is a lead's loss: 40 of 240 W, and 20 log10(12.0 / 10.0) dB.
#[test]
fn resistance_on_the_way_takes_its_share() {
    let (way, heavy) = (Range::<Resistance>::point(0.1), Range::<Resistance>::point(0.5));
    agree("per cent", levels::lead_loss(way, heavy).high(), 100.0 * 40.0 / 240.0, 1e-9);
    agree("dB", levels::lead_level(way, heavy).high(), 20.0 * (12.0_f64 / 10.0).log10(), 1e-9);
    let light = levels::lead_level(way, Range::point(10.0)).high();
    agree("V", 12.0 / 10_f64.powf(light / 20.0), 11.9, 0.05);
}

/// The same examples turned about: 200 W into 0.500 ohm are 10.0 V; 64 W into 4 ohm, 40 W into 10 ohm and 20 W into 20 ohm
/// are 16, 20 and 20 V. So the gain target of an amplifier that is rated for it.
#[test]
fn gain_targets_are_the_voltages_of_the_printed_powers() {
    for (watts, ohms, volts) in [(200.0, 0.5, 10.0), (64.0, 4.0, 16.0), (40.0, 10.0, 20.0), (20.0, 20.0, 20.0)] {
        let level = levels::speaker_output(Range::point(watts), Range::point(ohms));
        agree("V", level.high(), volts, 1e-9);
        let amplifier = format!("rated: [{{load: {ohms} ohm, power: {watts} W}}]");
        let (reading, house) = (plan(&ohms.to_string(), "d0", &amplifier), House::default());
        let job = Job::new(&reading.plan, &house);
        agree("target", loads::ceiling(&job, &job.loads[0]).expect("a ceiling").volts.high(), volts, 1e-9);
    }
}

fn volts(volts: f64) -> Range<Voltage> {
    Range::point(volts)
}

/// The level of so many watts above that of others, into the same load.
fn power_above(watts: f64, other: f64) -> f64 {
    let level = |watts| levels::speaker_output(Range::<Power>::point(watts), Range::point(4.0));
    levels::decibels_above(level(watts), level(other))
}

/// Lessons In Electric Circuits III, amplifiers (read): 10 mV to 1 V are 40 dB, ten times the voltage 20 dB, ten times the
/// power 10 dB, a hundred times 20 dB; three and five times make 4.77 + 6.99 = 11.76 dB together, fifteen times.
#[test]
fn decibels_of_lessons_in_electric_circuits() {
    agree("10 mV to 1 V", levels::decibels_above(volts(1.0), volts(0.01)), 40.0, 1e-9);
    agree("ten times the voltage", levels::decibels_above(volts(10.0), volts(1.0)), 20.0, 1e-9);
    for (ratio, decibels, tolerance) in
        [(10.0, 10.0, 1e-9), (100.0, 20.0, 1e-9), (3.0, 4.77, 0.005), (5.0, 6.99, 0.005), (15.0, 11.76, 0.005)]
    {
        agree(&format!("{ratio} times the power"), power_above(ratio, 1.0), decibels, tolerance);
    }
}

/// Heating tests take one eighth of full power (16 CFR 432.3(c), IEC 60065; read), which stands for a programme of 12.04 dB
/// crest factor, since a sine has 3.01 dB; one third of it, as the rule once asked, for 7.78 dB (computed).
#[test]
fn duties_stand_for_the_crest_factors_of_programme() {
    let assumptions = House::default().assumptions;
    let sine = power_above(2.0, 1.0);
    agree("sine", sine, 3.01, 0.005);
    agree("full range", sine + power_above(1.0, assumptions.duty_full_range.range.high()), 12.04, 0.005);
    agree("bass", sine + power_above(1.0, assumptions.duty_bass.range.high()), 7.78, 0.005);
}

/// IEC 60268-5 (from memory): the impedance of a 4 ohm unit may dip to 80 %, 3.2 ohm. A coil's DC resistance lies at or under
/// its dip: what is assumed of it must reach there, and further down.
#[test]
fn a_coil_may_measure_what_the_standard_lets_it_dip_to() {
    let (reading, house) = (plan("4", "d0", ""), House::default());
    let job = Job::new(&reading.plan, &house);
    let tree = job.loads[0].coils.clone().expect("coils");
    let assumed = coils::coil_dc(&job, tree.each()[0].1).expect("a coil").range;
    assert!(assumed.low() < 3.2 && 3.2 < assumed.high(), "{assumed}");
}

/// Lessons In Electric Circuits III (read): damping factors are usually 100 to 1000. Without a lead the output that is
/// assumed must give just these into 4 ohm.
#[test]
fn the_assumed_output_has_the_usual_damping_factors() {
    let output = House::default().assumptions.output.range;
    let (least, most) = levels::damping(Range::point(4.0), Range::point(0.0), output);
    agree("least", least, 100.0, 1e-9);
    agree("most", most, 1000.0, 1e-9);
}
