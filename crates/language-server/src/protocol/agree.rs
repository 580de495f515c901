//! What client and server agree on at the beginning.

use super::commands;
use crate::convert::Encoding;
use tower_lsp::lsp_types::*;

/// The kind of action that makes all safe changes.
pub const FIX_ALL: CodeActionKind = CodeActionKind::new("source.fixAll.hypocaust");

/// What the client can do.
#[derive(Debug, Clone, Default)]
pub struct Speech {
    pub encoding: Encoding,
    pub related_information: bool,
    pub diagnostic_tags: bool,
    /// Whether the client asks for findings, rather than being told.
    pub pulls: bool,
    pub markdown: bool,
    pub completion_markdown: bool,
    pub snippets: bool,
    pub code_actions: bool,
    pub resolves_edits: bool,
    /// Whether changes of a document can be bound to a version of it.
    pub versioned_edits: bool,
    pub creates_files: bool,
    pub symbol_tree: bool,
    pub shows_documents: bool,
    pub asks_settings: bool,
    pub watches_files: bool,
    pub registers_settings: bool,
    pub refreshes_hints: bool,
    pub refreshes_lenses: bool,
    pub refreshes_findings: bool,
    /// Commands that the client carries out itself.
    pub own_commands: Vec<String>,
}

/// The best that both sides can do.
pub fn agree(params: &InitializeParams) -> Speech {
    let client = &params.capabilities;
    let general = client.general.as_ref();
    let encodings = general.and_then(|it| it.position_encodings.as_deref()).unwrap_or_default();
    let documents = client.text_document.as_ref();
    let workspace = client.workspace.as_ref();
    let hover = documents.and_then(|it| it.hover.as_ref()?.content_format.as_deref());
    let published = documents.and_then(|it| it.publish_diagnostics.as_ref());
    let item = documents.and_then(|it| it.completion.as_ref()?.completion_item.as_ref());
    let action = documents.and_then(|it| it.code_action.as_ref());
    let edits = workspace.and_then(|it| it.workspace_edit.as_ref());
    // A client that only says that it knows of asking may never ask; one that means it says more.
    let asks = documents
        .and_then(|it| it.diagnostic.as_ref())
        .is_some_and(|it| it.dynamic_registration.is_some() || it.related_document_support.is_some())
        || workspace.is_some_and(|it| it.diagnostic.is_some());
    let own_commands = params.initialization_options.as_ref().and_then(|it| it.get("commands")?.as_array());
    Speech {
        // The client names first what suits it best.
        encoding: encodings.iter().find_map(encoding).unwrap_or_default(),
        related_information: published.and_then(|it| it.related_information).unwrap_or(asks),
        diagnostic_tags: published.is_some_and(|it| it.tag_support.is_some()) || asks,
        pulls: asks,
        markdown: hover.is_some_and(|it| it.contains(&MarkupKind::Markdown)),
        completion_markdown: item
            .and_then(|it| it.documentation_format.as_deref())
            .is_some_and(|it| it.contains(&MarkupKind::Markdown)),
        snippets: item.and_then(|it| it.snippet_support).unwrap_or_default(),
        code_actions: action.is_some_and(|it| it.code_action_literal_support.is_some()),
        resolves_edits: action.is_some_and(|it| {
            let resolves = it.resolve_support.as_ref().is_some_and(|it| it.properties.iter().any(|it| it == "edit"));
            resolves && it.data_support == Some(true)
        }),
        versioned_edits: edits.and_then(|it| it.document_changes).unwrap_or_default(),
        creates_files: edits
            .and_then(|it| it.resource_operations.as_deref())
            .is_some_and(|it| it.contains(&ResourceOperationKind::Create)),
        symbol_tree: documents
            .and_then(|it| it.document_symbol.as_ref()?.hierarchical_document_symbol_support)
            .unwrap_or_default(),
        shows_documents: client.window.as_ref().and_then(|it| it.show_document.as_ref()).is_some_and(|it| it.support),
        asks_settings: workspace.and_then(|it| it.configuration).unwrap_or_default(),
        watches_files: workspace
            .and_then(|it| it.did_change_watched_files.as_ref()?.dynamic_registration)
            .unwrap_or_default(),
        registers_settings: workspace
            .and_then(|it| it.did_change_configuration.as_ref()?.dynamic_registration)
            .unwrap_or_default(),
        refreshes_hints: workspace.and_then(|it| it.inlay_hint.as_ref()?.refresh_support).unwrap_or_default(),
        refreshes_lenses: workspace.and_then(|it| it.code_lens.as_ref()?.refresh_support).unwrap_or_default(),
        // The protocol calls it `workspace.diagnostics`, which the library does not read; who asks for findings is told to ask anew.
        refreshes_findings: asks,
        own_commands: own_commands.into_iter().flatten().filter_map(|it| it.as_str().map(str::to_string)).collect(),
    }
}

/// What the server can do for such a client.
pub fn capabilities(speech: &Speech) -> ServerCapabilities {
    let no_progress = WorkDoneProgressOptions::default();
    ServerCapabilities {
        position_encoding: Some(encoding_kind(speech.encoding)),
        text_document_sync: Some(TextDocumentSyncCapability::Options(TextDocumentSyncOptions {
            open_close: Some(true),
            change: Some(TextDocumentSyncKind::INCREMENTAL),
            save: Some(TextDocumentSyncSaveOptions::Supported(true)),
            ..Default::default()
        })),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        completion_provider: Some(CompletionOptions {
            resolve_provider: Some(true),
            trigger_characters: Some([":", " ", "[", "{", ","].map(str::to_string).into()),
            ..Default::default()
        }),
        definition_provider: Some(OneOf::Left(true)),
        references_provider: Some(OneOf::Left(true)),
        document_highlight_provider: Some(OneOf::Left(true)),
        rename_provider: Some(OneOf::Right(RenameOptions {
            prepare_provider: Some(true),
            work_done_progress_options: no_progress,
        })),
        document_symbol_provider: Some(OneOf::Left(true)),
        workspace_symbol_provider: Some(OneOf::Left(true)),
        folding_range_provider: Some(FoldingRangeProviderCapability::Simple(true)),
        selection_range_provider: Some(SelectionRangeProviderCapability::Simple(true)),
        document_link_provider: Some(DocumentLinkOptions {
            resolve_provider: Some(false),
            work_done_progress_options: no_progress,
        }),
        semantic_tokens_provider: Some(SemanticTokensServerCapabilities::SemanticTokensOptions(
            SemanticTokensOptions {
                legend: super::answers::legend(),
                range: Some(true),
                full: Some(SemanticTokensFullOptions::Delta { delta: Some(true) }),
                work_done_progress_options: no_progress,
            },
        )),
        inlay_hint_provider: Some(OneOf::Right(InlayHintServerCapabilities::Options(InlayHintOptions {
            resolve_provider: Some(true),
            work_done_progress_options: no_progress,
        }))),
        code_lens_provider: Some(CodeLensOptions { resolve_provider: Some(false) }),
        code_action_provider: Some(CodeActionProviderCapability::Options(CodeActionOptions {
            code_action_kinds: Some(vec![
                CodeActionKind::QUICKFIX,
                CodeActionKind::REFACTOR_REWRITE,
                CodeActionKind::REFACTOR_EXTRACT,
                FIX_ALL,
            ]),
            resolve_provider: Some(true),
            work_done_progress_options: no_progress,
        })),
        document_formatting_provider: Some(OneOf::Left(true)),
        document_range_formatting_provider: Some(OneOf::Left(true)),
        document_on_type_formatting_provider: Some(DocumentOnTypeFormattingOptions {
            first_trigger_character: "\n".into(),
            more_trigger_character: None,
        }),
        call_hierarchy_provider: Some(CallHierarchyServerCapability::Simple(true)),
        execute_command_provider: Some(ExecuteCommandOptions {
            commands: commands::ALL
                .iter()
                .map(|it| it.to_string())
                .filter(|it| !speech.own_commands.contains(it))
                .collect(),
            work_done_progress_options: no_progress,
        }),
        diagnostic_provider: speech.pulls.then(|| {
            DiagnosticServerCapabilities::Options(DiagnosticOptions {
                identifier: Some("hypocaust".into()),
                inter_file_dependencies: true,
                workspace_diagnostics: true,
                work_done_progress_options: no_progress,
            })
        }),
        workspace: Some(WorkspaceServerCapabilities {
            workspace_folders: Some(WorkspaceFoldersServerCapabilities {
                supported: Some(true),
                change_notifications: Some(OneOf::Left(true)),
            }),
            file_operations: None,
        }),
        ..Default::default()
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
