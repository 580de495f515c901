//! The column beside the plan: loops, signs, findings, cautions, title.

use super::building::{flag, hatch};
use super::crowd::Crowd;
use super::dimensions::Dimensions;
use super::ink::{Anchor, BODY, BOLD, GREY, HEADING, Ink, SMALL, TITLE, Words, fitting, lines, width};
use super::marks::Mark;
use super::paper::{Block, STRIP, Sheet, Spot};
use super::pipes::pens;
use super::scene::Scene;
use super::sleeves;
use crate::Summary;
use crate::schedule::{insulated_tails, spacing_laid_otherwise, tails_assumed};
use crate::words::{count, sentence};
use check::Severity;
use quantity::{Angle, Length};
use workings::{Gap, ValueOf};

/// What lies in the floor.
fn heated_by(scene: &Scene) -> &'static str {
    match (scene.on.loops.is_empty(), scene.on.electric_mats.is_empty()) {
        (true, false) => "cables",
        (false, false) => "pipes and cables",
        _ => "pipes",
    }
}

/// What must not happen to the floor, on every plan.
fn drilling(scene: &Scene) -> String {
    let what = heated_by(scene);
    let dimensions = match what {
        "cables" => "",
        _ => {
            "Dimensions are to the middle of the pipe and say where it is meant to lie; even a measured pipe can be \
             50 mm out. "
        }
    };
    format!(
        "Heating {what} in this floor. Do not drill, nail or screw into it. {dimensions}Where a hole cannot be avoided, \
         find what lies there first, with a thermal camera or the photographs."
    )
}

/// What the check is and is not, on every plan.
const CHECKING: &str = "Drawn and checked by a program from a design file; no substitute for a competent designer, \
licensed work or the rules in force. Test the pipes before covering. Check the scale bar before you measure off the sheet.";

pub const LINE: f64 = 3.1;
const ROW: f64 = 3.9;
const PAD: f64 = 3.0;
const TITLE_HIGH: f64 = 44.0;
/// What findings should at least have.
const LEAST_FOR_FINDINGS: f64 = 24.0;

/// The columns of the table of loops and their widths; 124 mm together.
const COLUMNS: [(&str, f64); 9] = [
    ("flow / return", 17.0),
    ("loop", 14.0),
    ("port", 8.0),
    ("room", 26.0),
    ("pipe", 20.0),
    ("m", 10.0),
    ("mm", 8.0),
    ("l/min", 9.0),
    ("setting", 12.0),
];

/// The height that the tables ask for.
pub fn least_height(scene: &Scene) -> f64 {
    let manifolds = scene.on.manifolds.len() + 1;
    let rows = (scene.on.loops.len() + manifolds) as f64 * ROW;
    rows + LEAST_FOR_FINDINGS + TITLE_HIGH + 90.0
}

/// Draws the column, with the findings if they are asked for. Gives back those that found a place in the list: they are
/// marked on the plan.
pub fn draw<'o>(
    scene: &Scene,
    sheet: &Sheet,
    ink: &mut Ink,
    found: Option<(Vec<Mark<'o>>, usize)>,
    dimensions: &Dimensions,
) -> Vec<Mark<'o>> {
    let column = sheet.column;
    let inner = Block { x: column.x + PAD, wide: column.wide - 2.0 * PAD, ..column };
    title(scene, sheet, ink);
    let cautions: Vec<(Vec<String>, bool)> = vec![
        (lines(&drilling(scene), BODY, (inner.wide - 7.0) / BOLD, 8), true),
        (lines(CHECKING, SMALL, inner.wide, 8), false),
    ];
    let cautions_high: f64 = cautions.iter().map(|(lines, _)| lines.len() as f64 * LINE + 2.4).sum::<f64>() + 1.0;
    let signs = signs(scene, found.as_ref().is_some_and(|(marks, _)| !marks.is_empty()));
    let signs_high = 6.0 + signs.len().div_ceil(2) as f64 * ROW + 2.0;
    let foot = column.foot() - TITLE_HIGH;
    let free_to = foot - cautions_high - signs_high;
    let rows_to = free_to - LEAST_FOR_FINDINGS;
    let rule = |ink: &mut Ink, y: f64| {
        ink.group(r##"stroke="#000" stroke-width="0.25""##, |ink| {
            ink.line(Spot::new(column.x, y), Spot::new(column.right(), y));
        });
    };

    let mut y = table(scene, ink, inner, rows_to);
    y = not_drawn(scene, ink, inner, y, dimensions) + 1.6;
    rule(ink, y);
    let below = sleeves::list(scene, ink, inner, y, rows_to);
    if below > y {
        y = below;
        rule(ink, y);
    }
    let shown = match found {
        Some(found) => findings(ink, inner, y + 0.4, free_to, found),
        None => Vec::new(),
    };
    let mut y = free_to;
    rule(ink, y);
    rule(ink, y + signs_high);
    heading(ink, inner, y, "Signs");
    for (number, sign) in signs.iter().enumerate() {
        let left = inner.x + (number % 2) as f64 * inner.wide / 2.0;
        let at = Spot::new(left, y + 7.6 + (number / 2) as f64 * ROW);
        (sign.draw)(ink, Spot::new(at.x + 5.5, at.y));
        ink.words(Words::new(sign.says, Spot::new(at.x + 13.0, at.y + SMALL * 0.36), SMALL));
    }
    y += signs_high + 1.0;
    for (lines, is_warning) in cautions {
        let mut left = inner.x;
        if is_warning {
            // A triangle with an exclamation mark: the general warning sign of ISO 7010, W001, in outline.
            let (x, top) = (left + 2.6, y + 1.6);
            ink.shape(
                &[Spot::new(x, top), Spot::new(x + 2.8, top + 4.9), Spot::new(x - 2.8, top + 4.9)],
                true,
                r##"fill="#fff" stroke="#000" stroke-width="0.5" stroke-linejoin="round""##,
            );
            ink.words(Words::new("!", Spot::new(x, top + 4.3), 3.6).anchor(Anchor::Middle).bold());
            left += 7.0;
        }
        for line in &lines {
            y += LINE;
            let words = Words::new(line, Spot::new(left, y), if is_warning { BODY } else { SMALL });
            ink.words(if is_warning { words.bold() } else { words });
        }
        y += 2.4;
    }
    shown
}

pub fn heading(ink: &mut Ink, inner: Block, y: f64, text: &str) {
    ink.words(Words::new(text, Spot::new(inner.x, y + 4.4), HEADING).bold());
}

/// The table of loops by manifold; gives back where it ends.
fn table(scene: &Scene, ink: &mut Ink, inner: Block, down_to: f64) -> f64 {
    let design = &scene.outcome.design;
    heading(ink, inner, inner.y, "Loops");
    let mut y = inner.y + 9.0;
    let mut x = inner.x;
    for (name, wide) in COLUMNS {
        ink.words(Words::new(name, Spot::new(x, y), SMALL).colour(GREY));
        x += wide;
    }
    let rule = |ink: &mut Ink, y: f64, wide: &str| {
        ink.group(&format!(r##"stroke="#000" stroke-width="{wide}""##), |ink| {
            ink.line(Spot::new(inner.x, y), Spot::new(inner.right(), y));
        });
    };
    y += 1.2;
    rule(ink, y, "0.25");
    let mut order: Vec<(Option<usize>, usize, usize)> = scene
        .on
        .loops
        .iter()
        .enumerate()
        .map(|(pen, &at)| (scene.outcome.workings.loops[at].manifold, at, pen))
        .collect();
    order.sort_by_key(|(manifold, at, _)| (manifold.is_none(), *manifold, *at));
    let mut of = None;
    for (number, &(manifold, at, pen)) in order.iter().enumerate() {
        let heads = of != Some(manifold);
        let needed = if heads { 2.0 * ROW } else { ROW };
        if y + needed + ROW > down_to && number + 1 < order.len() {
            y += ROW;
            let more =
                format!("and {} more: `hypocaust workings` has them all", count(order.len() - number, "loop", "loops"));
            ink.words(Words::new(&more, Spot::new(inner.x, y - 1.0), BODY).bold());
            break;
        }
        if heads {
            of = Some(manifold);
            y += ROW;
            let name = match manifold.and_then(|at| design.manifolds.at(at)) {
                Some((name, _)) => format!("manifold {}", fitting(&sentence(name), BODY, 60.0)),
                None => "no manifold named".to_string(),
            };
            let own = order.iter().filter(|it| it.0 == manifold).map(|it| it.1);
            let name = fitting(&format!("{name}: {}", together(scene, own)), BODY, inner.wide / BOLD);
            ink.words(Words::new(&name, Spot::new(inner.x, y - 1.0), BODY).bold());
        }
        y += ROW;
        row(scene, ink, Spot::new(inner.x, y - 1.0), at, pen);
        rule(ink, y, "0.09");
    }
    if order.is_empty() {
        y += ROW;
        ink.words(Words::new("none on this storey", Spot::new(inner.x, y - 1.0), BODY));
    }
    y
}

/// How many loops there are, with their length and flow together where all are known.
fn together(scene: &Scene, loops: impl Iterator<Item = usize> + Clone) -> String {
    let worked = loops.clone().map(|at| &scene.outcome.workings.loops[at]);
    let mut said = count(worked.clone().count(), "loop", "loops");
    let length: Result<Vec<f64>, _> = loops.map(|at| length(scene, at).map(|length| length.in_metres())).collect();
    let flow: Result<Vec<f64>, _> =
        worked.map(|it| it.volume_flow.value().map(|flow| flow.in_litres_per_minute())).collect();
    if let Ok(length) = length {
        said += &format!(", {:.1} m", length.iter().sum::<f64>());
    }
    if let Ok(flow) = flow {
        said += &format!(", {:.2} l/min", flow.iter().sum::<f64>());
    }
    said
}

/// The length of a loop: as laid, where the records say so.
fn length(scene: &Scene, at: usize) -> Result<Length, Gap> {
    match scene.drawn(at).filter(|it| it.is_as_laid) {
        Some(it) => Ok(it.length()),
        None => scene.outcome.workings.loops[at].length.value(),
    }
}

/// Whether that length counts tails that are only assumed.
fn assumed(scene: &Scene, at: usize) -> bool {
    let given = scene.outcome.design.loops.at(at).map(|(_, entry)| &entry.value);
    let is_as_laid = scene.drawn(at).is_some_and(|it| it.is_as_laid);
    !is_as_laid && given.is_some_and(|given| tails_assumed(given, &scene.outcome.workings.loops[at]))
}

fn row(scene: &Scene, ink: &mut Ink, at: Spot, loop_at: usize, pen: usize) {
    let design = &scene.outcome.design;
    let (Some((name, entry)), Some(worked)) = (design.loops.at(loop_at), scene.outcome.workings.loops.get(loop_at))
    else {
        return;
    };
    let given = &entry.value;
    let drawn = scene.drawn(loop_at);
    if drawn.is_some() {
        let middle = at.y - BODY * 0.36;
        let [flow, back] = pens(pen);
        ink.group(&flow, |ink| ink.line(Spot::new(at.x, middle), Spot::new(at.x + 7.0, middle)));
        ink.group(&back, |ink| ink.line(Spot::new(at.x + 8.0, middle), Spot::new(at.x + 15.5, middle)));
    } else {
        ink.words(Words::new("not drawn", at, SMALL).colour(GREY));
    }
    let room = match &worked.rooms[..] {
        [] => String::new(),
        [room] => design.rooms.at(*room).map_or(String::new(), |(name, _)| name.to_string()),
        [room, more @ ..] => {
            design.rooms.at(*room).map_or(String::new(), |(name, _)| format!("{name} +{}", more.len()))
        }
    };
    let dash = || "–".to_string();
    let setting = crate::schedule::presetting(scene.outcome, loop_at, worked).map_or_else(dash, |set| {
        match (set.turns, set.kv) {
            (Some(turns), _) => format!("{} turns", (turns * 100.0).round() / 100.0),
            (None, Some(kv)) => format!("Kv {:.2}", kv.in_cubic_metres_per_hour()),
            (None, None) => dash(),
        }
    });
    let cells = [
        name.to_string(),
        given.port.map_or_else(dash, |port| port.value.to_string()),
        room,
        given.pipe.as_ref().map_or_else(dash, |pipe| pipe.value.0.clone()),
        length(scene, loop_at).map_or_else(
            |_| dash(),
            |length| format!("{:.1}{}", length.in_metres(), if assumed(scene, loop_at) { "**" } else { "" }),
        ),
        match (spacing_laid_otherwise(scene.outcome, loop_at), given.spacing) {
            (Some(laid), _) => format!("{:.0}*", laid.in_millimetres()),
            (None, Some(spacing)) => format!("{:.0}", spacing.value.in_millimetres()),
            (None, None) => dash(),
        },
        worked.volume_flow.value().map_or_else(|_| dash(), |flow| format!("{:.2}", flow.in_litres_per_minute())),
        setting,
    ];
    let mut x = at.x + COLUMNS[0].1;
    for (number, (cell, (_, wide))) in cells.iter().zip(&COLUMNS[1..]).enumerate() {
        let text = fitting(&sentence(cell), SMALL, wide - 0.8);
        let words = Words::new(&text, Spot::new(x, at.y), SMALL);
        let words = if number == 0 { words.bold().colour(super::pipes::colour(pen)) } else { words };
        ink.words(words);
        x += wide;
    }
}

/// What the plan does not show.
fn not_drawn(scene: &Scene, ink: &mut Ink, inner: Block, mut y: f64, dimensions: &Dimensions) -> f64 {
    let design = &scene.outcome.design;
    let mut said = Vec::new();
    let rooms: Vec<&str> = scene.without_outline().take(60).collect();
    if !rooms.is_empty() {
        said.push(format!("Not drawn, no outline: {}", rooms.join(", ")));
    }
    let mats: Vec<&str> = scene.mats_without_outline().take(60).collect();
    if !mats.is_empty() {
        said.push(format!("Not drawn, electric mats without outline: {}", mats.join(", ")));
    }
    let laid: Vec<&str> = scene.loops.iter().filter(|it| it.is_as_laid).map(|it| it.name).take(60).collect();
    if !laid.is_empty() {
        let measured = design.records.as_built.as_ref().and_then(|record| record.date);
        let measured = measured.map_or(String::new(), |day| format!(", measured {}", day.value));
        said.push(format!("Drawn as laid{measured}: {}", laid.join(", ")));
    }
    if scene.on.loops.iter().any(|at| assumed(scene, *at)) {
        said.push("** tails not laid out: their length is assumed".to_string());
    }
    if scene.on.loops.iter().any(|at| spacing_laid_otherwise(scene.outcome, *at).is_some()) {
        said.push("* mm: laid so, to fit the floor; another spacing is stated".to_string());
    }
    let insulated = scene.on.loops.iter().filter_map(|at| {
        let (name, entry) = design.loops.at(*at)?;
        Some(format!("{name} {}", insulated_tails(&entry.value)?))
    });
    let insulated: Vec<String> = insulated.take(60).collect();
    if !insulated.is_empty() {
        said.push(format!("Insulate the tails from the manifold on: {}", insulated.join(", ")));
    }
    if !dimensions.unmeasured.is_empty() {
        let unmeasured: Vec<&str> = dimensions.unmeasured.iter().copied().take(60).collect();
        said.push(format!("No dimensions, the runs lie along no wall: {}", unmeasured.join(", ")));
    }
    let left_out = dimensions.left_out;
    if left_out > 0 {
        said.push(format!(
            "{} found no room on the sheet",
            count(left_out, "chain of dimensions", "chains of dimensions")
        ));
    }
    for text in said {
        for line in lines(&sentence(&text), SMALL, inner.wide, 4) {
            y += LINE;
            ink.words(Words::new(&line, Spot::new(inner.x, y), SMALL));
        }
    }
    y
}

/// The findings, each with the number of its mark; those that fit.
fn findings<'o>(ink: &mut Ink, inner: Block, from: f64, to: f64, found: (Vec<Mark<'o>>, usize)) -> Vec<Mark<'o>> {
    let (mut marks, mut elsewhere) = found;
    heading(ink, inner, from, "Findings on this plan");
    let mut y = from + 5.4;
    let all = marks.len();
    let mut shown = 0;
    for mark in &marks {
        let text = sentence(&mark.finding.message);
        let text = format!("{}: {text}", mark.finding.rule.name);
        let lines = lines(&text, SMALL, inner.wide - 6.5, 3);
        let high = lines.len() as f64 * LINE + 1.0;
        // The last line tells how many more there are.
        if y + high + LINE + 1.5 > to || shown == 99 {
            break;
        }
        sign_of_finding(ink, Spot::new(inner.x + 2.2, y + LINE - SMALL * 0.36), mark.finding.severity, shown + 1);
        for (at, line) in lines.iter().enumerate() {
            ink.words(Words::new(line, Spot::new(inner.x + 6.0, y + (at as f64 + 1.0) * LINE), SMALL));
        }
        y += high;
        shown += 1;
    }
    marks.truncate(shown);
    elsewhere += all - shown;
    let text = match (shown, elsewhere) {
        (0, 0) => "none of this storey or the whole design".to_string(),
        (_, 0) => String::new(),
        (0, more) => {
            format!("none; {} without a place here, see `hypocaust check`", count(more, "finding", "findings"))
        }
        (_, more) => {
            format!("and {} without a place here, or without room; see `hypocaust check`", count(more, "more", "more"))
        }
    };
    if !text.is_empty() {
        ink.words(Words::new(&text, Spot::new(inner.x, y + LINE), SMALL).colour(GREY));
    }
    marks
}

/// The mark of a finding: full for an error, framed for a warning, round for the rest.
fn sign_of_finding(ink: &mut Ink, at: Spot, severity: Severity, number: usize) -> Block {
    let text = number.to_string();
    let high = 3.0;
    let wide = (width(&text, SMALL) + 1.2).max(high);
    let block = Block::around(at, wide, high);
    let (style, words) = match severity {
        Severity::Error => (format!(r##"fill="{SIGNAL}" stroke="#fff" stroke-width="0.3""##), "#fff"),
        Severity::Warning => (format!(r##"fill="#fff" stroke="{SIGNAL}" stroke-width="0.5""##), SIGNAL),
        _ => (format!(r##"rx="1.5" fill="#fff" stroke="{GREY}" stroke-width="0.35""##), GREY),
    };
    ink.block(block, &style);
    let foot = Spot::new(at.x, at.y + SMALL * 0.36);
    ink.words(Words::new(&text, foot, SMALL).anchor(Anchor::Middle).bold().colour(words));
    block
}

const SIGNAL: &str = "#b5122b";

/// Marks the findings on the plan.
pub fn mark(marks: &[Mark], ink: &mut Ink, crowd: &mut Crowd) {
    for (number, mark) in marks.iter().enumerate() {
        for &spot in &mark.spots {
            let wide = width(&(number + 1).to_string(), SMALL) + 1.2;
            let block = crowd.near(spot, wide.max(3.0), 3.0);
            ink.named("finding", mark.finding.rule.name, |ink| {
                ink.group(&format!(r#"stroke="{SIGNAL}" stroke-width="0.3" fill="{SIGNAL}""#), |ink| {
                    ink.line(block.middle(), spot);
                    ink.circle(spot, 0.55, "");
                });
                sign_of_finding(ink, block.middle(), mark.finding.severity, number + 1);
            });
        }
    }
}

/// A sign with what it stands for.
struct Sign {
    says: &'static str,
    draw: fn(&mut Ink, Spot),
}

/// The signs that are on this plan.
fn signs(scene: &Scene, has_marks: bool) -> Vec<Sign> {
    let design = &scene.outcome.design;
    let pipes = !scene.loops.is_empty();
    let rooms = || scene.on.rooms.iter().filter_map(|&at| design.rooms.at(at)).map(|(_, entry)| &entry.value);
    let sleeved = scene.loops.iter().any(|it| sleeves::sleeved(scene, it).next().is_some());
    let mut signs = Vec::new();
    let mut sign = |wanted: bool, says: &'static str, draw: fn(&mut Ink, Spot)| {
        if wanted {
            signs.push(Sign { says, draw });
        }
    };
    sign(pipes, "flow: full line, full arrow", |ink, at| sample_pipe(ink, at, true));
    sign(pipes, "return: dashes, hollow arrow", |ink, at| sample_pipe(ink, at, false));
    sign(pipes, "port: flow, return", |ink, at| {
        for (x, fill, words) in [(-2.4, "#333", "#fff"), (2.4, "#fff", "#333")] {
            let spot = Spot::new(at.x + x, at.y);
            ink.block(
                Block::around(spot, 2.9, 2.9),
                &format!(r##"rx="1.45" fill="{fill}" stroke="#333" stroke-width="0.35""##),
            );
            let foot = Spot::new(spot.x, spot.y + SMALL * 0.36);
            ink.words(Words::new("1", foot, SMALL).anchor(Anchor::Middle).bold().colour(words));
        }
    });
    sign(pipes, "mm from the wall at 0, as a tape reads", |ink, at| {
        ink.group(r##"stroke="#000" stroke-width="0.18" fill="#fff""##, |ink| {
            ink.line(Spot::new(at.x - 4.5, at.y), Spot::new(at.x + 4.5, at.y));
            ink.group(r#"stroke-width="0.35""#, |ink| {
                ink.line(Spot::new(at.x - 0.6, at.y + 0.6), Spot::new(at.x + 0.6, at.y - 0.6));
                ink.line(Spot::new(at.x + 4.5, at.y - 1.1), Spot::new(at.x + 4.5, at.y + 1.1));
            });
            ink.circle(Spot::new(at.x - 4.5, at.y), 0.7, "");
        });
    });
    sign(scene.loops.iter().any(|it| it.designed.is_some()), "as designed, laid otherwise", |ink, at| {
        let style = r##"stroke="#777" stroke-width="0.18" stroke-dasharray="0.5 0.9""##;
        ink.group(style, |ink| ink.line(Spot::new(at.x - 5.5, at.y), Spot::new(at.x + 5.5, at.y)));
    });
    sign(sleeved, "sleeve round the pipe", |ink, at| {
        let style = r##"fill="#fff" stroke="#000" stroke-width="0.25""##;
        ink.block(Block::around(at, 5.0, 1.5), style);
        let pipe = r##"stroke="#333" stroke-width="0.5""##;
        ink.group(pipe, |ink| ink.line(Spot::new(at.x - 5.0, at.y), Spot::new(at.x + 5.0, at.y)));
    });
    let joints =
        || scene.on.movement_joints.iter().filter_map(|&at| design.movement_joints.at(at)).map(|(_, it)| &it.value);
    sign(joints().next().is_some(), "movement joint, or as named", |ink, at| {
        let style = r##"stroke="#000" stroke-width="0.4" stroke-dasharray="5 1 0.7 1""##;
        ink.group(style, |ink| ink.line(Spot::new(at.x - 5.5, at.y), Spot::new(at.x + 5.5, at.y)));
    });
    sign(rooms().any(|room| !room.keep_clear.is_empty()), "keep clear of pipe", |ink, at| {
        sample_area(ink, at, &[1.0]);
    });
    sign(rooms().any(|room| !room.fixing_lines.is_empty()), "line of screws to come", |ink, at| {
        let style = r##"stroke="#000" stroke-width="0.35" stroke-dasharray="1 0.7""##;
        ink.group(style, |ink| ink.line(Spot::new(at.x - 4.5, at.y), Spot::new(at.x + 4.5, at.y)));
    });
    let mats = scene.on.electric_mats.len() > scene.mats_without_outline().count();
    sign(mats, "electric mat", |ink, at| {
        sample_area(ink, at, &[1.0, -1.0]);
    });
    sign(scene.moisture_points().next().is_some(), "measure moisture here: leave a flag", |ink, at| {
        flag(ink, Spot::new(at.x - 0.8, at.y + 1.8));
    });
    sign(has_marks, "finding: error, warning, other", |ink, at| {
        sign_of_finding(ink, Spot::new(at.x - 3.8, at.y), Severity::Error, 1);
        sign_of_finding(ink, Spot::new(at.x, at.y), Severity::Warning, 2);
        sign_of_finding(ink, Spot::new(at.x + 3.8, at.y), Severity::Hint, 3);
    });
    signs
}

fn sample_area(ink: &mut Ink, at: Spot, rises: &[f64]) {
    let block = Block::around(at, 9.0, 2.8);
    hatch(ink, &block.corners(), rises);
    ink.block(block, r##"fill="none" stroke="#000" stroke-width="0.25""##);
}

fn sample_pipe(ink: &mut Ink, at: Spot, flow: bool) {
    let style = match flow {
        true => r##"stroke="#333" stroke-width="0.5""##,
        false => r##"stroke="#333" stroke-width="0.42" stroke-dasharray="2.4 0.9""##,
    };
    ink.group(style, |ink| ink.line(Spot::new(at.x - 5.5, at.y), Spot::new(at.x + 5.5, at.y)));
    let fill = if flow { "#333" } else { "#fff" };
    let tip = if flow { 1.0 } else { -1.0 };
    ink.shape(
        &[Spot::new(at.x + tip, at.y), Spot::new(at.x - tip, at.y + 0.75), Spot::new(at.x - tip, at.y - 0.75)],
        true,
        &format!(r##"fill="{fill}" stroke="#333" stroke-width="0.25""##),
    );
}

/// The title block, at the foot of the column.
fn title(scene: &Scene, sheet: &Sheet, ink: &mut Ink) {
    let design = &scene.outcome.design;
    let project = &design.project;
    let column = sheet.column;
    let top = column.foot() - TITLE_HIGH;
    let block = Block { y: top, high: TITLE_HIGH, ..column };
    ink.block(block, r##"fill="#fff" stroke="#000" stroke-width="0.7""##);
    let left = column.x + PAD;
    let wide = column.wide - 2.0 * PAD;
    let text = |given: &Option<design::Placed<String>>| given.as_ref().map(|it| it.value.clone());
    let name = text(&project.name).unwrap_or_else(|| "project not named".to_string());
    let name = fitting(&sentence(&name), TITLE, wide / BOLD);
    ink.words(Words::new(&name, Spot::new(left, top + 6.4), TITLE).bold());
    let storey = scene.on.name.map_or(String::new(), |name| format!(", storey {name}"));
    let subtitle =
        fitting(&sentence(&format!("underfloor heating: plan of the {}{storey}", heated_by(scene))), HEADING, wide);
    ink.words(Words::new(&subtitle, Spot::new(left, top + 11.2), HEADING));

    let not = |what: &str| what.to_string();
    let stage = project.stage.map_or(not("preliminary"), |stage| stage.value.word().to_string());
    let issued = project.issued.map_or(not("not issued"), |day| day.value.to_string());
    let scale = format!("1:{:.0} on {}", sheet.scale, sheet.name);
    let cells = [
        [
            ("reference", text(&project.reference).unwrap_or_else(|| not("none"))),
            ("revision", text(&project.revision).unwrap_or_else(|| not("none"))),
            ("stage", stage),
            ("issued", issued),
        ],
        [
            ("scale", scale),
            ("storey", scene.on.name.map_or(not("–"), str::to_string)),
            ("designed by", text(&project.designer).unwrap_or_else(|| not("not named"))),
            ("checked by", text(&project.checker).unwrap_or_else(|| not("nobody named"))),
        ],
    ];
    let each = column.wide / 4.0;
    for (row, cells) in cells.iter().enumerate() {
        let y = top + 14.0 + row as f64 * 10.0;
        ink.group(r##"stroke="#000" stroke-width="0.25""##, |ink| {
            ink.line(Spot::new(column.x, y), Spot::new(column.right(), y));
            for at in 1..4 {
                let x = column.x + each * f64::from(at);
                ink.line(Spot::new(x, y), Spot::new(x, y + 10.0));
            }
        });
        for (at, (what, value)) in cells.iter().enumerate() {
            let x = column.x + each * at as f64 + 1.5;
            ink.words(Words::new(what, Spot::new(x, y + 3.2), SMALL).colour(GREY));
            let value = fitting(&sentence(value), 2.8, (each - 2.5) / BOLD);
            ink.words(Words::new(&value, Spot::new(x, y + 7.8), 2.8).bold());
        }
    }
    let y = top + 34.0;
    ink.group(r##"stroke="#000" stroke-width="0.25""##, |ink| {
        ink.line(Spot::new(column.x, y), Spot::new(column.right(), y));
    });
    let summary = Summary::of(scene.outcome);
    let checked = format!("check of the whole design: {}", summary.sentence());
    let checked = lines(&checked, BODY, wide / BOLD, 2);
    for (at, line) in checked.iter().enumerate() {
        let down = if checked.len() == 1 { 4.0 } else { 3.0 + at as f64 * 2.9 };
        let words = Words::new(line, Spot::new(left, y + down), BODY);
        ink.words(if summary.errors > 0 { words.bold().colour(SIGNAL) } else { words });
    }
    ink.words(Words::new("dimensions in mm, lengths of pipe in m", Spot::new(left, y + 8.8), SMALL).colour(GREY));
}

/// The scale bar and north, in the strip below the plan.
pub fn strip(scene: &Scene, sheet: &Sheet, ink: &mut Ink) {
    let field = sheet.field;
    let y = field.foot() - STRIP + 6.0;
    // Five pieces of 0.1, 0.2, 0.5, 1, 2 .. metres, no longer together than 75 mm.
    let fits = |metres: &f64| metres * 5000.0 / sheet.scale <= 75.0;
    let pieces = (-1..10).flat_map(|power| [1.0, 2.0, 5.0].map(|digit| digit * 10f64.powi(power)));
    let metres = pieces.rev().find(fits).unwrap_or(0.1);
    let piece = metres * 1000.0 / sheet.scale;
    let x = field.x + 6.0;
    ink.group(r##"stroke="#000" stroke-width="0.25""##, |ink| {
        for at in 0..5 {
            let fill = if at % 2 == 0 { "#000" } else { "#fff" };
            let block = Block { x: x + piece * f64::from(at), y, wide: piece, high: 1.6 };
            ink.block(block, &format!(r#"fill="{fill}""#));
        }
    });
    for at in 0..=5 {
        let figure = super::ink::number(metres * f64::from(at));
        let text = if at == 5 { format!("{figure} m") } else { figure };
        let spot = Spot::new(x + piece * f64::from(at), y + 4.4);
        ink.words(Words::new(&text, spot, BODY).anchor(Anchor::Middle));
    }
    let text = format!("scale 1:{:.0} on {} ({:.0} mm x {:.0} mm)", sheet.scale, sheet.name, sheet.wide, sheet.high);
    ink.words(Words::new(&text, Spot::new(x + piece * 5.0 + 12.0, y + 1.8), BODY).bold());
    match scene.outcome.design.site.north {
        Some(north) => arrow(ink, Spot::new(field.right() - 10.0, field.foot() - STRIP / 2.0), north.value),
        None => {
            let north = "north not given: up the sheet is the y of the design";
            ink.words(Words::new(north, Spot::new(x + piece * 5.0 + 12.0, y + 5.0), SMALL).colour(GREY));
        }
    }
}

/// An arrow to the north, so far from the top of the sheet.
fn arrow(ink: &mut Ink, middle: Spot, north: Angle) {
    let (sine, cosine) = (north.in_degrees() % 360.0).to_radians().sin_cos();
    let way = Spot::new(sine, -cosine);
    let beside = |along: f64, off: f64| middle.off(way, along).off(Spot::new(-way.y, way.x), off);
    let (tip, notch) = (beside(3.3, 0.0), beside(-1.1, 0.0));
    ink.named("north", "", |ink| {
        ink.group(r##"fill="#fff" stroke="#000" stroke-width="0.25" stroke-linejoin="round""##, |ink| {
            ink.circle(middle, 3.3, "");
            ink.shape(&[tip, beside(-2.6, 1.9), notch], true, r##"fill="#000""##);
            ink.shape(&[tip, beside(-2.6, -1.9), notch], true, "");
        });
        let foot = middle.off(way, 4.9).off(Spot::new(0.0, 1.0), BODY * 0.36);
        ink.words(Words::new("N", foot, BODY).anchor(Anchor::Middle).bold());
    });
}

#[cfg(test)]
mod tests {
    /// A spiral on a floor that is no multiple of its spacing is laid closer, and the table says how close; one that fits is told
    /// as it is stated.
    #[test]
    fn the_spacing_in_the_table_is_the_laid_one() {
        let text = |wide: f64| {
            format!(
                "format: 1\nrooms: {{hall: {{outline: [[0, 0], [5, 0], [5, {wide}], [0, {wide}]], keep-clear: none}}}}\n\
                 manifolds: {{M1: {{at: [0.1, 0.5]}}}}\nloops:\n  \
                 L1: {{manifold: M1, room: hall, pipe: PE-X 16 x 2, spacing: 200 mm, layout: spiral}}\n"
            )
        };
        let mut seen = [false; 2];
        for wide in [2.0, 2.2, 2.4, 2.6, 2.8, 3.0] {
            let outcome = crate::checked(&text(wide));
            let laid = outcome.workings.loops[0].laid.as_ref().unwrap().as_ref().unwrap().spacing.in_millimetres();
            let svg = crate::plan::svg(&outcome, None, false).unwrap();
            let differs = (laid - 200.0).abs() >= 0.5;
            assert_eq!(svg.contains(&format!(">{laid:.0}*<")), differs, "{wide} m: {laid} mm");
            assert_eq!(svg.contains("another spacing is stated"), differs, "{wide} m: {laid} mm");
            seen[usize::from(differs)] = true;
        }
        assert_eq!(seen, [true, true]);
    }
}
