//! What a document consists of: its blocks and the things named in them.

use crate::outline::{At, Form};
use crate::preview::preview;
use crate::snapshot::Snapshot;
use design::{Kind, Shape};
use std::ops::Range;

/// A block, or something with a name.
#[derive(Debug, Clone, PartialEq)]
pub struct Symbol {
    pub name: String,
    /// What it is in short.
    pub detail: String,
    /// What kind of thing it is; a block is none.
    pub kind: Option<Kind>,
    pub whole: Range<usize>,
    pub name_at: Range<usize>,
    pub children: Vec<Symbol>,
}

/// Every block of a document with what is named in it.
pub fn symbols(of: &Snapshot) -> Vec<Symbol> {
    of.outline().root(&of.text).map(|root| under(root, &of.shape())).unwrap_or_default()
}

/// Every named thing of a document with the block that it stands in.
pub fn things(of: &Snapshot) -> Vec<(Symbol, String)> {
    fn gather(symbols: Vec<Symbol>, within: &str, things: &mut Vec<(Symbol, String)>) {
        for mut symbol in symbols {
            let children = std::mem::take(&mut symbol.children);
            gather(children, &symbol.name, things);
            if symbol.kind.is_some_and(|kind| kind != Kind::Label) {
                things.push((symbol, within.to_string()));
            }
        }
    }
    let mut things = Vec::new();
    gather(symbols(of), "", &mut things);
    things
}

/// The symbols right under a block of that shape.
fn under(block: At, shape: &Shape) -> Vec<Symbol> {
    let kind = shape.names_of();
    let mut found = Vec::new();
    for entry in block.children() {
        let (Some(name), Some(name_at)) = (entry.key_text(), entry.key()) else { continue };
        if name.is_empty() {
            continue;
        }
        let of_entry = shape.under(name);
        let children = of_entry.as_ref().map(|it| under(entry, it)).unwrap_or_default();
        let is_block =
            kind.is_none() && entry.form() != Form::Nothing && (block.parent().is_none() || !children.is_empty());
        if kind.is_none() && !is_block {
            continue;
        }
        let detail = match kind {
            Some(_) => preview(entry),
            None if children.iter().any(|it| it.kind.is_some()) => children.len().to_string(),
            None => preview(entry),
        };
        found.push(Symbol { name: name.to_string(), detail, kind, whole: entry.whole(), name_at, children });
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    #[test]
    fn blocks_hold_their_things() {
        let text = "format: 1\nrooms:\n  hall: {use: living, temperature: 20 °C, keep-clear: {island: [[1, 1]]}}\ncontrols:\n  zones: {Z1: {rooms: [hall]}}\nloops:\n  L1: {port: 1, room: hall}\n  L2\n";
        let snapshot = Snapshot::new("a".into(), Some("/x/a.ufh.yaml".into()), 1, Arc::new(text.into()));
        let symbols = symbols(&snapshot);
        let names: Vec<&str> = symbols.iter().map(|it| it.name.as_str()).collect();
        assert_eq!(names, ["format", "rooms", "controls", "loops"]);
        let hall = &symbols[1].children[0];
        assert_eq!((hall.name.as_str(), hall.detail.as_str(), hall.kind), ("hall", "living, 20 °C", Some(Kind::Room)));
        let things: Vec<String> =
            things(&snapshot).into_iter().map(|(it, within)| format!("{within}/{}", it.name)).collect();
        assert_eq!(things, ["rooms/hall", "zones/Z1", "loops/L1", "loops/L2"]);
    }
}
