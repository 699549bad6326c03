//! The head of the sheet: which job, which vehicle, how far it has come, whether anything stands in the way.

use maud::{Markup, html};

use super::bits::{Asks, listed, plain};
use crate::plan::{Airbags, Stage, Vehicle};
use crate::report::{Counts, PlanReport, Program, STANCE, rules_digest, standing_words, text_digest};
use crate::sheet::View;
use crate::solve::Place;
use crate::words::count;

/// So many digits of a digest tell two plans apart.
const DIGITS: usize = 16;

/// The head of the sheet.
pub fn body(view: &View<'_>, asks: &mut Asks) -> Markup {
    let (plan, report) = (view.job.plan, view.report);
    let ticket = plan.job.as_ref();
    let summary = ticket.and_then(|ticket| ticket.summary.as_deref());
    let Program { name, version } = Program::default();
    html! {
        header.head {
            p.kicker { "Job sheet" @if let Some(house) = &view.house.name { " · " (house) } }
            h1 { (title(view)) }
            @if let Some(summary) = summary { p.lead { (summary) } }
            dl.facts {
                (fact("Vehicle", &vehicle(plan.vehicle.as_ref(), asks)))
                (fact("Stage", &html! { (stage(report.stage)) }))
                (fact("Plan", &html! { (report.path) }))
                (fact("Digest of the plan", &html! { code { (text_digest(&view.reading.text).chars().take(DIGITS).collect::<String>()) } }))
                (fact("Made by", &html! { (name) " " (version) ", rules " code { (rules(view)) } }))
                div.across { dt { "Judged by" } dd { (house(report)) } }
            }
            (unreadable(report))
            (verdict(report))
            @for note in notes(view) { p.note { (note) } }
            p.stance { (STANCE) }
        }
    }
}

/// What the job is called: its number, or the name of its file.
pub fn title(view: &View<'_>) -> String {
    let number = view.job.plan.job.as_ref().and_then(|ticket| ticket.number.clone());
    number.unwrap_or_else(|| view.report.path.clone())
}

fn rules(view: &View<'_>) -> String {
    let rules: Vec<_> = crate::rules::all().into_iter().filter(|rule| !view.house.rules.is_off(rule.code)).collect();
    rules_digest(&rules).chars().take(DIGITS).collect()
}

fn fact(name: &str, value: &Markup) -> Markup {
    html! { div { dt { (name) } dd { (value) } } }
}

fn vehicle(vehicle: Option<&Vehicle>, asks: &mut Asks) -> Markup {
    let Some(vehicle) = vehicle else { return asks.missing(&Place::of("vehicle")) };
    let words = listed([
        vehicle.voltage.map(|voltage| format!("{} system", plain(&voltage))),
        vehicle.body.map(|body| format!("{} body", plain(&body))),
        vehicle.high_voltage.filter(|is| *is != crate::plan::HighVoltage::None).map(|is| plain(&is)),
        vehicle.airbags.map(|fitted| airbags(fitted).to_owned()),
    ]);
    html! {
        (asks.stated(&Place::of("vehicle.summary"), vehicle.summary.as_ref()))
        @if !words.is_empty() { " (" (words) ")" }
    }
}

const fn airbags(fitted: Airbags) -> &'static str {
    match fitted {
        Airbags::None => "no airbags",
        Airbags::Front => "airbags in front",
        Airbags::FrontAndSide => "airbags in front and in the seats",
        Airbags::FrontSideAndCurtain => "airbags in front, in the seats and along the roof",
    }
}

/// A stage with what it means.
pub fn stage(stage: Stage) -> &'static str {
    match stage {
        Stage::Draft => "draft: facts are still being found out",
        Stage::Planned => "planned: everything is decided, no panel has come off yet",
        Stage::Installed => "installed: built and measured",
    }
}

fn house(report: &PlanReport) -> Markup {
    let Some(house) = &report.house else { return html! { "what testlamp ships with" } };
    html! {
        (house.path)
        @for off in &house.rules_off { "; " (off.code) " is off: " (off.reason) }
        @for moved in &house.severities { "; " (moved.code) " counts as " (moved.severity.word()) ": " (moved.reason) }
    }
}

/// How a plan stands, as an exit status would say it.
fn status(counts: &Counts) -> u8 {
    match (counts.broken > 0, counts.holds_gate()) {
        (true, _) => 2,
        (_, true) => 1,
        _ => 0,
    }
}

/// How a plan stands, by a sign, in words and in the style.
pub struct Standing {
    /// Its class in the style.
    pub class: &'static str,
    /// A sign beside the words.
    pub sign: &'static str,
    /// The words.
    pub words: String,
}

/// How a plan stands. What is only open so far is not called clear.
pub fn standing(counts: &Counts) -> Standing {
    let words = standing_words(status(counts));
    let (class, sign, open) = match (status(counts), counts.open) {
        (0, 0) => ("clear", "✓", String::new()),
        (0, 1) => ("waits", "○", "; 1 check is open".into()),
        (0, open) => ("waits", "○", format!("; {open} checks are open")),
        _ => ("held", "✗", String::new()),
    };
    Standing { class, sign, words: format!("{words}{open}") }
}

/// What the checks came to, a few words each.
pub fn tally(counts: &Counts) -> Vec<String> {
    let some = [
        (counts.dangers, count(counts.dangers, "danger")),
        (counts.faults, count(counts.faults, "fault")),
        (counts.advice, format!("{} advice", counts.advice)),
        (counts.open, format!("{} open", counts.open)),
        (counts.waived, format!("{} waived", counts.waived)),
        (counts.unreadable, format!("{} unreadable", count(counts.unreadable, "place"))),
        (counts.broken, format!("{} broken", counts.broken)),
    ];
    let first = [count(counts.checks, "check"), format!("{} passed", counts.passes)];
    first.into_iter().chain(some.into_iter().filter(|(number, _)| *number > 0).map(|(_, words)| words)).collect()
}

fn verdict(report: &PlanReport) -> Markup {
    let status = status(&report.counts);
    let Standing { class, sign, words } = standing(&report.counts);
    html! {
        div class={ "verdict " (class) } {
            p.word { span.seal aria-hidden="true" { (sign) } " " (capital(&words)) }
            p.tally { (tally(&report.counts).join(" · ")) }
            @if let Some(advice) = advice(report, status) { p { (advice) } }
        }
    }
}

/// What the verdict means for somebody with the tools in hand.
fn advice(report: &PlanReport, status: u8) -> Option<&'static str> {
    if status != 0 {
        return Some("Do not build by this sheet until what is listed under findings is mended.");
    }
    (report.stage == Stage::Draft).then_some("Do not buy or cut by a draft: what is open below may still change it.")
}

fn capital(words: &str) -> String {
    let mut rest = words.chars();
    rest.next().map(|first| first.to_uppercase().chain(rest).collect()).unwrap_or_default()
}

fn unreadable(report: &PlanReport) -> Markup {
    if report.unreadable.is_empty() {
        return html! {};
    }
    html! {
        div.unreadable {
            p { strong { "Part of the plan cannot be read; what it says there is missing from this sheet." } }
            ul {
                @for words in &report.unreadable {
                    li { "line " (words.at.line) ": " (words.what) @if !words.mend.is_empty() { "; " (words.mend) } }
                }
            }
        }
    }
}

/// What was written beside the job as free text.
fn notes<'a>(view: &View<'a>) -> Vec<&'a str> {
    let plan = view.job.plan;
    let of_job = plan.job.as_ref().and_then(|ticket| ticket.note.as_deref());
    let of_vehicle = plan.vehicle.as_ref().and_then(|vehicle| vehicle.note.as_deref());
    [of_job, of_vehicle, plan.note.as_deref()].into_iter().flatten().collect()
}
