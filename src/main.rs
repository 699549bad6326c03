//! The command line of testlamp.
fn main() {
    let text = std::fs::read_to_string(std::env::args().nth(1).unwrap()).unwrap();
    let reading = testlamp::plan::read(text);
    for m in &reading.misreads {
        println!("{:?} {:?} | {} | {}", m.span, &reading.text[m.span.clone()], m.what, m.mend);
    }
    let house = testlamp::house::House::default();
    let j = testlamp::judge::judge(&reading, &house, &testlamp::rules::all());
    for c in &j.checks {
        println!(
            "{} {} {:?} {:?} {:?} {:?} {:?}",
            c.rule.code,
            c.subject,
            c.outcome,
            c.finding.as_ref().map(|f| &f.title),
            c.needs,
            c.turns,
            c.reason
        );
        if let Some(w) = &c.working {
            println!("   {} vs {} margin {:?}", w.result, w.limit, w.margin());
        }
    }
    let job = testlamp::solve::Job::new(&reading.plan, &house);
    for case in testlamp::solve::Case::ALL {
        for a in &job.amplifiers {
            println!(
                "{} {:?} {:?} {:?}",
                case.words(),
                job.run_drop(a, case),
                job.return_drop(a, case),
                job.terminal_voltage(a, case)
            );
        }
        for w in &job.wires {
            println!("  {} {:?} {:?}", w.name, job.wire_current(w, case), job.wire_drop(w, case));
        }
    }
    for way in &job.protection().ways {
        println!("{way:?} {:?}", job.fault_current(way));
    }
    for e in &job.protection().exposures {
        println!("{e:?}");
    }
}
