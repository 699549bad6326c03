//! On how many cases a property is tried.

use proptest::test_runner::Config;

/// As many as `PROPTEST_CASES` says; else so few that the tests stay quick.
pub fn cases(few: u32) -> Config {
    let config = Config::default();
    let cases = if std::env::var_os("PROPTEST_CASES").is_some() { config.cases } else { few };
    // What a failed run would remember goes into the tests by hand, as a case of its own.
    Config { cases, failure_persistence: None, ..config }
}
