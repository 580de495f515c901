//! A page that is being drawn, in millimetres from its upper left corner.

use super::letters::{Letters, Piece, Weight};
use super::structure::Part;
use pdf_writer::types::{LineCapStyle, LineJoinStyle};
use pdf_writer::{Content, Name, Str, TextStr};

pub const MM: f64 = 72.0 / 25.4;

pub struct Canvas {
    pub wide: f64,
    pub high: f64,
    pub content: Content,
    set: Set,
    /// Opacities that are used, in hundredths.
    pub opacities: Vec<u8>,
    /// What is drawn next belongs to this part of the document; to none, if it only adorns the page.
    of: Option<Part>,
    /// The same of what was drawn last; nothing before anything is.
    marked: Option<Option<Part>>,
    /// The parts that marks of this page belong to, by the numbers of the marks.
    marks: Vec<Part>,
}

/// How shapes are drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Style {
    pub fill: Option<Colour>,
    pub stroke: Option<Colour>,
    pub width: f64,
    pub dashes: Vec<f64>,
    pub is_round: bool,
    pub fill_opacity: f64,
}

/// Red, green and blue, from 0 to 255.
pub type Colour = [u8; 3];

pub const BLACK: Colour = [0; 3];

impl Style {
    pub fn filled(colour: Colour) -> Style {
        Style { fill: Some(colour), stroke: None, width: 1.0, dashes: Vec::new(), is_round: false, fill_opacity: 1.0 }
    }

    pub fn line(width: f64) -> Style {
        Style { fill: None, stroke: Some(BLACK), width, ..Style::filled(BLACK) }
    }
}

/// Words on the page.
pub struct Words<'w> {
    pub text: &'w str,
    pub x: f64,
    pub y: f64,
    pub size: f64,
    pub weight: Weight,
    pub colour: Colour,
    /// Turned with the clock, in degrees.
    pub turned: f64,
}

/// What of the state of drawing is set already.
struct Set {
    fill: Colour,
    stroke: Colour,
    width: f64,
    dashes: Vec<f64>,
    is_round: bool,
    opacity: u8,
    font: Option<(Weight, f32)>,
}

impl Canvas {
    pub fn new(wide: f64, high: f64) -> Canvas {
        let mut content = Content::new();
        content.transform([MM as f32, 0.0, 0.0, -MM as f32, 0.0, (high * MM) as f32]);
        let set = Set {
            fill: BLACK,
            stroke: BLACK,
            width: f64::NAN,
            dashes: Vec::new(),
            is_round: false,
            opacity: 100,
            font: None,
        };
        Canvas { wide, high, content, set, opacities: Vec::new(), of: None, marked: None, marks: Vec::new() }
    }

    /// Says which part of the document that belongs to which is drawn next; none for what only adorns the page.
    pub fn of(&mut self, part: Option<Part>) -> &mut Canvas {
        self.of = part;
        self
    }

    pub fn marks(&self) -> &[Part] {
        &self.marks
    }

    /// Marks what is drawn next.
    fn mark(&mut self) {
        if self.marked == Some(self.of) {
            return;
        }
        if self.marked.is_some() {
            self.content.end_marked_content();
        }
        match self.of {
            None => {
                self.content.begin_marked_content(Name(b"Artifact"));
            }
            Some(part) => {
                let mut mark = self.content.begin_marked_content_with_properties(Name(b"Span"));
                mark.properties().identify(self.marks.len() as i32);
                drop(mark);
                self.marks.push(part);
            }
        }
        self.marked = Some(self.of);
    }

    /// All that was drawn.
    pub fn finish(mut self) -> pdf_writer::Buf {
        if self.marked.is_some() {
            self.content.end_marked_content();
        }
        self.content.finish()
    }

    /// Draws shapes moved and scaled.
    pub fn within(&mut self, x: f64, y: f64, scale: f64, draw: impl FnOnce(&mut Canvas)) {
        self.mark();
        self.content.save_state().transform([round(scale), 0.0, 0.0, round(scale), round(x), round(y)]);
        let before = std::mem::replace(
            &mut self.set,
            Set {
                fill: [1; 3],
                stroke: [1; 3],
                width: f64::NAN,
                dashes: vec![f64::NAN],
                is_round: false,
                opacity: 101,
                font: None,
            },
        );
        // The state is not known there; the first shape sets all of it.
        self.content.set_line_join(LineJoinStyle::MiterJoin);
        draw(self);
        self.content.restore_state();
        self.set = before;
    }

    pub fn line(&mut self, from: (f64, f64), to: (f64, f64), width: f64) {
        let style = Style::line(width);
        self.apply(&style);
        self.content.move_to(round(from.0), round(from.1)).line_to(round(to.0), round(to.1));
        self.paint(&style, false);
    }

    pub fn rectangle(&mut self, x: f64, y: f64, wide: f64, high: f64, style: &Style) {
        self.apply(style);
        self.content.rect(round(x), round(y), round(wide), round(high));
        self.paint(style, false);
    }

    /// Sets what a style asks for.
    pub fn apply(&mut self, style: &Style) {
        self.mark();
        if let Some(fill) = style.fill {
            self.fill(fill);
            let opacity = (style.fill_opacity * 100.0).round().clamp(0.0, 100.0) as u8;
            if opacity != self.set.opacity {
                self.set.opacity = opacity;
                if !self.opacities.contains(&opacity) {
                    self.opacities.push(opacity);
                }
                self.content.set_parameters(Name(opacity_name(opacity).as_bytes()));
            }
        }
        if let Some(stroke) = style.stroke {
            if stroke != self.set.stroke {
                self.set.stroke = stroke;
                let [r, g, b] = shares(stroke);
                self.content.set_stroke_rgb(r, g, b);
            }
            if style.width != self.set.width {
                self.set.width = style.width;
                self.content.set_line_width(round(style.width));
            }
            if style.dashes != self.set.dashes {
                self.set.dashes.clone_from(&style.dashes);
                self.content.set_dash_pattern(style.dashes.iter().map(|it| round(*it)), 0.0);
            }
            if style.is_round != self.set.is_round {
                self.set.is_round = style.is_round;
                let join = if style.is_round { LineJoinStyle::RoundJoin } else { LineJoinStyle::MiterJoin };
                self.content.set_line_join(join).set_line_cap(LineCapStyle::ButtCap);
            }
        }
    }

    fn fill(&mut self, colour: Colour) {
        if colour != self.set.fill {
            self.set.fill = colour;
            let [r, g, b] = shares(colour);
            self.content.set_fill_rgb(r, g, b);
        }
    }

    /// Fills and strokes the path as the style has it.
    pub fn paint(&mut self, style: &Style, is_closed: bool) {
        if is_closed {
            self.content.close_path();
        }
        match (style.fill, style.stroke) {
            (Some(_), Some(_)) => self.content.fill_nonzero_and_stroke(),
            (Some(_), None) => self.content.fill_nonzero(),
            (None, Some(_)) => self.content.stroke(),
            (None, None) => self.content.end_path(),
        };
    }

    pub fn words(&mut self, letters: &mut Letters, words: &Words) {
        let runs = letters.runs(words.text, words.weight);
        if runs.is_empty() {
            return;
        }
        let opaque = Style::filled(words.colour);
        self.apply(&opaque);
        let (sine, cosine) = words.turned.to_radians().sin_cos();
        self.content.begin_text();
        let font = (words.weight, round(words.size));
        if self.set.font != Some(font) {
            self.set.font = Some(font);
            self.content.set_font(Name(if words.weight == Weight::Bold { b"B" } else { b"P" }), font.1);
        }
        let (x, y) = (round(words.x), round(words.y));
        self.content.set_text_matrix([round(cosine), round(sine), round(sine), round(-cosine), x, y]);
        for run in runs {
            if let Some(said) = &run.stands_for {
                let mut mark = self.content.begin_marked_content_with_properties(Name(b"Span"));
                mark.properties().actual_text(TextStr(said));
                drop(mark);
            }
            self.content.show(Str(&run.glyphs));
            if run.stands_for.is_some() {
                self.content.end_marked_content();
            }
        }
        self.content.end_text();
    }

    /// White round the letters of words that are to be drawn there.
    pub fn halo(&mut self, letters: &Letters, words: &Words, width: f64) {
        let style = Style { stroke: Some([255; 3]), fill: None, is_round: true, ..Style::line(width) };
        self.apply(&style);
        let (sine, cosine) = words.turned.to_radians().sin_cos();
        let place = |x: f64, y: f64| {
            let (x, y) = (x * words.size, -y * words.size);
            (round(words.x + x * cosine - y * sine), round(words.y + x * sine + y * cosine))
        };
        let content = &mut self.content;
        let mut is_drawn = false;
        letters.outline(words.text, words.weight, |left, piece| {
            is_drawn = true;
            match piece {
                Piece::Move(x, y) => {
                    let (x, y) = place(left + x, y);
                    content.move_to(x, y);
                }
                Piece::Line(x, y) => {
                    let (x, y) = place(left + x, y);
                    content.line_to(x, y);
                }
                Piece::Curve([x1, y1, x2, y2, x, y]) => {
                    let ((x1, y1), (x2, y2), (x, y)) = (place(left + x1, y1), place(left + x2, y2), place(left + x, y));
                    content.cubic_to(x1, y1, x2, y2, x, y);
                }
                Piece::Close => {
                    content.close_path();
                }
            }
        });
        if is_drawn {
            self.content.stroke();
        }
    }
}

/// A number of millimetres with three decimals.
pub fn round(value: f64) -> f32 {
    let rounded = (value * 1000.0).round() / 1000.0;
    if rounded.is_finite() { rounded as f32 + 0.0 } else { 0.0 }
}

fn shares(colour: Colour) -> [f32; 3] {
    colour.map(|it| (f32::from(it) / 255.0 * 1000.0).round() / 1000.0)
}

/// The name under which a document has an opacity.
pub fn opacity_name(hundredths: u8) -> String {
    format!("O{hundredths}")
}
