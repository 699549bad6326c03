//! Who answers for what: waivers in the plan, and lines to sign on.

use maud::{Markup, html};

use super::bits::{Asks, table};
use crate::sheet::View;
use crate::solve::Place;

/// Whose names stand at the end.
const HANDS: [&str; 4] = ["Planned by", "Built by", "Inspected and measured by", "Handed over to"];

/// Waivers with what they let stand, and the lines.
pub fn body(view: &View<'_>, asks: &mut Asks) -> Markup {
    let rows: Vec<Vec<Markup>> = (0..view.job.plan.waivers.len()).filter_map(|at| waiver(view, asks, at)).collect();
    html! {
        @if !rows.is_empty() {
            h3 { "Waivers" }
            (table(&["rule", "at", "reason", "by", "until", "lets stand"], rows))
        }
        ul.sign {
            @for hand in HANDS {
                li { span { (hand) } span.write {} span.date { "Date" } span.write {} }
            }
        }
    }
}

fn waiver(view: &View<'_>, asks: &mut Asks, at: usize) -> Option<Vec<Markup>> {
    let waiver = view.job.plan.waivers.get(at)?;
    let place = |key: &str| Place::of(format!("waivers.{at}.{key}"));
    let stands = view.judgement.checks.iter().filter(|check| check.waived == Some(at)).count();
    let has_ended = waiver.until.zip(view.house.today).is_some_and(|(until, today)| until < today);
    let lets = match (stands, has_ended) {
        (_, true) => "nothing: it has ended".to_owned(),
        (0, _) => "nothing".to_owned(),
        (many, _) => crate::words::count(many, "check"),
    };
    Some(vec![
        html! { span.whole { (asks.stated(&place("rule"), waiver.rule.as_ref())) } },
        asks.stated(&place("at"), waiver.at.as_ref()),
        asks.stated(&place("reason"), waiver.reason.as_ref()),
        asks.stated(&place("by"), waiver.by.as_ref()),
        html! { span.whole { (asks.stated(&place("until"), waiver.until)) } },
        html! { (lets) },
    ])
}
