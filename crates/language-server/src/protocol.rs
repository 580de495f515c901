//! The Language Server Protocol: the only place that names its types and the library that speaks it.
//!
//! All handlers run in one task, and the library hands them on in order only up to their first wait. So a handler
//! that changes something neither waits nor works: it translates and sends. One that asks may wait, but works on
//! another thread, where a panic does not end the process.

use crate::convert::{Encoding, Point};
use crate::document::TextChange;
use crate::state::{Answer, Depth, Message, Publication, Question, Ready, Uri};
use crate::view::{Shown, View};
use crate::work::Checked;
use crate::{hover, remedies, state};
use check::{FileId, Remedy, Severity};
use std::collections::{HashMap, HashSet};
use std::ops::Range;
use std::pin::Pin;
use std::process::ExitCode;
use std::sync::atomic::{AtomicBool, Ordering::SeqCst};
use std::sync::{Arc, OnceLock, mpsc};
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::io::{AsyncRead, ReadBuf};
use tokio::sync::{mpsc as tokio_mpsc, oneshot};
use tower_lsp::jsonrpc::{Error, ErrorCode, Request, Result};
use tower_lsp::lsp_types::*;
use tower_lsp::{Client, LanguageServer, LspService};
use tower_service::Service;

/// The protocol's code for an answer that would be about an older text.
const CONTENT_MODIFIED: i64 = -32801;
/// How long what is still to be said may take after `exit`.
const LAST_WORDS: Duration = Duration::from_millis(200);
/// How many requests may wait at once. Cancelling needs a place of its own among them, so there must be plenty.
const MOST_WAITING: usize = 1024;

/// Speaks with one client on standard input and output until the end.
pub async fn serve() -> ExitCode {
    let (publish, publications) = tokio_mpsc::unbounded_channel();
    let state = match state::start(publish) {
        Ok(state) => state,
        Err(error) => {
            eprintln!("the language server cannot start: {error}");
            return ExitCode::from(2);
        }
    };
    let speech = Arc::new(OnceLock::new());
    let (service, socket) = LspService::new(|client| {
        tokio::spawn(publish_all(client, speech.clone(), publications));
        Server { state, speech }
    });
    let (said_exit, exit) = oneshot::channel();
    let ended = Arc::new(AtomicBool::new(false));
    let shut_down = Arc::new(AtomicBool::new(false));
    let input = UntilExit { input: tokio::io::stdin(), ended: ended.clone() };
    let service = Watched { service, shut_down: shut_down.clone(), ended, said_exit: Some(said_exit) };
    let server = tower_lsp::Server::new(input, tokio::io::stdout(), socket).concurrency_level(MOST_WAITING);
    // In a task of its own, because the library panics when it can no longer write.
    let mut serving = tokio::spawn(server.serve(service));
    tokio::select! {
        _ = &mut serving => {}
        Ok(()) = exit => {
            let _ = tokio::time::timeout(LAST_WORDS, serving).await;
        }
    }
    if shut_down.load(SeqCst) { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// What client and server have agreed on.
#[derive(Debug, Clone, Copy, Default)]
struct Speech {
    encoding: Encoding,
    related_information: bool,
    markdown: bool,
    code_actions: bool,
    /// Whether changes of a document can be bound to a version of it.
    versioned_edits: bool,
}

struct Server {
    state: mpsc::Sender<Message>,
    speech: Arc<OnceLock<Speech>>,
}

#[tower_lsp::async_trait]
impl LanguageServer for Server {
    async fn initialize(&self, params: InitializeParams) -> Result<InitializeResult> {
        let speech = *self.speech.get_or_init(|| agree(&params.capabilities));
        self.tell(Message::Speaks(speech.encoding));
        let capabilities = ServerCapabilities {
            position_encoding: Some(encoding_kind(speech.encoding)),
            text_document_sync: Some(TextDocumentSyncCapability::Options(TextDocumentSyncOptions {
                open_close: Some(true),
                change: Some(TextDocumentSyncKind::INCREMENTAL),
                save: Some(TextDocumentSyncSaveOptions::Supported(true)),
                ..Default::default()
            })),
            hover_provider: Some(HoverProviderCapability::Simple(true)),
            code_action_provider: Some(CodeActionProviderCapability::Options(CodeActionOptions {
                code_action_kinds: Some(vec![CodeActionKind::QUICKFIX]),
                ..Default::default()
            })),
            ..Default::default()
        };
        let server_info = ServerInfo { name: "hypocaust".into(), version: Some(env!("CARGO_PKG_VERSION").to_string()) };
        Ok(InitializeResult { capabilities, server_info: Some(server_info) })
    }

    async fn shutdown(&self) -> Result<()> {
        Ok(())
    }

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
        self.tell(Message::Closed(name(&params.text_document.uri)));
    }

    async fn hover(&self, params: HoverParams) -> Result<Option<Hover>> {
        let TextDocumentPositionParams { text_document, position } = params.text_document_position_params;
        let Some(ready) = self.ask(&text_document.uri, Depth::Findings, None).await? else { return Ok(None) };
        let speech = self.speech();
        apart(move || {
            let (text, lines) = ready.view.checked.text(ready.view.file)?;
            let offset = speech.encoding.offset(text, point(position));
            let (value, bytes) = hover::at(&ready.view, offset)?;
            let kind = if speech.markdown { MarkupKind::Markdown } else { MarkupKind::PlainText };
            let range = range(speech.encoding.points(text, lines, bytes));
            Some(Hover { contents: HoverContents::Markup(MarkupContent { kind, value }), range: Some(range) })
        })
        .await
    }

    async fn code_action(&self, params: CodeActionParams) -> Result<Option<CodeActionResponse>> {
        let CodeActionParams { text_document: TextDocumentIdentifier { uri }, range, context, .. } = params;
        let speech = self.speech();
        let of_kind = |only: &CodeActionKind| only.as_str().is_empty() || *only == CodeActionKind::QUICKFIX;
        if !speech.code_actions || !context.only.is_none_or(|only| only.iter().any(of_kind)) {
            return Ok(None);
        }
        let Some(ready) = self.ask(&uri, Depth::Findings, None).await? else { return Ok(None) };
        let revision = ready.revision;
        // Most places have nothing to offer, and the findings tell so without trying remedies out.
        if !apart(move || !remedies::touched(&ready.view, &selected(&ready, speech, range)).is_empty()).await? {
            return Ok(Some(Vec::new()));
        }
        let Some(ready) = self.ask(&uri, Depth::Remedies, Some(revision)).await? else { return Ok(None) };
        apart(move || {
            let remedies = remedies::touched(&ready.view, &selected(&ready, speech, range));
            let actions = remedies.into_iter().filter_map(|(shown, remedy)| {
                let edit = workspace_edit(&ready, remedy, &uri, speech)?;
                Some(CodeActionOrCommand::CodeAction(CodeAction {
                    title: remedy.title.clone(),
                    kind: Some(CodeActionKind::QUICKFIX),
                    diagnostics: Some(vec![diagnostic(&shown, &uri, speech)?]),
                    edit: Some(edit),
                    ..Default::default()
                }))
            });
            Some(actions.collect())
        })
        .await
    }
}

impl Server {
    fn speech(&self) -> Speech {
        self.speech.get().copied().unwrap_or_default()
    }

    /// Without waiting, so that the state hears everything in the order in which the client said it.
    fn tell(&self, message: Message) {
        if self.state.send(message).is_err() {
            eprintln!("the language server no longer keeps documents; restart it");
        }
    }

    /// What a check says of the document as it is now; nothing if there is no such document or no such check.
    async fn ask(&self, uri: &Url, depth: Depth, revision: Option<u64>) -> Result<Option<Ready>> {
        let (reply, answer) = oneshot::channel();
        self.tell(Message::Asked(Question { document: name(uri), depth, revision, reply }));
        match answer.await {
            Ok(Answer::Ready(ready)) => Ok(Some(ready)),
            Ok(Answer::Changed) => Err(Error {
                code: ErrorCode::from(CONTENT_MODIFIED),
                message: "the text has changed".into(),
                data: None,
            }),
            Ok(Answer::Nothing) | Err(_) => Ok(None),
        }
    }
}

/// Works on another thread; a panic there becomes an error of this one request.
async fn apart<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T> {
    tokio::task::spawn_blocking(work).await.map_err(|_| Error::internal_error())
}

/// Sends the findings on. It alone waits for the client to take them.
async fn publish_all(
    client: Client,
    speech: Arc<OnceLock<Speech>>,
    mut publications: tokio_mpsc::UnboundedReceiver<Publication>,
) {
    while let Some(publication) = publications.recv().await {
        let Ok(uri) = Url::parse(&publication.document) else { continue };
        let speech = speech.get().copied().unwrap_or_default();
        let version = publication.version;
        let of = uri.clone();
        match apart(move || diagnostics(&publication, &of, speech)).await {
            Ok(diagnostics) => client.publish_diagnostics(uri, diagnostics, version).await,
            Err(_) => eprintln!("the findings of {uri} could not be told; that is a fault of hypocaust"),
        }
    }
}

/// The best that both sides can do.
fn agree(client: &ClientCapabilities) -> Speech {
    let general = client.general.as_ref();
    let encodings = general.and_then(|it| it.position_encodings.as_deref()).unwrap_or_default();
    let documents = client.text_document.as_ref();
    let hover = documents.and_then(|it| it.hover.as_ref()?.content_format.as_deref());
    let edits = client.workspace.as_ref().and_then(|it| it.workspace_edit.as_ref());
    Speech {
        // The client names first what suits it best.
        encoding: encodings.iter().find_map(encoding).unwrap_or_default(),
        related_information: documents
            .and_then(|it| it.publish_diagnostics.as_ref()?.related_information)
            .unwrap_or_default(),
        markdown: hover.is_some_and(|it| it.contains(&MarkupKind::Markdown)),
        code_actions: documents
            .is_some_and(|it| it.code_action.as_ref().is_some_and(|it| it.code_action_literal_support.is_some())),
        versioned_edits: edits.and_then(|it| it.document_changes).unwrap_or_default(),
    }
}

fn encoding(kind: &PositionEncodingKind) -> Option<Encoding> {
    [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32].into_iter().find(|it| encoding_kind(*it) == *kind)
}

fn encoding_kind(encoding: Encoding) -> PositionEncodingKind {
    match encoding {
        Encoding::Utf8 => PositionEncodingKind::UTF8,
        Encoding::Utf16 => PositionEncodingKind::UTF16,
        Encoding::Utf32 => PositionEncodingKind::UTF32,
    }
}

fn name(uri: &Url) -> Uri {
    uri.as_str().into()
}

fn point(position: Position) -> Point {
    Point { line: position.line, character: position.character }
}

fn range((start, end): (Point, Point)) -> tower_lsp::lsp_types::Range {
    let position = |it: Point| Position { line: it.line, character: it.character };
    tower_lsp::lsp_types::Range { start: position(start), end: position(end) }
}

/// The bytes of a range that the client has selected.
fn selected(ready: &Ready, speech: Speech, range: tower_lsp::lsp_types::Range) -> Range<usize> {
    let Some((text, _)) = ready.view.checked.text(ready.view.file) else { return 0..0 };
    speech.encoding.range(text, (point(range.start), point(range.end)))
}

/// Every finding that a document shows, each once though several designs may tell of it.
fn diagnostics(publication: &Publication, uri: &Url, speech: Speech) -> Vec<Diagnostic> {
    let mut told = HashSet::new();
    let shown = publication.views.iter().flat_map(View::findings);
    let new = shown.filter(|it| {
        publication.views.len() == 1 || told.insert((it.finding.rule.name, it.bytes.clone(), &it.finding.message))
    });
    new.filter_map(|shown| diagnostic(&shown, uri, speech)).collect()
}

fn diagnostic(shown: &Shown, uri: &Url, speech: Speech) -> Option<Diagnostic> {
    let Shown { view, finding, bytes } = shown;
    let (text, lines) = view.checked.text(view.file)?;
    let severity = match finding.severity {
        Severity::Error => DiagnosticSeverity::ERROR,
        Severity::Warning => DiagnosticSeverity::WARNING,
        Severity::Information => DiagnosticSeverity::INFORMATION,
        Severity::Hint => DiagnosticSeverity::HINT,
    };
    let itself = shown.elsewhere().then_some((finding.place, "the place in the library"));
    let related = finding.related.iter().map(|it| (it.place, it.message.as_str()));
    let related = itself.into_iter().chain(related).filter_map(|(place, message)| {
        let location = location(&view.checked, view.file, place, uri, speech)?;
        Some(DiagnosticRelatedInformation { location, message: message.to_string() })
    });
    let related: Vec<_> = if speech.related_information { related.collect() } else { Vec::new() };
    let page = view.checked.outcome.house.page_of(finding.rule).and_then(|page| Url::parse(&page).ok());
    Some(Diagnostic {
        range: range(speech.encoding.points(text, lines, bytes.clone())),
        severity: Some(severity),
        code: Some(NumberOrString::String(finding.rule.name.to_string())),
        code_description: page.map(|href| CodeDescription { href }),
        source: Some("hypocaust".into()),
        message: finding.message.clone(),
        related_information: (!related.is_empty()).then_some(related),
        ..Default::default()
    })
}

/// A place in any of the files that were read; `own` is the one that the client knows as `uri`.
fn location(checked: &Checked, own: FileId, place: check::Place, uri: &Url, speech: Speech) -> Option<Location> {
    let (text, lines) = checked.text(place.file)?;
    let uri = file_uri(checked, own, place.file, uri)?;
    Some(Location { uri, range: range(speech.encoding.points(text, lines, place.range())) })
}

fn file_uri(checked: &Checked, own: FileId, file: FileId, uri: &Url) -> Option<Url> {
    if file == own { Some(uri.clone()) } else { Url::from_file_path(checked.path(file)?).ok() }
}

/// The changes of a remedy; nothing if one of them cannot be named to the client.
fn workspace_edit(ready: &Ready, remedy: &Remedy, uri: &Url, speech: Speech) -> Option<WorkspaceEdit> {
    let View { checked, file: own, .. } = &ready.view;
    let mut edits: Vec<(FileId, Vec<TextEdit>)> = Vec::new();
    for change in &remedy.changes {
        let (text, lines) = checked.text(change.place.file)?;
        // Unlike what is marked, what is replaced keeps its line breaks.
        let at = |offset| speech.encoding.point(text, lines, offset);
        let places = change.place.range();
        let edit = TextEdit { range: range((at(places.start), at(places.end))), new_text: change.text.clone() };
        match edits.iter_mut().find(|(file, _)| *file == change.place.file) {
            Some((_, edits)) => edits.push(edit),
            None => edits.push((change.place.file, vec![edit])),
        }
    }
    let mut edits = edits.into_iter().map(|(file, edits)| Some((file, file_uri(checked, *own, file, uri)?, edits)));
    if !speech.versioned_edits {
        let changes = edits.map(|it| it.map(|(_, uri, edits)| (uri, edits))).collect::<Option<HashMap<_, _>>>()?;
        return Some(WorkspaceEdit { changes: Some(changes), ..Default::default() });
    }
    let edits = edits.try_fold(Vec::new(), |mut all, it| {
        let (file, uri, edits) = it?;
        let version = (file == *own).then_some(ready.version);
        all.push(TextDocumentEdit {
            text_document: OptionalVersionedTextDocumentIdentifier { uri, version },
            edits: edits.into_iter().map(OneOf::Left).collect(),
        });
        Some(all)
    })?;
    Some(WorkspaceEdit { document_changes: Some(DocumentChanges::Edits(edits)), ..Default::default() })
}

/// Sees `shutdown` and `exit` go by, which the library keeps to itself.
struct Watched<S> {
    service: S,
    shut_down: Arc<AtomicBool>,
    ended: Arc<AtomicBool>,
    said_exit: Option<oneshot::Sender<()>>,
}

impl<S: Service<Request>> Service<Request> for Watched<S> {
    type Response = S::Response;
    type Error = S::Error;
    type Future = S::Future;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<std::result::Result<(), S::Error>> {
        self.service.poll_ready(context)
    }

    fn call(&mut self, request: Request) -> S::Future {
        match request.method() {
            "shutdown" => self.shut_down.store(true, SeqCst),
            "exit" => {
                self.ended.store(true, SeqCst);
                if let Some(said_exit) = self.said_exit.take() {
                    let _ = said_exit.send(());
                }
            }
            _ => {}
        }
        self.service.call(without_empty_params(request))
    }
}

/// Some clients write `"params": null` or `{}` where there are none. The library refuses that even for `shutdown`.
fn without_empty_params(request: Request) -> Request {
    let stay = request.method() != "shutdown" && request.params().is_some_and(|params| !params.is_null());
    if stay {
        return request;
    }
    let (method, id, _) = request.into_parts();
    let request = Request::build(method);
    match id {
        Some(id) => request.id(id).finish(),
        None => request.finish(),
    }
}

/// Input that ends after `exit`, so that the library stops by itself though the client leaves its end open.
struct UntilExit<I> {
    input: I,
    ended: Arc<AtomicBool>,
}

impl<I: AsyncRead + Unpin> AsyncRead for UntilExit<I> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<std::io::Result<()>> {
        if self.ended.load(SeqCst) {
            return Poll::Ready(Ok(()));
        }
        Pin::new(&mut self.input).poll_read(context, buffer)
    }
}
