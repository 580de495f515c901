//! Commands that a client can have carried out: plan, schedule, workings and guidance as documents.

use crate::work::Checked;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// The plans as SVG: `{plans: [{storey, svg}], without: [storey]}`. Takes the document, then `{storey, findings}`.
pub const PLAN: &str = "hypocaust.plan";
/// The schedule of loops. Takes the document, then `text`, `csv` or `json`.
pub const SCHEDULE: &str = "hypocaust.schedule";
/// How figures came about, as text. Takes the document, then a name such as `loops/L1`, or nothing for all.
pub const WORKINGS: &str = "hypocaust.workings";
/// The page of a rule in Markdown. Takes the rule's name, then the document whose house standard counts, if there is one.
pub const GUIDANCE: &str = "hypocaust.guidance";
/// How much was found, in a sentence. Takes the document.
pub const CHECK: &str = "hypocaust.check";
/// Writes the plans to files and has them shown. Takes the document.
pub const OPEN_PLAN: &str = "hypocaust.openPlan";
/// Writes the schedule to a file and has it shown. Takes the document.
pub const OPEN_SCHEDULE: &str = "hypocaust.openSchedule";

pub const ALL: [&str; 7] = [PLAN, SCHEDULE, WORKINGS, GUIDANCE, CHECK, OPEN_PLAN, OPEN_SCHEDULE];

/// What a command that only tells something tells; a reason if it cannot.
pub fn answer(command: &str, checked: &Checked, with: &Value) -> Result<Value, String> {
    let outcome = &checked.outcome;
    match command {
        PLAN => {
            let (drawn, without) = report::plan::storeys(outcome);
            let wanted = with.get("storey").and_then(Value::as_str);
            let findings = with.get("findings").and_then(Value::as_bool).unwrap_or(true);
            let plans = drawn.into_iter().filter(|storey| wanted.is_none_or(|wanted| *storey == Some(wanted)));
            let plan = |storey: Option<&str>| {
                report::plan::svg(outcome, storey, findings).map(|svg| json!({"storey": storey, "svg": svg}))
            };
            Ok(json!({"plans": plans.filter_map(plan).collect::<Vec<_>>(), "without": without}))
        }
        SCHEDULE => match with.as_str().unwrap_or("text") {
            "text" => Ok(report::schedule::text(outcome).into()),
            "csv" => Ok(report::schedule::csv(outcome).into()),
            "json" => Ok(report::schedule::json(outcome).into()),
            other => Err(format!("a schedule is `text`, `csv` or `json`, not `{other}`")),
        },
        WORKINGS => {
            let lines = workings::sheet(&outcome.design, &outcome.workings);
            let wanted = match with.as_str() {
                None | Some("") => lines.iter().collect(),
                Some(name) => report::workings::named(&lines, name).map_err(|nearest| match nearest {
                    Some(nearest) => format!("nothing is called `{name}`; did you mean `{nearest}`"),
                    None => format!("nothing is called `{name}`"),
                })?,
            };
            Ok(report::workings::text(outcome, &wanted).into())
        }
        CHECK => Ok(report::Summary::of(outcome).sentence().into()),
        other => Err(format!("there is no command `{other}`")),
    }
}

/// The page of a rule in Markdown.
pub fn guidance(house: &check::House, name: &str) -> Result<Value, String> {
    match report::guidance::named(house, name) {
        Ok(rule) => Ok(format!("# {}\n\n{}", rule.name, house.guidance(rule).page).into()),
        Err(Some(nearest)) => Err(format!("there is no rule `{name}`; did you mean `{nearest}`")),
        Err(None) => Err(format!("there is no rule `{name}`")),
    }
}

/// Writes what is to be shown into a folder of our own; the files.
pub fn written(command: &str, checked: &Checked, of: &str, folder: &Path) -> Result<Vec<PathBuf>, String> {
    let outcome = &checked.outcome;
    let stem: String =
        of.chars().map(|c| if c.is_alphanumeric() || matches!(c, '-' | '_') { c } else { '-' }).collect();
    let files: Vec<(String, String)> = match command {
        OPEN_SCHEDULE => vec![(format!("{stem}-schedule.txt"), report::schedule::text(outcome))],
        _ => {
            let (drawn, _) = report::plan::storeys(outcome);
            let plan = |(at, storey): (usize, Option<&str>)| {
                Some((format!("{stem}-plan-{}.svg", at + 1), report::plan::svg(outcome, storey, true)?))
            };
            drawn.into_iter().enumerate().filter_map(plan).collect()
        }
    };
    if files.is_empty() {
        return Err("there is nothing to draw yet: no room has an outline, and no loop a route".into());
    }
    let write = |(name, text): (String, String)| {
        let path = folder.join(name);
        std::fs::write(&path, text).map_err(|error| format!("{} cannot be written: {error}", path.display()))?;
        Ok(path)
    };
    files.into_iter().map(write).collect()
}

/// The folder for what is shown: nobody else may look into it, and it goes when the server ends.
pub struct Shelf {
    folder: Result<PathBuf, String>,
}

impl Shelf {
    pub fn new() -> Shelf {
        let nanos = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap_or_default().as_nanos();
        let folder = std::env::temp_dir().join(format!("hypocaust-{}-{nanos}", std::process::id()));
        let mut builder = std::fs::DirBuilder::new();
        #[cfg(unix)]
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
        let made = builder.create(&folder).map_err(|error| format!("{} cannot be made: {error}", folder.display()));
        Shelf { folder: made.map(|()| folder) }
    }

    pub fn folder(&self) -> Result<&Path, String> {
        self.folder.as_deref().map_err(String::clone)
    }

    /// Takes all away again.
    pub fn clear(&self) {
        if let Ok(folder) = &self.folder {
            let _ = std::fs::remove_dir_all(folder);
        }
    }
}
