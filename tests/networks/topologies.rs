//! A deterministic generator of supply networks as they are wired in vehicles.

use testlamp::quantity::Range;
use testlamp::solve::network::{Alternator, Battery, Edge, Load, Network};

/// One generated network.
pub struct Case {
    /// Family and number.
    pub name: String,
    /// The network; every fact a point.
    pub network: Network,
    /// For each node, whether it is on the supply side (about 12 V) or on the return side (about 0 V).
    pub supply: Vec<bool>,
}

/// Numbers that look random and are the same every time (Knuth's linear congruential generator, MMIX).
pub struct Numbers(u64);

impl Numbers {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15).wrapping_add(1))
    }

    /// Between two ends.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let part = f64::from(u32::try_from(self.0 >> 32).expect("32 bits")) / f64::from(u32::MAX);
        low + (high - low) * part
    }
}

/// Puts a network together from its parts.
struct Builder {
    network: Network,
    supply: Vec<bool>,
    numbers: Numbers,
}

/// The nodes that every vehicle has.
const NEGATIVE: usize = 0;

impl Builder {
    fn new(seed: u32) -> Self {
        Self { network: Network::default(), supply: vec![false], numbers: Numbers::new(u64::from(seed)) }
    }

    fn supply(&mut self) -> usize {
        self.supply.push(true);
        self.supply.len() - 1
    }

    fn ground(&mut self) -> usize {
        self.supply.push(false);
        self.supply.len() - 1
    }

    /// A resistance between two ends in milliohm.
    fn join(&mut self, a: usize, b: usize, low: f64, high: f64) {
        let resistance = Range::point(self.numbers.between(low, high) * 1e-3);
        self.network.edges.push(Edge { a, b, resistance });
    }

    /// Crimp, cable, fuse, cable, crimp from a node to a new one.
    fn feed(&mut self, from: usize) -> usize {
        let nodes = [self.supply(), self.supply(), self.supply(), self.supply()];
        self.join(from, nodes[0], 0.05, 0.25);
        self.join(nodes[0], nodes[1], 0.1, 0.6);
        self.join(nodes[1], nodes[2], 0.2, 1.0);
        self.join(nodes[2], nodes[3], 1.0, 6.0);
        nodes[3]
    }

    /// Cable and screw from a new node to a point of the body.
    fn earth(&mut self, body: usize) -> usize {
        let (lug, terminal) = (self.ground(), self.ground());
        self.join(lug, body, 0.05, 0.25);
        self.join(terminal, lug, 0.1, 0.9);
        terminal
    }

    /// The body between the battery's strap and the rear.
    fn body(&mut self) -> (usize, usize) {
        let (front, rear) = (self.ground(), self.ground());
        self.join(front, NEGATIVE, 0.1, 0.4);
        self.join(rear, front, 0.4, 1.6);
        (front, rear)
    }

    fn battery(&mut self, positive: usize, negative: usize) {
        let emf = Range::point(self.numbers.between(12.3, 12.9));
        let resistance = Range::point(self.numbers.between(3e-3, 9e-3));
        self.network.batteries.push(Battery { positive, negative, emf, resistance });
    }

    fn main_battery(&mut self) -> usize {
        let positive = self.supply();
        self.battery(positive, NEGATIVE);
        positive
    }

    fn alternator(&mut self, positive: usize, negative: usize, available: (f64, f64)) {
        let voltage = Range::point(self.numbers.between(13.9, 14.6));
        let resistance = Range::point(self.numbers.between(1e-3, 5e-3));
        let available = Range::point(self.numbers.between(available.0, available.1));
        self.network.alternators.push(Alternator { positive, negative, voltage, resistance, available });
    }

    fn amplifier(&mut self, positive: usize, negative: usize, power: (f64, f64)) {
        let power = Range::point(self.numbers.between(power.0, power.1));
        let current = Range::point(self.numbers.between(0.3, 1.5));
        self.network.loads.push(Load { positive, negative, power, current });
    }

    fn done(self, family: &str, number: u32) -> Case {
        Case { name: format!("{family} {number}"), network: self.network, supply: self.supply }
    }
}

/// Everything that has an operating point.
pub fn working() -> Vec<Case> {
    let mut cases = Vec::new();
    let mut family = |count: u32, build: fn(u32) -> Case| cases.extend((1..=count).map(build));
    family(6, single);
    family(8, block);
    family(8, second_battery);
    family(6, mixed_return);
    family(4, parallel_feeds);
    family(5, straps);
    family(5, regulating);
    family(6, limited);
    family(6, near_the_limit);
    family(4, everything);
    cases
}

/// One amplifier at the back, engine off.
fn single(number: u32) -> Case {
    let mut build = Builder::new(100 + number);
    let battery = build.main_battery();
    let (_, rear) = build.body();
    let (plus, minus) = (build.feed(battery), build.earth(rear));
    let watt = 150.0 * f64::from(number);
    build.amplifier(plus, minus, (watt, watt * 1.2));
    build.done("single amplifier", number)
}

/// Two to five amplifiers behind a block with branch fuses; every other one with the engine running.
fn block(number: u32) -> Case {
    let mut build = Builder::new(200 + number);
    let battery = build.main_battery();
    let (front, rear) = build.body();
    if number.is_multiple_of(2) {
        build.alternator(battery, front, (40.0, 120.0));
    }
    let hub = build.feed(battery);
    for _ in 0..2 + number / 2 % 4 {
        let (plus, minus) = (build.feed(hub), build.earth(rear));
        build.amplifier(plus, minus, (60.0, 350.0));
    }
    build.done("block", number)
}

/// A second battery in the back, the body between the two negatives.
fn second_battery(number: u32) -> Case {
    let mut build = Builder::new(300 + number);
    let battery = build.main_battery();
    let (front, rear) = build.body();
    if number.is_multiple_of(2) {
        build.alternator(battery, front, (30.0, 90.0));
    }
    let (back, strap) = (build.feed(battery), build.earth(rear));
    build.battery(back, strap);
    for place in 0..=number % 3 {
        let minus = if place == 0 { strap } else { build.earth(rear) };
        let plus = build.feed(back);
        build.amplifier(plus, minus, (200.0, 700.0));
    }
    build.done("second battery", number)
}

/// A return cable beside the body, tied to it in one or two places.
fn mixed_return(number: u32) -> Case {
    let mut build = Builder::new(400 + number);
    let battery = build.main_battery();
    let (front, rear) = build.body();
    let (plus, minus) = (build.feed(battery), build.earth(rear));
    build.join(minus, NEGATIVE, 1.0, 5.0);
    if number.is_multiple_of(2) {
        let middle = build.ground();
        build.join(minus, middle, 0.3, 1.0);
        build.join(middle, front, 0.3, 1.0);
    }
    build.amplifier(plus, minus, (300.0, 900.0));
    let (second, other) = (build.feed(plus), build.earth(rear));
    build.amplifier(second, other, (50.0, 200.0));
    build.done("mixed return", number)
}

/// Two feed cables side by side, and a third for one amplifier alone.
fn parallel_feeds(number: u32) -> Case {
    let mut build = Builder::new(500 + number);
    let battery = build.main_battery();
    let (_, rear) = build.body();
    let (one, other) = (build.feed(battery), build.feed(battery));
    build.join(one, other, 0.05, 0.25);
    let alone = build.feed(battery);
    for (plus, power) in [(one, (400.0, 900.0)), (other, (100.0, 300.0)), (alone, (100.0, 400.0))] {
        let minus = build.earth(rear);
        build.amplifier(plus, minus, power);
    }
    build.done("parallel feeds", number)
}

/// The alternator on an engine block with straps to battery and body, the vehicle's own and added ones.
fn straps(number: u32) -> Case {
    let mut build = Builder::new(600 + number);
    let battery = build.main_battery();
    let (front, rear) = build.body();
    let engine = build.ground();
    build.join(engine, NEGATIVE, 0.3, 1.0);
    build.join(engine, front, 0.8, 3.0);
    if number > 2 {
        build.join(engine, front, 0.2, 0.4);
        build.join(front, NEGATIVE, 0.1, 0.3);
    }
    build.alternator(battery, engine, (50.0, 130.0));
    let (plus, minus) = (build.feed(battery), build.earth(rear));
    build.amplifier(plus, minus, (300.0, 1200.0));
    build.done("straps", number)
}

/// The alternator carries all.
fn regulating(number: u32) -> Case {
    let mut build = Builder::new(700 + number);
    let battery = build.main_battery();
    let (front, rear) = build.body();
    build.alternator(battery, front, (80.0, 160.0));
    let (back, strap) = (build.feed(battery), build.earth(rear));
    build.battery(back, strap);
    build.amplifier(back, strap, (100.0, 400.0));
    build.done("alternator regulating", number)
}

/// The alternator gives all it has, one or two batteries the rest.
fn limited(number: u32) -> Case {
    let mut build = Builder::new(800 + number);
    let battery = build.main_battery();
    let (front, rear) = build.body();
    build.alternator(battery, front, (15.0, 60.0));
    let (back, strap) = (build.feed(battery), build.earth(rear));
    if number.is_multiple_of(2) {
        build.battery(back, strap);
    }
    build.amplifier(back, strap, (900.0, 1600.0));
    build.done("alternator limited", number)
}

/// Long thin cables and much power: 97 to 99.5 % of what the network can carry.
fn near_the_limit(number: u32) -> Case {
    let mut case = mesh(number);
    let testlamp::solve::network::Operating::Never { reach } = testlamp::solve::network::solve(&case.network) else {
        panic!("{} is meant to ask too much", case.name)
    };
    let share = reach.0 * (0.97 + 0.025 * (f64::from(number) - 1.0) / 5.0);
    for load in &mut case.network.loads {
        load.power = load.power * share;
        load.current = load.current * share;
    }
    case.name = format!("near the limit {number}");
    case
}

/// Asks for several times what it can carry: two amplifiers on a mesh of cable and body, one or two batteries.
pub fn mesh(number: u32) -> Case {
    let mut build = Builder::new(900 + number);
    let battery = build.main_battery();
    let (front, rear) = build.body();
    build.join(rear, NEGATIVE, 2.0, 6.0);
    let (back, strap) = (build.feed(battery), build.earth(rear));
    let other = build.feed(battery);
    build.join(other, back, 3.0, 6.0);
    if number.is_multiple_of(2) {
        build.battery(back, strap);
    }
    if number.is_multiple_of(3) {
        build.alternator(battery, front, (40.0, 90.0));
    }
    build.amplifier(back, strap, (15e3, 20e3));
    let earth = build.earth(front);
    build.amplifier(other, earth, (9e3, 20e3));
    build.done("mesh", number)
}

/// Two batteries, two blocks, straps, a return cable, parallel feeds, five amplifiers, engine running.
fn everything(number: u32) -> Case {
    let mut build = Builder::new(1000 + number);
    let battery = build.main_battery();
    let (front, rear) = build.body();
    let engine = build.ground();
    build.join(engine, NEGATIVE, 0.3, 1.0);
    build.join(engine, front, 0.4, 2.0);
    build.alternator(battery, engine, (40.0 * f64::from(number), 50.0 * f64::from(number)));
    let (one, other) = (build.feed(battery), build.feed(battery));
    build.join(one, other, 0.05, 0.1);
    let strap = build.earth(rear);
    build.battery(one, strap);
    build.join(strap, NEGATIVE, 1.0, 3.0);
    for hub in [one, other] {
        let block = build.feed(hub);
        for place in 0..2 {
            let plus = build.feed(block);
            let minus = if place == 0 { strap } else { build.earth(rear) };
            build.amplifier(plus, minus, (80.0, 420.0));
        }
    }
    let (plus, minus) = (build.feed(battery), build.earth(front));
    build.amplifier(plus, minus, (20.0, 120.0));
    build.done("everything", number)
}
