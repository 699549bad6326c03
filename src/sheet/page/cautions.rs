//! What can hurt, before anything else.

use maud::{Markup, html};

use super::bits::Asks;
use crate::report::CAUTIONS;
use crate::sheet::View;

/// The cautions; in front of them a word where this very vehicle has a traction battery.
pub fn body(view: &View<'_>, _: &mut Asks) -> Markup {
    html! {
        ul.cautions {
            @if view.job.plan.has_48_volt() { li.here { strong { "This vehicle has a battery of 48 V." } " It is isolated as its maker says before anything is opened: taking the 12 V negative off leaves it live, and 48 V feeds an arc that burns." } }
            @if view.job.plan.has_high_voltage() { li.here { strong { "This vehicle has a traction battery." } " Nobody opens it before it is isolated." } }
            @for caution in CAUTIONS { li { strong { (caution.about) } " " (caution.words) } }
        }
    }
}
