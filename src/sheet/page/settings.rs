//! What each amplifier, or each group of its outputs, is set to.

use maud::{Markup, html};

use super::bits::{Asks, filter_kind, listed, nothing, table};
use super::drawings;
use crate::plan::Setting;
use crate::rules::tune::ceiling;
use crate::sheet::View;
use crate::solve::Place;
use crate::solve::channels::{self, Channels, is_own};

/// A row for all outputs that share a setting: the voltage to set its gain to, the tone, its filters.
pub fn body(view: &View<'_>, asks: &mut Asks) -> Markup {
    if view.job.amplifiers.is_empty() {
        return nothing("No amplifiers are stated.");
    }
    let rows = channels::each(view.job).iter().map(|channels| row(view, asks, channels)).collect();
    html! {
        p.aside { "With the speaker lead off and the tone playing at three quarters of the source's volume, turn the gain up until the meter at the speaker terminals shows the target." }
        (table(&["amplifier", "gain target", "at most", "tone", "low cut", "high-pass", "low-pass", "filters", "boost"], rows))
        (drawings::settings(view))
    }
}

fn row<'a>(view: &View<'a>, asks: &mut Asks, channels: &Channels<'a>) -> Vec<Markup> {
    let highest = ceiling::alone(view.job, channels).map(|ceiling| ceiling.volts.to_string());
    let highest = html! { (highest.as_deref().unwrap_or("–")) };
    let name = html! { (who(channels)) };
    let place = |key: &str| channels.at(key);
    let Some(setting) = channels.setting.as_ref() else {
        let whole = asks.missing(&channels.set());
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

/// The amplifier, with the outputs where the setting is for some of them.
fn who(channels: &Channels<'_>) -> String {
    let amplifier = channels.amplifier.name;
    let Some(setting) = channels.setting.as_ref().filter(|setting| is_own(setting)) else {
        return amplifier.to_owned();
    };
    let outputs: Vec<String> = setting.outputs.iter().map(u8::to_string).collect();
    let outputs = if outputs.is_empty() { String::new() } else { format!(" outputs {}", outputs.join(" and ")) };
    let name = if setting.name == amplifier { String::new() } else { format!("{}: ", setting.name) };
    format!("{name}{amplifier}{outputs}")
}

fn tone(asks: &mut Asks, setting: &Setting, place: &Place) -> Markup {
    let filters = if setting.tone_unfiltered == Some(true) { ", filters off" } else { "" };
    html! { (asks.stated(&place.clone(), setting.tone)) (filters) }
}

fn filter(corner: Option<impl std::fmt::Display>, slope: Option<impl std::fmt::Display>) -> Markup {
    let words = listed([corner.map(|corner| corner.to_string()), slope.map(|slope| slope.to_string())]);
    html! { @if words.is_empty() { "–" } @else { (words) } }
}
