//! On how many cases a property is tried.

use proptest::test_runner::Config;

/// As many as `PROPTEST_CASES` says; else so few that the tests stay quick.
pub fn cases(few: u32) -> Config {
    let config = Config::default();
    let cases = if std::env::var_os("PROPTEST_CASES").is_some() { config.cases } else { few };
    // A property that passes over some cases passes over more of many.
    let max_global_rejects = config.max_global_rejects.max(cases);
    // What a failed run would remember goes into the tests by hand, as a case of its own.
    Config { cases, max_global_rejects, failure_persistence: None, ..config }
}
