//! Setting sheets on pages of A4: lines broken, tables with their heads on every page, no heading at a foot.

use super::canvas::{BLACK, Canvas, Style, Words};
use super::drawing;
use super::letters::{Letters, Weight};
use super::structure::{HeadOf, Part, Structure};
use crate::pack::sheet::{self, Drawing, Row, Sheet, Table};
use pdf_writer::types::StructRole;

/// A page, and what names it.
pub struct Page {
    pub canvas: Canvas,
    /// The sheet that it is of, by its position.
    pub sheet: usize,
    /// Whether a drawing fills it that has a title block of its own.
    pub is_plan: bool,
}

/// A4, upright; the edge for filing is the left one.
const A4: (f64, f64) = (210.0, 297.0);
pub const LEFT: f64 = 20.0;
pub const RIGHT: f64 = 12.0;
const TOP: f64 = 13.0;
/// The edge below the title block, and its height.
pub const FOOT: f64 = 9.0;
pub const BLOCK: f64 = 14.0;

const TITLE: f64 = 5.6;
const HEADING: f64 = 4.0;
const SUBHEADING: f64 = 3.3;
const BODY: f64 = 3.0;
const CELL: f64 = 2.65;
const SMALL: f64 = 2.35;
/// From line to line, as a share of the size of the letters.
const LEADING: f64 = 1.34;
/// Between the paragraphs of a caution.
const PARAGRAPH: f64 = 1.4;
/// Between the columns of a table, and between a number and words to its right.
const GAP: f64 = 2.6;
const GAP_AFTER_NUMBER: f64 = 5.0;
const CELL_PAD: f64 = 0.75;
/// A table up to this height stands on one page.
const KEPT: f64 = 62.0;
/// Words up to this are short.
const SHORT: f64 = 32.0;
/// A head that is longer than this is broken.
const WIDEST_HEAD: f64 = 24.0;
/// So many lines of one cell are kept together.
const MOST_LINES: usize = 40;

pub fn set(letters: &mut Letters, sheets: &[Sheet]) -> (Vec<Page>, Structure) {
    let mut setter = Setter {
        letters,
        pages: Vec::new(),
        structure: Structure::new(),
        y: 0.0,
        sheet: 0,
        section: 0,
        is_wide: false,
        is_title: false,
        under: String::new(),
    };
    for (at, sheet) in sheets.iter().enumerate() {
        setter.sheet = at;
        setter.section = setter.structure.add(StructRole::Sect, 0);
        setter.is_wide = sheet.is_wide;
        setter.under.clear();
        setter.sheet(sheet);
    }
    (setter.pages, setter.structure)
}

struct Setter<'l> {
    letters: &'l mut Letters,
    pages: Vec<Page>,
    structure: Structure,
    /// The part of the document that the sheet is.
    section: Part,
    /// How far down the page the next thing stands.
    y: f64,
    sheet: usize,
    is_wide: bool,
    /// Whether nothing but the title of the sheet stands on the page.
    is_title: bool,
    /// The last heading.
    under: String,
}

/// A part with its lines broken.
enum Laid<'s> {
    Lines {
        lines: Vec<String>,
        size: f64,
        weight: Weight,
        before: f64,
        after: f64,
        is_heading: bool,
    },
    /// Its paragraphs.
    Caution(Vec<Vec<String>>),
    Steps(Vec<Vec<String>>),
    Table(LaidTable),
    Sketch(&'s Drawing),
    Plan(&'s Drawing),
    Notice(&'s str, &'s [String]),
}

struct LaidTable {
    columns: Vec<LaidColumn>,
    head: Option<Vec<Vec<String>>>,
    rows: Vec<LaidRow>,
}

struct LaidColumn {
    x: f64,
    wide: f64,
    is_number: bool,
    is_bold: bool,
}

enum LaidRow {
    Cells(Vec<Vec<Line>>),
    Head(Vec<Line>),
}

struct Line {
    text: String,
    is_small: bool,
}

impl Setter<'_> {
    fn sheet(&mut self, sheet: &Sheet) {
        let laid: Vec<Laid> = sheet.parts.iter().map(|part| self.lay(part)).collect();
        let is_on_pages_of_its_own = |it: &Laid| matches!(it, Laid::Plan(_) | Laid::Notice(..));
        if !laid.first().is_some_and(is_on_pages_of_its_own) {
            self.page();
            let lines = self.letters.lines(&sheet.title, TITLE, Weight::Bold, self.wide());
            let title = self.structure.add(StructRole::H1, self.section);
            self.lines(&lines, TITLE, Weight::Bold, title);
            self.y += 2.0;
            self.is_title = true;
        }
        for at in 0..laid.len() {
            let needed = self.needed(&laid[at..]);
            if self.y + needed > self.foot() && !self.is_title && !is_on_pages_of_its_own(&laid[at]) {
                self.page();
            }
            self.put(&laid[at]);
            self.is_title = false;
        }
    }

    fn page(&mut self) {
        let (wide, high) = if self.is_wide { (A4.1, A4.0) } else { A4 };
        self.pages.push(Page { canvas: Canvas::new(wide, high), sheet: self.sheet, is_plan: false });
        self.y = TOP;
    }

    fn canvas(&mut self) -> &mut Canvas {
        &mut self.pages.last_mut().expect("every sheet begins with a page").canvas
    }

    /// How wide the text may be.
    fn wide(&self) -> f64 {
        (if self.is_wide { A4.1 } else { A4.0 }) - LEFT - RIGHT
    }

    /// Down to where things may stand.
    fn foot(&self) -> f64 {
        (if self.is_wide { A4.0 } else { A4.1 }) - FOOT - BLOCK - 4.0
    }

    fn lay<'s>(&self, part: &'s sheet::Part) -> Laid<'s> {
        let lines = |text: &str, size: f64, weight: Weight, before: f64, after: f64, is_heading: bool| Laid::Lines {
            lines: self.letters.lines(text, size, weight, self.wide()),
            size,
            weight,
            before,
            after,
            is_heading,
        };
        match part {
            sheet::Part::Heading(text) => lines(text, HEADING, Weight::Bold, 4.5, 1.8, true),
            sheet::Part::Subheading(text) => lines(text, SUBHEADING, Weight::Bold, 3.0, 1.0, true),
            sheet::Part::Words(text) => lines(text, BODY, Weight::Plain, 0.6, 1.6, false),
            sheet::Part::Caution(text) => {
                let paragraphs =
                    text.split('\n').map(|text| self.letters.lines(text, BODY, Weight::Bold, self.wide() - 12.0));
                Laid::Caution(paragraphs.collect())
            }
            sheet::Part::Steps(steps) => Laid::Steps(
                steps.iter().map(|it| self.letters.lines(it, BODY, Weight::Plain, self.wide() - 6.0)).collect(),
            ),
            sheet::Part::Table(table) => Laid::Table(self.lay_table(table)),
            sheet::Part::Sketch(drawing) => Laid::Sketch(drawing),
            sheet::Part::Plan(drawing) => Laid::Plan(drawing),
            sheet::Part::Notice(large, says) => Laid::Notice(large, says),
        }
    }

    /// How much room the first of these parts asks for, with what must not be parted from it.
    fn needed(&self, parts: &[Laid]) -> f64 {
        let Some(first) = parts.first() else { return 0.0 };
        match first {
            Laid::Lines { lines, size, before, after, is_heading: true, .. } => {
                before + height(lines.len(), *size) + after + self.needed(&parts[1..])
            }
            // A few words that lead to something stay with it.
            Laid::Lines { lines, size, before, after, .. } => match parts.get(1) {
                Some(
                    Laid::Table(_)
                    | Laid::Sketch(_)
                    | Laid::Steps(_)
                    | Laid::Caution(_)
                    | Laid::Lines { is_heading: true, .. },
                ) if lines.len() <= 4 && self.is_kept(parts) => {
                    before + height(lines.len(), *size) + after + self.needed(&parts[1..])
                }
                _ => before + height(lines.len().min(3), *size),
            },
            Laid::Caution(paragraphs) => caution_height(paragraphs) + 3.0,
            Laid::Steps(steps) => height(steps.first().map_or(0, Vec::len), BODY),
            Laid::Table(table) => {
                let head = table.head.as_ref().map_or(0.0, |head| head_height(head));
                let first = table.rows.iter().take_while(|row| matches!(row, LaidRow::Head(_))).count() + 1;
                let high = |rows: usize| head + 0.6 + table.rows.iter().take(rows).map(row_height).sum::<f64>();
                // A small table is not parted.
                let rows = table.rows.len();
                if rows <= 12 && high(rows) <= KEPT { high(rows) } else { high(first) }
            }
            Laid::Sketch(drawing) => self.sketched(drawing).1 + 3.0,
            Laid::Plan(_) | Laid::Notice(..) => 0.0,
        }
    }

    /// Whether words lead to what follows: not where a part of the sheet ends with them.
    fn is_kept(&self, parts: &[Laid]) -> bool {
        !matches!(parts.get(1), Some(Laid::Lines { size, is_heading: true, .. }) if *size == HEADING)
    }

    /// The scale of a sketch and its height on the page.
    fn sketched(&self, drawing: &Drawing) -> (f64, f64) {
        let scale = (self.wide() / drawing.wide).min(1.0);
        (scale, drawing.high * scale)
    }

    fn put(&mut self, part: &Laid) {
        match part {
            Laid::Lines { lines, size, weight, before, after, is_heading } => {
                if !self.is_title {
                    self.y += before;
                }
                let role = match (*is_heading, *size == HEADING) {
                    (true, true) => StructRole::H2,
                    (true, false) => StructRole::H3,
                    (false, _) => StructRole::P,
                };
                let own = self.structure.add(role, self.section);
                self.lines(lines, *size, *weight, own);
                if *is_heading {
                    let under = format!("{}, continued", lines.concat());
                    self.under = self.letters.fitting(&under, SMALL, Weight::Plain, self.wide());
                }
                if *is_heading && *size == HEADING {
                    let (y, wide) = (self.y + 0.6, self.wide());
                    self.canvas().line((LEFT, y), (LEFT + wide, y), 0.25);
                }
                self.y += after;
            }
            Laid::Caution(paragraphs) => self.caution(paragraphs),
            Laid::Steps(steps) => self.steps(steps),
            Laid::Table(table) => self.table(table),
            Laid::Sketch(drawing) => {
                let (scale, high) = self.sketched(drawing);
                let y = self.y;
                let own = self.structure.figure(&drawing.says, self.section);
                let page = self.pages.last_mut().expect("every sheet begins with a page");
                drawing::draw(page.canvas.of(Some(own)), self.letters, &drawing.svg, LEFT, y, scale);
                page.canvas.of(None);
                self.y += high + 3.0;
            }
            Laid::Plan(drawing) => {
                let mut canvas = Canvas::new(drawing.wide, drawing.high);
                let own = self.structure.figure(&drawing.says, self.section);
                drawing::draw(canvas.of(Some(own)), self.letters, &drawing.svg, 0.0, 0.0, 1.0);
                canvas.of(None);
                self.pages.push(Page { canvas, sheet: self.sheet, is_plan: true });
                // Nothing else stands on it.
                self.y = f64::INFINITY;
            }
            Laid::Notice(large, says) => self.notice(large, says),
        }
    }

    /// Words that belong to a part of the document, or to none.
    fn words(&mut self, text: &str, x: f64, y: f64, size: f64, weight: Weight, of: Option<Part>) {
        let page = self.pages.last_mut().expect("every sheet begins with a page");
        let words = Words { text, x, y, size, weight, colour: BLACK, turned: 0.0 };
        page.canvas.of(of).words(self.letters, &words);
        page.canvas.of(None);
    }

    /// Lines one below the other, over pages if need be.
    fn lines(&mut self, lines: &[String], size: f64, weight: Weight, of: Part) {
        for (at, line) in lines.iter().enumerate() {
            // The last line does not stand alone.
            let left = if lines.len() - at == 2 { 2 } else { 1 };
            if self.y + height(left, size) > self.foot() {
                self.page();
            }
            self.words(line, LEFT, self.y + size, size, weight, Some(of));
            self.y += height(1, size);
        }
    }

    fn caution(&mut self, paragraphs: &[Vec<String>]) {
        let high = caution_height(paragraphs);
        let (top, wide) = (self.y + 0.8, self.wide());
        let canvas = self.canvas();
        canvas.rectangle(LEFT, top, wide, high, &Style::line(0.35));
        canvas.rectangle(LEFT, top, 1.6, high, &Style::filled(BLACK));
        self.words("⚠", LEFT + 3.6, top + 1.0 + BODY * 1.2, BODY * 1.5, Weight::Plain, None);
        let mut y = top + 1.1;
        for lines in paragraphs {
            let own = self.structure.add(StructRole::P, self.section);
            for line in lines {
                self.words(line, LEFT + 10.0, y + BODY, BODY, Weight::Bold, Some(own));
                y += height(1, BODY);
            }
            y += PARAGRAPH;
        }
        self.y = top + high + 1.4;
    }

    fn steps(&mut self, steps: &[Vec<String>]) {
        let list = self.structure.add(StructRole::L, self.section);
        for lines in steps {
            let item = self.structure.add(StructRole::LI, list);
            let own = self.structure.add(StructRole::LBody, item);
            let high = height(lines.len(), BODY) + 0.9;
            if self.y + high > self.foot() {
                self.page();
            }
            let top = self.y;
            self.canvas().rectangle(LEFT + 0.4, top + 0.6, 2.7, 2.7, &Style::line(0.3));
            for (at, line) in lines.iter().enumerate() {
                self.words(line, LEFT + 5.4, top + BODY + height(at, BODY), BODY, Weight::Plain, Some(own));
            }
            self.y += high;
        }
        self.y += 1.2;
    }

    fn lay_table(&self, table: &Table) -> LaidTable {
        let columns = self.columns(table);
        let cell = |text: &str, column: &LaidColumn| {
            let mut lines = Vec::new();
            for (at, part) in text.split('\n').enumerate() {
                let (size, is_small) = if at == 0 { (CELL, false) } else { (SMALL, true) };
                let weight = if column.is_bold && at == 0 { Weight::Bold } else { Weight::Plain };
                let broken = self.letters.lines(part, size, weight, column.wide);
                lines.extend(broken.into_iter().map(|text| Line { text, is_small }));
            }
            lines
        };
        let mut rows = Vec::with_capacity(table.rows.len());
        for row in &table.rows {
            match row {
                Row::Head(text) => {
                    let (first, more) = text.split_once('\n').unwrap_or((text, ""));
                    let lines = |text: &str, size: f64, weight: Weight, is_small: bool| {
                        let lines = self.letters.lines(text, size, weight, self.wide());
                        lines.into_iter().map(move |text| Line { text, is_small })
                    };
                    let mut head: Vec<Line> = lines(first, BODY, Weight::Bold, false).collect();
                    head.extend(
                        more.split('\n')
                            .filter(|it| !it.is_empty())
                            .flat_map(|it| lines(it, SMALL, Weight::Plain, true)),
                    );
                    rows.push(LaidRow::Head(head));
                }
                Row::Cells(cells) => {
                    let cells = cells.iter().zip(&columns).map(|(text, column)| cell(text, column).into_iter());
                    let mut cells: Vec<std::vec::IntoIter<Line>> = cells.collect();
                    // What is higher than a page can be is parted.
                    loop {
                        rows.push(LaidRow::Cells(
                            cells.iter_mut().map(|lines| lines.take(MOST_LINES).collect()).collect(),
                        ));
                        if cells.iter().all(|lines| lines.len() == 0) {
                            break;
                        }
                    }
                }
            }
        }
        let heads = |column: (&crate::pack::sheet::Column, &LaidColumn)| {
            self.letters.lines(&column.0.head, SMALL, Weight::Bold, column.1.wide)
        };
        let head = table.has_heads().then(|| table.columns.iter().zip(&columns).map(heads).collect());
        LaidTable { columns, head, rows }
    }

    /// Shares the width out: each column gets what its longest word needs, and of what is left as much as it has use for.
    fn columns(&self, table: &Table) -> Vec<LaidColumn> {
        let count = table.columns.len();
        let gap = |at: usize| match table.columns.get(at..at + 2) {
            Some([one, next]) if one.is_number && !next.is_number => GAP_AFTER_NUMBER,
            Some(_) => GAP,
            None => 0.0,
        };
        let room = self.wide() - (0..count).map(gap).sum::<f64>();
        let most_for_a_word = room / 3.0;
        let mut least = vec![4.0f64; count];
        let mut most = vec![4.0f64; count];
        for (at, column) in table.columns.iter().enumerate() {
            for word in column.head.split(' ') {
                least[at] = least[at].max(self.letters.width(word, SMALL, Weight::Bold));
            }
            // A long head is broken rather than that numbers are set apart by it.
            let head = self.letters.width(&column.head, SMALL, Weight::Bold).min(WIDEST_HEAD);
            most[at] = most[at].max(least[at]).max(head);
        }
        for row in &table.rows {
            let Row::Cells(cells) = row else { continue };
            for (at, (cell, column)) in cells.iter().zip(&table.columns).enumerate() {
                for (number, line) in cell.split('\n').enumerate() {
                    let weight = if column.is_bold && number == 0 { Weight::Bold } else { Weight::Plain };
                    let size = if number == 0 { CELL } else { SMALL };
                    let wide = self.letters.width(line, size, weight);
                    most[at] = most[at].max(wide);
                    if column.is_number {
                        least[at] = least[at].max(wide.min(most_for_a_word));
                    } else if wide > least[at] {
                        let words = line.split(' ').map(|word| self.letters.width(word, size, weight));
                        least[at] = least[at].max(words.fold(0.0, f64::max).min(most_for_a_word));
                    }
                }
            }
        }
        if !table.has_heads() && count > 1 {
            least[0] = most[0].min(room * 0.4);
        }
        // Short words are not broken for the sake of long ones, while there is room.
        let spare = room - least.iter().sum::<f64>();
        let widened: Vec<f64> =
            least.iter().zip(&most).map(|(least, most)| if *most <= SHORT { *most } else { *least }).collect();
        if widened.iter().sum::<f64>() - least.iter().sum::<f64>() <= spare / 2.0 {
            least = widened;
        }
        let (least_sum, most_sum): (f64, f64) = (least.iter().sum(), most.iter().sum());
        // What is left over goes to words that are no names, all of it to the last column of a table without heads; in a table of numbers
        // to all.
        let numbers = table.columns.iter().filter(|column| column.is_number).count();
        let words = table.columns.iter().filter(|column| !column.is_number && !column.is_bold).count();
        let takes = |at: usize| match table.has_heads() {
            true if numbers * 2 > count => true,
            true => !table.columns[at].is_number && (!table.columns[at].is_bold || words == 0),
            false => at + 1 == count,
        };
        let takers = (0..count).filter(|at| takes(*at)).count().max(1) as f64;
        let wide = |at: usize| {
            if least_sum >= room {
                least[at] * room / least_sum
            } else if most_sum > room {
                least[at] + (most[at] - least[at]) * (room - least_sum) / (most_sum - least_sum)
            } else {
                most[at] + if takes(at) { (room - most_sum) / takers } else { 0.0 }
            }
        };
        let mut x = LEFT;
        let mut columns = Vec::with_capacity(count);
        for (at, column) in table.columns.iter().enumerate() {
            // The last digit of a sum must not break a word that just fits.
            let wide = wide(at);
            columns.push(LaidColumn { x, wide: wide + 1e-6, is_number: column.is_number, is_bold: column.is_bold });
            x += wide + gap(at);
        }
        columns
    }

    fn table(&mut self, table: &LaidTable) {
        self.y += 0.6;
        let own_table = self.structure.add(StructRole::Table, self.section);
        self.head(table, Some(own_table));
        for (at, row) in table.rows.iter().enumerate() {
            let own = row_height(row);
            // A head of rows stays with the first of them.
            let next = matches!(row, LaidRow::Head(_)).then(|| table.rows.get(at + 1).map_or(0.0, row_height));
            if self.y + own + next.unwrap_or(0.0) > self.foot() {
                self.page();
                if !self.under.is_empty() {
                    let under = self.under.clone();
                    self.words(&under, LEFT, self.y + SMALL, SMALL, Weight::Plain, None);
                    self.y += height(1, SMALL) + 0.8;
                }
                // Read out it was before.
                self.head(table, None);
            }
            let (top, wide) = (self.y, self.wide());
            let own_row = self.structure.add(StructRole::TR, own_table);
            match row {
                LaidRow::Head(lines) => {
                    let head = self.structure.head(HeadOf::Columns(table.columns.len()), own_row);
                    let mut y = top + 1.6;
                    for line in lines {
                        let (size, weight) = match line.is_small {
                            true => (SMALL, Weight::Plain),
                            false => (BODY, Weight::Bold),
                        };
                        self.words(&line.text, LEFT, y + size, size, weight, Some(head));
                        y += height(1, size);
                    }
                }
                LaidRow::Cells(cells) => {
                    for (at, (lines, column)) in cells.iter().zip(&table.columns).enumerate() {
                        let own = match at == 0 && column.is_bold {
                            true => self.structure.head(HeadOf::Row, own_row),
                            false => self.structure.add(StructRole::TD, own_row),
                        };
                        self.cell(lines, column, top, own);
                    }
                }
            }
            self.y = top + own;
            let y = self.y;
            self.canvas().line((LEFT, y), (LEFT + wide, y), 0.12);
        }
        self.y += 2.0;
    }

    fn cell(&mut self, lines: &[Line], column: &LaidColumn, top: f64, of: Part) {
        let mut y = top + CELL_PAD;
        for line in lines {
            let size = if line.is_small { SMALL } else { CELL };
            let weight = if column.is_bold && !line.is_small { Weight::Bold } else { Weight::Plain };
            let x = match column.is_number {
                true => column.x + column.wide - self.letters.width(line.text.trim_end(), size, weight),
                false => column.x,
            };
            self.words(&line.text, x, y + size, size, weight, Some(of));
            y += height(1, size);
        }
    }

    /// The heads of the columns; of a part of the document where they stand first.
    fn head(&mut self, table: &LaidTable, of: Option<Part>) {
        let Some(head) = &table.head else { return };
        let row = of.map(|table| self.structure.add(StructRole::TR, table));
        let (top, high) = (self.y, head_height(head));
        for (lines, column) in head.iter().zip(&table.columns) {
            let own = row.map(|row| self.structure.head(HeadOf::Columns(1), row));
            // Heads stand on the line below them.
            let mut y = top + high - CELL_PAD - height(lines.len(), SMALL);
            for line in lines {
                let x = match column.is_number {
                    true => column.x + column.wide - self.letters.width(line.trim_end(), SMALL, Weight::Bold),
                    false => column.x,
                };
                self.words(line, x, y + SMALL, SMALL, Weight::Bold, own);
                y += height(1, SMALL);
            }
        }
        self.y = top + high;
        let (y, wide) = (self.y, self.wide());
        self.canvas().line((LEFT, y), (LEFT + wide, y), 0.4);
    }

    /// A page that can be read from across a room.
    fn notice(&mut self, large: &str, says: &[String]) {
        const EDGE: f64 = 8.0;
        self.page();
        let (wide, top) = (self.wide(), TOP);
        let high = self.foot() - top;
        self.canvas().rectangle(LEFT + 1.0, top + 1.0, wide - 2.0, high - 2.0, &Style::line(2.0));
        let inner = wide - 2.0 * EDGE;
        let size = (inner / self.letters.width(large, 1.0, Weight::Bold)).min(40.0);
        let sign = 34.0;
        let x = LEFT + (wide - self.letters.width("⚠", sign, Weight::Plain)) / 2.0;
        self.words("⚠", x, top + 40.0, sign, Weight::Plain, None);
        let own = self.structure.add(StructRole::H1, self.section);
        self.words(large, LEFT + EDGE, top + 50.0 + size, size, Weight::Bold, Some(own));
        let mut y = top + 50.0 + size + 14.0;
        for (at, text) in says.iter().enumerate() {
            let own = self.structure.add(StructRole::P, self.section);
            let (size, weight) = if at < 2 { (7.0, Weight::Bold) } else { (4.6, Weight::Plain) };
            for line in self.letters.lines(text, size, weight, inner) {
                if y + height(1, size) > top + high - EDGE {
                    break;
                }
                self.words(&line, LEFT + EDGE, y + size, size, weight, Some(own));
                y += height(1, size);
            }
            y += 3.5;
        }
        self.y = f64::INFINITY;
    }
}

fn height(lines: usize, size: f64) -> f64 {
    lines as f64 * size * LEADING
}

fn caution_height(paragraphs: &[Vec<String>]) -> f64 {
    let between = PARAGRAPH * (paragraphs.len().max(1) - 1) as f64;
    height(paragraphs.iter().map(Vec::len).sum(), BODY) + between + 2.4
}

fn head_height(head: &[Vec<String>]) -> f64 {
    height(head.iter().map(Vec::len).max().unwrap_or(0), SMALL) + 2.0 * CELL_PAD
}

fn row_height(row: &LaidRow) -> f64 {
    match row {
        LaidRow::Head(lines) => {
            lines.iter().map(|line| height(1, if line.is_small { SMALL } else { BODY })).sum::<f64>() + 2.6
        }
        LaidRow::Cells(cells) => {
            let of = |lines: &Vec<Line>| -> f64 {
                lines.iter().map(|line| height(1, if line.is_small { SMALL } else { CELL })).sum()
            };
            cells.iter().map(of).fold(0.0, f64::max) + 2.0 * CELL_PAD
        }
    }
}
