//! The pack as one page for a browser: no scripts, nothing from outside, printable, readable on a telephone.

use super::Issue;
use super::sheet::{Column, Drawing, Part, Row, Sheet, Table};
use crate::plan::ink::number;
use crate::words::escaped;
use std::fmt::Write;

const STYLE: &str = include_str!("style.css");

pub fn page(issue: &Issue, sheets: &[Sheet]) -> String {
    let identity = &issue.identity;
    let title =
        format!("{} {}: {}, revision {}", identity.reference, identity.project, issue.title(), identity.revision);
    let mut page = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n<meta name=\"viewport\" \
         content=\"width=device-width, initial-scale=1\"/>\n<title>{}</title>\n<style>\n{STYLE}{}{}</style>\n</head>\n<body>\n",
        escaped(&title),
        margins(issue),
        papers(sheets)
    );
    head(issue, &mut page);
    page.push_str("<nav>\n<ol>\n");
    for sheet in sheets {
        let _ = writeln!(page, "<li><a href=\"#{}\">{}</a></li>", sheet.name, escaped(&sheet.title));
    }
    page.push_str("</ol>\n</nav>\n<main>\n");
    for sheet in sheets {
        let class = if sheet.is_wide { " class=\"wide\"" } else { "" };
        let _ = writeln!(page, "<section id=\"{}\"{class}>\n<h1>{}</h1>", sheet.name, escaped(&sheet.title));
        for part in &sheet.parts {
            write_part(part, &mut page);
        }
        page.push_str("</section>\n");
    }
    let _ = writeln!(
        page,
        "</main>\n<footer>{} · revision {} · {} · issued {} · made from design {}</footer>\n</body>\n</html>",
        escaped(&identity.reference),
        escaped(&identity.revision),
        identity.stage,
        identity.issued,
        identity.mark()
    );
    page
}

/// The title block.
fn head(issue: &Issue, page: &mut String) {
    let identity = &issue.identity;
    let _ = writeln!(page, "<header>\n<p class=\"project\">{}</p>\n<dl>", escaped(&identity.project));
    for (name, value) in [
        ("reference", &*identity.reference),
        ("revision", &*identity.revision),
        ("stage", identity.stage),
        ("issued", &*identity.issued),
        ("design", identity.mark()),
    ] {
        let _ = writeln!(page, "<div><dt>{name}</dt><dd>{}</dd></div>", escaped(value));
    }
    page.push_str("</dl>\n</header>\n");
}

/// What stands in the margins of printed pages.
fn margins(issue: &Issue) -> String {
    let identity = &issue.identity;
    let line = format!(
        "{} · {} · revision {} · {} · issued {} · made from design {}",
        identity.reference,
        identity.project,
        identity.revision,
        identity.stage,
        identity.issued,
        identity.mark()
    );
    // Nothing of a name ends the words or the style.
    let quoted: String = crate::words::printable(&line)
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() || c == ' ' { c.to_string() } else { format!("\\{:x} ", c as u32) })
        .collect();
    format!(
        "@page {{ @bottom-left {{ content: \"{quoted}\"; font: 7pt sans-serif }} @bottom-right {{ content: \"page \" \
         counter(page) \" / \" counter(pages); font: 7pt sans-serif }} }}\n"
    )
}

/// The papers that plans are printed on.
fn papers(sheets: &[Sheet]) -> String {
    let mut sizes: Vec<(f64, f64)> = Vec::new();
    for part in sheets.iter().flat_map(|sheet| &sheet.parts) {
        if let Part::Plan(Drawing { wide, high, .. }) = part
            && !sizes.contains(&(*wide, *high))
        {
            sizes.push((*wide, *high));
        }
    }
    let mut rules = String::new();
    for (wide, high) in sizes {
        let (name, wide, high) = (paper(wide, high), number(wide), number(high));
        let _ = writeln!(
            rules,
            "@page {name} {{ size: {wide}mm {high}mm; margin: 0; @bottom-left {{ content: none }} @bottom-right {{ content: none }} }}\n@media print {{ .{name} {{ page: {name}; width: {wide}mm }} }}"
        );
    }
    rules
}

fn paper(wide: f64, high: f64) -> String {
    format!("paper-{}-{}", number(wide).replace('.', "-"), number(high).replace('.', "-"))
}

fn write_part(part: &Part, page: &mut String) {
    let _ = match part {
        Part::Heading(text) => writeln!(page, "<h2>{}</h2>", escaped(text)),
        Part::Subheading(text) => writeln!(page, "<h3>{}</h3>", escaped(text)),
        Part::Words(text) => writeln!(page, "<p>{}</p>", escaped(text)),
        Part::Caution(text) => {
            page.push_str("<div class=\"caution\">\n");
            for (at, paragraph) in text.split('\n').enumerate() {
                let _ = writeln!(page, "<p>{}{}</p>", if at == 0 { "⚠ " } else { "" }, escaped(paragraph));
            }
            writeln!(page, "</div>")
        }
        Part::Steps(steps) => {
            page.push_str("<ul class=\"steps\">\n");
            for step in steps {
                let _ = writeln!(page, "<li>{}</li>", escaped(step));
            }
            writeln!(page, "</ul>")
        }
        Part::Table(table) => {
            write_table(table, page);
            Ok(())
        }
        Part::Sketch(drawing) => {
            let most = number(drawing.wide);
            writeln!(page, "<figure class=\"sketch\" style=\"max-width:{most}mm\">\n{}</figure>", inline(drawing))
        }
        Part::Plan(drawing) => {
            let paper = paper(drawing.wide, drawing.high);
            writeln!(page, "<figure class=\"plan {paper}\">\n{}</figure>", inline(drawing))
        }
        Part::Notice(large, says) => {
            let _ = writeln!(page, "<div class=\"notice\">\n<p class=\"large\">⚠ {}</p>", escaped(large));
            for text in says {
                let _ = writeln!(page, "<p>{}</p>", escaped(text));
            }
            writeln!(page, "</div>")
        }
    };
}

/// A drawing within the page: without the line that a file of its own begins with.
fn inline(drawing: &Drawing) -> String {
    let start = drawing.svg.find("<svg").unwrap_or_default();
    let label = format!("<svg role=\"img\" aria-label=\"{}\"", escaped(&drawing.says));
    drawing.svg[start..].replacen("<svg", &label, 1)
}

fn write_table(table: &Table, page: &mut String) {
    let class = if table.has_heads() { "" } else { " class=\"facts\"" };
    let _ = writeln!(page, "<div class=\"scroll\"><table{class}>");
    if table.has_heads() {
        page.push_str("<thead><tr>");
        for column in &table.columns {
            let _ = write!(page, "<th scope=\"col\"{}>{}</th>", class_of(column), escaped(&column.head));
        }
        page.push_str("</tr></thead>\n");
    }
    page.push_str("<tbody>\n");
    for row in &table.rows {
        match row {
            Row::Head(text) => {
                let span = table.columns.len();
                let _ = writeln!(page, "<tr><th class=\"group\" colspan=\"{span}\">{}</th></tr>", lines(text));
            }
            Row::Cells(cells) => {
                page.push_str("<tr>");
                for (cell, column) in cells.iter().zip(&table.columns) {
                    let _ = write!(page, "<td{}>{}</td>", class_of(column), lines(cell));
                }
                page.push_str("</tr>\n");
            }
        }
    }
    page.push_str("</tbody></table></div>\n");
}

/// The lines of a cell: the first in the letters of the table, the others in smaller ones.
fn lines(cell: &str) -> String {
    let (first, more) = cell.split_once('\n').unwrap_or((cell, ""));
    let more = more.split('\n').filter(|line| !line.is_empty());
    let more = more.map(|line| format!("<br/><small>{}</small>", escaped(line)));
    std::iter::once(escaped(first)).chain(more).collect()
}

fn class_of(column: &Column) -> &'static str {
    match (column.is_number, column.is_bold) {
        (true, _) => " class=\"n\"",
        (false, true) => " class=\"b\"",
        (false, false) => "",
    }
}
