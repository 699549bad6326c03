//! What to measure when the work is done, what is predicted, and what was read.

use std::collections::HashMap;

use maud::{Markup, html};

use super::bits::{Asks, nothing, plain, table, value};
use crate::judge::{Check, Outcome};
use crate::plan::{Indicators, Lamp, Measured, Wire};
use crate::quantity::{Dimension, Quantity, Range};
use crate::rules::proof::{charging, coils, ground_path, site};
use crate::rules::tune::ceiling;
use crate::sheet::View;
use crate::solve::channels::{self, Channels};
use crate::solve::{Case, Decided, Thing, coils::dc_resistance};

/// A line of the table.
struct Line {
    what: Markup,
    predicted: Markup,
    limit: Markup,
    read: Option<String>,
    verdict: Option<&'static str>,
}

/// Everything that is measured, in the order in which a workshop comes to it: meter first, then under power.
pub fn body(view: &View<'_>, asks: &mut Asks) -> Markup {
    let proofs = view.judgement.checks.iter().filter(|check| check.rule.family() == "PROOF");
    let desk = Desk {
        view,
        measured: view.job.plan.measured.clone().unwrap_or_default(),
        proofs: proofs.map(|check| ((check.rule.code, check.subject.path()), check)).collect(),
    };
    let mut lines = desk.loads(asks);
    lines.extend(desk.fitted());
    lines.extend(desk.charging(asks));
    lines.extend(desk.lamps());
    lines.extend(desk.gains());
    lines.extend(desk.drops(asks));
    lines.extend(desk.grounds(asks));
    lines.push(desk.key_off());
    if view.job.wires.is_empty() && view.job.loads.is_empty() && view.job.amplifiers.is_empty() {
        return nothing("The plan has nothing to measure yet.");
    }
    html! {
        @if lines.iter().any(|line| line.read.is_none()) {
            p.aside { "What is not written down yet has a line to write it on." }
        }
        (table(&["what", "predicted", "limit", "read", "verdict"], lines.into_iter().map(row).collect()))
    }
}

fn row(line: Line) -> Vec<Markup> {
    let read = html! { @if let Some(read) = &line.read { (read) } @else { span.write {} } };
    let verdict = match line.verdict {
        Some(words) if words.starts_with("does not") => html! { strong { (words) } },
        Some(words) => html! { (words) },
        None => html! { span.tick {} },
    };
    vec![line.what, line.predicted, line.limit, read, verdict]
}

struct Desk<'v, 'a> {
    view: &'v View<'a>,
    measured: Measured,
    /// What was judged of readings, by rule and subject.
    proofs: HashMap<(&'static str, String), &'v Check>,
}

impl Desk<'_, '_> {
    /// The check of a rule on a subject.
    fn check(&self, code: &'static str, subject: &str) -> Option<&Check> {
        self.proofs.get(&(code, subject.to_owned())).copied()
    }

    fn verdict(&self, code: &'static str, subject: &str) -> Option<&'static str> {
        let check = self.check(code, subject)?;
        match check.outcome {
            Outcome::Pass => Some("holds"),
            Outcome::Fail if check.waived.is_some() => Some("does not hold; waived"),
            Outcome::Fail => Some("does not hold"),
            Outcome::Open => Some("open"),
            Outcome::NotApplicable => None,
        }
    }

    fn loads(&self, asks: &mut Asks) -> Vec<Line> {
        let job = self.view.job;
        let line = |load: &Thing<'_, crate::plan::Load>| {
            let predicted = dc_resistance(job, load).map(|known| known.range);
            let fits = predicted.clone().map(|predicted| coils::fitting(predicted, job));
            let read = self.measured.loads.get(load.name).and_then(|measured| measured.dc_resistance);
            Line {
                what: html! { (load.name) " " small { "resistance at the amplifier's end of its lead" } },
                predicted: asks.figure(predicted),
                limit: asks.figure(fits),
                verdict: read.and_then(|_| self.verdict("PROOF-03", &load.address)),
                read: read.map(|read| read.to_string()),
            }
        };
        job.loads.iter().map(line).collect()
    }

    /// What was really fitted, where the plan says so.
    fn fitted(&self) -> Vec<Line> {
        let mut lines = Vec::new();
        for (name, wire) in &self.measured.wires {
            let planned = self.view.job.plan.wires.get(name);
            let line = |key: &str, planned: Option<String>, read: String| Line {
                what: html! { (name) " " small { (key) " as fitted" } },
                predicted: html! { (planned.unwrap_or_else(|| "–".into())) },
                limit: html! { "as planned" },
                read: Some(read),
                verdict: self.verdict("PROOF-09", &format!("measured.wires.{name}.{key}")),
            };
            if let Some(fuse) = wire.fuse {
                let rating = planned.and_then(|wire| wire.fuse.as_ref().or(wire.far_fuse.as_ref())?.rating);
                lines.push(line("fuse", rating.map(|rating| rating.to_string()), fuse.to_string()));
            }
            if let Some(size) = wire.size {
                let planned = planned.and_then(|wire| wire.size).map(|size| size.to_string());
                lines.push(line("size", planned, size.to_string()));
            }
        }
        lines
    }

    fn charging(&self, asks: &mut Asks) -> Option<Line> {
        let job = self.view.job;
        if job.wires.is_empty() {
            return None;
        }
        let held = job.system_multiple().map(|multiple| crate::solve::charging::charging_voltage(job, multiple).range);
        let sound = charging::sound(job).map(|(least, most)| least.at_low().hull(most.at_high()));
        let read = self.measured.charging;
        Some(Line {
            what: html! { "charging " small { "voltage at the battery, " (job.plan.states()[0]) } },
            predicted: asks.figure(held),
            limit: asks.figure(sound),
            verdict: read.and_then(|_| self.verdict("PROOF-05", "job")),
            read: read.map(|read| read.to_string()),
        })
    }

    fn lamps(&self) -> Vec<Line> {
        let line = |amplifier: &Thing<'_, crate::plan::Amplifier>| {
            let lamps = self.measured.indicators.get(amplifier.name);
            let subject = |key: &str| format!("measured.indicators.{}.{key}", amplifier.name);
            let verdicts = ["on", "off", "protection"].map(|key| self.verdict("PROOF-07", &subject(key)));
            // The worst of the three; without all of them there is none yet.
            let worst = ["does not hold", "does not hold; waived", "open", "holds"];
            let verdict = worst.into_iter().find(|word| verdicts.contains(&Some(word)));
            Line {
                what: html! { (amplifier.name) " " small { "lamps: system on / off / protection" } },
                predicted: html! { "lit / dark / dark" },
                limit: html! { "as predicted" },
                read: lamps.map(read_lamps),
                verdict: lamps.and(verdict),
            }
        };
        self.view.job.amplifiers.iter().map(line).collect()
    }

    fn gains(&self) -> Vec<Line> {
        let job = self.view.job;
        let line = |channels: Channels<'_>| {
            let target = channels.target().ok().map(|(_, target)| Range::from(target));
            let target = target.or_else(|| ceiling::alone(job, &channels).map(|ceiling| ceiling.volts))?;
            let most = target.at_high() * (1.0 + job.house.limits.gain_tolerance.base());
            let read = self.measured.settings.get(&*channels.name).and_then(|setting| setting.gain);
            Some(Line {
                what: html! { (channels.name) " " small { "output with the test tone" } },
                predicted: html! { (target) },
                limit: html! { "at most " (most) },
                verdict: read.and_then(|_| self.verdict("PROOF-06", &channels.place().path())),
                read: read.map(|read| read.to_string()),
            })
        };
        channels::each(job).into_iter().filter_map(line).collect()
    }

    fn drops(&self, asks: &mut Asks) -> Vec<Line> {
        let job = self.view.job;
        let runs: Vec<Line> = job.wires.iter().map(|wire| self.drop(asks, wire)).collect();
        let whole = job.amplifiers.iter().filter_map(|amplifier| {
            let verdict = self.verdict("PROOF-01", &amplifier.address)?;
            let working = self.check("PROOF-01", &amplifier.address)?.working.as_ref()?;
            Some(Line {
                what: html! { (amplifier.name) " " small { "drop in feed and return, brought to full output" } },
                predicted: asks.figure(job.run_drop(amplifier.name, Case::IdleFull).map(|known| known.range)),
                limit: html! { "at most " (working.limit) },
                read: Some(working.result.to_string()),
                verdict: Some(verdict),
            })
        });
        runs.into_iter().chain(whole).collect()
    }

    /// The drop along a run: at the current of the reading, or at full output where nothing was read yet.
    fn drop(&self, asks: &mut Asks, wire: &Thing<'_, Wire>) -> Line {
        let job = self.view.job;
        let small = html! { small { "drop from end to end, with its current" } };
        let current = job.wire_current(wire, Case::IdleFull).map(|known| known.range);
        let is_idle = current.as_ref().is_ok_and(|current| current.high() <= 0.0);
        let what = html! { (wire.name) " " (small) };
        let read = self.measured.wires.get(wire.name).and_then(|wire| wire.drop.zip(wire.at));
        if let Some((drop, current)) = read {
            let working = self.check("PROOF-01", &wire.address).and_then(|check| check.working.as_ref());
            let predicted = working.and_then(|working| working.inputs.iter().find(|input| input.name == "predicted"));
            let predicted = predicted.map(|input| value(&input.value));
            return Line {
                what,
                predicted: html! { (predicted.unwrap_or_else(|| "–".into())) },
                limit: html! { @if let Some(working) = working { "at most " (working.limit) } @else { "–" } },
                read: Some(format!("{drop} at {current}")),
                verdict: self.verdict("PROOF-01", &wire.address),
            };
        }
        if is_idle {
            // A drop without a current is no prediction.
            return Line {
                what,
                predicted: html! { "– " small { "nothing that testlamp knows of draws through it: take its current from its maker" } },
                limit: html! { "–" },
                read: None,
                verdict: None,
            };
        }
        let full = job.wire_drop(wire, Case::IdleFull).map(|known| known.range);
        Line {
            what,
            limit: above(asks, full.clone(), site::over_prediction(job)),
            predicted: html! { (asks.figure(full)) @if let Ok(current) = current { " " small { "at " (current) } } },
            read: None,
            verdict: None,
        }
    }

    fn grounds(&self, asks: &mut Asks) -> Vec<Line> {
        let job = self.view.job;
        let line = |ground: &Thing<'_, crate::plan::Ground>| {
            let predicted = ground_path::predicted(ground, job);
            let explained = predicted.clone().map(|is| is.at_high() * site::over_prediction(job));
            let most = explained.map(|explained| explained.min(job.house.limits.ground_path.value.into()));
            let read = self.measured.grounds.get(ground.name);
            Line {
                what: html! { (ground.name) " " small {
                    "resistance from the amplifier's end of the return to the battery's negative post: the drop between "
                    "them at a known current, divided by that current, or a four-lead meter; a hand meter does not see milliohms"
                } },
                predicted: asks.figure(predicted),
                limit: above(asks, most, 1.0),
                verdict: read.and_then(|_| self.verdict("PROOF-02", &ground.address)),
                read: read.map(Quantity::to_string),
            }
        };
        job.grounds.iter().map(line).collect()
    }

    fn key_off(&self) -> Line {
        let job = self.view.job;
        let read = self.measured.key_off;
        Line {
            what: html! { "asleep " small { "current out of the battery, everything off" } },
            predicted: html! { (job.asleep().total()) },
            limit: html! { "at most " (job.house.limits.key_off_current.value) },
            verdict: read.and_then(|_| self.verdict("PROOF-04", "job")),
            read: read.map(|read| read.to_string()),
        }
    }
}

/// A limit so many times the upper end of a prediction.
fn above<D: Dimension>(asks: &mut Asks, predicted: Decided<Range<D>>, factor: f64) -> Markup {
    match predicted {
        Ok(range) => html! { "at most " (range.at_high() * factor) },
        Err(undecided) => asks.undecided(undecided),
    }
}

fn read_lamps(lamps: &Indicators) -> String {
    let word = |lamp: Option<Lamp>| lamp.map_or_else(|| "–".into(), |lamp| plain(&lamp));
    [word(lamps.on), word(lamps.off), word(lamps.protection)].join(" / ")
}
