//! A drawing of ours, given as SVG, drawn on a page. What the pen of the plan writes is known here, and nothing else of SVG.

use super::canvas::{BLACK, Canvas, Colour, Style, Words, round};
use super::letters::{Letters, Weight};
use roxmltree::{Document, Node};

/// Draws it with its upper left corner there; a millimetre of the drawing is `scale` millimetres of the page.
pub fn draw(canvas: &mut Canvas, letters: &mut Letters, svg: &str, x: f64, y: f64, scale: f64) {
    let document = Document::parse(svg).expect("the test `every_drawing_is_well_formed` reads what the pen writes");
    canvas.within(x, y, scale, |canvas| {
        let mut plain = Style::filled(BLACK);
        plain.width = 1.0;
        children(canvas, letters, document.root_element(), &plain);
    });
}

fn children(canvas: &mut Canvas, letters: &mut Letters, node: Node, inherited: &Style) {
    for child in node.children().filter(Node::is_element) {
        let style = style(child, inherited);
        match child.tag_name().name() {
            "g" => children(canvas, letters, child, &style),
            "line" => {
                let style = Style { fill: None, ..style };
                canvas.apply(&style);
                canvas.content.move_to(number(child, "x1"), number(child, "y1"));
                canvas.content.line_to(number(child, "x2"), number(child, "y2"));
                canvas.paint(&style, false);
            }
            "polyline" | "polygon" => shape(canvas, child, &style, child.tag_name().name() == "polygon"),
            "rect" => rectangle(canvas, child, &style),
            "circle" => {
                let (x, y, radius) = (exact(child, "cx"), exact(child, "cy"), exact(child, "r"));
                canvas.apply(&style);
                rounded(canvas, x - radius, y - radius, 2.0 * radius, 2.0 * radius, radius);
                canvas.paint(&style, true);
            }
            "path" => {
                canvas.apply(&style);
                path(canvas, child.attribute("d").unwrap_or_default());
                canvas.paint(&style, false);
            }
            "text" => words(canvas, letters, child, &style),
            _ => {}
        }
    }
}

/// The style of an element: what it says itself, else what stands round it.
fn style(node: Node, inherited: &Style) -> Style {
    let mut style = inherited.clone();
    for attribute in node.attributes() {
        let value = attribute.value();
        match attribute.name() {
            "fill" => style.fill = colour(value),
            "stroke" => style.stroke = colour(value),
            "stroke-width" => style.width = value.parse().unwrap_or(1.0),
            "stroke-dasharray" => {
                style.dashes = value.split([' ', ',']).filter_map(|it| it.parse().ok()).collect();
                // Dashes and gaps alternate, so an odd number of them is read twice.
                if style.dashes.len() % 2 == 1 {
                    style.dashes.extend_from_within(..);
                }
            }
            "stroke-linejoin" => style.is_round = value == "round",
            "fill-opacity" => style.fill_opacity = value.parse().unwrap_or(1.0),
            _ => {}
        }
    }
    style
}

/// `#rgb` or `#rrggbb`; nothing for `none`.
fn colour(text: &str) -> Option<Colour> {
    let digits = text.strip_prefix('#')?;
    let part = |at: usize| match digits.len() {
        3 => u8::from_str_radix(digits.get(at..at + 1)?, 16).ok().map(|it| it * 17),
        _ => u8::from_str_radix(digits.get(2 * at..2 * at + 2)?, 16).ok(),
    };
    Some([part(0)?, part(1)?, part(2)?])
}

fn exact(node: Node, name: &str) -> f64 {
    node.attribute(name).and_then(|it| it.parse().ok()).unwrap_or_default()
}

fn number(node: Node, name: &str) -> f32 {
    round(exact(node, name))
}

fn shape(canvas: &mut Canvas, node: Node, style: &Style, is_closed: bool) {
    let points = node.attribute("points").unwrap_or_default();
    let numbers: Vec<f64> = points.split([' ', ',']).filter_map(|it| it.parse().ok()).collect();
    if numbers.len() < 4 {
        return;
    }
    canvas.apply(style);
    for (at, point) in numbers.chunks_exact(2).enumerate() {
        let (x, y) = (round(point[0]), round(point[1]));
        if at == 0 {
            canvas.content.move_to(x, y);
        } else {
            canvas.content.line_to(x, y);
        }
    }
    canvas.paint(style, is_closed);
}

fn rectangle(canvas: &mut Canvas, node: Node, style: &Style) {
    let (x, y, wide, high) = (exact(node, "x"), exact(node, "y"), exact(node, "width"), exact(node, "height"));
    let radius = exact(node, "rx").min(wide / 2.0).min(high / 2.0);
    if radius > 0.0 {
        canvas.apply(style);
        rounded(canvas, x, y, wide, high, radius);
        canvas.paint(style, true);
    } else {
        canvas.rectangle(x, y, wide, high, style);
    }
}

/// How far the handles of a quarter of a circle are off its ends, as a share of its radius: 4/3 (√2 - 1).
const QUARTER: f64 = 0.552_284_75;

fn rounded(canvas: &mut Canvas, x: f64, y: f64, wide: f64, high: f64, radius: f64) {
    let (right, foot, off) = (x + wide, y + high, radius * (1.0 - QUARTER));
    let content = &mut canvas.content;
    content.move_to(round(x + radius), round(y));
    let mut corner = |start: [f64; 2], curve: [f64; 6]| {
        let [x1, y1, x2, y2, x, y] = curve.map(round);
        content.line_to(round(start[0]), round(start[1])).cubic_to(x1, y1, x2, y2, x, y);
    };
    corner([right - radius, y], [right - off, y, right, y + off, right, y + radius]);
    corner([right, foot - radius], [right, foot - off, right - off, foot, right - radius, foot]);
    corner([x + radius, foot], [x + off, foot, x, foot - off, x, foot - radius]);
    corner([x, y + radius], [x, y + off, x + off, y, x + radius, y]);
}

/// A path of straight pieces and arcs of circles: `M x y L x y A r r 0 0 sweep x y`.
fn path(canvas: &mut Canvas, text: &str) {
    let mut from = (0.0, 0.0);
    // A letter begins a piece, its numbers follow.
    let starts = text.char_indices().filter(|(_, c)| matches!(c, 'M' | 'L' | 'A')).map(|(at, _)| at);
    let starts: Vec<usize> = starts.chain([text.len()]).collect();
    for piece in starts.windows(2) {
        let piece = &text[piece[0]..piece[1]];
        let numbers: Vec<f64> = piece[1..].split([' ', ',']).filter_map(|it| it.parse().ok()).collect();
        match (&piece[..1], &numbers[..]) {
            ("M", &[x, y]) => {
                canvas.content.move_to(round(x), round(y));
                from = (x, y);
            }
            ("L", &[x, y]) => {
                canvas.content.line_to(round(x), round(y));
                from = (x, y);
            }
            ("A", &[radius, _, _, _, sweep, x, y]) => {
                arc(canvas, from, (x, y), radius, sweep > 0.5);
                from = (x, y);
            }
            _ => {}
        }
    }
}

/// The shorter arc of a circle between two points, with the clock or against it; y runs down the page.
fn arc(canvas: &mut Canvas, from: (f64, f64), to: (f64, f64), radius: f64, with_clock: bool) {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let chord = dx.hypot(dy);
    if chord < 1e-6 {
        return;
    }
    // A radius that is too small by its last digit is half the chord.
    let radius = radius.max(chord / 2.0);
    let side = if with_clock { 1.0 } else { -1.0 };
    let off = side * (radius * radius - chord * chord / 4.0).max(0.0).sqrt() / chord;
    let middle = ((from.0 + to.0) / 2.0 - dy * off, (from.1 + to.1) / 2.0 + dx * off);
    let start = (from.1 - middle.1).atan2(from.0 - middle.0);
    let turn = side * 2.0 * (chord / 2.0 / radius).min(1.0).asin();
    let pieces = (turn.abs() / std::f64::consts::FRAC_PI_4).ceil().max(1.0);
    let each = turn / pieces;
    let handle = 4.0 / 3.0 * (each / 4.0).tan() * radius;
    for piece in 0..pieces as u32 {
        let (a, b) = (start + each * f64::from(piece), start + each * f64::from(piece + 1));
        let at = |angle: f64, off: f64| {
            let (sine, cosine) = angle.sin_cos();
            (round(middle.0 + radius * cosine - off * sine), round(middle.1 + radius * sine + off * cosine))
        };
        let ((x1, y1), (x2, y2), (x, y)) = (at(a, handle), at(b, -handle), at(b, 0.0));
        canvas.content.cubic_to(x1, y1, x2, y2, x, y);
    }
}

fn words(canvas: &mut Canvas, letters: &mut Letters, node: Node, style: &Style) {
    let text = node.text().unwrap_or_default();
    let (x, y, size) = (exact(node, "x"), exact(node, "y"), exact(node, "font-size"));
    let weight = if node.attribute("font-weight") == Some("bold") { Weight::Bold } else { Weight::Plain };
    let turned = node.attribute("transform").and_then(|it| it.strip_prefix("rotate(")?.split(' ').next()?.parse().ok());
    let turned: f64 = turned.unwrap_or_default();
    let back = match node.attribute("text-anchor") {
        Some("middle") => letters.width(text, size, weight) / 2.0,
        Some("end") => letters.width(text, size, weight),
        _ => 0.0,
    };
    // It is turned about the spot that it is anchored to.
    let (sine, cosine) = turned.to_radians().sin_cos();
    let (x, y) = (x - back * cosine, y - back * sine);
    let words = Words { text, x, y, size, weight, colour: style.fill.unwrap_or(BLACK), turned };
    if node.attribute("paint-order").is_some() {
        canvas.halo(letters, &words, style.width);
    }
    canvas.words(letters, &words);
}
