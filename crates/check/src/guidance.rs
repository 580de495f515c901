//! The page of a rule: the head of its own file.

use crate::Rule;

/// A rule's page.
pub struct Guidance {
    /// The first sentence: what the rule asks.
    pub summary: String,
    /// The whole page in Markdown, examples included.
    pub page: String,
}

/// An example on a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Example {
    /// What is claimed of it: `fails`, `passes`, `remedied`.
    pub claim: String,
    pub text: String,
}

impl Guidance {
    /// Cuts the page out of the head of the rule's file.
    pub fn of(rule: &Rule) -> Guidance {
        let page: String = rule
            .file
            .lines()
            .map_while(|line| line.strip_prefix("//!"))
            .flat_map(|line| [line.strip_prefix(' ').unwrap_or(line), "\n"])
            .collect();
        let summary = page.split("\n\n").next().unwrap_or_default().replace('\n', " ").trim().to_string();
        Guidance { summary, page }
    }

    /// The examples on the page, in order.
    pub fn examples(&self) -> Vec<Example> {
        let mut examples = Vec::new();
        let mut lines = self.page.lines();
        while let Some(line) = lines.next() {
            let Some(claim) = line.strip_prefix("```yaml ") else { continue };
            let text: String = lines.by_ref().take_while(|line| *line != "```").flat_map(|line| [line, "\n"]).collect();
            examples.push(Example { claim: claim.trim().to_string(), text });
        }
        examples
    }
}
