//! The tools that a plan asks for.

use maud::{Markup, html};

use crate::plan::{GroundFastenerKind, JointKind, Plan, Surface, Through};
use crate::sheet::View;

/// A tool, and which plans need it.
struct Tool {
    words: &'static str,
    needed: fn(&Plan) -> bool,
}

const TOOLS: &[Tool] = &[
    Tool { words: "multimeter with fresh leads", needed: |plan| !plan.wires.is_empty() || !plan.loads.is_empty() },
    Tool {
        words: "clamp meter for direct current, for the drops under load and the way back through each ground",
        needed: |plan| !plan.wires.is_empty(),
    },
    Tool {
        words: "crimping tool with the dies of the ends listed above",
        needed: |plan| joins(plan, JointKind::Crimped),
    },
    Tool {
        words: "soldering iron, and heat-shrink tube",
        needed: |plan| joins(plan, JointKind::Soldered) || joins(plan, JointKind::CrimpedAndSoldered),
    },
    Tool {
        words: "grinder or wire brush for bare metal",
        needed: |plan| grounds(plan, |ground| ground.surface == Some(Surface::BareMetal)),
    },
    Tool {
        words: "coating for the finished ground",
        needed: |plan| grounds(plan, |ground| ground.coated_after == Some(true)),
    },
    Tool {
        words: "setting tool for rivet nuts",
        needed: |plan| {
            grounds(plan, |ground| {
                ground.fastener.as_ref().is_some_and(|fastener| fastener.kind == Some(GroundFastenerKind::RivetNut))
            })
        },
    },
    Tool { words: "step drill, file and rust protection for new holes", needed: drills },
    Tool {
        words: "test tone at the frequencies of the settings",
        needed: |plan| plan.settings.values().any(|setting| setting.tone.is_some()),
    },
    Tool {
        words: "resistor or lamp to charge and to discharge a capacitor through",
        needed: |plan| !plan.capacitors.is_empty(),
    },
    Tool { words: "polarity tester for speaker leads", needed: |plan| !plan.signals.is_empty() },
];

fn joins(plan: &Plan, kind: JointKind) -> bool {
    let ends = plan.wires.values().filter_map(|wire| wire.ends.as_ref());
    ends.flat_map(|ends| [&ends.from, &ends.to]).flatten().any(|end| end.made == Some(kind))
}

fn grounds(plan: &Plan, is: impl Fn(&crate::plan::Ground) -> bool) -> bool {
    plan.grounds.values().any(is)
}

fn drills(plan: &Plan) -> bool {
    let of_wires = plan.wires.values().flat_map(|wire| wire.crossings.values());
    let of_leads = plan.turn_on.values().flat_map(|lead| lead.crossings.values());
    let of_signals = plan.signals.values().filter_map(|signal| signal.lead.as_ref());
    let of_signals = of_signals.flat_map(|lead| lead.crossings.values());
    let of_loads = plan.loads.values().filter_map(|load| load.lead.as_ref()).flat_map(|lead| lead.crossings.values());
    let all = of_wires.chain(of_leads).chain(of_signals).chain(of_loads);
    all.filter_map(|crossing| crossing.through).any(Through::is_drilled)
}

/// The tools, to be ticked off.
pub fn body(view: &View<'_>) -> Markup {
    let plan = view.job.plan;
    let tools: Vec<&Tool> = TOOLS.iter().filter(|tool| (tool.needed)(plan)).collect();
    if tools.is_empty() {
        return html! {};
    }
    html! { h3 { "Tools" } ul.ticks { @for tool in tools { li { span.tick {} " " (tool.words) } } } }
}
