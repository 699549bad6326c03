//! Writes plans into a folder, for measuring: `cargo run --example generate -- FOLDER COUNT [AMPLIFIERS]`.
//!
//! Each plan is a clean job with several amplifiers off one block, about 350 lines with five of them; more of
//! them share the power of five. Sizes, lengths and powers vary with the number of the plan, the
//! same for the same number on every machine.

use std::fmt::Write as _;
use std::path::Path;
use std::process::ExitCode;

const AMPLIFIERS: usize = 5;

fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1);
    let (Some(folder), Some(count)) =
        (arguments.next(), arguments.next().and_then(|count| count.parse::<usize>().ok()))
    else {
        eprintln!("usage: generate FOLDER COUNT [AMPLIFIERS]");
        return ExitCode::from(2);
    };
    let amplifiers = arguments.next().and_then(|count| count.parse().ok()).unwrap_or(AMPLIFIERS);
    match write_all(Path::new(&folder), count, amplifiers) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{folder}: {error}");
            ExitCode::from(3)
        }
    }
}

fn write_all(folder: &Path, count: usize, amplifiers: usize) -> std::io::Result<()> {
    std::fs::create_dir_all(folder)?;
    for number in 0..count {
        std::fs::write(folder.join(format!("job-{number:05}.yaml")), plan(number, amplifiers))?;
    }
    Ok(())
}

/// One plan; the same number gives the same text.
#[allow(clippy::cast_precision_loss, reason = "a handful of amplifiers")]
pub fn plan(number: usize, amplifiers: usize) -> String {
    // What several amplifiers ask together stays what five do.
    let share = AMPLIFIERS as f64 / amplifiers.max(AMPLIFIERS) as f64;
    let watts = |at: usize| ([60.0, 75.0, 90.0, 100.0][(number * 31 + at * 17) % 4] * share * 10.0_f64).round() / 10.0;
    let pick = |choices: &[&'static str], salt: usize| choices[(number * 31 + salt * 17) % choices.len()];
    let mut text = format!(
        "plan: 1\n\njob:\n  number: G-{number:05}\n  stage: planned\n  summary: generated job number {number}\n\n\
         vehicle:\n  summary: generated\n  voltage: 12 V\n  body: steel\n  body_resistance: 0.8 mohm\n  high_voltage: none\n  stop_start: false\n  \
         battery:\n    location: engine-bay\n    kind: agm\n    capacity: 95 Ah\n    cold_cranking: 850 A\n    monitor: none\n  \
         alternator:\n    rated: 220 A\n    at_idle: 150 A\n    voltage: 14.3 V\n    control: fixed\n  \
         factory_load:\n    running: 45 A\n    key_off: 20 mA\n\nsources:\n  radio:\n    kind: aftermarket\n    outputs: line\n    \
         bass_output: true\n    level: 4 V\n    senses_load: false\n\n"
    );
    let each = |text: &mut String, head: &str, part: &dyn Fn(usize) -> String| {
        let _ = writeln!(text, "{head}:");
        (0..amplifiers).for_each(|at| text.push_str(&part(at)));
        text.push('\n');
    };
    each(&mut text, "amplifiers", &|at| {
        format!(
            "  amp-{at}:\n    location: cargo\n    class: D\n    channels: 1\n    rated:\n      - {{load: 4 ohm, power: {} W}}\n    \
             rated_at: 14.4 V\n    minimum_load: 4 ohm\n    bridged: none\n    operating_voltage: 9 V .. 16 V\n    \
             idle_current: {:.2} A\n    off_current: 0.1 mA\n    onboard_fuses: [15 A]\n    maximum_fuse: 30 A\n    \
             terminals: {{power: 8 AWG, speaker: 10 AWG, strip: 6 mm}}\n    inputs: {{line: 0.2 V .. 5 V}}\n    remote_current: {:.1} mA\n",
            watts(at),
            0.5 * share,
            15.0 * share
        )
    });
    each(&mut text, "drivers", &|at| {
        format!(
            "  driver-{at}:\n    kind: full-range\n    size: 165 mm\n    rms: {} W\n    coils: [4 ohm]\n",
            watts(at)
        )
    });
    each(&mut text, "loads", &|at| {
        format!(
            "  load-{at}:\n    amplifier: amp-{at}\n    outputs: [1]\n    coils: driver-{at}.1\n    lead: {{size: 12 AWG, length: {} m}}\n",
            pick(&["2", "2.5", "3"], at)
        )
    });
    let _ = writeln!(text, "blocks:\n  rear:\n    location: cargo\n    takes: 1/0 AWG\n    outputs:");
    for at in 0..amplifiers {
        let _ = writeln!(
            text,
            "      out-{at}: {{takes: 8 AWG, fuse: {{form: bolt-down, rating: 30 A, voltage: 32 V, breaking_capacity: 6 kA, \
             holder: {{takes: 8 AWG, rated: 100 A}}}}}}"
        );
    }
    let _ = writeln!(text, "  returns:\n    location: cargo\n    takes: 1/0 AWG\n    outputs:");
    for at in 0..amplifiers {
        let _ = writeln!(text, "      back-{at}: {{takes: 8 AWG}}");
    }
    let _ = writeln!(
        text,
        "\nwires:\n  main:\n    from: battery.positive\n    to: rear.in\n    size: 1/0 AWG\n    conductor: copper\n    \
         stranding: fine\n    insulation: 105 C\n    colour: red\n    length: {} m\n    path: [engine-bay, firewall, left-sill, cargo]\n    \
         fuse: {{form: bolt-down, rating: 125 A, distance: 25 cm, voltage: 32 V, breaking_capacity: 6 kA, holder: {{takes: 1/0 AWG, rated: 200 A, sealed: true}}}}\n    \
         crossings:\n      firewall: {{through: factory-grommet, sealed: true}}\n    covering: loom\n    fixed_every: 30 cm\n    ends:\n      \
         from: {{kind: ring, stud: 8 mm, made: crimped}}\n      to: {{kind: ferrule, strip: 6 mm, made: crimped}}",
        pick(&["3.8", "4.2", "4.6", "5"], 1)
    );
    branches(&mut text, amplifiers);
    let _ = writeln!(
        text,
        "\ngrounds:\n  rail:\n    on: body-structure\n    surface: bare-metal\n    \
         fastener: {{kind: stud, thread: M8, locking: true, shared: false}}\n    coated_after: true\n    location: cargo\n\n\
         turn_on:\n  remote:\n    from: {{kind: radio-output, of: radio, spare: 200 mA}}\n    tap: connector\n    fuse: 1 A\n    \
         to: [{}]\n    path: [dash, right-sill, cargo]\n",
        (0..amplifiers).map(|at| format!("amp-{at}.remote")).collect::<Vec<_>>().join(", ")
    );
    each(&mut text, "signals", &|at| {
        format!(
            "  signal-{at}:\n    from: radio\n    taken_at: {{output: front, plays: full-range, after: radio, polarity_checked: true}}\n    \
             to: amp-{at}.line-1\n    lead: {{length: 5 m, shielded: true, path: [dash, right-sill, cargo]}}\n"
        )
    });
    each(&mut text, "mounts", &|at| {
        format!(
            "  amp-{at}: {{on: board-behind-side-trim, fasteners: {{count: 4, kind: machine-screw, thread: M5}}, \
             clearance: 50 mm, ventilated: true, blind_side: checked}}\n"
        )
    });
    each(&mut text, "settings", &|at| {
        format!(
            "  amp-{at}: {{gain_target: {} V, tone: 1 kHz, high_pass: 80 Hz, boost: 0 dB}}\n",
            ((watts(at) * 4.0).sqrt() * 10.0).floor() / 10.0
        )
    });
    text
}

/// A feed and a return for each amplifier, and what leads on from where the returns are gathered.
fn branches(text: &mut String, amplifiers: usize) {
    for at in 0..amplifiers {
        let _ = write!(
            text,
            "  feed-{at}:\n    from: rear.out-{at}\n    to: amp-{at}.power\n    size: 8 AWG\n    conductor: copper\n    \
             stranding: fine\n    insulation: 105 C\n    colour: red\n    length: 40 cm\n    path: [cargo]\n    \
             fixed_every: 20 cm\n    ends: {{from: {{kind: ferrule, strip: 6 mm, made: crimped}}, to: {{kind: ferrule, \
             strip: 6 mm, made: crimped}}}}\n  return-{at}: {{from: amp-{at}.ground, to: returns.back-{at}, size: 8 AWG, \
             conductor: copper, stranding: fine, insulation: 105 C, colour: black, length: 40 cm, path: [cargo], \
             fixed_every: 20 cm, ends: {{from: {{kind: ferrule, strip: 6 mm, made: crimped}}, to: {{kind: ferrule, \
             strip: 6 mm, made: crimped}}}}}}\n"
        );
    }
    let _ = writeln!(
        text,
        "  gathered:\n    from: returns.in\n    to: grounds.rail\n    size: 1/0 AWG\n    conductor: copper\n    stranding: fine\n    \
         insulation: 105 C\n    colour: black\n    length: 30 cm\n    path: [cargo]\n    ends: {{from: {{kind: ferrule, \
         strip: 6 mm, made: crimped}}, to: {{kind: ring, stud: 8 mm, made: crimped}}}}"
    );
}
