//! Every figure that is not the plan's own: ranges for what it does not state, and what the house decides.

use std::collections::BTreeMap;

use maud::{Markup, html};

use super::bits::{Asks, grouped, nothing, titled, value};
use crate::judge::{Input, Outcome};
use crate::report::{amplifier_table, capacitor_table, load_table, supply_table, wire_table};
use crate::sheet::View;
use crate::solve::{Job, Origin};

/// What is assumed of this job, and the figures of the house that went into its checks.
pub fn body(view: &View<'_>, _: &mut Asks) -> Markup {
    let facts = assumed(view);
    let house = of_house(view);
    let row = |(name, (value, source)): (String, (String, &'static str))| {
        vec![html! { (name) }, html! { (value) }, html! { (source) }]
    };
    // What is alike of several things is told once.
    let together = grouped(facts.into_iter().map(|(path, assumed)| (assumed, path)));
    let facts: Vec<Vec<Markup>> = together
        .into_iter()
        .map(|((value, source), paths)| vec![html! { (paths.join(", ")) }, html! { (value) }, html! { (source) }])
        .collect();
    html! {
        @if facts.is_empty() { (nothing("Nothing had to be assumed: the plan states every fact that its checks ask for.")) }
        (titled("Not stated, so a range stands in", &["fact", "assumed", "source"], facts))
        (titled("Figures of the house", &["figure", "value", "source"], house.into_iter().map(row).collect()))
    }
}

type Figures = BTreeMap<String, (String, &'static str)>;

fn inputs<'a>(view: &'a View<'_>) -> impl Iterator<Item = &'a Input> {
    let checks = view.judgement.checks.iter().filter(|check| check.outcome != Outcome::NotApplicable);
    checks.filter_map(|check| check.working.as_ref()).flat_map(|working| &working.inputs)
}

/// Facts for which a range stands in: those that checks show, and those that went into the figures of the sheet.
fn assumed(view: &View<'_>) -> Figures {
    let mut found = Figures::new();
    for input in inputs(view) {
        if let Origin::Assumed(place, source) = &input.origin {
            found.insert(place.path(), (value(&input.value), source));
        }
    }
    ask_everything(view.job);
    for fact in view.job.assumed() {
        let (low, high) = ((fact.show)(fact.range.0), (fact.show)(fact.range.1));
        let words = if low == high { low } else { format!("{low} to {high}") };
        found.entry(fact.place.path()).or_insert((words, fact.source));
    }
    found
}

/// What a job assumes is known once it was asked; asked for everything, it answers the same whatever was asked before.
fn ask_everything(job: &Job<'_>) {
    job.solve();
    for (at, wire) in job.wires.iter().enumerate() {
        wire_table(job, at, wire);
    }
    for amplifier in &job.amplifiers {
        amplifier_table(job, amplifier);
    }
    for load in &job.loads {
        load_table(job, load);
    }
    for name in job.plan.capacitors.keys() {
        capacitor_table(job, name);
    }
    supply_table(job);
}

fn of_house(view: &View<'_>) -> Figures {
    let mut found = Figures::new();
    for input in inputs(view) {
        if let Origin::House(name, source) = &input.origin {
            found.insert((*name).to_owned(), (value(&input.value), source));
        }
    }
    let waste = view.house.assumptions.cable_waste;
    if !view.job.wires.is_empty() {
        found.insert(waste.name.to_owned(), (waste.range.to_string(), waste.source));
    }
    found
}
