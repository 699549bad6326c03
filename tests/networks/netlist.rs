//! Networks as text for ngspice, and its answers.

use std::fmt::Write as _;
use std::process::Command;

use super::topologies::Case;

/// The netlist of a case. Sources are behavioural, so that ngspice finds out by itself which battery is idle and
/// whether an alternator is at its limit. The loads carry a guard that ngspice needs far from the solution; the
/// caller checks that the answer is away from it, and asks only where an operating point is known to exist. `start` is
/// the voltage at which the iteration of ngspice sets out on the whole supply side.
pub fn netlist(case: &Case, start: f64) -> String {
    let mut text = format!("* {}\n.options reltol=1e-10 abstol=1e-9 vntol=1e-10 itl1=1000\n", case.name);
    let network = &case.network;
    for (index, edge) in network.edges.iter().enumerate() {
        let _ = writeln!(text, "R{index} {} {} {:e}", edge.a, edge.b, edge.resistance.low());
    }
    for (index, battery) in network.batteries.iter().enumerate() {
        let (plus, minus) = (battery.positive, battery.negative);
        let (volt, ohm) = (battery.emf.low(), battery.resistance.low());
        let _ = writeln!(text, "Bb{index} {minus} {plus} I = max(0, ({volt:e} - {}) / {ohm:e})", across(plus, minus));
    }
    for (index, alternator) in network.alternators.iter().enumerate() {
        let (plus, minus) = (alternator.positive, alternator.negative);
        let (volt, ohm) = (alternator.voltage.low(), alternator.resistance.low());
        let _ = writeln!(
            text,
            "Ba{index} {minus} {plus} I = min({:e}, max(0, ({volt:e} - {}) / {ohm:e}))",
            alternator.available.low(),
            across(plus, minus)
        );
    }
    for (index, load) in network.loads.iter().enumerate() {
        let (plus, minus) = (load.positive, load.negative);
        let (watt, ampere) = (load.power.low(), load.current.low());
        let _ = writeln!(text, "Bl{index} {plus} {minus} I = {watt:e} / max({}, 1) + {ampere:e}", across(plus, minus));
    }
    let nodes = 1..case.supply.len();
    for node in nodes.clone() {
        let _ = writeln!(text, ".nodeset v({node})={}", if case.supply[node] { start } else { 0.0 });
    }
    text += ".control\nset numdgt=15\nop\n";
    for node in nodes {
        let _ = writeln!(text, "print v({node})");
    }
    text + ".endc\n.end\n"
}

fn across(plus: usize, minus: usize) -> String {
    if minus == 0 { format!("V({plus})") } else { format!("V({plus},{minus})") }
}

/// Where ngspice sets out, in volt. Where sources switch over, its iteration does not arrive from everywhere.
const STARTS: [f64; 12] = [12.5, 13.5, 13.7, 13.9, 14.1, 14.3, 14.5, 12.0, 11.0, 10.0, 9.0, 8.0];

/// Runs ngspice on a case from every start: the voltage of every node, node 0 first. Where it finds several points,
/// the one with the highest voltages is meant.
pub fn run(program: &str, case: &Case) -> Vec<f64> {
    let found = STARTS.iter().filter_map(|&start| run_from(program, case, start)).filter(|found| possible(case, found));
    let sum = |voltages: &Vec<f64>| loads(case, voltages).sum::<f64>();
    let highest = found.max_by(|one, other| sum(one).total_cmp(&sum(other)));
    highest.unwrap_or_else(|| panic!("{}: ngspice arrives from no start", case.name))
}

/// The voltage across each load.
pub fn loads<'a>(case: &'a Case, voltages: &'a [f64]) -> impl Iterator<Item = f64> + 'a {
    case.network.loads.iter().map(|load| voltages[load.positive] - voltages[load.negative])
}

/// Whether an answer is one of the network and not of the guard in its loads, under which ngspice "arrives" at
/// negative and at endless voltages too.
fn possible(case: &Case, voltages: &[f64]) -> bool {
    loads(case, voltages).all(|volt| volt > 2.0) && voltages.iter().all(|volt| (-5.0..20.0).contains(volt))
}

fn run_from(program: &str, case: &Case, start: f64) -> Option<Vec<f64>> {
    let folder = tempfile::tempdir().expect("a folder for the netlist");
    let path = folder.path().join("network.cir");
    std::fs::write(&path, netlist(case, start)).expect("the netlist is written");
    let output = Command::new(program).arg("-b").arg(&path).output().expect("ngspice runs");
    let text = String::from_utf8_lossy(&output.stdout);
    let voltage = |node| {
        let head = format!("v({node}) = ");
        let line = text.lines().find_map(|line| line.strip_prefix(&head))?;
        line.trim().parse().ok()
    };
    std::iter::once(Some(0.0)).chain((1..case.supply.len()).map(voltage)).collect()
}

/// The version that a program states, such as "ngspice-39".
pub fn version(program: &str) -> String {
    let output = Command::new(program).arg("--version").output().expect("ngspice runs");
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    text.split_whitespace().find(|word| word.starts_with("ngspice-")).unwrap_or("unknown").to_owned()
}
