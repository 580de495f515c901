//! Our answers in the protocol's types.

use super::agree::Speech;
use crate::completion::{More, Piece, Proposal, Sort};
use crate::convert::{Encoding, Point};
use crate::folding::Fold;
use crate::hierarchy::Fed;
use crate::names::{Spot, Text};
use crate::snapshot::Snapshot;
use crate::symbols::Symbol;
use crate::tokens::Word;
use crate::view::{Shown, View};
use crate::work::Checked;
use check::{FileId, Severity};
use serde_json::json;
use std::collections::{HashMap, HashSet};
use std::hash::{DefaultHasher, Hasher};
use std::ops::Range as Bytes;
use tower_lsp::lsp_types::*;
use yaml_tree::lines::LineIndex;

pub fn point(position: Position) -> Point {
    Point { line: position.line, character: position.character }
}

pub fn range((start, end): (Point, Point)) -> Range {
    Range { start: position(start), end: position(end) }
}

fn position(it: Point) -> Position {
    Position { line: it.line, character: it.character }
}

/// Bytes of a text as a range; line breaks at its end are left out.
pub fn marked(text: &str, lines: &LineIndex, bytes: Bytes<usize>, encoding: Encoding) -> Range {
    range(encoding.points(text, lines, bytes))
}

/// Bytes of a text that are replaced: unlike what is marked, that keeps its line breaks.
pub fn replaced(text: &str, lines: &LineIndex, bytes: Bytes<usize>, encoding: Encoding) -> Range {
    let at = |offset| position(encoding.point(text, lines, offset));
    Range { start: at(bytes.start), end: at(bytes.end) }
}

impl Snapshot {
    pub fn marked(&self, bytes: Bytes<usize>, encoding: Encoding) -> Range {
        marked(&self.text, self.lines(), bytes, encoding)
    }

    pub fn edit(&self, edit: yaml_tree::Edit, encoding: Encoding) -> TextEdit {
        TextEdit { range: replaced(&self.text, self.lines(), edit.range, encoding), new_text: edit.text }
    }
}

impl Text {
    pub fn uri(&self) -> Option<Url> {
        match (&self.document, &self.path) {
            (Some(document), _) => Url::parse(document).ok(),
            (None, Some(path)) => Url::from_file_path(path).ok(),
            (None, None) => None,
        }
    }

    pub fn marked(&self, bytes: Bytes<usize>, encoding: Encoding) -> Range {
        marked(&self.text, self.lines(), bytes, encoding)
    }
}

pub fn location(spot: &Spot, encoding: Encoding) -> Option<Location> {
    Some(Location { uri: spot.file.uri()?, range: spot.file.marked(spot.bytes.clone(), encoding) })
}

// Findings.

/// Every finding that a document shows, each once though several designs may tell of it.
pub fn diagnostics(views: &[View], uri: &Url, speech: &Speech) -> Vec<Diagnostic> {
    let mut told = HashSet::new();
    let shown = views.iter().flat_map(View::findings);
    let new = shown
        .filter(|it| views.len() == 1 || told.insert((it.finding.rule.name, it.bytes.clone(), &it.finding.message)));
    new.filter_map(|shown| diagnostic(&shown, uri, speech)).collect()
}

pub fn diagnostic(shown: &Shown, uri: &Url, speech: &Speech) -> Option<Diagnostic> {
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
        let location = place_in(&view.checked, view.file, place, uri, speech)?;
        Some(DiagnosticRelatedInformation { location, message: message.to_string() })
    });
    let related: Vec<_> = if speech.related_information { related.collect() } else { Vec::new() };
    let outcome = &view.checked.outcome;
    let page = outcome.house.page_of(finding.rule).and_then(|page| Url::parse(&page).ok());
    let is_needless = speech.diagnostic_tags && check::OF_NOTHING_NEEDED.contains(&finding.rule.name);
    Some(Diagnostic {
        range: range(speech.encoding.points(text, lines, bytes.clone())),
        severity: Some(severity),
        code: Some(NumberOrString::String(finding.rule.name.to_string())),
        code_description: page.map(|href| CodeDescription { href }),
        source: Some("hypocaust".into()),
        message: finding.message.clone(),
        related_information: (!related.is_empty()).then_some(related),
        tags: is_needless.then(|| vec![DiagnosticTag::UNNECESSARY]),
        data: Some(json!({"rule": finding.rule.name, "at": finding.at(&outcome.design)})),
    })
}

/// A place in any of the files that were read; `own` is the one that the client knows as `uri`.
fn place_in(checked: &Checked, own: FileId, place: check::Place, uri: &Url, speech: &Speech) -> Option<Location> {
    let (text, lines) = checked.text(place.file)?;
    let uri = file_uri(checked, own, place.file, uri)?;
    Some(Location { uri, range: range(speech.encoding.points(text, lines, place.range())) })
}

pub fn file_uri(checked: &Checked, own: FileId, file: FileId, uri: &Url) -> Option<Url> {
    if file == own { Some(uri.clone()) } else { Url::from_file_path(checked.path(file)?).ok() }
}

/// The name of a list of findings: lists that say the same have the same.
pub fn result_id(items: &[Diagnostic]) -> String {
    /// Takes in what is written, so that the letters of a long list need not all stand somewhere.
    struct Taking(DefaultHasher);
    impl std::io::Write for Taking {
        fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
            self.0.write(bytes);
            Ok(bytes.len())
        }
        fn flush(&mut self) -> std::io::Result<()> {
            Ok(())
        }
    }
    let mut taking = Taking(DefaultHasher::new());
    // What can be told can be written, and nothing is in the way.
    let _ = serde_json::to_writer(&mut taking, items);
    format!("{:016x}", taking.0.finish())
}

// Changes.

/// Changes of several documents as one edit; nothing if the client cannot take it.
pub fn workspace_edit(
    documents: Vec<(Url, Option<i32>, Vec<TextEdit>)>,
    created: Option<(Url, String)>,
    speech: &Speech,
) -> Option<WorkspaceEdit> {
    if !speech.versioned_edits {
        if created.is_some() {
            return None;
        }
        let mut changes: HashMap<Url, Vec<TextEdit>> = HashMap::new();
        for (uri, _, edits) in documents {
            changes.entry(uri).or_default().extend(edits);
        }
        return Some(WorkspaceEdit { changes: Some(changes), ..Default::default() });
    }
    let edit = |(uri, version, edits): (Url, Option<i32>, Vec<TextEdit>)| TextDocumentEdit {
        text_document: OptionalVersionedTextDocumentIdentifier { uri, version },
        edits: edits.into_iter().map(OneOf::Left).collect(),
    };
    let changes = match created {
        None => DocumentChanges::Edits(documents.into_iter().map(edit).collect()),
        Some(_) if !speech.creates_files => return None,
        Some((uri, text)) => {
            let options = CreateFileOptions { overwrite: Some(false), ignore_if_exists: Some(false) };
            let create = CreateFile { uri: uri.clone(), options: Some(options), annotation_id: None };
            let written = edit((uri, None, vec![TextEdit { range: Range::default(), new_text: text }]));
            let mut operations =
                vec![DocumentChangeOperation::Op(ResourceOp::Create(create)), DocumentChangeOperation::Edit(written)];
            operations.extend(documents.into_iter().map(edit).map(DocumentChangeOperation::Edit));
            DocumentChanges::Operations(operations)
        }
    };
    Some(WorkspaceEdit { document_changes: Some(changes), ..Default::default() })
}

// Completion.

pub fn completion(of: &Snapshot, proposals: Vec<Proposal>, speech: &Speech) -> CompletionList {
    // Which units fit hangs on the number that is typed.
    let is_incomplete = proposals.iter().any(|it| it.kind == Sort::Unit);
    let document = of.document.to_string();
    let item = |(at, it): (usize, Proposal)| {
        let new_text = inserted(&it.insert, speech.snippets);
        let is_snippet = speech.snippets && it.insert.iter().any(|it| !matches!(it, Piece::Text(_)));
        let goes_on = it.goes_on.then(|| Command {
            title: "what may stand there".into(),
            command: "editor.action.triggerSuggest".into(),
            arguments: None,
        });
        CompletionItem {
            label: it.label,
            kind: Some(match it.kind {
                Sort::Key => CompletionItemKind::PROPERTY,
                Sort::Block => CompletionItemKind::MODULE,
                Sort::Choice => CompletionItemKind::ENUM_MEMBER,
                Sort::Name => CompletionItemKind::REFERENCE,
                Sort::Material => CompletionItemKind::CONSTANT,
                Sort::Unit => CompletionItemKind::UNIT,
                Sort::Value => CompletionItemKind::VALUE,
                Sort::File => CompletionItemKind::FILE,
                Sort::Rule => CompletionItemKind::EVENT,
                Sort::Sketch => CompletionItemKind::SNIPPET,
            }),
            detail: (!it.detail.is_empty()).then_some(it.detail),
            documentation: it.about.map(|about| documentation(about, speech)),
            sort_text: Some(format!("{at:05}")),
            filter_text: None,
            insert_text_format: is_snippet.then_some(InsertTextFormat::SNIPPET),
            text_edit: Some(CompletionTextEdit::Edit(TextEdit {
                range: of.marked(it.bytes, speech.encoding),
                new_text,
            })),
            command: goes_on.filter(|_| speech.own_commands.iter().any(|it| it == "editor.action.triggerSuggest")),
            data: match it.more {
                More::Nothing => None,
                More::Key(path) => Some(json!({"document": document, "key": path})),
                More::Rule(rule) => Some(json!({"document": document, "rule": rule})),
            },
            ..Default::default()
        }
    };
    CompletionList { is_incomplete, items: proposals.into_iter().enumerate().map(item).collect() }
}

pub fn documentation(text: String, speech: &Speech) -> Documentation {
    let kind = if speech.completion_markdown { MarkupKind::Markdown } else { MarkupKind::PlainText };
    Documentation::MarkupContent(MarkupContent { kind, value: text })
}

/// The text of a proposal, with its stops where the client takes them.
fn inserted(pieces: &[Piece], snippets: bool) -> String {
    let escaped = |text: &str| text.replace('\\', "\\\\").replace('$', "\\$").replace('}', "\\}");
    let in_choice = |text: &str| escaped(text).replace(',', "\\,").replace('|', "\\|");
    let has_stops = pieces.iter().any(|it| !matches!(it, Piece::Text(_)));
    let mut text = String::new();
    let mut number = 0;
    for piece in pieces {
        match piece {
            Piece::Text(piece) if snippets && has_stops => text.push_str(&escaped(piece)),
            Piece::Text(piece) => text.push_str(piece),
            Piece::Stop(piece) if snippets => {
                number += 1;
                text.push_str(&format!("${{{number}:{}}}", escaped(piece)));
            }
            Piece::Stop(piece) => text.push_str(piece),
            Piece::Choice(words) if snippets => {
                number += 1;
                let words: Vec<String> = words.iter().map(|it| in_choice(it)).collect();
                text.push_str(&format!("${{{number}|{}|}}", words.join(",")));
            }
            Piece::Choice(words) => text.push_str(words.first().map(String::as_str).unwrap_or_default()),
        }
    }
    text
}

// Symbols, folds, words.

fn symbol_kind(kind: Option<design::Kind>) -> SymbolKind {
    match kind {
        None => SymbolKind::MODULE,
        Some(design::Kind::Loop) => SymbolKind::EVENT,
        Some(design::Kind::Room | design::Kind::Zone) => SymbolKind::CLASS,
        Some(design::Kind::Manifold) => SymbolKind::INTERFACE,
        Some(design::Kind::Floor) => SymbolKind::STRUCT,
        Some(design::Kind::Pipe) => SymbolKind::CONSTANT,
        Some(design::Kind::Label) => SymbolKind::FIELD,
        Some(_) => SymbolKind::OBJECT,
    }
}

#[expect(deprecated, reason = "the library asks for the old field")]
pub fn document_symbol(of: &Snapshot, symbol: Symbol, encoding: Encoding) -> DocumentSymbol {
    let children: Vec<DocumentSymbol> =
        symbol.children.into_iter().map(|it| document_symbol(of, it, encoding)).collect();
    DocumentSymbol {
        kind: symbol_kind(symbol.kind),
        name: symbol.name,
        detail: (!symbol.detail.is_empty()).then_some(symbol.detail),
        tags: None,
        deprecated: None,
        range: of.marked(symbol.whole, encoding),
        selection_range: of.marked(symbol.name_at, encoding),
        children: (!children.is_empty()).then_some(children),
    }
}

#[expect(deprecated, reason = "the library asks for the old field")]
pub fn symbol_information(
    of: &Snapshot,
    uri: &Url,
    symbol: &Symbol,
    within: &str,
    encoding: Encoding,
) -> SymbolInformation {
    SymbolInformation {
        name: symbol.name.clone(),
        kind: symbol_kind(symbol.kind),
        tags: None,
        deprecated: None,
        location: Location { uri: uri.clone(), range: of.marked(symbol.name_at.clone(), encoding) },
        container_name: (!within.is_empty()).then(|| within.to_string()),
    }
}

pub fn folding_range(fold: Fold) -> FoldingRange {
    FoldingRange {
        start_line: fold.first,
        end_line: fold.last,
        kind: Some(if fold.is_comment { FoldingRangeKind::Comment } else { FoldingRangeKind::Region }),
        ..Default::default()
    }
}

/// Steps of a growing selection, the innermost first.
pub fn selection_range(of: &Snapshot, steps: Vec<Bytes<usize>>, encoding: Encoding) -> SelectionRange {
    let mut found: Option<SelectionRange> = None;
    for step in steps.into_iter().rev() {
        let range = replaced(&of.text, of.lines(), step, encoding);
        found = Some(SelectionRange { range, parent: found.map(Box::new) });
    }
    found.unwrap_or(SelectionRange { range: Range::default(), parent: None })
}

/// The kinds of word, by number.
pub fn legend() -> SemanticTokensLegend {
    SemanticTokensLegend {
        token_types: vec![
            SemanticTokenType::COMMENT,
            SemanticTokenType::NAMESPACE,
            SemanticTokenType::PROPERTY,
            SemanticTokenType::VARIABLE,
            SemanticTokenType::ENUM_MEMBER,
            SemanticTokenType::NUMBER,
            SemanticTokenType::KEYWORD,
            SemanticTokenType::STRING,
        ],
        token_modifiers: vec![SemanticTokenModifier::DECLARATION],
    }
}

/// Words as the protocol counts them: each from the one before.
pub fn semantic_tokens(of: &Snapshot, words: &[(Bytes<usize>, Word)], encoding: Encoding) -> Vec<SemanticToken> {
    let mut last = Point::default();
    let mut tokens = Vec::with_capacity(words.len());
    for (bytes, word) in words {
        let (start, end) = encoding.points(&of.text, of.lines(), bytes.clone());
        let delta_line = start.line - last.line;
        tokens.push(SemanticToken {
            delta_line,
            delta_start: if delta_line == 0 { start.character - last.character } else { start.character },
            length: end.character.saturating_sub(start.character),
            token_type: match word {
                Word::Comment => 0,
                Word::Block => 1,
                Word::Key => 2,
                Word::NameGiven | Word::NameUsed => 3,
                Word::Choice => 4,
                Word::Number => 5,
                Word::Flag => 6,
                Word::Text => 7,
            },
            token_modifiers_bitset: u32::from(*word == Word::NameGiven),
        });
        last = start;
    }
    tokens
}

/// What is to be put in place of what, so that one list of words becomes another.
pub fn tokens_edit(old: &[SemanticToken], new: &[SemanticToken]) -> Vec<SemanticTokensEdit> {
    let same = old.iter().zip(new).take_while(|(one, other)| one == other).count();
    let most = old.len().min(new.len()) - same;
    let behind = old.iter().rev().zip(new.iter().rev()).take(most).take_while(|(one, other)| one == other).count();
    if same == old.len() && same == new.len() {
        return Vec::new();
    }
    vec![SemanticTokensEdit {
        start: same as u32 * 5,
        delete_count: (old.len() - same - behind) as u32 * 5,
        data: Some(new[same..new.len() - behind].to_vec()),
    }]
}

/// A thing of the tree from manifold to room; `design` is the document in which the tree was seen.
pub fn hierarchy_item(fed: &Fed, design: &Url, encoding: Encoding) -> Option<CallHierarchyItem> {
    Some(CallHierarchyItem {
        name: fed.name.clone(),
        kind: symbol_kind(Some(fed.kind)),
        tags: None,
        detail: Some(fed.kind.word().into()),
        uri: fed.file.uri()?,
        range: fed.file.marked(fed.whole.clone(), encoding),
        selection_range: fed.file.marked(fed.name_at.clone(), encoding),
        data: Some(json!({"design": design, "kind": fed.kind.word(), "name": fed.name})),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn token(length: u32) -> SemanticToken {
        SemanticToken { delta_line: 0, delta_start: 1, length, token_type: 0, token_modifiers_bitset: 0 }
    }

    /// An edit of the words makes of the old list the new one, as a client applies it.
    #[test]
    fn an_edit_of_words_leads_from_old_to_new() {
        let lists: Vec<Vec<SemanticToken>> =
            [&[][..], &[1], &[1, 1], &[1, 2], &[1, 2, 3], &[2, 3], &[1, 3], &[1, 2, 2, 3], &[3, 2, 1]]
                .map(|list| list.iter().map(|it| token(*it)).collect())
                .into();
        for old in &lists {
            for new in &lists {
                let mut made = old.clone();
                for edit in tokens_edit(old, new) {
                    let (start, count) = (edit.start as usize / 5, edit.delete_count as usize / 5);
                    made.splice(start..start + count, edit.data.unwrap_or_default());
                }
                assert_eq!(made, *new);
            }
        }
    }

    #[test]
    fn what_a_snippet_means_is_escaped() {
        let pieces = [
            Piece::Text("{a: ".into()),
            Piece::Stop("$1}".into()),
            Piece::Choice(vec!["a, b".into(), "c|d".into()]),
            Piece::Text("}".into()),
        ];
        assert_eq!(inserted(&pieces, true), "{a: ${1:\\$1\\}}${2|a\\, b,c\\|d|}\\}");
        assert_eq!(inserted(&pieces, false), "{a: $1}a, b}");
        assert_eq!(inserted(&[Piece::Text("{$}".into())], true), "{$}");
    }
}
