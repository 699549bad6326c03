//! Numbers of jobs: one that stands in several plans came along when a file was copied.

use std::collections::BTreeMap;

use crate::report::PlanReport;
use crate::words::excerpt;

/// So many plans of one number are named.
const NAMED: usize = 3;

/// The plans of each number: the first of them, and how many there are.
#[derive(Debug, Default)]
pub struct Tickets(BTreeMap<String, (Vec<String>, usize)>);

impl Tickets {
    /// Takes the number of a plan, if it states one.
    pub fn take(&mut self, report: &PlanReport) {
        let Some(number) = &report.job else { return };
        let (named, plans) = self.0.entry(number.clone()).or_default();
        *plans += 1;
        if named.len() < NAMED {
            named.push(report.path.clone());
        }
    }

    /// What is said of each number that stands in several plans.
    pub fn told(&self) -> impl Iterator<Item = String> {
        self.0.iter().filter(|(_, (_, plans))| *plans > 1).map(|(number, (named, plans))| {
            let more = match plans - named.len() {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            format!("{plans} plans are job {}: {}{more}", excerpt(number, 40), named.join(", "))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(jobs: &[(&str, &str)]) -> Vec<String> {
        let mut tickets = Tickets::default();
        for (path, number) in jobs {
            let text = format!("plan: 1\njob: {{{number}}}\n");
            let reading = crate::plan::read(text);
            let judgement = crate::judge::judge(&reading, &crate::house::House::default(), &[]);
            tickets.take(&crate::report::plan_report(path, &reading, &judgement));
        }
        tickets.told().collect()
    }

    #[test]
    fn a_number_that_came_along_with_a_copied_file_is_told_with_its_plans() {
        assert!(told(&[("a.yaml", "number: J-1"), ("b.yaml", "number: J-2")]).is_empty());
        assert!(told(&[("a.yaml", ""), ("b.yaml", "")]).is_empty());
        assert_eq!(
            told(&[("a.yaml", "number: J-1"), ("b.yaml", "number: J-2"), ("c.yaml", "number: J-1")]),
            ["2 plans are job J-1: a.yaml, c.yaml"]
        );
        assert_eq!(told(&[("a", "number: J-1"); 5]), ["5 plans are job J-1: a, a, a and 2 more"]);
    }
}
