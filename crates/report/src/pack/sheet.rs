//! What a sheet says, apart from how it is set: one description from which page and PDF are both made.

/// A sheet of the pack.
#[derive(Debug, Default)]
pub struct Sheet {
    /// A word for it, unique in the pack: links lead there.
    pub name: String,
    pub title: String,
    /// Whether its tables want the wide way of the paper.
    pub is_wide: bool,
    pub parts: Vec<Part>,
}

#[derive(Debug)]
pub enum Part {
    Heading(String),
    Subheading(String),
    Words(String),
    /// What can hurt somebody.
    Caution(String),
    /// One line each, with a box to tick.
    Steps(Vec<String>),
    Table(Table),
    /// A drawing among the words, as SVG in millimetres.
    Sketch(Drawing),
    /// A drawing to scale with a sheet of paper of its own.
    Plan(Drawing),
    /// A notice as large as a sheet of paper, to be put up: a line in large letters, and what stands below it.
    Notice(String, Vec<String>),
}

/// A drawing as SVG, of so many millimetres.
#[derive(Debug)]
pub struct Drawing {
    pub svg: String,
    pub wide: f64,
    pub high: f64,
    pub says: String,
}

#[derive(Debug, Default)]
pub struct Table {
    pub columns: Vec<Column>,
    pub rows: Vec<Row>,
}

#[derive(Debug, Clone)]
pub struct Column {
    pub head: String,
    /// Numbers stand at the right.
    pub is_number: bool,
    pub is_bold: bool,
}

#[derive(Debug)]
pub enum Row {
    /// As many as there are columns. A line break begins a new line, in smaller letters.
    Cells(Vec<String>),
    /// What the rows below it have in common. A line break begins a new line here, too.
    Head(String),
}

impl Sheet {
    pub fn new(name: &str, title: impl Into<String>) -> Sheet {
        Sheet { name: name.into(), title: title.into(), is_wide: false, parts: Vec::new() }
    }

    pub fn heading(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Heading(text.into()));
    }

    pub fn subheading(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Subheading(text.into()));
    }

    pub fn words(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Words(text.into()));
    }

    pub fn caution(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Caution(text.into()));
    }

    pub fn steps<S: Into<String>>(&mut self, steps: impl IntoIterator<Item = S>) {
        self.parts.push(Part::Steps(steps.into_iter().map(Into::into).collect()));
    }

    /// Whether a sign stands among its words and tables.
    pub fn holds(&self, sign: char) -> bool {
        self.parts.iter().any(|part| match part {
            Part::Heading(text) | Part::Subheading(text) | Part::Words(text) | Part::Caution(text) => {
                text.contains(sign)
            }
            Part::Steps(steps) => steps.iter().any(|step| step.contains(sign)),
            Part::Notice(_, says) => says.iter().any(|text| text.contains(sign)),
            Part::Table(table) => table.rows.iter().any(|row| match row {
                Row::Head(text) => text.contains(sign),
                Row::Cells(cells) => cells.iter().any(|cell| cell.contains(sign)),
            }),
            Part::Sketch(_) | Part::Plan(_) => false,
        })
    }

    /// Adds a table, unless it has no row.
    pub fn table(&mut self, table: Table) {
        if !table.rows.is_empty() {
            self.parts.push(Part::Table(table));
        }
    }
}

impl Table {
    /// A table with these columns: `#` before a head marks numbers, `*` what stands out.
    pub fn new<S: AsRef<str>>(heads: impl IntoIterator<Item = S>) -> Table {
        let column = |head: S| {
            let head = head.as_ref();
            let (is_number, is_bold) = (head.starts_with('#'), head.starts_with('*'));
            Column { head: head.trim_start_matches(['#', '*']).to_string(), is_number, is_bold }
        };
        Table { columns: heads.into_iter().map(column).collect(), rows: Vec::new() }
    }

    /// A table of names and values, without heads.
    pub fn of_facts<N: Into<String>, V: Into<String>>(facts: impl IntoIterator<Item = (N, V)>) -> Table {
        let mut table = Table::new(["*", ""]);
        for (name, value) in facts {
            table.row([name.into(), value.into()]);
        }
        table
    }

    pub fn row<S: Into<String>>(&mut self, cells: impl IntoIterator<Item = S>) {
        let cells: Vec<String> = cells.into_iter().map(Into::into).collect();
        debug_assert_eq!(cells.len(), self.columns.len(), "{cells:?}");
        self.rows.push(Row::Cells(cells));
    }

    pub fn head(&mut self, text: impl Into<String>) {
        self.rows.push(Row::Head(text.into()));
    }

    /// Takes out the columns in which nothing stands but a dash.
    pub fn without_empty_columns(mut self) -> Table {
        let says = |row: &Row, at: usize| matches!(row, Row::Cells(cells) if !matches!(&*cells[at], "" | "–"));
        let kept: Vec<bool> = (0..self.columns.len()).map(|at| self.rows.iter().any(|row| says(row, at))).collect();
        let mut keep = kept.iter();
        self.columns.retain(|_| *keep.next().unwrap_or(&true));
        for row in &mut self.rows {
            if let Row::Cells(cells) = row {
                let mut keep = kept.iter();
                cells.retain(|_| *keep.next().unwrap_or(&true));
            }
        }
        self
    }

    pub fn has_heads(&self) -> bool {
        self.columns.iter().any(|column| !column.head.is_empty())
    }
}

/// A value as it is printed, or a dash.
pub fn or_dash(value: Option<impl std::fmt::Display>) -> String {
    value.map_or_else(|| "–".to_string(), |value| value.to_string())
}

/// What a design says of a thing that may be so or not.
pub fn yes_or_no(value: Option<bool>) -> String {
    match value {
        Some(true) => "yes",
        Some(false) => "no",
        None => "–",
    }
    .to_string()
}
