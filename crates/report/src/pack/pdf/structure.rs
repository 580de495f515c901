//! What stands on the pages, in the order in which it is read, for whoever has a document read out or searches it: the tagged
//! structure of ISO 32000-1, chapter 14.7. What only adorns a page is marked as such where it is drawn.

use super::canvas::Canvas;
use pdf_writer::types::{StructRole, TableHeaderScope};
use pdf_writer::writers::StructTreeRoot;
use pdf_writer::{Finish, Pdf, Ref, TextStr};

/// A part of the document by its number.
pub type Part = usize;

#[derive(Debug)]
pub struct Structure {
    /// A part stands behind the one that it is in.
    parts: Vec<Node>,
}

#[derive(Debug)]
struct Node {
    role: StructRole,
    within: Option<Part>,
    kids: Vec<Kid>,
    /// What a drawing shows, in words.
    says: Option<String>,
    /// Of a head in a table, what it is the head of.
    head_of: Option<HeadOf>,
}

/// What a head in a table stands above or beside.
#[derive(Debug, Clone, Copy)]
pub enum HeadOf {
    Row,
    Columns(usize),
}

#[derive(Debug, Clone, Copy)]
enum Kid {
    Part(Part),
    /// What is marked on a page with a number.
    Mark {
        page: usize,
        number: usize,
    },
}

impl Structure {
    /// Of a document of which nothing is said yet; its first part is the whole.
    pub fn new() -> Structure {
        Structure { parts: vec![Node::new(StructRole::Document, None)] }
    }

    pub fn add(&mut self, role: StructRole, within: Part) -> Part {
        let own = self.parts.len();
        self.parts.push(Node::new(role, Some(within)));
        self.parts[within].kids.push(Kid::Part(own));
        own
    }

    /// A drawing, and what it shows.
    pub fn figure(&mut self, says: &str, within: Part) -> Part {
        let part = self.add(StructRole::Figure, within);
        self.parts[part].says = Some(says.to_string());
        part
    }

    /// A head in a table.
    pub fn head(&mut self, of: HeadOf, within: Part) -> Part {
        let part = self.add(StructRole::TH, within);
        self.parts[part].head_of = Some(of);
        part
    }

    /// Writes the parts, the pages having these numbers; gives back the number of the root.
    pub fn write(mut self, pdf: &mut Pdf, pages: &[(&Canvas, Ref)], mut next: impl FnMut() -> Ref) -> Ref {
        for (page, (canvas, _)) in pages.iter().enumerate() {
            for (number, part) in canvas.marks().iter().enumerate() {
                self.parts[*part].kids.push(Kid::Mark { page, number });
            }
        }
        let root = next();
        let refs: Vec<Ref> = self.parts.iter().map(|_| next()).collect();
        for (node, own) in self.parts.iter().zip(&refs) {
            let mut element = pdf.struct_element(*own);
            element.kind(node.role).parent(node.within.map_or(root, |within| refs[within]));
            if let Some(says) = &node.says {
                element.alt(TextStr(says));
            }
            if let Some(of) = node.head_of {
                let mut attributes = element.attributes();
                let mut attributes = attributes.push().table();
                match of {
                    HeadOf::Row => attributes.scope(TableHeaderScope::Row),
                    HeadOf::Columns(count) => attributes.scope(TableHeaderScope::Column).col_span(count as i32),
                };
            }
            // Most stand on one page.
            let page_of_first = node.kids.iter().find_map(|kid| match kid {
                Kid::Mark { page, .. } => Some(*page),
                Kid::Part(_) => None,
            });
            if let Some(page) = page_of_first {
                element.page(pages[page].1);
            }
            let mut children = element.children();
            for kid in &node.kids {
                match *kid {
                    Kid::Part(part) => {
                        children.struct_element(refs[part]);
                    }
                    Kid::Mark { page, number } if Some(page) == page_of_first => {
                        children.marked_content_id(number as i32);
                    }
                    Kid::Mark { page, number } => {
                        children.marked_content_ref().page(pages[page].1).marked_content_id(number as i32);
                    }
                }
            }
            children.finish();
            element.finish();
        }
        // Which part each mark of a page belongs to.
        let mut of_pages = Vec::new();
        for (canvas, _) in pages {
            let own = next();
            pdf.indirect(own).array().items(canvas.marks().iter().map(|part| refs[*part]));
            of_pages.push(own);
        }
        let mut tree = pdf.indirect(root).start::<StructTreeRoot>();
        tree.child(refs[0]);
        {
            let mut parents = tree.parent_tree();
            let mut parents = parents.nums();
            for (page, own) in of_pages.iter().enumerate() {
                parents.insert(page as i32, *own);
            }
        }
        tree.parent_tree_next_key(pages.len() as i32);
        tree.finish();
        root
    }
}

impl Node {
    fn new(role: StructRole, within: Option<Part>) -> Node {
        Node { role, within, kids: Vec::new(), says: None, head_of: None }
    }
}
