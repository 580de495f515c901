//! What can be changed at a place: remedies, departures, refactorings, and how they are told.

use super::agree::{FIX_ALL, Speech};
use super::answers::*;
use super::{Server, name};
use crate::actions::{self, Later, Made, Wish};
use crate::context;
use crate::names::Names;
use crate::nearby::{Nearby, OpenFile, beside};
use crate::state::{Depth, Ready};
use crate::view::View;
use crate::work::{Checked, with_job};
use check::{FileId, Moved, There};
use serde_json::{Value, json};
use std::cell::RefCell;
use std::sync::Arc;
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::*;

impl Server {
    pub(super) async fn fix_all(&self, uri: &Url, speech: &Speech) -> Result<Vec<CodeAction>> {
        let Some(ready) = self.ask(uri, Depth::Remedies, None).await? else { return Ok(Vec::new()) };
        let (uri, speech) = (uri.clone(), speech.clone());
        let open = self.look_at(&name(&uri)).await?.open;
        self.apart(move |_| {
            let view = ready.views.first()?;
            let slips = actions::slips(view);
            if slips.is_empty() {
                return None;
            }
            let outcome = &view.checked.outcome;
            let changes = view.checked.with_job(open, |job| check::without_surprises(job, outcome, slips))?;
            if changes.is_empty() {
                return None;
            }
            let edit = edit_of(&ready, view, &changes, &uri, &speech)?;
            Some(CodeAction {
                title: "mend all slips that can be mended in one way only".into(),
                kind: Some(FIX_ALL),
                edit: Some(edit),
                ..Default::default()
            })
        })
        .await
        .map(|action| action.into_iter().collect())
    }

    pub(super) async fn quick_fixes(&self, uri: &Url, range: Range, speech: &Speech) -> Result<Vec<CodeAction>> {
        let Some(ready) = self.ask(uri, Depth::Findings, None).await? else { return Ok(Vec::new()) };
        let (first, of, spoken) = (ready, uri.clone(), speech.clone());
        let encoding = speech.encoding;
        let selected = move |view: &View| {
            let (text, _) = view.checked.text(view.file)?;
            Some(encoding.range(text, (point(range.start), point(range.end))))
        };
        // Most places have no remedy to offer, and the findings tell so without trying any out.
        let has_remedies = {
            let views = first.views.clone();
            self.apart(move |_| {
                let of = |view: &View| selected(view).is_some_and(|it| !actions::remedies(view, &it).is_empty());
                views.iter().any(of)
            })
            .await?
        };
        let ready = match has_remedies {
            true => self.ask(uri, Depth::Remedies, Some(first.revision)).await?,
            false => Some(first),
        };
        let Some(ready) = ready else { return Ok(Vec::new()) };
        let open = self.look_at(&name(uri)).await?.open;
        let mut actions = self
            .apart(move |_| {
                let mut actions = Vec::new();
                let mut departures: Vec<CodeAction> = Vec::new();
                for view in &ready.views {
                    let Some(selected) = selected(view) else { continue };
                    if has_remedies {
                        for (shown, remedy, is_first) in actions::remedies(view, &selected) {
                            let Some(edit) = edit_of(&ready, view, &remedy.changes, &of, &spoken) else { continue };
                            actions.push(CodeAction {
                                title: remedy.title.clone(),
                                kind: Some(CodeActionKind::QUICKFIX),
                                diagnostics: diagnostic(&shown, &of, &spoken).map(|it| vec![it]),
                                edit: Some(edit),
                                is_preferred: is_first.then_some(true),
                                ..Default::default()
                            });
                        }
                    }
                    for shown in view.touched(&selected).filter(|it| !it.elsewhere() && view.file == FileId::new(0)) {
                        let Some(later) = actions::departure(&shown) else { continue };
                        let data = json!({"document": of, "later": later});
                        if departures.iter().any(|it| it.data.as_ref() == Some(&data)) {
                            continue;
                        }
                        // Where the first can be written, so can all.
                        if departures.is_empty() && made_now(&later, &view.checked, &open).is_none() {
                            break;
                        }
                        departures.push(CodeAction {
                            title: format!("record a departure from {} here, to be filled in", shown.finding.rule.name),
                            kind: Some(CodeActionKind::QUICKFIX),
                            diagnostics: diagnostic(&shown, &of, &spoken).map(|it| vec![it]),
                            data: Some(data),
                            ..Default::default()
                        });
                    }
                }
                actions.extend(departures);
                actions
            })
            .await?;
        self.resolve_now(uri, &mut actions, speech).await?;
        Ok(actions)
    }

    pub(super) async fn refactorings(&self, uri: &Url, range: Range, speech: &Speech) -> Result<Vec<CodeAction>> {
        let (of_document, spoken) = (uri.clone(), speech.clone());
        let ready = self.ask(uri, Depth::Findings, None).await?;
        let actions = self.with_text(uri, move |of, open| {
            let view = ready.as_ref().and_then(|it| it.views.first());
            let checked = view
                .map(|it| &it.checked)
                .filter(|it| it.text(FileId::new(0)).is_some_and(|(text, _)| text == *of.text));
            let creates = spoken.versioned_edits && spoken.creates_files;
            let offset = spoken.encoding.offset(&of.text, point(range.start));
            let context = context::at(&of.text, offset, &of.shape())?;
            let action = |wish: Wish| match wish {
                Wish::Rewrite { title, bytes, text } => {
                    let edit = of.edit(yaml_tree::Edit { range: bytes, text }, spoken.encoding);
                    let documents = vec![(of_document.clone(), Some(of.version), vec![edit])];
                    Some(CodeAction {
                        title,
                        kind: Some(CodeActionKind::REFACTOR_REWRITE),
                        edit: workspace_edit(documents, None, &spoken),
                        ..Default::default()
                    })
                }
                Wish::Later { title, is_extraction, later } => {
                    let title = match made_now(&later, checked?, &open)? {
                        // Other loops may have to be drawn with it.
                        Made::Remedy(remedy) if matches!(later, Later::Draw { .. }) => remedy.title,
                        Made::Moved(Moved { there: There::New(_), library, .. })
                            if !creates || beside(of.folder()?, &library).exists() =>
                        {
                            return None;
                        }
                        _ => title,
                    };
                    Some(CodeAction {
                        title,
                        kind: Some(match is_extraction {
                            true => CodeActionKind::REFACTOR_EXTRACT,
                            false => CodeActionKind::REFACTOR_REWRITE,
                        }),
                        data: Some(json!({"document": of_document, "later": later})),
                        ..Default::default()
                    })
                }
            };
            Some(actions::wishes(of, &context).into_iter().filter_map(action).collect::<Vec<_>>())
        });
        let mut actions = actions.await?.unwrap_or_default();
        self.resolve_now(uri, &mut actions, speech).await?;
        Ok(actions)
    }

    /// For a client that cannot ask later, what would be worked out then; what cannot be done goes.
    async fn resolve_now(&self, uri: &Url, actions: &mut Vec<CodeAction>, speech: &Speech) -> Result<()> {
        if speech.resolves_edits {
            return Ok(());
        }
        for action in actions.iter_mut() {
            if let Some(later) = action.data.as_ref().and_then(later) {
                action.edit = self.made(uri, later).await?;
            }
        }
        actions.retain(|action| action.edit.is_some());
        Ok(())
    }

    /// A change that is worked out now.
    pub(super) async fn made(&self, uri: &Url, later: Later) -> Result<Option<WorkspaceEdit>> {
        let (of_document, speech) = (uri.clone(), self.speech());
        self.with_text(uri, move |of, open| {
            let nearby = Nearby::of(of.path.as_deref(), open);
            let asked = RefCell::default();
            let made = with_job(of.path.as_deref(), of.text.as_bytes(), &nearby, false, &asked, |job| {
                later.make(job, &check::Workings::default())
            })?;
            let document = Some((of.document.clone(), of.version));
            let names = Names::read(of.path.as_deref(), document, of.text.as_bytes(), &nearby);
            let mut documents: Vec<(Url, Option<i32>, Vec<TextEdit>)> = Vec::new();
            let mut created = None;
            let changes = match made {
                Made::Remedy(remedy) => remedy.changes,
                Made::Moved(moved) => {
                    let mut changes = moved.changes;
                    match moved.there {
                        There::Changed(change) => changes.push(change),
                        There::New(text) => {
                            let path = beside(of.folder()?, &moved.library);
                            if path.exists() {
                                return None;
                            }
                            created = Some((Url::from_file_path(path).ok()?, text));
                        }
                    }
                    changes
                }
            };
            for change in changes {
                let file = names.file(change.place.file)?;
                let uri = if change.place.file == FileId::new(0) { of_document.clone() } else { file.uri()? };
                let range = replaced(&file.text, file.lines(), change.place.range(), speech.encoding);
                let edit = TextEdit { range, new_text: change.text };
                match documents.iter_mut().find(|(known, _, _)| *known == uri) {
                    Some((_, _, edits)) => edits.push(edit),
                    None => documents.push((uri, file.version, vec![edit])),
                }
            }
            workspace_edit(documents, created, &speech)
        })
        .await
    }
}

/// The changes as one edit; nothing if one of them cannot be named to the client.
fn edit_of(ready: &Ready, view: &View, changes: &[check::Change], uri: &Url, speech: &Speech) -> Option<WorkspaceEdit> {
    let mut documents: Vec<(FileId, Url, Vec<TextEdit>)> = Vec::new();
    for change in changes {
        let file = change.place.file;
        let (text, lines) = view.checked.text(file)?;
        let range = replaced(text, lines, change.place.range(), speech.encoding);
        let edit = TextEdit { range, new_text: change.text.clone() };
        match documents.iter_mut().find(|(known, _, _)| *known == file) {
            Some((_, _, edits)) => edits.push(edit),
            None => documents.push((file, file_uri(&view.checked, view.file, file, uri)?, vec![edit])),
        }
    }
    let version = |file: FileId| (file == view.file).then_some(ready.version);
    let documents = documents.into_iter().map(|(file, uri, edits)| (uri, version(file), edits)).collect();
    workspace_edit(documents, None, speech)
}

/// What is worked out later, as it would be now: nothing is offered that comes to nothing.
fn made_now(later: &Later, checked: &Checked, open: &Arc<Vec<OpenFile>>) -> Option<Made> {
    checked.with_job(open.clone(), |job| later.make(job, &checked.outcome.workings))?
}

/// What is to be worked out once an action is chosen.
pub fn later(data: &Value) -> Option<Later> {
    serde_json::from_value(data.get("later")?.clone()).ok()
}
