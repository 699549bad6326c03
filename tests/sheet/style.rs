//! The style of the sheet: readable in every light, and in its order on paper.

use super::colours::{colours, contrast, luminance};
use super::{STYLE, sheet};

/// On paper nothing floats past what it belongs to, every part has its heading, and a table that goes on has its own.
#[test]
fn on_paper_everything_stays_in_its_order() {
    let (_, paper) = STYLE.split_once("@page").expect("a style for paper");
    for word in ["float:", "table-row-group", "display: none; }\n  .beside", "#wiring"] {
        assert!(!paper.contains(word), "{word}");
    }
    for rule in [
        "thead { display: table-header-group; }",
        "h2 + *, h3 + *",
        "p { break-inside: avoid;",
        "figcaption, thead { break-after: avoid; }",
    ] {
        assert!(paper.contains(rule), "{rule}");
    }
    let page = sheet("j-2057");
    assert!(page.contains("<section id=\"wiring\"><h2>Wiring</h2>"));
}

#[test]
fn text_is_readable_by_day_by_night_and_on_paper() {
    let on_white = |hex: &str| luminance(hex).map_or(0.0, |colour| contrast(colour, 1.0));
    assert!((on_white("000000") - 21.0).abs() < 1e-9);
    // WCAG's own example of a pair that just passes: #767676 on white is 4.54 : 1.
    assert!((on_white("767676") - 4.54).abs() < 0.01);
    let blocks: Vec<&str> = STYLE.split(":root {").skip(1).filter_map(|rest| rest.split('}').next()).collect();
    assert_eq!(blocks.len(), 3, "day, night, paper");
    let day = colours(blocks[0]);
    for block in blocks {
        let colours = colours(block);
        assert!(colours.keys().eq(day.keys()), "every colour has its like: {colours:?}");
        let grounds = ["ground", "panel"].map(|name| colours[name]);
        let texts = colours.iter().filter(|(name, _)| !["ground", "panel", "rule"].contains(&name.as_str()));
        for (name, colour) in texts {
            for ground in grounds {
                let ratio = contrast(*colour, ground);
                assert!(ratio >= 4.5, "{name}: {ratio:.2}");
            }
        }
    }
    // No colour stands anywhere else.
    let outside = STYLE.lines().filter(|line| !line.trim().starts_with("--")).filter(|line| line.contains(": #"));
    assert_eq!(outside.count(), 0);
}
