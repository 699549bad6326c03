//! The solved numbers of the things in a plan.

use schemars::JsonSchema;
use serde::Serialize;

use super::build::amount;
use super::model::Amount;
use crate::judge::Figure;
use crate::plan::{Amplifier, Load, Wire};
use crate::quantity::{Current, Dimension, Power, Range, Resistance, Share};
use crate::solve::{Case, Decided, Job, Known, Thing, Undecided, charging, coils, levels, loads};

/// The numbers of one thing.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Table {
    /// Its path in the plan, like `wires.main`.
    pub path: String,
    /// Its numbers.
    pub rows: Vec<Row>,
}

/// One number.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Row {
    /// What it is.
    pub name: String,
    /// As it reads: a value, a range, or what is missing.
    pub text: String,
    /// The number, when it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub amount: Option<Amount>,
    /// Paths of facts that have to be stated first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(default)]
    pub open: Vec<String>,
}

/// What flows in a supply wire, what it drops and carries, and which fuse fits it.
pub(crate) fn wire_table(job: &Job<'_>, at: usize, wire: &Thing<'_, Wire>) -> Table {
    let cases = [Case::IdleFull, Case::IdleProgramme];
    let mut rows = Vec::new();
    for case in cases {
        rows.push(known(&format!("current, {}", case.words()), job.wire_current(wire, case)));
    }
    for case in cases {
        rows.push(known(&format!("drop, {}", case.words()), job.wire_drop(wire, case)));
    }
    let carries = job.ampacity(wire).map(|carries| carries.ampacity);
    rows.push(row("carries where it runs", carries));
    rows.push(row("conductor temperature, programme", job.wire_temperature(wire)));
    if is_protected(job, at) {
        rows.push(row("smallest fuse for the load", smallest_fuse(job, wire)));
        rows.push(row("largest fuse for the wire", largest_fuse(job, wire)));
        rows.extend(fuses(job, at));
    }
    Table { path: wire.address.to_string(), rows }
}

/// Whether supply current comes through a wire, so that a fuse has to protect it.
pub(crate) fn is_protected(job: &Job<'_>, wire: usize) -> bool {
    job.protection().ways_in(wire).next().is_some()
}

/// A fuse must not let more through than its wire carries, by the limit of the house.
pub(crate) fn largest_fuse(job: &Job<'_>, wire: &Thing<'_, Wire>) -> Decided<Range<Current>> {
    // No fuse fits a wire that joins positive and negative.
    if let Some(why) = job.polarity().no_currents() {
        return Err(Undecided::NotApplicable(why));
    }
    Ok(job.ampacity(wire)?.ampacity * job.house.limits.fuse_over_ampacity.base())
}

/// A fuse must carry what FUSE-04 asks of it.
pub(crate) fn smallest_fuse(job: &Job<'_>, wire: &Thing<'_, Wire>) -> Decided<Range<Current>> {
    let at = job.wires.iter().position(|other| other.address == wire.address);
    at.map_or(Err(Undecided::NotApplicable("no such wire")), |at| job.fuse_asked_in(at))
}

/// The fuses that alone protect a wire.
fn fuses(job: &Job<'_>, wire: usize) -> Vec<Row> {
    let sites = job.protection().fuses.iter().enumerate();
    let own = sites.filter(|(fuse, _)| job.protected_by(*fuse).contains(&wire));
    let rated = own.filter_map(|(_, site)| Some((site, site.fuse.rating?)));
    let rows: Vec<Row> = rated
        .flat_map(|(site, rating)| {
            let hot = site.fuse.is_breaker().then(|| job.breaker_carries(site, rating));
            let hot = hot.map(|carries| row("its breaker carries where it sits", Ok(carries.range)));
            std::iter::once(row(&format!("its fuse, {}", site.place), Ok(Range::from(rating)))).chain(hot)
        })
        .collect();
    if rows.is_empty() {
        let text = "none with a rating protects it".to_owned();
        return vec![Row { name: "its fuse".into(), text, amount: None, open: Vec::new() }];
    }
    rows
}

/// What an amplifier asks of the supply and what reaches it.
pub(crate) fn amplifier_table(job: &Job<'_>, amplifier: &Thing<'_, Amplifier>) -> Table {
    let demand = job.demand(amplifier);
    let mut rows = vec![
        row("audio power, full output", demand.clone().map(|demand| demand.audio)),
        row("supply power, full output", demand.clone().map(|demand| demand.full)),
        row("supply power, programme", demand.map(|demand| demand.programme)),
    ];
    for case in [Case::IdleProgramme, Case::IdleFull, Case::OffProgramme, Case::OffFull] {
        rows.push(known(&format!("terminal voltage, {}", case.words()), job.terminal_voltage(amplifier.name, case)));
    }
    for case in [Case::IdleProgramme, Case::IdleFull] {
        rows.push(known(&format!("drop in its runs, {}", case.words()), job.run_drop(amplifier.name, case)));
        rows.push(known(&format!("drop on the way back, {}", case.words()), job.return_drop(amplifier.name, case)));
    }
    Table { path: amplifier.address.to_string(), rows }
}

/// What a load is for its outputs, and what its coils take.
pub(crate) fn load_table(job: &Job<'_>, load: &Thing<'_, Load>) -> Table {
    let ohms = loads::own_ohms(load, job).map(Range::<Resistance>::point);
    let lead = coils::lead_resistance(job, load).map(|lead| lead.range);
    let both = ohms.clone().and_then(|ohms| Ok((ohms, lead.clone()?)));
    let output = job.house.assumptions.output.range;
    let power = loads::power(load, job);
    let mut rows = vec![
        row("impedance", ohms),
        row("rated power", power.clone()),
        row("DC resistance with its lead", coils::dc_resistance(job, load).map(|known| known.range)),
        row("resistance of its lead", lead),
        row("power lost in its lead", both.clone().map(|(ohms, lead)| levels::lead_loss(lead, ohms))),
        row("level lost in its lead", both.clone().map(|(ohms, lead)| levels::lead_level(lead, ohms))),
        figure("damping factor at the coils", both.map(|(ohms, lead)| levels::damping(ohms, lead, output))),
        row("highest gain target", loads::ceiling(job, load).map(|ceiling| ceiling.volts)),
    ];
    rows.extend(coil_rows(job, load, &power));
    rows.extend(arrangement_rows(job, load));
    Table { path: load.address.to_string(), rows }
}

/// What each coil takes of a load's power.
fn coil_rows(job: &Job<'_>, load: &Thing<'_, Load>, power: &Decided<Range<Power>>) -> Vec<Row> {
    let Some(tree) = &load.coils else { return Vec::new() };
    let shares = coils::shares(job, tree);
    let lowest = coils::plays_lowest(job, tree);
    let each = tree.coils().into_iter().enumerate().map(|(at, coil)| {
        if !lowest[at] {
            let reason = "behind a crossover, whose maker says how much it gets";
            return vec![row::<Power>(&format!("power into {coil}"), Err(Undecided::NotApplicable(reason)))];
        }
        let share = shares.clone().map(|shares| shares[at]);
        let takes = share.clone().and_then(|share| Ok(power.clone()? * share));
        let share = share.map(|share| Range::<Share>::point(share * 100.0));
        vec![row(&format!("share of {coil}"), share), row(&format!("power into {coil}"), takes)]
    });
    each.flatten().collect()
}

/// Every arrangement of the same coils that loads them evenly and that the amplifier is made and rated for, best first.
fn arrangement_rows(job: &Job<'_>, load: &Thing<'_, Load>) -> Vec<Row> {
    let power = |found: loads::Arranged| {
        let ohms = Range::<Resistance>::point(found.is.ohms);
        row(&format!("power as {}, {ohms}", found.is.coils), Ok(found.power))
    };
    match loads::arrangements(job, load) {
        Ok(found) => found.into_iter().map(power).collect(),
        Err(undecided) => vec![row::<Power>("power of other arrangements", Err(undecided))],
    }
}

/// A number without a unit.
fn figure(name: &str, value: Decided<(f64, f64)>) -> Row {
    match value {
        Ok((low, high)) => {
            let figure = Figure::ratio(low, high);
            Row { name: name.to_owned(), text: figure.to_string(), amount: Some(amount(&figure)), open: Vec::new() }
        }
        Err(undecided) => row::<Resistance>(name, Err(undecided)),
    }
}

/// What a capacitor holds and what flows into it while it is empty.
pub(crate) fn capacitor_table(job: &Job<'_>, name: &str) -> Table {
    let rows = vec![
        row("energy at the charging voltage", job.capacitor_holds(name)),
        row("energy down to the battery at rest", job.capacitor_gives(name)),
        row("carries 100 A down to the battery at rest", job.capacitor_carries(name, Range::point(100.0))),
        row("current into it, empty, its feed closed straight", job.capacitor_inrush(name)),
    ];
    Table { path: format!("capacitors.{name}"), rows }
}

/// The supply as a whole.
pub(crate) fn supply_table(job: &Job<'_>) -> Table {
    let mut rows = Vec::new();
    for (case, words) in [(Case::IdleProgramme, "at idle"), (Case::CruiseProgramme, "on the road")] {
        rows.push(row(&format!("{} spares, {words}", job.plan.charger()), Ok(charging::spare(job, case))));
        let asked = job.balance(case).map(|balance| balance.asked);
        rows.push(known(&format!("added gear, average, {words}"), asked));
    }
    let lasts = job.banks().into_iter().map(|(place, bank)| {
        row(&format!("music with the {}, {place}", job.plan.states()[2]), bank.map(|bank| bank.lasts))
    });
    rows.extend(lasts);
    let asleep = job.asleep().total();
    rows.push(row("current asleep", Ok(asleep)));
    rows.push(row("asleep until it may not crank", job.starting_battery_lasts(asleep)));
    Table { path: "vehicle".into(), rows }
}

fn known<D: Dimension>(name: &str, value: Decided<Known<D>>) -> Row {
    row(name, value.map(|known| known.range))
}

fn row<D: Dimension>(name: &str, value: Decided<Range<D>>) -> Row {
    let name = name.to_owned();
    match value {
        Ok(range) => {
            let figure = Figure::from(range);
            Row { name, text: figure.to_string(), amount: Some(amount(&figure)), open: Vec::new() }
        }
        Err(Undecided::Open(places)) => {
            let open: Vec<String> = places.iter().map(ToString::to_string).collect();
            let text = match open.as_slice() {
                [] => "open: it depends on facts that are only known by range".to_owned(),
                some => format!("open: {}", some.join(", ")),
            };
            Row { name, text, amount: None, open }
        }
        Err(Undecided::NotApplicable(reason)) => {
            Row { name, text: format!("none: {reason}"), amount: None, open: Vec::new() }
        }
    }
}
