//! Grounds that have to go elsewhere, whatever is there.

use super::{loose_part, safety_part};
use crate::judge::Judged;
use crate::plan::Ground;
use crate::solve::{Thing, Undecided};

/// What is said of a ground's surface, fastener and coat where it has to go elsewhere: it is told below the finding that
/// says so, and asks for no fact.
pub fn where_it_stays(ground: &Thing<'_, Ground>, judged: Judged) -> Judged {
    let cause = match ground.on {
        Some(on) if loose_part::is_loose(on) => "GROUND-03",
        Some(on) if safety_part::safety(on).is_some() => "GROUND-04",
        _ => return judged,
    };
    match judged {
        Ok(mut verdict) => {
            verdict.finding = verdict.finding.map(|finding| Box::new(finding.follows(cause, ground.place())));
            Ok(verdict)
        }
        Err(Undecided::Open(_)) => Err(Undecided::NotApplicable("it has to go elsewhere, whatever is there")),
        other => other,
    }
}
