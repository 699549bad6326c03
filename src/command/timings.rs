//! `--timings`: where the time goes.

use std::io::{self, Write};
use std::time::Duration;

use crate::judge::{Part, Rule, Spent, Times};
use crate::words::count;

/// Writes what every part took, the slowest rule first.
///
/// # Errors
/// When it cannot be written.
pub fn write(times: &Times, rules: &[&'static Rule], plans: usize, out: &mut dyn Write) -> io::Result<()> {
    let of = |part| times.of(part).time;
    let mut by_rule: Vec<(&Rule, Spent)> = rules.iter().map(|rule| (*rule, times.of(Part::Rule(rule.code)))).collect();
    by_rule.sort_by(|(one, a), (other, b)| b.time.cmp(&a.time).then(one.code.cmp(other.code)));
    let all: Duration = by_rule.iter().map(|(_, spent)| spent.time).sum();
    writeln!(out, "Time spent on {}, all processors together", count(plans, "plan"))?;
    let parts = [
        ("bare parse", of(Part::Parse)),
        ("schema check and types", of(Part::Read).saturating_sub(of(Part::Parse))),
        ("solve", of(Part::Solve)),
        ("rules on what is solved", all),
        ("where open checks turn", of(Part::Turn)),
        ("what only follows", of(Part::Fold)),
        ("report", of(Part::Report)),
    ];
    for (name, time) in parts {
        writeln!(out, "  {name:<42} {:>9.3} ms {:>11.3} us a plan", millis(time), micros(time, plans))?;
    }
    writeln!(out, "Rules, the slowest first")?;
    for (rule, Spent { time, checks }) in by_rule {
        let name = format!("{} {}", rule.code, rule.name);
        writeln!(
            out,
            "  {name:<42} {:>9.3} ms {:>11.3} us a check, {}",
            millis(time),
            micros(time, checks),
            count(checks, "check")
        )?;
    }
    Ok(())
}

fn millis(time: Duration) -> f64 {
    time.as_secs_f64() * 1e3
}

#[allow(clippy::cast_precision_loss, reason = "a count of plans or checks")]
fn micros(time: Duration, number: usize) -> f64 {
    if number == 0 { 0.0 } else { time.as_secs_f64() * 1e6 / number as f64 }
}
