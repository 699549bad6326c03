//! What carries current and sound: blocks, wires, grounds, turn-on, signals.

use std::collections::BTreeSet;

use super::{BLOCK, BUFFER, BUFFER_FEED, BUFFER_RETURN, Draft, GROUND, MAIN, REMOTE, RETURN, RETURNS, SOURCE};
use crate::plan::{Room, Zone, ZoneKind};
use crate::start::Amplifier;
use crate::start::paper::{Paper, maybe};
use crate::start::way::way;

impl Draft<'_> {
    pub(super) fn blocks(&self, paper: &mut Paper) {
        if !self.is_shared() {
            return;
        }
        paper.section("blocks");
        self.block(paper, BLOCK, "fuse: {rating: }", "a fuse for the thinner wire behind it");
        if self.returns_by_cable() {
            self.block(paper, RETURNS, "", "");
        }
    }

    fn block(&self, paper: &mut Paper, name: &str, output: &str, remark: &str) {
        paper.key(1, name, "", "");
        paper.key(2, "location", maybe(self.centre().map(Zone::word)), "");
        paper.key(2, "outputs", "", "");
        for amplifier in &self.facts.amplifiers {
            paper.key(3, &amplifier.name, format!("{{{output}}}"), remark);
        }
    }

    pub(super) fn capacitor(&self, paper: &mut Paper) {
        if !self.has_capacitor() {
            return;
        }
        paper.section("capacitors");
        paper.key(1, BUFFER, "", "");
        paper.key(2, "location", maybe(self.centre().map(Zone::word)), "beside the amplifier");
        paper.open(
            2,
            &[
                ("capacitance", "like 1 F"),
                ("voltage", "that it works at for good, not the surge on its label"),
                ("resistance", "its ESR, if its maker gives one"),
                ("takes", "the largest conductor its terminals take"),
                ("strip", ""),
            ],
        );
    }

    /// The terminal that the feed of an amplifier leads to: over the capacitor beside it, where there is one.
    fn fed_at(&self, amplifier: &Amplifier) -> String {
        let is_first = self.facts.amplifiers.first() == Some(amplifier);
        let thing = if is_first && self.has_capacitor() { BUFFER } else { &amplifier.name };
        format!("{thing}.power")
    }

    pub(super) fn wires(&self, paper: &mut Paper) {
        paper.section("wires");
        let first = &self.facts.amplifiers[0];
        let to = if self.is_shared() { format!("{BLOCK}.in") } else { self.fed_at(first) };
        let run = self.run(self.battery, self.centre());
        self.wire(paper, MAIN, ["battery.positive", &to], &run);
        for amplifier in self.facts.amplifiers.iter().filter(|_| self.is_shared()) {
            let (name, run) = (&amplifier.name, self.run(self.centre(), self.location(amplifier)));
            let (from, to) = (format!("{BLOCK}.{name}"), self.fed_at(amplifier));
            self.wire(paper, &format!("{name}-feed"), [&from, &to], &run);
        }
        if self.has_capacitor() {
            let run = self.run(self.centre(), self.location(first));
            self.wire(paper, BUFFER_FEED, [&format!("{BUFFER}.power"), &format!("{}.power", first.name)], &run);
            // A return of cable leads over its terminal as the feed does.
            let over = format!("{BUFFER}.ground");
            let ends = if self.returns_by_cable() {
                [format!("{}.ground", first.name), over]
            } else {
                [over, format!("grounds.{GROUND}")]
            };
            self.wire(paper, BUFFER_RETURN, [&ends[0], &ends[1]], &run);
        }
        for amplifier in &self.facts.amplifiers {
            let is_buffered = self.has_capacitor() && self.returns_by_cable() && amplifier == first;
            let from = format!("{}.ground", if is_buffered { BUFFER } else { &amplifier.name });
            let (to, run) = match (self.returns_by_cable(), self.is_shared()) {
                (false, _) => (format!("grounds.{GROUND}"), self.run(self.location(amplifier), self.centre())),
                (true, true) => {
                    (format!("{RETURNS}.{}", amplifier.name), self.run(self.location(amplifier), self.centre()))
                }
                (true, false) => ("battery.negative".into(), self.run_back()),
            };
            self.wire(paper, &self.return_of(amplifier), [&from, &to], &run);
        }
        if self.returns_by_cable() && self.is_shared() {
            let ends = [&format!("{RETURNS}.in"), "battery.negative"];
            self.wire(paper, RETURN, ends, &self.run_back());
        }
    }

    pub(super) fn return_of(&self, amplifier: &Amplifier) -> String {
        if self.is_shared() { format!("{}-return", amplifier.name) } else { RETURN.into() }
    }

    /// The places from one to another; none where one end is not known.
    fn run(&self, from: Option<Zone>, to: Option<Zone>) -> Vec<Zone> {
        from.zip(to).map(|(from, to)| way(from, to, self.side)).unwrap_or_default()
    }

    fn run_back(&self) -> Vec<Zone> {
        let mut run = self.run(self.battery, self.centre());
        run.reverse();
        run
    }

    fn wire(&self, paper: &mut Paper, name: &str, [from, to]: [&str; 2], run: &[Zone]) {
        paper.key(1, name, "", "");
        paper.key(2, "from", from, "");
        paper.key(2, "to", to, "");
        let is_main = name == MAIN;
        paper.key(2, "size", "", if is_main { "`testlamp fix --sizes` chooses sizes and fuses" } else { "" });
        paper.key(2, "conductor", "copper", "proposal");
        paper.key(2, "stranding", "fine", "proposal");
        paper.open(2, &[("insulation", "the class printed on it"), ("length", "measured along the trim")]);
        self.path(paper, 2, run, "");
        if is_main {
            paper.key(2, "fuse", "", "");
            paper.open(3, &[("form", ""), ("rating", "at most what the wire carries")]);
            paper.key(3, "distance", "20 cm", "proposal: as near to the battery as it can sit");
            paper.open(3, &[("voltage", "printed on it"), ("breaking_capacity", "by its maker, like 2 kA")]);
            paper.key(3, "holder", "{takes: , rated: , sealed: }", "");
        }
        crossings(paper, run);
        if run.len() > 1 {
            let is_under = run.iter().any(|zone| zone.room() == Some(Room::Underbody));
            paper.key(2, "covering", if is_under { "conduit" } else { "loom" }, "proposal");
        }
        paper.key(2, "fixed_every", "30 cm", "proposal");
        paper.key(2, "ends", "", "");
        for end in ["from", "to"] {
            paper.key(3, end, "{kind: , made: crimped}", "ring, ferrule, push-on or bare?");
        }
    }

    /// The places a run goes through.
    fn path(&self, paper: &mut Paper, depth: usize, run: &[Zone], remark: &str) {
        let words: Vec<String> = run.iter().map(|zone| zone.word()).collect();
        let is_long = run.len() > 1 && self.facts.side.is_none() && remark.is_empty();
        let remark = if run.is_empty() { "the places it runs through, in order" } else { remark };
        let remark = if is_long { "proposal" } else { remark };
        paper.key(
            depth,
            "path",
            if run.is_empty() { String::new() } else { format!("[{}]", words.join(", ")) },
            remark,
        );
    }

    pub(super) fn ground(&self, paper: &mut Paper) {
        if self.returns_by_cable() {
            return;
        }
        paper.section("grounds");
        paper.key(1, GROUND, "", if self.is_shared() { "one point for all, or they hum" } else { "" });
        paper.key(2, "on", "", "welded sheet or structure; no seat, no belt, no airbag");
        paper.key(2, "surface", "bare-metal", "proposal: ground back to bright metal");
        paper.key(2, "fastener", "{kind: , thread: , locking: , shared: }", "");
        paper.key(2, "coated_after", "true", "proposal");
        paper.key(2, "location", maybe(self.centre().map(Zone::word)), "");
    }

    pub(super) fn turn_on(&self, paper: &mut Paper) {
        paper.section("turn_on");
        paper.key(1, REMOTE, "", "");
        paper.key(2, "from", "", "");
        paper.open(
            3,
            &[
                ("kind", "accessory, or the radio's own output"),
                ("circuit", "what else hangs on it; nothing of engine, brakes, airbags"),
                ("fuse", ""),
                ("spare", ""),
            ],
        );
        paper.open(2, &[("tap", ""), ("fuse", "")]);
        let to: Vec<String> =
            self.facts.amplifiers.iter().map(|amplifier| format!("{}.remote", amplifier.name)).collect();
        paper.key(2, "to", format!("[{}]", to.join(", ")), "");
        self.path(paper, 2, &self.run(self.centre().map(|_| Zone::Dash), self.centre()), "");
    }

    pub(super) fn signals(&self, paper: &mut Paper) {
        paper.section("signals");
        for amplifier in &self.facts.amplifiers {
            for (name, input) in self.signals_of(amplifier) {
                paper.key(1, &name, "", "");
                paper.key(2, "from", SOURCE, "");
                paper.key(2, "taken_at", "", "");
                paper.open(
                    3,
                    &[
                        ("speaker", "or the `output:` it is taken at"),
                        ("plays", "swept with a tone: full-range?"),
                        ("after", "the radio, or a factory amplifier behind it?"),
                        ("polarity_checked", ""),
                    ],
                );
                paper.key(2, "through", "", "a converter, from speaker level to line level");
                paper.key(2, "to", format!("{}.{input}", amplifier.name), "");
                paper.key(2, "lead", "", "");
                paper.open(3, &[("length", ""), ("shielded", "")]);
                let to = self.location(amplifier);
                let run = to.map(|to| way(Zone::Dash, to, self.side.other())).unwrap_or_default();
                self.path(paper, 3, &run, if run.len() > 2 { "away from the supply" } else { "" });
            }
        }
    }

    /// The signals of an amplifier, each with the input that it goes to.
    pub(super) fn signals_of(&self, amplifier: &Amplifier) -> Vec<(String, String)> {
        let known = self.known(amplifier);
        let inputs = known.and_then(|known| known.inputs.as_ref());
        let is_speaker = inputs.is_some_and(|inputs| inputs.line.is_none() && inputs.speaker_level.is_some());
        let kind = if is_speaker { "speaker" } else { "line" };
        let own = self.loads.iter().filter(|(on, _)| *on == Some(amplifier.name.as_str()));
        let used: BTreeSet<u8> = own.flat_map(|(_, load)| load.outputs.iter().copied()).collect();
        let is_used = |channel: &u8| used.is_empty() || used.contains(channel);
        let ends: Vec<String> = match known.and_then(|known| known.channels) {
            Some(channels @ 3..) => (1..=channels).filter(is_used).map(|channel| channel.to_string()).collect(),
            _ => vec!["left".into(), "right".into()],
        };
        let prefix = if self.is_shared() { format!("{}-", amplifier.name) } else { String::new() };
        let own = |end: String| {
            let name = if end.len() > 2 { format!("{prefix}{end}") } else { format!("{prefix}channel-{end}") };
            (name, format!("{kind}-{end}"))
        };
        ends.into_iter().map(own).collect()
    }
}

fn crossings(paper: &mut Paper, run: &[Zone]) {
    let through: Vec<&Zone> = run.iter().filter(|zone| zone.kind() == ZoneKind::Crossing).collect();
    if !through.is_empty() {
        paper.key(2, "crossings", "", "");
    }
    for zone in through {
        let remark = "a factory grommet with room, or a new hole?";
        paper.key(3, &zone.word(), "{through: , sealed: , blind_side: }", remark);
    }
}
