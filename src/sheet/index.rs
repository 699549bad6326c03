//! The list of several sheets, each with a link.

use std::fmt::Write as _;

use maud::{Markup, html};

use super::page::{Standing, page, stage, standing, tally};
use crate::report::{Counts, NotRead, STANCE};

/// A sheet on the list.
#[derive(Debug, Clone)]
pub struct Listed {
    /// The name of its file, beside the list.
    pub file: String,
    /// The plan, as it was named.
    pub plan: String,
    /// The number of the job.
    pub number: Option<String>,
    /// What is built.
    pub summary: Option<String>,
    /// The vehicle.
    pub vehicle: Option<String>,
    /// How far the job has come.
    pub stage: crate::plan::Stage,
    /// What its checks came to.
    pub counts: Counts,
}

/// The list as a page of its own.
pub fn index(sheets: &[Listed], not_read: &[NotRead]) -> String {
    page(
        "Jobs",
        &html! {
            header.head { p.kicker { "Job sheets" } h1 { "Jobs" } p.stance { (STANCE) } }
            main {
                section {
                    table {
                        thead { tr { @for column in ["job", "vehicle", "stage", "verdict", "checks"] { th scope="col" { (column) } } } }
                        tbody { @for sheet in sheets { (row(sheet)) } }
                    }
                    @if !not_read.is_empty() {
                        h2 { "Without a sheet" }
                        ul { @for input in not_read { li { (input.path) ": " (input.why) } } }
                    }
                }
            }
        },
    )
}

fn row(sheet: &Listed) -> Markup {
    let Standing { class, sign, words } = standing(&sheet.counts);
    let stage = stage(sheet.stage).split(':').next().unwrap_or_default();
    html! {
        tr {
            th scope="row" {
                a href=(link(&sheet.file)) { (sheet.number.as_deref().unwrap_or(&sheet.plan)) }
                @if let Some(summary) = &sheet.summary { " " small { (summary) } }
            }
            td data-label="vehicle" { (sheet.vehicle.as_deref().unwrap_or("not stated")) }
            td data-label="stage" { (stage) }
            td data-label="verdict" { span class={ "seal " (class) } aria-hidden="true" { (sign) } " " (words) }
            td data-label="checks" { (tally(&sheet.counts).join(" · ")) }
        }
    }
}

/// The name of a file as a link from beside it: what has a meaning in an address is spelt out, and a name with a colon
/// does not become one.
fn link(file: &str) -> String {
    let mut link = String::from("./");
    for byte in file.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => link.push(char::from(byte)),
            _ => {
                let _ = write!(link, "%{byte:02X}");
            }
        }
    }
    link
}

#[cfg(test)]
mod tests {
    use super::link;

    /// RFC 3986, section 2.3: these characters need no escape; all others have one of two digits.
    #[test]
    fn a_name_is_no_address() {
        assert_eq!(link("j-2057.html"), "./j-2057.html");
        assert_eq!(link("javascript:alert(1)"), "./javascript%3Aalert%281%29");
        assert_eq!(link("ü #1?.html"), "./%C3%BC%20%231%3F.html");
    }
}
