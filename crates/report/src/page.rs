//! What the renderer writes on: bytes, with colours or without, and our own words for severities.

use check::Severity;
use codespan_reporting::diagnostic::{LabelStyle, Severity as RendererSeverity};
use codespan_reporting::term::WriteStyle;
use std::io::{Result, Write};

/// A page of text.
pub(crate) struct Page {
    pub bytes: Vec<u8>,
    coloured: bool,
    severity: Severity,
    /// The renderer is about to write its own word for the severity.
    word_due: bool,
}

impl Page {
    pub fn new(coloured: bool) -> Page {
        Page { bytes: Vec::new(), coloured, severity: Severity::Error, word_due: false }
    }

    /// Says of which severity the next finding is.
    pub fn turn_to(&mut self, severity: Severity) {
        self.severity = severity;
    }

    /// Adds a text as it is.
    pub fn push(&mut self, text: &str) {
        self.bytes.extend_from_slice(text.as_bytes());
    }

    /// Adds a text in bold letters.
    pub fn push_bold(&mut self, text: &str) {
        self.colour("1");
        self.push(text);
        self.colour("0");
    }

    fn colour(&mut self, code: &str) {
        if self.coloured {
            self.bytes.extend_from_slice(format!("\u{1b}[{code}m").as_bytes());
        }
    }

    fn severity_colour(&self) -> &'static str {
        match self.severity {
            Severity::Error => "31",
            Severity::Warning => "33",
            Severity::Information => "32",
            Severity::Hint => "36",
        }
    }
}

impl Write for Page {
    fn write(&mut self, bytes: &[u8]) -> Result<usize> {
        // The renderer knows `note` and `help` where the trade of editors says `information` and `hint`.
        if std::mem::take(&mut self.word_due) {
            self.push(self.severity.word());
        } else {
            self.bytes.extend_from_slice(bytes);
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> Result<()> {
        Ok(())
    }
}

impl WriteStyle for Page {
    fn set_header(&mut self, _: RendererSeverity) -> Result<()> {
        let colour = format!("1;{}", self.severity_colour());
        self.colour(&colour);
        self.word_due = true;
        Ok(())
    }

    fn set_header_message(&mut self) -> Result<()> {
        self.colour("0;1");
        Ok(())
    }

    fn set_line_number(&mut self) -> Result<()> {
        self.colour("34");
        Ok(())
    }

    fn set_note_bullet(&mut self) -> Result<()> {
        self.colour("34");
        Ok(())
    }

    fn set_source_border(&mut self) -> Result<()> {
        self.colour("34");
        Ok(())
    }

    fn set_label(&mut self, _: RendererSeverity, style: LabelStyle) -> Result<()> {
        match style {
            LabelStyle::Primary => self.colour(self.severity_colour()),
            LabelStyle::Secondary => self.colour("34"),
        }
        Ok(())
    }

    fn reset(&mut self) -> Result<()> {
        self.colour("0");
        Ok(())
    }
}
