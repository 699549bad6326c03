//! What each amplifier is set to.

use maud::{Markup, html};

use super::bits::{Asks, filter_kind, listed, nothing, table};
use super::drawings;
use crate::plan::{Amplifier, Setting};
use crate::rules::tune::ceiling;
use crate::sheet::View;
use crate::solve::{Place, Thing};

/// A row an amplifier: the voltage to set its gain to, the tone, its filters.
pub fn body(view: &View<'_>, asks: &mut Asks) -> Markup {
    if view.job.amplifiers.is_empty() {
        return nothing("No amplifiers are stated.");
    }
    let rows = view.job.amplifiers.iter().map(|amplifier| row(view, asks, amplifier)).collect();
    html! {
        p.aside { "With the speaker lead off and the tone playing at three quarters of the source's volume, turn the gain up until the meter at the speaker terminals shows the target." }
        (table(&["amplifier", "gain target", "at most", "tone", "low cut", "high-pass", "low-pass", "filters", "boost"], rows))
        (drawings::settings(view))
    }
}

fn row(view: &View<'_>, asks: &mut Asks, amplifier: &Thing<'_, Amplifier>) -> Vec<Markup> {
    let highest = ceiling::alone(view.job, amplifier).map(|ceiling| ceiling.volts.to_string());
    let highest = html! { (highest.as_deref().unwrap_or("–")) };
    let name = html! { (amplifier.name) };
    let place = |key: &str| Place::of(format!("settings.{}.{key}", amplifier.name));
    let Some(setting) = view.job.plan.settings.get(amplifier.name) else {
        let whole = asks.missing(&Place::of(format!("settings.{}", amplifier.name)));
        let rest = std::iter::repeat_with(|| html! { "–" }).take(6);
        return [name, whole, highest].into_iter().chain(rest).collect();
    };
    vec![
        name,
        html! { strong { (asks.stated(&place("gain_target"), setting.gain_target)) } },
        highest,
        tone(asks, setting, &place("tone")),
        filter(setting.low_cut, setting.low_cut_slope),
        filter(setting.high_pass, setting.high_pass_slope),
        filter(setting.low_pass, setting.low_pass_slope),
        html! { (setting.filters.map_or("–", filter_kind)) },
        html! { (setting.boost.map_or("–".into(), |boost| boost.to_string())) },
    ]
}

fn tone(asks: &mut Asks, setting: &Setting, place: &Place) -> Markup {
    let filters = if setting.tone_unfiltered == Some(true) { ", filters off" } else { "" };
    html! { (asks.stated(&place.clone(), setting.tone)) (filters) }
}

fn filter(corner: Option<impl std::fmt::Display>, slope: Option<impl std::fmt::Display>) -> Markup {
    let words = listed([corner.map(|corner| corner.to_string()), slope.map(|slope| slope.to_string())]);
    html! { @if words.is_empty() { "–" } @else { (words) } }
}
