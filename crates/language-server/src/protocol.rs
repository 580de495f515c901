//! The Language Server Protocol: the only place that names its types and the library that speaks it.
//!
//! Handlers begin in the order in which they were asked for, and keep to it only up to their first wait. So a handler
//! that changes something neither waits nor works: it translates and sends. One that asks may wait, but works on
//! another thread.
//!
//! What the text alone can answer is asked of the text as it is at that moment, and waits for no check.

mod agree;
mod answers;
mod changes;
mod commands;
mod exchange;
mod publish;
mod wire;

use crate::actions::Later;
use crate::document::TextChange;
use crate::names::{Name, Names, Spot, What};
use crate::nearby::{Nearby, OpenFile};
use crate::settings::{SECTION, Settings};
use crate::snapshot::Snapshot;
use crate::state::{Answer, Depth, Message, Moment, Question, Ready, Uri};
use crate::view::View;
use crate::work::Checked;
use crate::workspace::{self, Memory};
use crate::{completion, context, folding, format, hierarchy, hover, inlay, links, state, symbols, tokens};
use agree::{FIX_ALL, Speech, agree, capabilities};
use answers::*;
use changes::later;
use check::FileId;
use publish::Told;
use serde_json::{Value, json};
use std::cell::RefCell;
use std::collections::{BTreeMap, HashMap, HashSet};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering::Relaxed, Ordering::SeqCst};
use std::sync::{Arc, Mutex, OnceLock, RwLock, mpsc};
use std::time::Duration;
use tokio::sync::{mpsc as tokio_mpsc, oneshot};
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::lsp_types::request::WorkspaceConfiguration;
use tower_lsp::lsp_types::*;
use tower_lsp::{Client, LanguageServer, LspService};

/// The protocol's code for an answer that would be about an older text.
const CONTENT_MODIFIED: i64 = -32801;
/// The protocol's code for a list of findings that the server could not make.
const SERVER_CANCELLED: i64 = -32802;
/// The protocol's code for a request that was right and could not be done; what an editor shows to its user.
const REQUEST_FAILED: i64 = -32803;
/// How long a hover waits for what a check has to say of a text that has just changed.
const HOVER_WAITS: Duration = Duration::from_millis(1);
/// Symbols of a workspace that are told at most.
const MOST_SYMBOLS: usize = 1_000;

/// Speaks with one client on standard input and output until the end.
pub async fn serve() -> ExitCode {
    let (publish, publications) = tokio_mpsc::unbounded_channel();
    let state = match state::start(publish) {
        Ok(state) => state,
        Err(error) => return cannot_start(error),
    };
    let shelf = Arc::new(OnceLock::new());
    let (service, socket) = LspService::new(|client| {
        let server = Server {
            state,
            client,
            speech: Arc::default(),
            pulls: Arc::default(),
            settings: Arc::default(),
            folders: Arc::default(),
            memory: Arc::default(),
            words: Arc::default(),
            answers: AtomicU64::new(1),
            shelf: shelf.clone(),
        };
        tokio::spawn(publish::publish_all(
            server.client.clone(),
            server.speech.clone(),
            server.pulls.clone(),
            publications,
        ));
        server
    });
    let status = exchange::serve(service, socket).await;
    shelf.get().into_iter().for_each(commands::Shelf::clear);
    status.unwrap_or_else(cannot_start)
}

fn cannot_start(error: std::io::Error) -> ExitCode {
    eprintln!("the language server cannot start: {error}");
    ExitCode::from(2)
}

struct Server {
    state: mpsc::Sender<Message>,
    client: Client,
    speech: Arc<OnceLock<Speech>>,
    /// Whether the client asks for findings, so that it is told none.
    pulls: Arc<AtomicBool>,
    settings: Arc<RwLock<Settings>>,
    folders: Arc<RwLock<Vec<PathBuf>>>,
    /// What was told of designs that are not open.
    memory: Arc<Memory<Vec<Diagnostic>>>,
    /// The words that were last told of each document, with the number of that answer.
    words: Arc<Mutex<HashMap<Uri, Words>>>,
    answers: AtomicU64,
    shelf: Arc<OnceLock<commands::Shelf>>,
}

/// The number of an answer, and the words that it told.
type Words = (String, Vec<SemanticToken>);

#[tower_lsp::async_trait]
impl LanguageServer for Server {
    async fn initialize(&self, params: InitializeParams) -> Result<InitializeResult> {
        let speech = self.speech.get_or_init(|| agree(&params));
        self.pulls.store(speech.pulls, SeqCst);
        self.tell(Message::Speaks(speech.encoding));
        let folders = params.workspace_folders.unwrap_or_default().into_iter().map(|it| it.uri).chain(params.root_uri);
        let mut folders: Vec<PathBuf> = folders.filter_map(|uri| uri.to_file_path().ok()).collect();
        folders.dedup();
        set(&self.folders, folders);
        if let Some(options) = &params.initialization_options {
            set(&self.settings, Settings::of(options));
        }
        let server_info = ServerInfo { name: "hypocaust".into(), version: Some(env!("CARGO_PKG_VERSION").to_string()) };
        Ok(InitializeResult { capabilities: capabilities(speech), server_info: Some(server_info) })
    }

    async fn initialized(&self, _: InitializedParams) {
        let speech = self.speech();
        publish::watch(&self.client, &speech);
        if speech.asks_settings {
            self.ask_settings();
        }
    }

    async fn shutdown(&self) -> Result<()> {
        Ok(())
    }

    // What happens to documents, settings and files.

    async fn did_open(&self, params: DidOpenTextDocumentParams) {
        let TextDocumentItem { uri, version, text, .. } = params.text_document;
        self.tell(Message::Opened { document: name(&uri), path: uri.to_file_path().ok(), version, text });
    }

    async fn did_change(&self, params: DidChangeTextDocumentParams) {
        let changes = params.content_changes.into_iter().map(|change| TextChange {
            between: change.range.map(|range| (point(range.start), point(range.end))),
            text: change.text,
        });
        let VersionedTextDocumentIdentifier { uri, version } = params.text_document;
        self.tell(Message::Changed { document: name(&uri), version, changes: changes.collect() });
    }

    async fn did_save(&self, params: DidSaveTextDocumentParams) {
        self.tell(Message::Saved(name(&params.text_document.uri)));
    }

    async fn did_close(&self, params: DidCloseTextDocumentParams) {
        let document = name(&params.text_document.uri);
        if let Ok(mut words) = self.words.lock() {
            words.remove(&document);
        }
        self.tell(Message::Closed(document));
    }

    async fn did_change_configuration(&self, params: DidChangeConfigurationParams) {
        if params.settings.get(SECTION).is_some() {
            set(&self.settings, Settings::of(&params.settings));
            publish::refresh(&self.client, &self.speech());
        } else if self.speech().asks_settings {
            self.ask_settings();
        }
    }

    async fn did_change_workspace_folders(&self, params: DidChangeWorkspaceFoldersParams) {
        let path = |it: WorkspaceFolder| it.uri.to_file_path().ok();
        let gone: Vec<PathBuf> = params.event.removed.into_iter().filter_map(path).collect();
        let mut folders = get(&self.folders);
        folders.retain(|folder| !gone.contains(folder));
        folders.extend(params.event.added.into_iter().filter_map(path));
        set(&self.folders, folders);
        if self.speech().refreshes_findings {
            let client = self.client.clone();
            tokio::spawn(async move { client.workspace_diagnostic_refresh().await });
        }
    }

    async fn did_change_watched_files(&self, params: DidChangeWatchedFilesParams) {
        let paths = params.changes.into_iter().filter_map(|it| it.uri.to_file_path().ok()).collect();
        self.tell(Message::FilesChanged(paths));
        if self.speech().refreshes_findings {
            let client = self.client.clone();
            tokio::spawn(async move { client.workspace_diagnostic_refresh().await });
        }
    }

    // Findings.

    async fn diagnostic(&self, params: DocumentDiagnosticParams) -> Result<DocumentDiagnosticReportResult> {
        let uri = params.text_document.uri;
        self.begin_pulling(&uri);
        let speech = self.speech();
        let items = match self.answer(&uri, Depth::Findings, None).await {
            Answer::Ready(ready) => self.apart(move |_| diagnostics(&ready.views, &uri, &speech)).await?,
            Answer::Changed => return Err(changed()),
            // What was found before stays.
            Answer::Failed => {
                return Err(Error {
                    code: ErrorCode::from(SERVER_CANCELLED),
                    message: "the check failed; that is a fault of hypocaust, not of the design".into(),
                    data: Some(json!({"retriggerRequest": false})),
                });
            }
            Answer::Nothing => Vec::new(),
        };
        let id = result_id(&items);
        let report = if params.previous_result_id.as_deref() == Some(&*id) {
            DocumentDiagnosticReport::Unchanged(RelatedUnchangedDocumentDiagnosticReport {
                related_documents: None,
                unchanged_document_diagnostic_report: UnchangedDocumentDiagnosticReport { result_id: id },
            })
        } else {
            DocumentDiagnosticReport::Full(RelatedFullDocumentDiagnosticReport {
                related_documents: None,
                full_document_diagnostic_report: FullDocumentDiagnosticReport { result_id: Some(id), items },
            })
        };
        Ok(DocumentDiagnosticReportResult::Report(report))
    }

    async fn workspace_diagnostic(&self, params: WorkspaceDiagnosticParams) -> Result<WorkspaceDiagnosticReportResult> {
        let moment = self.look_at(&"".into()).await?;
        // What is open is told as it is when it is asked for by itself.
        let mut found: BTreeMap<Url, (Option<i64>, Vec<Diagnostic>)> = BTreeMap::new();
        for open in moment.open.iter() {
            let Ok(uri) = Url::parse(&open.document) else { continue };
            if let Some(ready) = self.ask(&uri, Depth::Findings, None).await? {
                let items = diagnostics(&ready.views, &uri, &self.speech());
                found.insert(uri, (Some(i64::from(open.version)), items));
            }
        }
        let (folders, memory, speech) = (get(&self.folders), self.memory.clone(), self.speech());
        let token = params.work_done_progress_params.work_done_token;
        let (client, handle) = (self.client.clone(), tokio::runtime::Handle::current());
        let closed = self
            .apart(move |stop| {
                let designs = workspace::designs(&folders);
                memory.keep_only(&designs);
                let progress = token.map(|token| Told { client, handle, token });
                progress.iter().for_each(|it| it.begin("checking designs"));
                let mut told: BTreeMap<PathBuf, Vec<Diagnostic>> = BTreeMap::new();
                let mut known: HashSet<(PathBuf, String)> = HashSet::new();
                for (at, design) in designs.iter().enumerate() {
                    if stop() {
                        break;
                    }
                    progress.iter().for_each(|it| it.report(at, designs.len()));
                    let findings = memory.of(design, &moment.open, stop, |checked| by_file(checked, design, &speech));
                    for (path, items) in findings.iter().flat_map(|it| it.iter()) {
                        // What several designs tell of a library is told once.
                        let is_new = |it: &&Diagnostic| known.insert((path.clone(), json!(it).to_string()));
                        let new: Vec<Diagnostic> = items.iter().filter(is_new).cloned().collect();
                        told.entry(path.clone()).or_default().extend(new);
                    }
                }
                progress.iter().for_each(Told::end);
                told.retain(|path, _| moment.open.iter().all(|open| open.path != *path));
                told
            })
            .await?;
        for (path, items) in closed {
            if let Ok(uri) = Url::from_file_path(path) {
                found.entry(uri).or_insert((None, items));
            }
        }
        let before: HashMap<Url, String> =
            params.previous_result_ids.into_iter().map(|it| (it.uri, it.value)).collect();
        // A file that is there no more, or has nothing to do with any design now, has no findings.
        for uri in before.keys() {
            found.entry(uri.clone()).or_insert((None, Vec::new()));
        }
        let items = found.into_iter().map(|(uri, (version, items))| {
            let id = result_id(&items);
            if before.get(&uri) == Some(&id) {
                let report = UnchangedDocumentDiagnosticReport { result_id: id };
                WorkspaceDocumentDiagnosticReport::Unchanged(WorkspaceUnchangedDocumentDiagnosticReport {
                    uri,
                    version,
                    unchanged_document_diagnostic_report: report,
                })
            } else {
                let report = FullDocumentDiagnosticReport { result_id: Some(id), items };
                WorkspaceDocumentDiagnosticReport::Full(WorkspaceFullDocumentDiagnosticReport {
                    uri,
                    version,
                    full_document_diagnostic_report: report,
                })
            }
        });
        Ok(WorkspaceDiagnosticReportResult::Report(WorkspaceDiagnosticReport { items: items.collect() }))
    }

    // What the text says.

    async fn completion(&self, params: CompletionParams) -> Result<Option<CompletionResponse>> {
        let TextDocumentPositionParams { text_document, position } = params.text_document_position;
        let speech = self.speech();
        self.with_text(&text_document.uri, move |of, open| {
            let offset = speech.encoding.offset(&of.text, point(position));
            let context = context::at(&of.text, offset, &of.shape())?;
            let nearby = Nearby::of(of.path.as_deref(), open);
            let proposals = completion::proposals(of, &nearby, &context);
            Some(CompletionResponse::List(answers::completion(of, proposals, &speech)))
        })
        .await
    }

    async fn completion_resolve(&self, mut item: CompletionItem) -> Result<CompletionItem> {
        let speech = self.speech();
        let data = item.data.clone().unwrap_or_default();
        let is_house_standard = data.get("document").and_then(Value::as_str).is_some_and(design::is_house_standard);
        let key = data.get("key").and_then(|it| serde_json::from_value::<Vec<String>>(it.clone()).ok());
        let about = match (key, data.get("rule").and_then(Value::as_str)) {
            (Some(key), _) => {
                let path = Path::new(if is_house_standard { design::HOUSE_STANDARD } else { "a.ufh.yaml" });
                let of = Snapshot::new("".into(), Some(path.to_path_buf()), 0, Arc::default());
                completion::about_key(&of.shape(), &key)
            }
            (None, Some(rule)) => {
                check::RULES.iter().find(|it| it.name == rule).map(|rule| check::Guidance::of(rule).page)
            }
            (None, None) => None,
        };
        if let Some(about) = about {
            item.documentation = Some(documentation(about, &speech));
        }
        Ok(item)
    }

    async fn document_symbol(&self, params: DocumentSymbolParams) -> Result<Option<DocumentSymbolResponse>> {
        let (uri, speech) = (params.text_document.uri, self.speech());
        let of = uri.clone();
        self.with_text(&uri, move |text, _| {
            let encoding = speech.encoding;
            if !speech.symbol_tree {
                let things = symbols::things(text);
                let flat = things.iter().map(|(it, within)| symbol_information(text, &of, it, within, encoding));
                return Some(DocumentSymbolResponse::Flat(flat.collect()));
            }
            let symbols = symbols::symbols(text).into_iter().map(|it| document_symbol(text, it, encoding));
            Some(DocumentSymbolResponse::Nested(symbols.collect()))
        })
        .await
    }

    async fn folding_range(&self, params: FoldingRangeParams) -> Result<Option<Vec<FoldingRange>>> {
        self.with_text(&params.text_document.uri, |of, _| {
            Some(folding::folds(of).into_iter().map(folding_range).collect())
        })
        .await
    }

    async fn selection_range(&self, params: SelectionRangeParams) -> Result<Option<Vec<SelectionRange>>> {
        let encoding = self.speech().encoding;
        self.with_text(&params.text_document.uri, move |of, _| {
            let steps = |position: &Position| {
                let offset = encoding.offset(&of.text, point(*position));
                answers::selection_range(of, folding::selections(of, offset), encoding)
            };
            Some(params.positions.iter().map(steps).collect())
        })
        .await
    }

    async fn semantic_tokens_full(&self, params: SemanticTokensParams) -> Result<Option<SemanticTokensResult>> {
        let Some(data) = self.words_of(&params.text_document.uri, None).await? else { return Ok(None) };
        let id = self.keep_words(&params.text_document.uri, data.clone());
        Ok(Some(SemanticTokensResult::Tokens(SemanticTokens { result_id: Some(id), data })))
    }

    async fn semantic_tokens_full_delta(
        &self,
        params: SemanticTokensDeltaParams,
    ) -> Result<Option<SemanticTokensFullDeltaResult>> {
        let uri = params.text_document.uri;
        let Some(data) = self.words_of(&uri, None).await? else { return Ok(None) };
        let old = self.words.lock().ok().and_then(|words| words.get(&name(&uri)).cloned());
        let id = self.keep_words(&uri, data.clone());
        Ok(Some(match old.filter(|(id, _)| *id == params.previous_result_id) {
            Some((_, old)) => SemanticTokensFullDeltaResult::TokensDelta(SemanticTokensDelta {
                result_id: Some(id),
                edits: tokens_edit(&old, &data),
            }),
            None => SemanticTokensFullDeltaResult::Tokens(SemanticTokens { result_id: Some(id), data }),
        }))
    }

    async fn semantic_tokens_range(
        &self,
        params: SemanticTokensRangeParams,
    ) -> Result<Option<SemanticTokensRangeResult>> {
        let data = self.words_of(&params.text_document.uri, Some(params.range)).await?;
        Ok(data.map(|data| SemanticTokensRangeResult::Tokens(SemanticTokens { result_id: None, data })))
    }

    async fn formatting(&self, params: DocumentFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        let encoding = self.speech().encoding;
        self.with_text(&params.text_document.uri, move |of, _| {
            Some(format::edits(of, &(0..of.text.len())).into_iter().map(|it| of.edit(it, encoding)).collect())
        })
        .await
    }

    async fn range_formatting(&self, params: DocumentRangeFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        let encoding = self.speech().encoding;
        self.with_text(&params.text_document.uri, move |of, _| {
            let range = encoding.range(&of.text, (point(params.range.start), point(params.range.end)));
            Some(format::edits(of, &range).into_iter().map(|it| of.edit(it, encoding)).collect())
        })
        .await
    }

    async fn on_type_formatting(&self, params: DocumentOnTypeFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        let encoding = self.speech().encoding;
        let TextDocumentPositionParams { text_document, position } = params.text_document_position;
        self.with_text(&text_document.uri, move |of, _| {
            let offset = encoding.offset(&of.text, point(position));
            Some(format::indent_of_new_line(of, offset).into_iter().map(|it| of.edit(it, encoding)).collect())
        })
        .await
    }

    async fn document_link(&self, params: DocumentLinkParams) -> Result<Option<Vec<DocumentLink>>> {
        let encoding = self.speech().encoding;
        self.with_text(&params.text_document.uri, move |of, open| {
            let nearby = Nearby::of(of.path.as_deref(), open);
            let house = nearby.house_standard().and_then(|path| {
                let text = nearby.library(&path, &RefCell::default()).ok()?;
                Some(check::House::read(&path, &text))
            });
            let house = house.unwrap_or_default();
            let link = |(bytes, target): (std::ops::Range<usize>, links::Target)| {
                let target = match target {
                    links::Target::File(path) => Url::from_file_path(path).ok()?,
                    links::Target::Page(page) => Url::parse(&page).ok()?,
                };
                let range = of.marked(bytes, encoding);
                Some(DocumentLink { range, target: Some(target), tooltip: None, data: None })
            };
            Some(links::libraries(of).into_iter().chain(links::pages(of, &house)).filter_map(link).collect())
        })
        .await
    }

    // Names.

    async fn goto_definition(&self, params: GotoDefinitionParams) -> Result<Option<GotoDefinitionResponse>> {
        let TextDocumentPositionParams { text_document, position } = params.text_document_position_params;
        let encoding = self.speech().encoding;
        self.with_names(&text_document.uri, position, move |names, name, _| {
            let spots = names.spots(name.what, &name.text);
            let given = spots.iter().filter(|it| it.is_definition).filter_map(|it| location(it, encoding));
            Some(GotoDefinitionResponse::Array(given.collect()))
        })
        .await
    }

    async fn references(&self, params: ReferenceParams) -> Result<Option<Vec<Location>>> {
        let TextDocumentPositionParams { text_document, position } = params.text_document_position;
        let (encoding, folders) = (self.speech().encoding, get(&self.folders));
        let with_definition = params.context.include_declaration;
        self.with_names(&text_document.uri, position, move |names, name, around| {
            let spots = everywhere(names, name, around, &folders);
            let wanted = spots.iter().filter(|it| with_definition || !it.is_definition);
            Some(wanted.filter_map(|it| location(it, encoding)).collect())
        })
        .await
    }

    async fn document_highlight(&self, params: DocumentHighlightParams) -> Result<Option<Vec<DocumentHighlight>>> {
        let TextDocumentPositionParams { text_document, position } = params.text_document_position_params;
        let encoding = self.speech().encoding;
        self.with_names(&text_document.uri, position, move |names, name, _| {
            let own = names.file(FileId::new(0))?;
            let spots = names.spots(name.what, &name.text).into_iter().filter(|it| Arc::ptr_eq(&it.file, own));
            let highlight = |it: Spot| DocumentHighlight {
                range: own.marked(it.bytes, encoding),
                kind: Some(if it.is_definition { DocumentHighlightKind::WRITE } else { DocumentHighlightKind::READ }),
            };
            Some(spots.map(highlight).collect())
        })
        .await
    }

    async fn prepare_rename(&self, params: TextDocumentPositionParams) -> Result<Option<PrepareRenameResponse>> {
        let encoding = self.speech().encoding;
        self.with_names(&params.text_document.uri, params.position, move |names, name, _| {
            let is_given = names.spots(name.what, &name.text).iter().any(|it| it.is_definition);
            let range = names.file(FileId::new(0))?.marked(name.bytes.clone(), encoding);
            is_given.then(|| PrepareRenameResponse::RangeWithPlaceholder { range, placeholder: name.text.clone() })
        })
        .await
    }

    async fn rename(&self, params: RenameParams) -> Result<Option<WorkspaceEdit>> {
        let TextDocumentPositionParams { text_document, position } = params.text_document_position;
        let (speech, folders, new) = (self.speech(), get(&self.folders), params.new_name);
        let renamed = self.with_names(&text_document.uri, position, move |names, name, around| {
            if let Some(refusal) = crate::names::refusal(names, name, &new) {
                return Some(Err(refusal));
            }
            let mut documents: Vec<(Url, Option<i32>, Vec<TextEdit>)> = Vec::new();
            for spot in everywhere(names, name, around, &folders) {
                let (bytes, new_text) = spot.renamed(&new);
                let range = replaced(&spot.file.text, spot.file.lines(), bytes, speech.encoding);
                let edit = TextEdit { range, new_text };
                let uri = spot.file.uri()?;
                match documents.iter_mut().find(|(known, _, _)| *known == uri) {
                    Some((_, _, edits)) => edits.push(edit),
                    None => documents.push((uri, spot.file.version, vec![edit])),
                }
            }
            workspace_edit(documents, None, &speech).map(Ok)
        });
        renamed.await?.transpose().map_err(failed)
    }

    async fn prepare_call_hierarchy(
        &self,
        params: CallHierarchyPrepareParams,
    ) -> Result<Option<Vec<CallHierarchyItem>>> {
        let TextDocumentPositionParams { text_document, position } = params.text_document_position_params;
        let (uri, encoding) = (text_document.uri, self.speech().encoding);
        let of = uri.clone();
        self.with_names(&uri, position, move |names, name, _| {
            let item = hierarchy_item(&hierarchy::at(names, name.bytes.start)?, &of, encoding)?;
            Some(vec![item])
        })
        .await
    }

    async fn incoming_calls(
        &self,
        params: CallHierarchyIncomingCallsParams,
    ) -> Result<Option<Vec<CallHierarchyIncomingCall>>> {
        let encoding = self.speech().encoding;
        self.in_hierarchy(params.item, move |names, of, design| {
            let call = |it: hierarchy::Neighbour| {
                let own = names.file(FileId::new(0))?;
                let ranges = it.named_at.into_iter().map(|it| own.marked(it, encoding)).collect();
                Some(CallHierarchyIncomingCall { from: hierarchy_item(&it.to, design, encoding)?, from_ranges: ranges })
            };
            hierarchy::fed_by(names, of).into_iter().filter_map(call).collect()
        })
        .await
    }

    async fn outgoing_calls(
        &self,
        params: CallHierarchyOutgoingCallsParams,
    ) -> Result<Option<Vec<CallHierarchyOutgoingCall>>> {
        let encoding = self.speech().encoding;
        self.in_hierarchy(params.item, move |names, of, design| {
            let call = |it: hierarchy::Neighbour| {
                let own = names.file(FileId::new(0))?;
                let ranges = it.named_at.into_iter().map(|it| own.marked(it, encoding)).collect();
                Some(CallHierarchyOutgoingCall { to: hierarchy_item(&it.to, design, encoding)?, from_ranges: ranges })
            };
            hierarchy::feeds(names, of).into_iter().filter_map(call).collect()
        })
        .await
    }

    async fn symbol(&self, params: WorkspaceSymbolParams) -> Result<Option<Vec<SymbolInformation>>> {
        let (encoding, folders) = (self.speech().encoding, get(&self.folders));
        let moment = self.look_at(&"".into()).await?;
        let found = self
            .apart(move |stop| {
                let open = moment.open.iter().map(|it| it.path.clone());
                let mut paths: Vec<PathBuf> = workspace::designs(&folders).into_iter().chain(open).collect();
                paths.sort();
                paths.dedup();
                let nearby = Nearby::of(None, moment.open.clone());
                let mut found = Vec::new();
                for path in paths {
                    if stop() || found.len() >= MOST_SYMBOLS {
                        break;
                    }
                    let Ok(text) = nearby.text(&path).map(|it| String::from_utf8_lossy(&it).into_owned()) else {
                        continue;
                    };
                    let document = nearby.open_at(&path).map(|it| it.document.clone());
                    let uri = document.and_then(|it| Url::parse(&it).ok()).or_else(|| Url::from_file_path(&path).ok());
                    let Some(uri) = uri else { continue };
                    let of = Snapshot::new("".into(), Some(path), 0, Arc::new(text));
                    let things = symbols::things(&of).into_iter().filter(|(it, _)| is_like(&it.name, &params.query));
                    found.extend(things.map(|(it, within)| symbol_information(&of, &uri, &it, &within, encoding)));
                }
                found.truncate(MOST_SYMBOLS);
                found
            })
            .await?;
        Ok(Some(found))
    }

    // What a check says.

    async fn hover(&self, params: HoverParams) -> Result<Option<Hover>> {
        let TextDocumentPositionParams { text_document, position } = params.text_document_position_params;
        let moment = self.look_at(&name(&text_document.uri)).await?;
        let Some(of) = moment.snapshot else { return Ok(None) };
        // A text that has just changed says something by itself, too.
        let asked = tokio::time::timeout(HOVER_WAITS, self.ask(&text_document.uri, Depth::Findings, None)).await;
        let ready = asked.unwrap_or(Ok(None))?;
        let speech = self.speech();
        self.apart(move |_| {
            let offset = speech.encoding.offset(&of.text, point(position));
            let context = context::at(&of.text, offset, &of.shape());
            let view = ready.as_ref().and_then(|ready| ready.views.first());
            let (value, bytes) = hover::at(context.as_ref(), view, offset)?;
            let kind = if speech.markdown { MarkupKind::Markdown } else { MarkupKind::PlainText };
            let range = of.marked(bytes, speech.encoding);
            Some(Hover { contents: HoverContents::Markup(MarkupContent { kind, value }), range: Some(range) })
        })
        .await
    }

    async fn inlay_hint(&self, params: InlayHintParams) -> Result<Option<Vec<InlayHint>>> {
        let (uri, speech, wanted) = (params.text_document.uri, self.speech(), get(&self.settings).hints);
        let Some(ready) = self.ask(&uri, Depth::Findings, None).await? else { return Ok(None) };
        self.apart(move |_| {
            let view = ready.views.first()?;
            let (text, lines) = view.checked.text(view.file)?;
            let range = speech.encoding.range(text, (point(params.range.start), point(params.range.end)));
            let hint = |it: inlay::Hint| InlayHint {
                position: marked(text, lines, it.at..it.at, speech.encoding).start,
                label: it.label.into(),
                kind: None,
                text_edits: None,
                tooltip: None,
                padding_left: Some(true),
                padding_right: None,
                data: Some(json!({"document": uri, "block": it.block, "name": it.name})),
            };
            Some(inlay::hints(view, &range, wanted).into_iter().map(hint).collect())
        })
        .await
    }

    async fn inlay_hint_resolve(&self, mut hint: InlayHint) -> Result<InlayHint> {
        let data = hint.data.clone().unwrap_or_default();
        let text = |key: &str| data.get(key).and_then(Value::as_str).map(str::to_string);
        let (Some(uri), Some(block), Some(thing)) = (text("document"), text("block"), text("name")) else {
            return Ok(hint);
        };
        let Ok(uri) = Url::parse(&uri) else { return Ok(hint) };
        let Some(ready) = self.ask(&uri, Depth::Findings, None).await? else { return Ok(hint) };
        let speech = self.speech();
        let workings = self.apart(move |_| Some(inlay::workings_of(ready.views.first()?, &block, &thing))).await?;
        hint.tooltip = workings.filter(|it| !it.is_empty()).map(|workings| match speech.markdown {
            true => MarkupContent { kind: MarkupKind::Markdown, value: format!("```text\n{workings}\n```") }.into(),
            false => workings.into(),
        });
        Ok(hint)
    }

    async fn code_lens(&self, params: CodeLensParams) -> Result<Option<Vec<CodeLens>>> {
        let uri = params.text_document.uri;
        if !get(&self.settings).code_lens || design::is_house_standard(uri.path()) {
            return Ok(None);
        }
        let Some(ready) = self.ask(&uri, Depth::Findings, None).await? else { return Ok(None) };
        let Some(view) = ready.views.first().filter(|view| view.file == FileId::new(0)) else { return Ok(None) };
        let summary = report::Summary::of(&view.checked.outcome).sentence();
        let lens = |title: &str, command: &str| CodeLens {
            range: Range::default(),
            command: Some(Command { title: title.into(), command: command.into(), arguments: Some(vec![json!(uri)]) }),
            data: None,
        };
        let mut lenses = vec![lens(&summary, commands::CHECK)];
        if !report::plan::storeys(&view.checked.outcome).0.is_empty() {
            lenses.push(lens("plan", commands::OPEN_PLAN));
        }
        if !view.checked.outcome.design.loops.is_empty() {
            lenses.push(lens("schedule", commands::OPEN_SCHEDULE));
        }
        Ok(Some(lenses))
    }

    async fn code_action(&self, params: CodeActionParams) -> Result<Option<CodeActionResponse>> {
        let CodeActionParams { text_document: TextDocumentIdentifier { uri }, range, context, .. } = params;
        let speech = self.speech();
        if !speech.code_actions {
            return Ok(None);
        }
        let wants = |kind: &CodeActionKind| {
            let is_within = |only: &CodeActionKind| {
                let rest = kind.as_str().strip_prefix(only.as_str());
                rest.is_some_and(|rest| only.as_str().is_empty() || rest.is_empty() || rest.starts_with('.'))
            };
            context.only.as_ref().is_none_or(|only| only.iter().any(is_within))
        };
        let mut actions = Vec::new();
        // Only who asks for it by name: it changes more than what is selected.
        if context.only.is_some() && wants(&FIX_ALL) {
            actions.extend(self.fix_all(&uri, &speech).await?);
        }
        if wants(&CodeActionKind::QUICKFIX) {
            actions.extend(self.quick_fixes(&uri, range, &speech).await?);
        }
        if wants(&CodeActionKind::REFACTOR_REWRITE) || wants(&CodeActionKind::REFACTOR_EXTRACT) {
            let found = self.refactorings(&uri, range, &speech).await?;
            actions.extend(found.into_iter().filter(|it| it.kind.as_ref().is_none_or(wants)));
        }
        // What accepts a finding comes behind all that clears one, and behind what somebody may want to do in its place.
        let accepts =
            |it: &CodeAction| it.data.as_ref().is_some_and(|data| matches!(later(data), Some(Later::Departure { .. })));
        actions.sort_by_key(accepts);
        Ok(Some(actions.into_iter().map(CodeActionOrCommand::CodeAction).collect()))
    }

    async fn code_action_resolve(&self, mut action: CodeAction) -> Result<CodeAction> {
        let data = action.data.clone().unwrap_or_default();
        let uri = data.get("document").and_then(Value::as_str).and_then(|it| Url::parse(it).ok());
        if let (Some(uri), Some(later)) = (uri, later(&data)) {
            let edit = self.made(&uri, later).await?;
            action.edit = Some(edit.ok_or_else(|| failed("this cannot be done here: a hand has to do it"))?);
        }
        Ok(action)
    }

    async fn execute_command(&self, params: ExecuteCommandParams) -> Result<Option<Value>> {
        self.carry_out(params).await
    }
}

impl Server {
    fn speech(&self) -> Speech {
        self.speech.get().cloned().unwrap_or_default()
    }

    /// Without waiting, so that the state hears everything in the order in which the client said it.
    fn tell(&self, message: Message) {
        if self.state.send(message).is_err() {
            eprintln!("the language server no longer keeps documents; restart it");
        }
    }

    /// What a check says of the document as it is now; nothing if there is no such document or no such check.
    async fn ask(&self, uri: &Url, depth: Depth, revision: Option<u64>) -> Result<Option<Ready>> {
        match self.answer(uri, depth, revision).await {
            Answer::Ready(ready) => Ok(Some(ready)),
            Answer::Changed => Err(changed()),
            Answer::Failed | Answer::Nothing => Ok(None),
        }
    }

    async fn answer(&self, uri: &Url, depth: Depth, revision: Option<u64>) -> Answer {
        let (reply, answer) = oneshot::channel();
        self.tell(Message::Asked(Question { document: name(uri), depth, revision, reply }));
        // Dropped without an answer, nobody waits any more.
        let mut waits = Waits { state: (depth == Depth::Remedies).then(|| self.state.clone()) };
        let answer = answer.await;
        waits.state = None;
        answer.unwrap_or(Answer::Nothing)
    }

    /// All texts as they are now.
    async fn look_at(&self, document: &Uri) -> Result<Moment> {
        let (reply, answer) = oneshot::channel();
        self.tell(Message::Looked { document: document.clone(), reply });
        answer.await.map_err(|_| Error::internal_error())
    }

    /// Works on the text as it is now; nothing if there is no such document.
    async fn with_text<T: Send + 'static>(
        &self,
        uri: &Url,
        work: impl FnOnce(&Snapshot, Arc<Vec<OpenFile>>) -> Option<T> + Send + 'static,
    ) -> Result<Option<T>> {
        let Moment { snapshot, open } = self.look_at(&name(uri)).await?;
        let Some(of) = snapshot else { return Ok(None) };
        self.apart(move |_| work(&of, open)).await
    }

    /// Works on the name at a place; nothing if none stands there.
    async fn with_names<T: Send + 'static>(
        &self,
        uri: &Url,
        position: Position,
        work: impl FnOnce(&Names, &Name, &Around) -> Option<T> + Send + 'static,
    ) -> Result<Option<T>> {
        let encoding = self.speech().encoding;
        self.with_text(uri, move |of, open| {
            let around = Around { path: of.path.clone(), open };
            let nearby = Nearby::of(of.path.as_deref(), around.open.clone());
            let document = Some((of.document.clone(), of.version));
            let names = Names::read(of.path.as_deref(), document, of.text.as_bytes(), &nearby);
            let offset = encoding.offset(&of.text, point(position));
            let name = names.at(offset)?;
            work(&names, &name, &around)
        })
        .await
    }

    /// Works on a thing that an earlier answer told of.
    async fn in_hierarchy<T: Send + 'static>(
        &self,
        item: CallHierarchyItem,
        work: impl FnOnce(&Names, &hierarchy::Fed, &Url) -> Vec<T> + Send + 'static,
    ) -> Result<Option<Vec<T>>> {
        let data = item.data.unwrap_or_default();
        let text = |key: &str| data.get(key).and_then(Value::as_str).map(str::to_string);
        let design = text("design").and_then(|it| Url::parse(&it).ok()).unwrap_or(item.uri);
        let kinds = [design::Kind::Manifold, design::Kind::Loop, design::Kind::Room];
        let kind = kinds.into_iter().find(|kind| text("kind").as_deref() == Some(kind.word()));
        let (Some(kind), Some(thing)) = (kind, text("name")) else { return Ok(None) };
        let Moment { snapshot, open } = self.look_at(&name(&design)).await?;
        self.apart(move |_| {
            let path = design.to_file_path().ok();
            let nearby = Nearby::of(path.as_deref(), open);
            let (document, bytes) = match &snapshot {
                Some(of) => (Some((of.document.clone(), of.version)), of.text.as_bytes().to_vec()),
                None => (None, nearby.text(path.as_deref()?).ok()?),
            };
            let names = Names::read(path.as_deref(), document, &bytes, &nearby);
            let of = hierarchy::fed(&names, kind, &thing)?;
            Some(work(&names, &of, &design))
        })
        .await
    }

    /// Works on another thread; a panic there becomes an error of this one request. Who no longer waits stops it.
    async fn apart<T: Send + 'static>(&self, work: impl FnOnce(&dyn Fn() -> bool) -> T + Send + 'static) -> Result<T> {
        let stop = Arc::new(AtomicBool::new(false));
        let _stops = Stops(stop.clone());
        let work = tokio::task::spawn_blocking(move || {
            let stop = || stop.load(Relaxed);
            (!stop()).then(|| work(&stop))
        });
        match work.await {
            Ok(Some(answer)) => Ok(answer),
            Ok(None) | Err(_) => Err(Error::internal_error()),
        }
    }

    /// From the first question on, the client is told no findings any more; those that it was told go.
    fn begin_pulling(&self, uri: &Url) {
        if !self.pulls.swap(true, SeqCst) {
            let (client, uri) = (self.client.clone(), uri.clone());
            tokio::spawn(async move { client.publish_diagnostics(uri, Vec::new(), None).await });
        }
    }

    fn ask_settings(&self) {
        let (client, settings, speech) = (self.client.clone(), self.settings.clone(), self.speech());
        tokio::spawn(async move {
            let item = ConfigurationItem { scope_uri: None, section: Some(SECTION.into()) };
            let params = ConfigurationParams { items: vec![item] };
            match client.send_request::<WorkspaceConfiguration>(params).await {
                Ok(sent) => {
                    if let Some(sent) = sent.first().filter(|it| !it.is_null()) {
                        set(&settings, Settings::of(sent));
                        publish::refresh(&client, &speech);
                    }
                }
                Err(error) => eprintln!("the editor does not tell its settings: {error}"),
            }
        });
    }

    /// The words of a document, or of a part of it.
    async fn words_of(&self, uri: &Url, range: Option<Range>) -> Result<Option<Vec<SemanticToken>>> {
        let encoding = self.speech().encoding;
        self.with_text(uri, move |of, _| {
            let mut words = tokens::tokens(of);
            if let Some(range) = range {
                let wanted = encoding.range(&of.text, (point(range.start), point(range.end)));
                words.retain(|(bytes, _)| bytes.start < wanted.end && wanted.start < bytes.end);
            }
            Some(semantic_tokens(of, &words, encoding))
        })
        .await
    }

    fn keep_words(&self, uri: &Url, data: Vec<SemanticToken>) -> String {
        let id = self.answers.fetch_add(1, Relaxed).to_string();
        if let Ok(mut words) = self.words.lock() {
            words.insert(name(uri), (id.clone(), data));
        }
        id
    }
}

/// Tells the state when somebody who asked for remedies goes before there is an answer.
struct Waits {
    state: Option<mpsc::Sender<Message>>,
}

impl Drop for Waits {
    fn drop(&mut self) {
        if let Some(state) = &self.state {
            let _ = state.send(Message::GaveUp);
        }
    }
}

/// Stops work on another thread when nobody waits for it any more.
struct Stops(Arc<AtomicBool>);

impl Drop for Stops {
    fn drop(&mut self) {
        self.0.store(true, Relaxed);
    }
}

/// Where a name was asked for.
struct Around {
    path: Option<PathBuf>,
    open: Arc<Vec<OpenFile>>,
}

/// Every place where a name is written, in all designs that are open or stand in the folders.
fn everywhere(names: &Names, name: &Name, around: &Around, folders: &[PathBuf]) -> Vec<Spot> {
    let own = names.spots(name.what, &name.text);
    let is_shared = match name.what {
        What::Thing(kind) => kind.is_in_libraries(),
        What::Rule => true,
    };
    if !is_shared {
        return own;
    }
    let given_in: Vec<PathBuf> =
        own.iter().filter(|it| it.is_definition).filter_map(|it| it.file.path.clone()).collect();
    let mut paths: Vec<PathBuf> = around.open.iter().map(|it| it.path.clone()).collect();
    paths.extend(workspace::designs(folders));
    paths.sort();
    paths.dedup();
    // Whoever shares a thing names the file in which it is given, or stands under the same house standard.
    let file_names: Vec<String> = given_in.iter().map(|it| crate::snapshot::name(Some(it))).collect();
    let others = paths.into_iter().filter(|path| around.path.as_ref() != Some(path)).filter_map(|path| {
        let nearby = Nearby::of(Some(&path), around.open.clone());
        let text = nearby.text(&path).ok()?;
        let said = String::from_utf8_lossy(&text);
        let shares = file_names.iter().any(|it| said.contains(it.as_str()) || design::is_house_standard(it))
            || given_in.contains(&path);
        let document = nearby.open_at(&path).map(|it| (it.document.clone(), it.version));
        shares.then(|| Names::read(Some(&path), document, &text, &nearby))
    });
    crate::names::everywhere(names, name, &others.collect::<Vec<_>>())
}

/// What a check says of each file that it read, for files that are not open.
fn by_file(checked: &Arc<Checked>, design: &Path, speech: &Speech) -> BTreeMap<PathBuf, Vec<Diagnostic>> {
    let mut told = BTreeMap::new();
    let files = std::iter::once((FileId::new(0), design.to_path_buf())).chain(checked.libraries());
    for (file, path) in files {
        let Ok(uri) = Url::from_file_path(&path) else { continue };
        let view = View { checked: checked.clone(), file, closed: Vec::new() };
        told.insert(path, diagnostics(std::slice::from_ref(&view), &uri, speech));
    }
    told
}

/// Whether the letters of a query stand in a name in that order.
fn is_like(name: &str, query: &str) -> bool {
    let mut letters = name.chars().flat_map(char::to_lowercase);
    query.chars().flat_map(char::to_lowercase).all(|wanted| letters.any(|letter| letter == wanted))
}

/// The answer to a question about an older text.
fn changed() -> Error {
    Error { code: ErrorCode::from(CONTENT_MODIFIED), message: "the text has changed".into(), data: None }
}

/// An error that an editor shows to its user.
fn failed(reason: impl Into<std::borrow::Cow<'static, str>>) -> Error {
    Error { code: ErrorCode::from(REQUEST_FAILED), message: reason.into(), data: None }
}

fn get<T: Clone>(of: &RwLock<T>) -> T {
    of.read().unwrap_or_else(|it| it.into_inner()).clone()
}

fn set<T>(of: &RwLock<T>, value: T) {
    *of.write().unwrap_or_else(|it| it.into_inner()) = value;
}

fn name(uri: &Url) -> Uri {
    uri.as_str().into()
}

/// Works on another thread; a panic there becomes an error.
async fn apart<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T> {
    tokio::task::spawn_blocking(work).await.map_err(|_| Error::internal_error())
}
