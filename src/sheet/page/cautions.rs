//! What can hurt, before anything else.

use maud::{Markup, html};

use super::bits::Asks;
use crate::plan::Airbags;
use crate::report::{AIRBAGS, BATTERY, CAUTIONS, Caution, FROST};
use crate::sheet::View;

/// What stands of the battery where its positive is on the body: the usual words name a post.
const POSITIVE_EARTH: &str = "The vehicle has its positive on the body, or is drawn so, and cannot be planned with this format. \
                              Nothing of its supply is computed or judged, and this sheet gives no order of terminals: do not \
                              work on the supply by it.";

/// The cautions; in front of them a word where this very vehicle has a traction battery. That on airbags stays away where none
/// are fitted, that on frost where no battery is a lithium one.
pub fn body(view: &View<'_>, _: &mut Asks) -> Markup {
    let turned = view.job.polarity().positive_earth.is_some();
    let words = |caution: &Caution| if turned && caution.about == BATTERY { POSITIVE_EARTH } else { caution.words };
    let has_none = view.job.plan.airbags() == Some(Airbags::None);
    let has_lithium = view.job.plan.has_lithium();
    let concerns = |about: &str| !(has_none && about == AIRBAGS || !has_lithium && about == FROST);
    html! {
        ul.cautions {
            @if view.job.plan.has_48_volt() { li.here { strong { "This vehicle has a battery of 48 V." } " It is isolated as its maker says before anything is opened: taking the 12 V negative off leaves it live, and 48 V feeds an arc that burns." } }
            @if view.job.plan.has_high_voltage() { li.here { strong { "This vehicle has a traction battery." } " Nobody opens it before it is isolated." } }
            @for caution in CAUTIONS.iter().filter(|caution| concerns(caution.about)) { li { strong { (caution.about) } " " (words(caution)) } }
        }
    }
}
