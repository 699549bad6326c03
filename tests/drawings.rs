//! Drawings of the sheet: everything of a plan is on them, and nothing lies over something else.

use std::path::{Path, PathBuf};

use testlamp::house::House;
use testlamp::judge::judge_briefly;
use testlamp::plan;
use testlamp::report::{self, PlanReport};
use testlamp::rules;
use testlamp::sheet::{self, Drawing};
use testlamp::solve::Job;

/// Both drawings of a plan, with its report.
fn drawn(text: &str) -> (Vec<Drawing>, PlanReport) {
    let reading = plan::read(text.to_owned());
    let house = House::default();
    let judgement = judge_briefly(&reading, &house, &rules::all());
    let report = report::plan_report("plan.yaml", &reading, &judgement);
    let job = Job::new(&reading.plan, &house);
    let view = sheet::View { reading: &reading, house: &house, job: &job, judgement: &judgement, report: &report };
    ([sheet::vehicle(&view), sheet::circuit(&view)].into_iter().flatten().collect(), report)
}

fn jobs() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs");
    let mut files: Vec<PathBuf> =
        std::fs::read_dir(folder).expect("the jobs").map(|file| file.expect("a job").path()).collect();
    files.sort();
    files
}

/// Enough of a style to look at drawings.
const STYLE: &str = "body{margin:0;background:#fff;font-family:system-ui,sans-serif}svg{display:block}
.line,.shape{fill:none;stroke:currentColor}.shape{fill:#fff;stroke-width:1.2}.dot,.words{fill:currentColor}
.line{stroke-linejoin:round}.dashed{stroke-dasharray:9 4}.dotted{stroke-dasharray:1.5 3}.chain{stroke-dasharray:8 2.5 1.5 2.5}.short{stroke-dasharray:4 2}
.plain{color:#222}.faint{color:#bbb}.words.faint{color:#777}.shape.faint{fill:none}.shape.faint:first-of-type{fill:#fff}
.feed{color:#c0281c}.return{color:#333}.turn-on{color:#1f5fbf}.signal{color:#23803a}.speaker{color:#8a5a00}
.danger{color:#b00020}.fault{color:#b35c00}.advice{color:#34609a}.open{color:#6a4fa3}
.shape.danger,.shape.fault{fill:currentColor}";

/// Writes the drawings of a plan as a page: `LOOK=FOLDER PLAN=FILE cargo test --test drawings look -- --ignored`.
#[test]
#[ignore = "writes pages to look at"]
fn look() {
    let folder = PathBuf::from(std::env::var("LOOK").expect("a folder"));
    let plans = std::env::var("PLAN").map_or_else(|_| jobs(), |plan| vec![plan.into()]);
    for plan in plans {
        let (drawings, _) = drawn(&std::fs::read_to_string(&plan).expect("the plan"));
        for drawing in drawings {
            let page =
                format!("<!doctype html><meta charset=utf-8><style>{STYLE}</style>{}", drawing.svg().into_string());
            let stem = plan.file_stem().expect("a name").to_string_lossy().into_owned();
            println!("{stem} {} {} {:?}", drawing.name, drawing.height, drawing.crowded());
            std::fs::write(folder.join(format!("{stem}.{}.html", drawing.name)), page).expect("the page");
        }
    }
}
