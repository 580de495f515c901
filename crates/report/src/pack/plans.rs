//! The plan of each storey: a sheet of its own paper, and a file of its own.

use super::sheet::{Drawing, Part, Sheet};
use super::{File, Issue};
use crate::plan::ink::number;
use crate::words::escaped;
use std::collections::HashSet;

/// The plans, and each as a file, if anything is drawn.
pub fn sheet(issue: &Issue) -> Option<(Sheet, Vec<File>)> {
    let drawings = drawings(issue);
    if drawings.is_empty() {
        return None;
    }
    let is_as_laid = !issue.outcome.workings.plan.as_laid.is_empty();
    let title = if is_as_laid { "Plan of the floor as laid" } else { "Plan of the floor" };
    let mut sheet = Sheet::new("plan", title);
    let is_one = drawings.len() == 1;
    let mut taken = HashSet::new();
    let mut files = Vec::new();
    for (storey, drawing) in drawings {
        let plain = |c: char| if c.is_ascii_alphanumeric() || c == '_' { c } else { '-' };
        let storey: String = storey.unwrap_or_default().chars().map(plain).take(60).collect();
        let stem = if is_one { "plan".to_string() } else { format!("plan-{storey}") };
        let mut name = format!("{stem}.svg");
        let mut next = 2;
        while !taken.insert(name.to_lowercase()) {
            name = format!("{stem}-{next}.svg");
            next += 1;
        }
        files.push(File { name, bytes: drawing.svg.clone().into_bytes() });
        sheet.parts.push(Part::Plan(drawing));
    }
    Some((sheet, files))
}

fn drawings<'o>(issue: &Issue<'o>) -> Vec<(Option<&'o str>, Drawing)> {
    let (storeys, _) = crate::plan::storeys(issue.outcome);
    let draw = |storey: Option<&'o str>| {
        let svg = crate::plan::svg(issue.outcome, storey, false)?;
        let (wide, high) = size(&svg)?;
        let says = storey.map_or("plan".to_string(), |storey| format!("plan of storey {storey}"));
        Some((storey, Drawing { svg: marked(issue, svg, wide, high), wide, high, says }))
    };
    storeys.into_iter().filter_map(draw).collect()
}

/// The size of a drawing of ours, in millimetres.
fn size(svg: &str) -> Option<(f64, f64)> {
    let (_, rest) = svg.split_once("viewBox=\"0 0 ")?;
    let (wide, high) = rest.split_once('"')?.0.split_once(' ')?;
    Some((wide.parse().ok()?, high.parse().ok()?))
}

/// The drawing with a line in its lower margin that ties it to the design.
fn marked(issue: &Issue, svg: String, wide: f64, high: f64) -> String {
    let identity = &issue.identity;
    let line = format!(
        "{} · revision {} · {} · issued {} · made from design {}",
        identity.reference,
        identity.revision,
        identity.stage,
        identity.issued,
        identity.mark()
    );
    let line = crate::plan::ink::fitting(&line, 2.4, wide - 80.0);
    let text =
        format!("<text x=\"20\" y=\"{}\" font-size=\"2.4\">{}</text>\n</svg>", number(high - 5.0), escaped(&line));
    match svg.rfind("</svg>") {
        Some(end) => format!("{}{text}{}", &svg[..end], &svg[end + 6..]),
        None => svg,
    }
}
