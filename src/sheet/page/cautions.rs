//! What can hurt, before anything else.

use maud::{Markup, html};

use super::bits::Asks;
use crate::plan::HighVoltage;
use crate::report::CAUTIONS;
use crate::sheet::View;

/// The cautions; in front of them a word where this very vehicle has a traction battery.
pub fn body(view: &View<'_>, _: &mut Asks) -> Markup {
    let traction = view.job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.high_voltage);
    let has_traction = matches!(traction, Some(HighVoltage::Hybrid | HighVoltage::Electric));
    html! {
        ul.cautions {
            @if has_traction { li.here { strong { "This vehicle has a traction battery." } " Nobody opens it before it is isolated." } }
            @for caution in CAUTIONS { li { strong { (caution.about) } " " (caution.words) } }
        }
    }
}
