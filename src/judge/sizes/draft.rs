//! A plan with places left free: for each free wire the sizes it may have, for each free fuse the ratings.

use std::collections::BTreeMap;

use super::super::change::{AWG, METRIC};
use crate::house::House;
use crate::plan::{Fuse, FuseForm, Plan, Wire, word};
use crate::quantity::{Current, Gauge, Length, Quantity};
use crate::solve::Job;
use crate::solve::protection::{Exposure, ExposureEnd};

/// A wire whose size is free.
#[derive(Debug, Clone)]
pub struct FreeWire {
    /// Its name.
    pub name: String,
    /// What the plan says.
    pub before: Option<Gauge>,
    /// What it may be, thin to thick.
    pub sizes: Vec<Gauge>,
    /// Its length in m; as good as any where it is not stated.
    pub length: f64,
}

/// A fuse whose rating is free.
#[derive(Debug, Clone)]
pub struct FreeFuse {
    /// Its path, like `wires.main.fuse`.
    pub path: String,
    /// What the plan says; `None` for a fuse that it does not have.
    pub before: Option<Fuse>,
    /// The fuse as it would be, but for form and rating.
    pub blank: Fuse,
    /// What it may be, rising.
    pub ratings: Vec<(FuseForm, Quantity<Current>)>,
}

/// A choice: for each free wire and fuse the place in its list.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct State {
    /// Sizes.
    pub wires: Vec<usize>,
    /// Ratings.
    pub fuses: Vec<usize>,
}

/// A plan with places left free.
pub struct Draft<'a> {
    /// The plan as it is.
    pub plan: &'a Plan,
    /// The free wires.
    pub wires: Vec<FreeWire>,
    /// The free fuses.
    pub fuses: Vec<FreeFuse>,
}

/// Which stated sizes and ratings are free besides those that are missing, by path: `wires.main.size`.
pub type Freed = std::collections::BTreeSet<String>;

impl<'a> Draft<'a> {
    /// Everything that is missing or freed.
    pub fn of(plan: &'a Plan, house: &House, freed: &Freed) -> Self {
        let is_free = |path: &str, missing: bool| missing || freed.contains(path);
        let wires =
            plan.wires.iter().filter(|(name, wire)| is_free(&format!("wires.{name}.size"), wire.size.is_none()));
        let wires = wires.map(|(name, wire)| free_wire(name, wire, plan, house)).collect();
        let stated =
            fuses(plan).into_iter().filter(|(path, fuse)| is_free(&format!("{path}.rating"), fuse.rating.is_none()));
        let stated = stated.map(|(path, fuse)| FreeFuse {
            ratings: ratings(fuse.form, house),
            path,
            before: Some(fuse.clone()),
            blank: fuse.clone(),
        });
        let mut fuses: Vec<FreeFuse> = stated.chain(missing_fuses(plan, house)).collect();
        charged(&mut fuses, plan, house);
        Self { plan, wires, fuses }
    }

    /// Whether nothing is free.
    pub fn is_empty(&self) -> bool {
        self.wires.is_empty() && self.fuses.is_empty()
    }

    /// The plan with a choice made.
    pub fn with(&self, state: &State) -> Plan {
        let mut plan = self.plan.clone();
        for (free, at) in self.wires.iter().zip(&state.wires) {
            if let Some(wire) = plan.wires.get_mut(&free.name) {
                wire.size = free.sizes.get(*at).copied();
            }
        }
        for (free, at) in self.fuses.iter().zip(&state.fuses) {
            if let Some(place) = fuse_at(&mut plan, &free.path) {
                let chosen = free.ratings.get(*at);
                let (form, rating) = (chosen.map(|(form, _)| *form), chosen.map(|(_, rating)| *rating));
                *place = Some(Fuse { form: free.blank.form.or(form), rating, ..free.blank.clone() });
            }
        }
        plan
    }

    /// What the text has to say for a choice: paths with values, in the order of the plan's lists.
    pub fn changes(&self, state: &State) -> Vec<(String, String)> {
        let wires = self.wires.iter().zip(&state.wires).filter_map(|(free, at)| {
            let size = free.sizes[*at];
            (free.before != Some(size)).then(|| (format!("wires.{}.size", free.name), size.to_string()))
        });
        let fuses = self.fuses.iter().zip(&state.fuses).flat_map(|(free, at)| written(free, free.ratings[*at]));
        wires.chain(fuses).collect()
    }

    /// The sizes of a free wire as areas, in mm2.
    pub fn area(&self, wire: usize, size: usize) -> f64 {
        self.wires[wire].sizes[size].square_millimetres()
    }
}

fn written(free: &FreeFuse, (form, rating): (FuseForm, Quantity<Current>)) -> Vec<(String, String)> {
    let at = |key: &str| format!("{}.{key}", free.path);
    match &free.before {
        Some(before) if *before != Fuse::default() => {
            let form = before.form.is_none().then(|| (at("form"), word(&form)));
            let rating = (before.rating != Some(rating)).then(|| (at("rating"), rating.to_string()));
            form.into_iter().chain(rating).collect()
        }
        _ => {
            let fuse = Fuse { form: Some(form), rating: Some(rating), ..free.blank.clone() };
            vec![(free.path.clone(), fuse.written())]
        }
    }
}

/// All fuses of the supply, by path.
pub fn fuses(plan: &Plan) -> Vec<(String, &Fuse)> {
    let of_wires = plan.wires.iter().flat_map(|(name, wire)| {
        let fuses = [("fuse", &wire.fuse), ("far_fuse", &wire.far_fuse)];
        fuses.into_iter().filter_map(move |(key, fuse)| Some((format!("wires.{name}.{key}"), fuse.as_ref()?)))
    });
    let of_blocks = plan.blocks.iter().flat_map(|(block, is)| {
        is.outputs
            .iter()
            .filter_map(move |(output, is)| Some((format!("blocks.{block}.outputs.{output}.fuse"), is.fuse.as_ref()?)))
    });
    of_wires.chain(of_blocks).collect()
}

fn fuse_at<'p>(plan: &'p mut Plan, path: &str) -> Option<&'p mut Option<Fuse>> {
    let segments: Vec<&str> = path.split('.').collect();
    match segments.as_slice() {
        ["wires", name, "fuse"] => plan.wires.get_mut(*name).map(|wire| &mut wire.fuse),
        ["wires", name, "far_fuse"] => plan.wires.get_mut(*name).map(|wire| &mut wire.far_fuse),
        ["blocks", block, "outputs", output, "fuse"] => {
            let outputs: &mut BTreeMap<_, _> = &mut plan.blocks.get_mut(*block)?.outputs;
            outputs.get_mut(*output).map(|output| &mut output.fuse)
        }
        _ => None,
    }
}

fn free_wire(name: &str, wire: &Wire, plan: &Plan, house: &House) -> FreeWire {
    let mut sizes = sizes(wire.size, plan, house);
    // What is there already may stay, whether the house keeps it or not.
    sizes.extend(wire.size.filter(|size| !sizes.contains(size)));
    sizes.sort_by(|one, other| one.square_millimetres().total_cmp(&other.square_millimetres()));
    FreeWire { name: name.to_owned(), before: wire.size, sizes, length: wire.length.map_or(1.0, Quantity::base) }
}

/// What the house keeps; otherwise what is made, in the system that most of the plan's wires are written in; where they do
/// not tell, most of its terminals, and at last the wire itself.
fn sizes(size: Option<Gauge>, plan: &Plan, house: &House) -> Vec<Gauge> {
    if !house.stock.wires.is_empty() {
        return house.stock.wires.clone();
    }
    let wires = plan.wires.values().filter_map(|wire| wire.size);
    let terminals = plan.amplifiers.values().filter_map(|amplifier| amplifier.terminals.as_ref()?.power);
    let terminals = terminals.chain(plan.blocks.values().filter_map(|block| block.takes));
    let told = most_metric(wires).or_else(|| most_metric(terminals)).or_else(|| most_metric(size.into_iter()));
    match told {
        Some(true) => METRIC.into_iter().map(Gauge::Metric).collect(),
        _ => AWG.into_iter().map(Gauge::Awg).collect(),
    }
}

/// Whether more of some sizes are metric than are not; nothing where they are as many.
fn most_metric(sizes: impl Iterator<Item = Gauge>) -> Option<bool> {
    let (metric, other): (Vec<Gauge>, Vec<Gauge>) = sizes.partition(|size| matches!(size, Gauge::Metric(_)));
    (metric.len() != other.len()).then_some(metric.len() > other.len())
}

/// Forms by how much they break; a strip breaks more than a blade.
const FORMS: [FuseForm; 4] =
    [FuseForm::BoltDown, FuseForm::BladeLarge, FuseForm::BladeRegular, FuseForm::BladeMiniature];

/// The ratings of a form that the house keeps, or else that are made. Where the form is free too, each rating comes in
/// the first form that has it.
fn ratings(form: Option<FuseForm>, house: &House) -> Vec<(FuseForm, Quantity<Current>)> {
    let of = |form: FuseForm| -> Vec<(FuseForm, Quantity<Current>)> {
        let made = || form.ratings().iter().filter_map(|rating| Quantity::read(&format!("{rating} A")).ok()).collect();
        let kept: Vec<Quantity<Current>> = house.stock.ratings(form).map_or_else(made, <[_]>::to_vec);
        kept.into_iter().map(|rating| (form, rating)).collect()
    };
    if let Some(form) = form {
        return of(form);
    }
    let stocked: Vec<FuseForm> = FORMS.into_iter().filter(|form| house.stock.ratings(*form).is_some()).collect();
    let forms = if stocked.is_empty() { FORMS.to_vec() } else { stocked };
    let mut all: Vec<(FuseForm, Quantity<Current>)> = Vec::new();
    for (form, rating) in forms.into_iter().flat_map(of) {
        if !all.iter().any(|(_, known)| known.base() == rating.base()) {
            all.push((form, rating));
        }
    }
    all.sort_by(|one, other| one.1.base().total_cmp(&other.1.base()));
    all
}

/// In line with a relay or switch between two batteries a fuse is chosen by what that is made for: the largest within it,
/// since an empty battery takes more than any amplifier behind it.
fn charged(fuses: &mut [FreeFuse], plan: &Plan, house: &House) {
    let job = Job::new(plan, house);
    for (name, isolator) in &plan.isolators {
        let Some(rated) = isolator.rated.filter(|_| !isolator.limits_current()) else { continue };
        let link = job.charge_link(name);
        let wires = link.wires.iter().map(|wire| job.wires[*wire].place().path());
        let outputs =
            link.outputs.iter().map(|(block, output)| job.blocks[*block].at(format!("outputs.{output}")).path());
        let hosts: Vec<String> = wires.chain(outputs).filter(|_| link.is_between_batteries).collect();
        let in_line =
            |free: &&mut FreeFuse| free.path.rsplit_once('.').is_some_and(|(host, _)| hosts.iter().any(|h| h == host));
        for free in fuses.iter_mut().filter(in_line) {
            let within = free.ratings.iter().rposition(|(_, rating)| rating.base() <= rated.base());
            free.ratings.drain(..within.unwrap_or(0));
        }
    }
}

/// A fuse at every end of a wire that a battery feeds without one.
fn missing_fuses(plan: &Plan, house: &House) -> Vec<FreeFuse> {
    let job = Job::new(plan, house);
    let limit = house.limits.fuse_distance.base();
    let mut found: Vec<FreeFuse> = Vec::new();
    for run in &job.protection().exposures {
        let Some(wire) = run.wires.first().and_then(|first| job.wires.get(*first)) else { continue };
        let far = is_at_far_end(&job, run, wire);
        let there = if far { wire.far_fuse.is_some() } else { wire.fuse.is_some() };
        // A fuse may sit in the next wire, near enough to the battery; how near it is the plan may not tell yet.
        let near_enough = match (run.end, &run.length) {
            (ExposureEnd::Fuse(_), Ok(length)) => length.high() <= limit,
            (ExposureEnd::Fuse(_), Err(_)) => run.wires.len() > 1,
            (ExposureEnd::Battery | ExposureEnd::Gear, _) => false,
        };
        let path = format!("wires.{}.{}", wire.name, if far { "far_fuse" } else { "fuse" });
        if !there && !near_enough && !found.iter().any(|known| known.path == path) {
            let blank = Fuse { distance: Some(distance(limit, wire.length)), ..Fuse::default() };
            found.push(FreeFuse { path, before: None, blank, ratings: ratings(None, house) });
        }
    }
    found
}

fn is_at_far_end(job: &Job<'_>, run: &Exposure, wire: &Wire) -> bool {
    let feeder = job.protection().feeders[run.source].place.path();
    let battery = feeder.rsplit('.').next().unwrap_or_default();
    wire.to.as_ref().is_some_and(|to| to.is(battery, "positive"))
}

/// The farthest from the battery that the house allows, and no farther than the middle of the wire, in whole
/// centimetres: where a holder fits nobody knows but who stands at the vehicle.
fn distance(limit: f64, length: Option<Quantity<Length>>) -> Quantity<Length> {
    let most = length.map_or(limit, |length| limit.min(length.base() / 2.0));
    let centimetres = (most * 100.0 + 1e-9).floor().max(1.0);
    Quantity::read(&format!("{centimetres} cm")).unwrap_or(Quantity::new(most))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drafted<T>(text: &str, house: &House, freed: &[&str], look: impl FnOnce(&Draft<'_>) -> T) -> T {
        let reading = crate::plan::read(text.to_owned());
        assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
        look(&Draft::of(&reading.plan, house, &freed.iter().map(|path| (*path).to_owned()).collect()))
    }

    fn feed(ends: &str, more: &str) -> String {
        format!("plan: 1\namplifiers: {{amp: {{}}}}\nwires: {{main: {{{ends}, {more}}}}}\n")
    }

    const AHEAD: &str = "from: battery.positive, to: amp.power";

    #[test]
    fn what_is_stated_is_free_only_when_it_is_freed() {
        let text = feed(AHEAD, "size: 16 mm2, length: 4 m, fuse: {form: bolt-down, rating: 60 A, distance: 20 cm}");
        let free = |freed: &[&str]| {
            drafted(&text, &House::default(), freed, |draft| (draft.is_empty(), draft.wires.len(), draft.fuses.len()))
        };
        assert_eq!(free(&[]), (true, 0, 0));
        assert_eq!(free(&["wires.main.size"]), (false, 1, 0));
        assert_eq!(free(&["wires.main.fuse.rating"]), (false, 0, 1));
    }

    #[test]
    fn what_is_there_may_stay_beside_what_the_house_keeps() {
        let gauge = |words: &str| Gauge::read(words).expect("a size");
        let mut house = House::default();
        house.stock.wires = vec![gauge("10 mm2"), gauge("16 mm2")];
        let sizes = |house: &House, size: &str| {
            let text = feed(AHEAD, &format!("size: {size}, fuse: {{form: bolt-down, rating: 60 A}}"));
            drafted(&text, house, &["wires.main.size"], |draft| {
                draft.wires[0].sizes.iter().map(ToString::to_string).collect::<Vec<_>>()
            })
        };
        assert_eq!(sizes(&house, "16 mm2"), ["10 mm2", "16 mm2"]);
        assert_eq!(sizes(&house, "25 mm2"), ["10 mm2", "16 mm2", "25 mm2"]);
        let made = House::default();
        assert!(sizes(&made, "16 mm2").iter().all(|size| size.ends_with("mm2")), "in the system of the plan");
        assert!(sizes(&made, "4 AWG").iter().all(|size| size.ends_with("AWG")));
    }

    /// At the battery's end, whichever way the wire is drawn; none where the next one sits near enough.
    #[test]
    fn a_battery_that_feeds_a_wire_without_a_fuse_gets_one() {
        let missing = |text: &str| {
            drafted(text, &House::default(), &[], |draft| {
                let new = draft.fuses.iter().filter(|free| free.before.is_none());
                new.map(|free| (free.path.clone(), free.blank.distance.map(|at| at.to_string()))).collect::<Vec<_>>()
            })
        };
        let at = |path: &str, distance: &str| vec![(path.to_owned(), Some(distance.to_owned()))];
        assert_eq!(missing(&feed(AHEAD, "length: 4 m")), at("wires.main.fuse", "45 cm"));
        assert_eq!(
            missing(&feed("from: amp.power, to: battery.positive", "length: 4 m")),
            at("wires.main.far_fuse", "45 cm")
        );
        assert_eq!(missing(&feed(AHEAD, "length: 60 cm")), at("wires.main.fuse", "30 cm"), "in its middle");
        let block = |length: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nblocks: {{split: {{outputs: {{one: {{fuse: {{rating: 60 A}}}}}}}}}}\nwires:\n  \
                 main: {{from: battery.positive, to: split.in{length}}}\n  branch: {{from: split.one, to: amp.power}}\n"
            )
        };
        assert_eq!(missing(&block(", length: 30 cm")), []);
        assert_eq!(missing(&block(", length: 3 m")), at("wires.main.fuse", "45 cm"));
        assert_eq!(missing(&block("")).len(), 1, "how long it is nobody says");
        let next = block("")
            .replace("one: {fuse: {rating: 60 A}}", "one: {}")
            .replace("amp.power}", "amp.power, fuse: {rating: 60 A, distance: 10 cm}}");
        assert_eq!(missing(&next), [], "it may sit near enough in the next wire");
    }

    #[test]
    fn a_fuse_of_which_nothing_is_said_is_written_whole() {
        let changes = |fuse: &str| {
            drafted(
                &feed(AHEAD, &format!("size: 16 mm2, length: 4 m, fuse: {fuse}")),
                &House::default(),
                &[],
                |draft| draft.changes(&State { wires: vec![], fuses: vec![0] }),
            )
        };
        let whole = &changes("{}")[0];
        assert!(whole.0 == "wires.main.fuse" && whole.1.starts_with("{form: "), "{whole:?}");
        let paths = |fuse: &str| changes(fuse).into_iter().map(|(path, _)| path).collect::<Vec<_>>();
        assert_eq!(paths("{distance: 20 cm}"), ["wires.main.fuse.form", "wires.main.fuse.rating"]);
        assert_eq!(paths("{form: bolt-down}"), ["wires.main.fuse.rating"]);
    }

    /// An empty battery takes all that a relay of 100 A lets through: its fuse is the largest within that. A charger gives no more
    /// than it is made for.
    #[test]
    fn beside_a_relay_between_batteries_the_largest_fuse_within_it_is_the_least() {
        let least = |kind: &str| {
            let text = format!(
                "plan: 1\nbatteries: {{rear: {{}}}}\nisolators: {{part: {{kind: {kind}, rated: 100 A}}}}\nwires:\n  \
                 a: {{from: battery.positive, to: part.in, length: 4 m, fuse: {{form: bolt-down, distance: 20 cm}}}}\n  \
                 b: {{from: part.out, to: rear.positive, length: 30 cm}}\n"
            );
            drafted(&text, &House::default(), &[], |draft| {
                let free = draft.fuses.iter().find(|free| free.path == "wires.a.fuse").expect("its rating is missing");
                free.ratings[0].1.base()
            })
        };
        assert_eq!(least("relay"), 100.0);
        assert!(least("charger") < 50.0);
    }

    /// A single wire in AWG makes no American plan, and the terminals are asked only where the wires do not tell.
    #[test]
    fn sizes_are_chosen_in_the_system_of_most_of_the_plan() {
        let is_metric = |terminal: &str, sizes: &[&str]| {
            let stated: Vec<String> =
                sizes.iter().enumerate().map(|(at, size)| format!("w{at}: {{from: a.power, size: {size}}}")).collect();
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{terminals: {{power: {terminal}}}}}}}\nwires: {{main: {{{AHEAD}, length: 4 m}}, {}}}\n",
                stated.join(", ")
            );
            drafted(&text, &House::default(), &[], |draft| {
                let main = draft.wires.iter().find(|free| free.name == "main").expect("it is free");
                main.sizes.iter().all(|size| matches!(size, Gauge::Metric(_)))
            })
        };
        assert!(is_metric("4 AWG", &["4 AWG", "25 mm2", "16 mm2"]));
        assert!(!is_metric("25 mm2", &["4 AWG", "25 mm2", "8 AWG"]));
        assert!(is_metric("25 mm2", &["4 AWG", "25 mm2"]) && !is_metric("4 AWG", &["4 AWG", "25 mm2"]));
        assert!(is_metric("25 mm2", &[]));
    }
}
