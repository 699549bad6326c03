//! Plans of every size, made up to be drawn.

/// A plan of a size: amplifiers off one block or off the battery, drivers shared out among them, a second battery now and
/// then, names as odd as a plan allows.
#[expect(clippy::too_many_lines, reason = "a whole plan, in its order")]
pub fn generated(amplifiers: usize, drivers: usize, salt: usize) -> String {
    const NAMES: [&str; 4] = ["amp", "a-very-long-name-for-an-amplifier-in-the-back", "front-left-and-right", "x"];
    /// No plan may use these, and a draft may hold anything.
    const ODD: [&str; 4] = ["Verstärker-für-hinten", "<b>amp", "低音アンプ低音アンプ低音アンプ", "🔊"];
    const PLACES: [&str; 5] = ["cargo", "under-seat", "spare-well", "rear-seat", "left-door"];
    const WAYS: [&str; 4] = ["right-sill", "left-sill", "centre-tunnel", "dash, left-pillar, roof"];
    let pick = |choices: &[&'static str], at: usize| choices[(at * 7 + salt * 3) % choices.len()];
    let names = if salt % 5 == 4 { &ODD } else { &NAMES };
    let name = |amp: usize| format!("{}-{amp}", pick(names, amp));
    let place = |amp: usize| if salt.is_multiple_of(2) { "cargo" } else { pick(&PLACES, amp) };
    let blocked = !salt.is_multiple_of(3);
    let (way, other) = (pick(&WAYS, 0), pick(&WAYS, 1));
    let summary = ["panel van", "motorcycle", "boat"][(amplifiers + salt) % 3];
    let mut text = format!("plan: 1\njob: {{number: G-1, stage: planned}}\nvehicle: {{summary: {summary}, ");
    text.push_str(
        "voltage: 12 V, body: steel, \
         battery: {location: engine-bay, kind: agm, capacity: 95 Ah}, alternator: {rated: 220 A}}\nsources: {radio: {kind: aftermarket}}\n",
    );
    let mut line = |indent: usize, words: String| {
        text.push_str(&" ".repeat(indent));
        text.push_str(&words);
        text.push('\n');
    };
    line(0, "amplifiers:".into());
    for amp in 0..amplifiers {
        line(
            2,
            format!(
                "\"{}\": {{location: {}, class: D, channels: 4, rated: [{{load: 4 ohm, power: 80 W}}]}}",
                name(amp),
                place(amp)
            ),
        );
    }
    line(0, "drivers:".into());
    for driver in 0..drivers {
        line(2, format!("\"driver-{driver}\": {{kind: woofer, coils: [4 ohm], enclosure: box-{}}}", driver % 3));
    }
    line(0, "enclosures: {box-0: {location: cargo}, box-1: {location: rear-seat}, box-2: {}}".into());
    line(0, "grounds: {rail: {location: cargo, on: body-structure}, stud: {on: factory-stud}}".into());
    if blocked {
        let outputs: Vec<String> =
            (0..amplifiers).map(|amp| format!("out-{amp}: {{fuse: {{rating: 50 A}}}}")).collect();
        line(0, format!("blocks: {{rear: {{location: cargo, outputs: {{{}}}}}}}", outputs.join(", ")));
    }
    let second = salt % 4 == 1;
    if second {
        line(0, "batteries: {second: {location: cargo, capacity: 60 Ah}}".into());
        line(0, "isolators: {relay: {location: cargo, kind: relay}}".into());
    }
    line(0, "wires:".into());
    let crossing = ["firewall: {sealed: true}", "firewall: {sealed: false}", "firewall: {}"][salt % 3];
    let way_in = format!("path: [engine-bay, firewall, {way}, cargo], crossings: {{{crossing}}}");
    if blocked {
        let (from, to) = if second { ("second.positive", "rear.in") } else { ("battery.positive", "rear.in") };
        let path = if second { "path: [cargo]".into() } else { way_in.clone() };
        line(
            2,
            format!("main: {{from: {from}, to: {to}, size: 1/0 AWG, length: 5 m, {path}, fuse: {{rating: 150 A}}}}"),
        );
    }
    if second {
        line(
            2,
            format!(
                "charge: {{from: battery.positive, to: relay.in, size: 2 AWG, length: 5 m, {way_in}, fuse: {{rating: 100 A}}}}"
            ),
        );
        line(2, "link: {from: relay.out, to: second.positive, size: 2 AWG, length: 50 cm, path: [cargo], far_fuse: {rating: 100 A}}".into());
        line(
            2,
            "second-return: {from: second.negative, to: grounds.rail, size: 2 AWG, length: 40 cm, path: [cargo]}"
                .into(),
        );
    }
    for amp in 0..amplifiers {
        let (from, path) = if blocked {
            (format!("rear.out-{amp}"), format!("path: [cargo, {}]", place(amp)))
        } else {
            let path = format!("path: [engine-bay, firewall, {way}, {}], crossings: {{{crossing}}}", place(amp));
            ("battery.positive".to_owned(), path)
        };
        line(
            2,
            format!("feed-{amp}: {{from: {from}, to: \"{}.power\", size: 4 AWG, length: 60 cm, {path}}}", name(amp)),
        );
        let ground = if amp % 4 == 3 { "stud" } else { "rail" };
        line(
            2,
            format!(
                "return-{amp}: {{from: \"{}.ground\", to: grounds.{ground}, size: 4 AWG, length: 40 cm, path: [{}, cargo]}}",
                name(amp),
                place(amp)
            ),
        );
    }
    let all: Vec<String> = (0..amplifiers).map(|amp| format!("\"{}.remote\"", name(amp))).collect();
    line(0, "turn_on:".into());
    line(
        2,
        format!(
            "remote: {{from: {{kind: radio-output, of: radio}}, fuse: 1 A, to: [{}], path: [dash, {other}, cargo]}}",
            all.join(", ")
        ),
    );
    line(0, "signals:".into());
    for amp in 0..amplifiers {
        for input in 0..=((amp + salt) % 2) {
            line(
                2,
                format!(
                    "signal-{amp}-{input}: {{from: radio, taken_at: {{output: front}}, to: \"{}.line-{input}\", lead: {{length: 5 m, path: [dash, {other}, panel-edge, {}], crossings: {{panel-edge: {{sealed: true}}}}}}}}",
                    name(amp),
                    place(amp)
                ),
            );
        }
    }
    line(0, "loads:".into());
    for driver in 0..drivers {
        line(
            2,
            format!(
                "load-{driver}: {{amplifier: \"{}\", outputs: [{}], coils: driver-{driver}, lead: {{size: 14 AWG, length: 3 m}}}}",
                name(driver % amplifiers),
                1 + driver / amplifiers
            ),
        );
    }
    text
}

/// Plans of every size.
pub fn plans() -> impl Iterator<Item = String> {
    (1..=6).flat_map(|amplifiers| [1, 5, 10, 16].map(|drivers| (amplifiers, drivers))).enumerate().flat_map(
        |(salt, (amplifiers, drivers))| {
            [generated(amplifiers, drivers, salt), generated(amplifiers, drivers, salt + 1)]
        },
    )
}
