//! Places of a document that lead to another file or page.

use crate::nearby::beside;
use crate::snapshot::Snapshot;
use std::ops::Range;
use std::path::PathBuf;

/// Where a link leads.
#[derive(Debug, Clone, PartialEq)]
pub enum Target {
    File(PathBuf),
    Page(String),
}

/// The libraries that a document names.
pub fn libraries(of: &Snapshot) -> Vec<(Range<usize>, Target)> {
    let (Some(folder), Some(root)) = (of.folder(), of.outline().root(&of.text)) else { return Vec::new() };
    let Some(list) = root.get("library") else { return Vec::new() };
    let items = std::iter::once(list).chain(list.children());
    items
        .filter_map(|it| Some((it.value(), Target::File(beside(folder, it.value_text().filter(|it| !it.is_empty())?)))))
        .collect()
}

/// The rules that a document names, with their pages, where the house keeps the pages.
pub fn pages(of: &Snapshot, house: &check::House) -> Vec<(Range<usize>, Target)> {
    let Some(root) = of.outline().root(&of.text) else { return Vec::new() };
    let departed = root.get("departures").into_iter().flat_map(|list| list.children()).filter_map(|it| {
        let rule = it.get("rule")?;
        Some((rule.value(), rule.value_text()?))
    });
    let changed = root.get("rules").into_iter().filter(|_| of.is_house_standard()).flat_map(|list| list.children());
    let changed = changed.filter_map(|it| Some((it.key()?, it.key_text()?)));
    let page = |name: &str| house.page_of(house.rules().find(|rule| rule.name == name)?);
    departed.chain(changed).filter_map(|(bytes, name)| Some((bytes, Target::Page(page(name)?)))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    #[test]
    fn libraries_lead_to_their_files() {
        let of = |text: &str| Snapshot::new("a".into(), Some("/x/y/a.ufh.yaml".into()), 1, Arc::new(text.into()));
        let found = libraries(&of("library: [../pipes.yaml, \"b c.yaml\"]\n"));
        assert_eq!(
            found,
            [(10..23, Target::File("/x/pipes.yaml".into())), (25..35, Target::File("/x/y/b c.yaml".into()))]
        );
        assert_eq!(libraries(&of("library: one.yaml\n")), [(9..17, Target::File("/x/y/one.yaml".into()))]);
        assert!(libraries(&of("library:\n")).is_empty());
    }

    #[test]
    fn rules_lead_to_their_pages_where_there_are_pages() {
        let of = Snapshot::new(
            "a".into(),
            None,
            1,
            Arc::new("departures:\n  - {rule: spacing-too-wide}\n  - {rule: what}\n".into()),
        );
        let house = check::House::read(
            "house-standard.yaml",
            b"format: 1\nhouse-standard: {guidance: \"https://firm.example/rules\"}\n",
        );
        let found = pages(&of, &house);
        assert_eq!(found, [(23..39, Target::Page("https://firm.example/rules/spacing-too-wide.html".into()))]);
        assert!(pages(&of, &check::House::default()).is_empty());
    }
}
