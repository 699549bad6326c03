//! What an amplifier asks of the supply.

use super::facts::Facts;
use super::known::{Decided, Known, Origin, Place, Thing, Undecided, all};
use super::loads;
use super::ratings::{self, Ratings};
use crate::plan::{Amplifier, AmplifierClass, DriverKind, Load};
use crate::quantity::{Current, Power, Range, Ratio, Share};

/// What an amplifier asks of the supply.
#[derive(Debug, Clone)]
pub struct Demand {
    /// Audio power at full output, all channels that carry a load together.
    pub audio: Range<Power>,
    /// Audio power out of supply power in, at full output: of each output stage that plays.
    pub efficiencies: Vec<Known<Share>>,
    /// Supply power at full sine output.
    pub full: Range<Power>,
    /// Average supply power with programme.
    pub programme: Range<Power>,
    /// Average heat with programme: what goes in and does not come out as audio, without the idle current.
    pub heat: Range<Power>,
    /// Current that flows besides, whatever it plays.
    pub idle: Known<Current>,
}

/// What an amplifier asks of the supply.
///
/// # Errors
/// The needs for its ratings, its class and the coils on it.
pub fn of(facts: &Facts<'_>, amplifier: &Thing<'_, Amplifier>) -> Decided<Demand> {
    let idle =
        facts.assume(amplifier.at("idle_current"), amplifier.idle_current, &facts.house.assumptions.idle_current);
    let parts = outputs(facts, amplifier)?;
    let sum = |of: fn(&Output) -> Range<Power>| parts.iter().map(of).sum();
    let (audio, full, programme, heat) =
        (sum(|part| part.power), sum(Output::full), sum(Output::programme), sum(Output::heat));
    let mut efficiencies: Vec<Known<Share>> = Vec::new();
    for part in parts {
        if !efficiencies.contains(&part.efficiency) {
            efficiencies.push(part.efficiency);
        }
    }
    Ok(Demand { audio, efficiencies, full, programme, heat, idle })
}

/// Outputs that are alike, with their power and how much of it programme asks.
struct Output {
    power: Range<Power>,
    duty: Range<Ratio>,
    /// The class of their stage, as far as it is stated.
    class: Option<AmplifierClass>,
    efficiency: Known<Share>,
}

impl Output {
    /// The least and the most that comes out of what goes in, each as a part of 1.
    fn ends(&self) -> (f64, f64) {
        (self.efficiency.range.low() / 100.0, self.efficiency.range.high() / 100.0)
    }

    fn full(&self) -> Range<Power> {
        let (least, most) = self.ends();
        self.power.scaled(1.0 / most, 1.0 / least)
    }

    /// What is drawn at a duty, as a part of the power at full output.
    fn drawn(&self, efficiency: f64, duty: f64) -> f64 {
        duty / at_duty(self.class, efficiency, duty)
    }

    /// What is drawn rises with the duty.
    fn programme(&self) -> Range<Power> {
        let (least, most) = self.ends();
        self.power.scaled(self.drawn(most, self.duty.low()), self.drawn(least, self.duty.high()))
    }

    fn heat(&self) -> Range<Power> {
        let (least, most) = self.ends();
        let duties = [self.duty.low(), self.duty.high(), self.duty.at(hottest_duty(self.class, least))];
        let ends = |efficiency| duties.map(|duty| (self.drawn(efficiency, duty) - duty).max(0.0));
        let lowest = ends(most)[..2].iter().copied().fold(f64::INFINITY, f64::min);
        self.power.scaled(lowest, ends(least).into_iter().fold(0.0, f64::max))
    }
}

/// The outputs that carry a load; without any load stated, all channels.
fn outputs(facts: &Facts<'_>, amplifier: &Thing<'_, Amplifier>) -> Decided<Vec<Output>> {
    let hung = facts.loads.iter().filter(|load| load.amplifier.as_deref() == Some(amplifier.name));
    let outputs = all(hung.map(|load| {
        let ratings = ratings::of(load, amplifier)?;
        let efficiency = efficiency(facts, &ratings)?;
        let power = loads::drawn(load, facts, amplifier)?;
        Ok(Output { power, duty: duty(facts, load), class: ratings.class().ok(), efficiency })
    }))?;
    if outputs.is_empty() { every_channel(facts, amplifier) } else { Ok(outputs) }
}

/// All channels of every section, and those that no section names.
fn every_channel(facts: &Facts<'_>, amplifier: &Thing<'_, Amplifier>) -> Decided<Vec<Output>> {
    let named = ratings::named(amplifier)?;
    let of_sections = ratings::of_sections(amplifier).map(|ratings| {
        let count = named.iter().filter(|output| ratings.names(**output)).count();
        channels(facts, &ratings, Ok(count))
    });
    let rest = amplifier.channels.map(|all| (1..=all).filter(|output| !named.contains(output)).count());
    let of_rest = (rest != Some(0)).then(|| {
        let count = rest.ok_or_else(|| Undecided::need(amplifier.at("channels")));
        channels(facts, &ratings::of_rest(amplifier), count)
    });
    all(of_sections.chain(of_rest))
}

/// So many channels that are alike. Which load will hang on them is not known yet: any rated power, and the heavier duty.
fn channels(facts: &Facts<'_>, ratings: &Ratings<'_>, count: Decided<usize>) -> Decided<Output> {
    let efficiency = efficiency(facts, ratings)?;
    let ends = ratings.rated.iter().map(|point| Range::<Power>::point(point.power.base())).reduce(Range::hull);
    let one = ends.ok_or_else(|| Undecided::need(ratings.at("rated")))?;
    let count = f64::from(u32::try_from(count?).unwrap_or(u32::MAX));
    let assumptions = &facts.house.assumptions;
    let heavier = assumptions.duty_bass.range.max(assumptions.duty_full_range.range);
    Ok(Output { power: one * count, duty: heavier, class: ratings.class().ok(), efficiency })
}

/// How much of its power programme asks of a load: a driver whose kind is not stated may be a subwoofer or not.
pub fn duty(facts: &Facts<'_>, load: &Load) -> Range<Ratio> {
    let (bass, full_range) = (facts.house.assumptions.duty_bass.range, facts.house.assumptions.duty_full_range.range);
    let Some(coils) = &load.coils else { return full_range };
    let mut drivers: Vec<&str> = coils.coils().into_iter().map(|coil| coil.driver.as_str()).collect();
    drivers.dedup();
    let words = [DriverKind::Subwoofer, DriverKind::FullRange];
    let show = |index: f64| if index < 0.5 { "subwoofer".to_owned() } else { "full-range".to_owned() };
    let kinds = |driver: &&str| {
        let stated = facts.plan.drivers.get(*driver).and_then(|driver| driver.kind);
        let place = Place::of(format!("drivers.{driver}.kind"));
        facts.assume_words(&place, stated, &words, show, "a driver of any kind")
    };
    let kinds: Vec<Vec<DriverKind>> = drivers.iter().map(kinds).collect();
    let may_be_bass = kinds.iter().all(|kinds| kinds.contains(&DriverKind::Subwoofer));
    let may_be_other = kinds.iter().any(|kinds| kinds.iter().any(|kind| *kind != DriverKind::Subwoofer));
    match (may_be_bass, may_be_other) {
        (true, true) => full_range.hull(bass),
        (true, false) => bass,
        (false, _) => full_range,
    }
}

/// Efficiency at rated power: stated, or by class.
fn efficiency(facts: &Facts<'_>, ratings: &Ratings<'_>) -> Decided<Known<Share>> {
    let (place, stated) = ratings.efficiency();
    if let Some(stated) = stated.filter(|share| share.base() > 0.0) {
        return Ok(Known { range: stated.into(), origin: Origin::Stated(place) });
    }
    let assumptions = &facts.house.assumptions;
    let usual = match ratings.class()? {
        AmplifierClass::D => assumptions.efficiency_d,
        AmplifierClass::Ab => assumptions.efficiency_ab,
        AmplifierClass::G | AmplifierClass::H => assumptions.efficiency_gh,
    };
    Ok(facts.assume(place, None, &usual))
}

/// Efficiency at a share of full power.
///
/// A switching stage keeps it (its idle current is counted apart). A linear stage draws a current in proportion to its
/// output voltage, so its efficiency falls with the square root of the power: at one eighth of full power it makes more
/// heat than music, which is why heating tests use just that. Stepping or following rails lie between; the fourth root
/// stands for them (common practice, no published source).
fn at_duty(class: Option<AmplifierClass>, full: f64, duty: f64) -> f64 {
    full * duty.powf(fall(class))
}

/// With which power of the duty the efficiency falls.
const fn fall(class: Option<AmplifierClass>) -> f64 {
    match class {
        Some(AmplifierClass::Ab) => 0.5,
        Some(AmplifierClass::G | AmplifierClass::H) => 0.25,
        Some(AmplifierClass::D) | None => 0.0,
    }
}

/// The duty at which a stage makes most heat: where duty^(1 - fall) / efficiency - duty is highest.
fn hottest_duty(class: Option<AmplifierClass>, full: f64) -> f64 {
    let fall = fall(class);
    if fall > 0.0 { ((1.0 - fall) / full).powf(1.0 / fall).min(1.0) } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::*;

    /// A driver of no stated kind may be a subwoofer: 75 W into it are 9.4 W (1/8) to 25 W (1/3) of programme.
    #[test]
    fn a_kind_that_is_not_stated_may_be_any() {
        let programme = |kind: &str| {
            let plan = format!(
                "plan: 1\namplifiers: {{amp: {{efficiency: 50 %, rated: [{{load: 4 ohm, power: 75 W}}]}}}}\n\
                 drivers: {{a: {{{kind} coils: [4 ohm]}}}}\nloads: {{one: {{amplifier: amp, outputs: [1], coils: a}}}}\n"
            );
            of_job(&plan, |job| {
                let programme = of(job, &job.amplifiers[0]).expect("decided").programme;
                let assumed = job.assumed().iter().any(|fact| fact.place.path() == "drivers.a.kind");
                (programme.low(), programme.high(), assumed)
            })
        };
        let (low, high) = (75.0 / 8.0 / 0.5, 75.0 / 3.0 / 0.5);
        assert_eq!(programme("kind: subwoofer,"), (high, high, false));
        assert_eq!(programme("kind: woofer,"), (low, low, false));
        assert_eq!(programme(""), (low, high, true));
    }

    fn audio(loads: &str) -> f64 {
        let plan = format!(
            "plan: 1\namplifiers: {{amp: {{class: D, rated: [{{load: 4 ohm, power: 75 W}}, {{load: 2 ohm, power: 120 W}}], \
             bridged: {{rated: [{{load: 4 ohm, power: 240 W}}]}}}}}}\n\
             drivers: {{a: {{kind: woofer, coils: [4 ohm]}}, b: {{kind: woofer, coils: [4 ohm]}}, t: {{kind: tweeter, coils: [4 ohm]}}, \
             s: {{kind: subwoofer, coils: [8 ohm, 8 ohm]}}}}\nloads: {{{loads}}}\n"
        );
        let audio = of_job(&plan, |job| of(job, &job.amplifiers[0]).expect("decided").audio);
        assert!(audio.is_point(), "{audio}");
        audio.low()
    }

    #[test]
    fn loads_on_one_output_draw_what_the_output_sees() {
        let two = "one: {amplifier: amp, outputs: [1], coils: a}, two: {amplifier: amp, outputs: [1], coils: b}";
        // Together 2 ohm: 120 W, and not twice the 75 W of each alone.
        assert!((audio(two) - 120.0).abs() < 1e-9);
        assert!((audio("one: {amplifier: amp, outputs: [1], coils: {parallel: [a, b]}}") - 120.0).abs() < 1e-9);
        assert!((audio(&two.replace("outputs: [1], coils: b", "outputs: [2], coils: b")) - 150.0).abs() < 1e-9);
        // Two of 8 ohm on the same bridged pair, whichever way round it is written: 240 W into 4 ohm.
        let bridged =
            "one: {amplifier: amp, outputs: [1, 2], coils: s.1}, two: {amplifier: amp, outputs: [2, 1], coils: s.2}";
        assert!((audio(bridged) - 240.0).abs() < 1e-9);
    }

    /// A set of woofer, tweeter and crossover of 4 ohm each is 4 ohm: only one of them plays at any frequency.
    #[test]
    fn a_crossover_parts_what_is_side_by_side() {
        assert!((audio("one: {amplifier: amp, outputs: [1], coils: {parallel: [a, t]}}") - 75.0).abs() < 1e-9);
        let apart = "one: {amplifier: amp, outputs: [1], coils: a}, two: {amplifier: amp, outputs: [1], coils: t}";
        assert!((audio(apart) - 75.0).abs() < 1e-9);
    }

    /// Outputs 1 and 2 of class AB at 50 %, and a third of class D at 80 %, which their amplifier states for itself.
    const TRIO: &str = "class: AB, efficiency: 50 %, channels: 3, rated: [{load: 4 ohm, power: 80 W}]";
    const BASS: &str = "outputs: [3], class: D, efficiency: 80 %, rated: [{load: 2 ohm, power: 240 W}]";

    fn of_trio(amplifier: &str, section: &str, loads: &str) -> Decided<Demand> {
        let plan = format!(
            "plan: 1\namplifiers: {{amp: {{{amplifier}, idle_current: 1 A, sections: {{bass: {{{section}}}}}}}}}\n\
             drivers: {{w: {{kind: woofer, coils: [4 ohm]}}, s: {{kind: subwoofer, coils: [2 ohm]}}}}\nloads: {{{loads}}}\n"
        );
        of_job(&plan, |job| of(job, &job.amplifiers[0]))
    }

    /// At full output 80 / 0.5 + 240 / 0.8 = 460 W. With programme an eighth of 80 W from a linear stage, which is 50 % x
    /// sqrt(1/8) efficient then, and a third of 240 W from a switching one: 10 / 0.17678 + 80 / 0.8 = 156.57 W, of which
    /// 90 W come out again.
    #[test]
    fn each_section_draws_by_its_own_stage() {
        let loads = "door: {amplifier: amp, outputs: [1], coils: w}, bass: {amplifier: amp, outputs: [3], coils: s}";
        let demand = of_trio(TRIO, BASS, loads).expect("decided");
        let near = |range: Range<Power>, watts: f64| {
            assert!((range.low() - watts).abs() < 0.01 && (range.high() - watts).abs() < 0.01, "{range} {watts}");
        };
        near(demand.audio, 320.0);
        near(demand.full, 460.0);
        near(demand.programme, 156.57);
        near(demand.heat, 66.57);
        assert_eq!(demand.idle.range, Range::point(1.0));
        assert_eq!(demand.efficiencies.len(), 2);
    }

    /// Two of 80 W at 50 % and one of 240 W at 80 %, whatever will hang on them: 320 + 300 W.
    #[test]
    fn without_loads_every_channel_of_every_section_counts() {
        let full = |amplifier: &str, section: &str| of_trio(amplifier, section, "").map(|demand| demand.full);
        assert_eq!(full(TRIO, BASS), Ok(Range::point(620.0)));
        // All outputs are named: what the amplifier would state for itself is not asked.
        let whole = "channels: 3, class: AB";
        assert_eq!(full(whole, &BASS.replace("[3]", "[1, 2, 3]")), Ok(Range::point(900.0)));
        let needs = |found: Decided<Range<Power>>| match found {
            Err(Undecided::Open(places)) => places.iter().map(Place::path).collect::<Vec<_>>().join(" "),
            other => panic!("{other:?}"),
        };
        assert_eq!(needs(full(TRIO, &BASS.replace("outputs: [3], ", ""))), "amplifiers.amp.sections.bass.outputs");
        assert_eq!(needs(full(&TRIO.replace("channels: 3, ", ""), BASS)), "amplifiers.amp.channels");
        assert_eq!(needs(full(TRIO, "outputs: [3]")), "amplifiers.amp.sections.bass.rated");
    }

    /// A class of its own brings its usual range; without one the section is like the rest of the amplifier.
    #[test]
    fn a_section_without_a_class_is_of_the_amplifiers() {
        let efficiency = |section: &str| {
            let plan = format!("plan: 1\namplifiers: {{amp: {{{TRIO}, sections: {{bass: {{{section}}}}}}}}}\n");
            of_job(&plan, |job| {
                let ratings = ratings::of_output(&job.amplifiers[0], 3).expect("its outputs are stated");
                let known = efficiency(job, &ratings).expect("stated, or by class");
                let place = match known.origin {
                    Origin::Stated(place) | Origin::Assumed(place, _) => place.path(),
                    other => panic!("{other:?}"),
                };
                (known.range.low(), known.range.high(), place)
            })
        };
        assert_eq!(efficiency("outputs: [3]"), (50.0, 50.0, "amplifiers.amp.efficiency".into()));
        assert_eq!(efficiency(BASS), (80.0, 80.0, "amplifiers.amp.sections.bass.efficiency".into()));
        let usual = (75.0, 88.0, "amplifiers.amp.sections.bass.efficiency".to_owned());
        assert_eq!(efficiency("outputs: [3], class: D"), usual);
    }

    /// No share of full power makes more heat than the one that is said to, whatever the stage.
    #[test]
    fn the_hottest_duty_is_the_hottest() {
        for (class, full) in [
            (Some(AmplifierClass::Ab), 0.6),
            (Some(AmplifierClass::Ab), 0.4),
            (Some(AmplifierClass::H), 0.7),
            (Some(AmplifierClass::G), 0.8),
            (Some(AmplifierClass::D), 0.8),
            (None, 0.5),
        ] {
            let heat = |duty: f64| duty / at_duty(class, full, duty) - duty;
            let hottest = hottest_duty(class, full);
            assert!(hottest > 0.0 && hottest <= 1.0, "{class:?} {hottest}");
            for part in 1..=1000 {
                let duty = f64::from(part) / 1000.0;
                assert!(heat(duty) <= heat(hottest) + 1e-12, "{class:?} of {full}: more at {duty} than at {hottest}");
            }
        }
    }

    #[test]
    fn an_efficiency_of_nothing_is_none_stated() {
        let plan = "plan: 1\namplifiers: {amp: {efficiency: 0 %, rated: [{load: 4 ohm, power: 75 W}]}}\n";
        let found = of_job(plan, |job| efficiency(job, &ratings::of_rest(&job.amplifiers[0])));
        let Err(Undecided::Open(needs)) = found else { panic!("nothing comes out of it") };
        assert_eq!(needs[0].path(), "amplifiers.amp.class");
    }
}
