//! What the server says by itself: findings, how far it has come, and that the client should ask again.

use super::agree::Speech;
use super::answers::diagnostics;
use crate::settings::SECTION;
use crate::state::Publication;
use std::collections::{HashMap, HashSet};
use std::sync::atomic::{AtomicBool, Ordering::SeqCst};
use std::sync::{Arc, OnceLock};
use tokio::sync::mpsc::UnboundedReceiver;
use tower_lsp::Client;
use tower_lsp::lsp_types::notification::Progress;
use tower_lsp::lsp_types::*;

/// Sends the findings on. It alone waits for the client to take them.
///
/// Who asks for findings is told none, only that those of a text that has not changed are other ones by now.
pub async fn publish_all(
    client: Client,
    speech: Arc<OnceLock<Speech>>,
    pulls: Arc<AtomicBool>,
    mut publications: UnboundedReceiver<Publication>,
) {
    let mut told: HashMap<Url, Option<i32>> = HashMap::new();
    let mut published: HashSet<Url> = HashSet::new();
    while let Some(publication) = publications.recv().await {
        let Ok(uri) = Url::parse(&publication.document) else { continue };
        let Some(speech) = speech.get().cloned() else { continue };
        let version = publication.version;
        let before = match version {
            Some(_) => told.insert(uri.clone(), version),
            None => told.remove(&uri),
        };
        // Not its own text has changed, but one that it rests on.
        let is_news = version.is_some() && before == Some(version);
        if is_news {
            refresh(&client, &speech);
        }
        if pulls.load(SeqCst) {
            // Who begins to ask later than at the beginning must not see both.
            for uri in std::mem::take(&mut published) {
                client.publish_diagnostics(uri, Vec::new(), None).await;
            }
            if is_news && speech.refreshes_findings {
                let client = client.clone();
                tokio::spawn(async move { client.workspace_diagnostic_refresh().await });
            }
            continue;
        }
        let of = uri.clone();
        match super::apart(move || diagnostics(&publication.views, &of, &speech)).await {
            Ok(diagnostics) => {
                if diagnostics.is_empty() {
                    published.remove(&uri)
                } else {
                    published.insert(uri.clone())
                };
                client.publish_diagnostics(uri, diagnostics, version).await;
            }
            Err(_) => eprintln!("the findings of {uri} could not be told; that is a fault of hypocaust"),
        }
    }
}

/// Asks the client to tell of files that change on the disk, and of settings.
pub fn watch(client: &Client, speech: &Speech) {
    let (client, files, settings) = (client.clone(), speech.watches_files, speech.registers_settings);
    tokio::spawn(async move {
        let watcher =
            |pattern: &str| FileSystemWatcher { glob_pattern: GlobPattern::String(pattern.into()), kind: None };
        let options =
            DidChangeWatchedFilesRegistrationOptions { watchers: vec![watcher("**/*.yaml"), watcher("**/*.yml")] };
        let of_files = files.then(|| Registration {
            id: "files".into(),
            method: "workspace/didChangeWatchedFiles".into(),
            register_options: serde_json::to_value(options).ok(),
        });
        let of_settings = settings.then(|| Registration {
            id: "settings".into(),
            method: "workspace/didChangeConfiguration".into(),
            register_options: Some(serde_json::json!({"section": SECTION})),
        });
        let registrations: Vec<Registration> = of_files.into_iter().chain(of_settings).collect();
        if registrations.is_empty() {
            return;
        }
        if let Err(error) = client.register_capability(registrations).await {
            eprintln!("the editor does not tell of changed files and settings: {error}");
        }
    });
}

/// Asks the client to ask for hints and lenses again.
pub fn refresh(client: &Client, speech: &Speech) {
    let (client, hints, lenses) = (client.clone(), speech.refreshes_hints, speech.refreshes_lenses);
    tokio::spawn(async move {
        if hints {
            let _ = client.inlay_hint_refresh().await;
        }
        if lenses {
            let _ = client.code_lens_refresh().await;
        }
    });
}

/// How far something is that takes long.
pub struct Told {
    pub client: Client,
    pub handle: tokio::runtime::Handle,
    pub token: ProgressToken,
}

impl Told {
    fn say(&self, value: WorkDoneProgress) {
        let params = ProgressParams { token: self.token.clone(), value: ProgressParamsValue::WorkDone(value) };
        self.handle.block_on(self.client.send_notification::<Progress>(params));
    }

    pub fn begin(&self, title: &str) {
        self.say(WorkDoneProgress::Begin(WorkDoneProgressBegin {
            title: title.into(),
            cancellable: Some(true),
            message: None,
            percentage: Some(0),
        }));
    }

    pub fn report(&self, at: usize, of: usize) {
        self.say(WorkDoneProgress::Report(WorkDoneProgressReport {
            cancellable: Some(true),
            message: Some(format!("{} of {of}", at + 1)),
            percentage: Some((at * 100 / of.max(1)) as u32),
        }));
    }

    pub fn end(&self) {
        self.say(WorkDoneProgress::End(WorkDoneProgressEnd { message: None }));
    }
}
