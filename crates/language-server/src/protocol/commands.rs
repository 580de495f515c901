//! Commands that a client can have carried out: plan, schedule, workings and guidance as documents.

use super::{Server, failed, name};
use crate::nearby::Nearby;
use crate::state::Depth;
use crate::work::{self, Checked};
use serde_json::{Value, json};
use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tower_lsp::jsonrpc::Result as Answer;
use tower_lsp::lsp_types::*;

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

impl Server {
    pub(super) async fn carry_out(&self, params: ExecuteCommandParams) -> Answer<Option<Value>> {
        let ExecuteCommandParams { command, arguments, .. } = params;
        let document = |at: usize| {
            let given = arguments.get(at)?;
            let uri = given.as_str().or_else(|| given.get("uri")?.as_str())?;
            Url::parse(uri).ok()
        };
        if command == GUIDANCE {
            let checked = match document(1) {
                Some(uri) => self.checked(&uri).await?.ok(),
                None => None,
            };
            let rule = arguments.first().and_then(Value::as_str).unwrap_or_default();
            let told = match &checked {
                Some(checked) => guidance(&checked.outcome.house, rule),
                None => guidance(&check::House::default(), rule),
            };
            return told.map(Some).map_err(failed);
        }
        if !ALL.contains(&command.as_str()) {
            return Err(failed(format!("there is no command `{command}`")));
        }
        let uri = document(0).ok_or_else(|| failed("this command is about a document: give its URI first"))?;
        let checked = self.checked(&uri).await?.map_err(failed)?;
        let with = arguments.get(1).cloned().unwrap_or_default();
        if command != OPEN_PLAN && command != OPEN_SCHEDULE {
            return self.apart(move |_| answer(&command, &checked, &with)).await?.map(Some).map_err(failed);
        }
        let shelf = self.shelf.clone();
        let files = self.apart(move |_| {
            let folder = shelf.get_or_init(Shelf::new).folder()?;
            let stem = uri.path_segments().and_then(|mut it| it.next_back()).unwrap_or("design").to_string();
            let stem = stem.trim_end_matches(".yaml").trim_end_matches(".ufh");
            written(&command, &checked, stem, folder)
        });
        let files = files.await?.map_err(failed)?;
        let uris: Vec<Url> = files.iter().filter_map(|it| Url::from_file_path(it).ok()).collect();
        self.show(uris.clone());
        Ok(Some(json!({"files": uris})))
    }

    /// A check of a document: as it is open, or else as it stands on the disk. The reason, if there is none.
    async fn checked(&self, uri: &Url) -> Answer<Result<Arc<Checked>, String>> {
        if let Some(view) = self.ask(uri, Depth::Findings, None).await?.and_then(|it| it.views.into_iter().next()) {
            return Ok(Ok(view.checked));
        }
        let moment = self.look_at(&name(uri)).await?;
        if moment.snapshot.is_some() {
            return Ok(Err("the document could not be checked".into()));
        }
        let Ok(path) = uri.to_file_path() else { return Ok(Err("the document is not open, and is no file".into())) };
        self.apart(move |stop| {
            let nearby = Nearby::of(Some(&path), moment.open);
            let text = nearby.text(&path).map_err(|reason| format!("{} cannot be read: {reason}", path.display()))?;
            let checked = work::check(Some(&path), &text, &nearby, None, false, &RefCell::default(), stop);
            checked.map(Arc::new).ok_or_else(|| "nobody waits for it any more".into())
        })
        .await
    }

    /// Has files shown to the user, or tells where they are.
    fn show(&self, files: Vec<Url>) {
        let (client, speech) = (self.client.clone(), self.speech());
        tokio::spawn(async move {
            for uri in files {
                let is_text = uri.path().ends_with(".txt");
                if speech.shows_documents {
                    let params =
                        ShowDocumentParams { uri, external: Some(!is_text), take_focus: Some(true), selection: None };
                    let _ = client.show_document(params).await;
                } else {
                    client.show_message(MessageType::INFO, format!("written to {uri}")).await;
                }
            }
        });
    }
}

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
        let why = report::plan::wrong(outcome, None);
        let why = why.unwrap_or_else(|| "no room has an outline, and no loop a route".into());
        return Err(format!("there is nothing to draw yet: {why}"));
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
