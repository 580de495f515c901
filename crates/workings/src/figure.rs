//! A worked-out value, with how it came about.

use crate::Subject;
use design::{Design, Place, Placed};
use quantity::Quantity;

/// A value with its formula, what went into it, what was assumed and whose method it is.
#[derive(Debug, Clone)]
pub struct Figure<T> {
    pub value: T,
    /// In trade signs, with the names of the inputs: `area-served / spacing + tails`.
    pub formula: &'static str,
    pub inputs: Vec<Input>,
    /// What the file does not say and was taken to be so.
    pub assumptions: Vec<&'static str>,
    /// The standard, the handbook or the plain physics behind the formula.
    pub source: &'static str,
}

/// Something that went into a figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Input {
    pub name: &'static str,
    /// In SI (temperatures in °C).
    pub value: f64,
    /// The unit that `value` counts in; `1` for a plain number.
    pub unit: &'static str,
    /// Where it stands, if it stands in the file.
    pub at: Option<Place>,
}

impl<T> Figure<T> {
    pub fn new(value: T, formula: &'static str, source: &'static str) -> Figure<T> {
        Figure { value, formula, inputs: Vec::new(), assumptions: Vec::new(), source }
    }

    /// Adds a worked-out or standard value to the inputs.
    pub fn with<Q: Quantity>(self, name: &'static str, value: Q) -> Figure<T> {
        self.with_at(name, value, None)
    }

    /// Adds a value that stands in the file to the inputs.
    pub fn with_given<Q: Quantity>(self, name: &'static str, value: &Placed<Q>) -> Figure<T> {
        self.with_at(name, value.value, Some(value.at))
    }

    /// Adds a plain number to the inputs.
    pub fn with_number(self, name: &'static str, value: f64) -> Figure<T> {
        self.with_input(Input { name, value, unit: "1", at: None })
    }

    /// Adds an input with the place it comes from, where it has one.
    pub fn with_at<Q: Quantity>(self, name: &'static str, value: Q, at: Option<Place>) -> Figure<T> {
        self.with_input(Input { name, value: value.si(), unit: Q::SI_UNIT, at })
    }

    fn with_input(mut self, input: Input) -> Figure<T> {
        // Most figures have one or two, and there are dozens of figures for a loop: room for four would be wasted.
        if self.inputs.len() == self.inputs.capacity() {
            self.inputs.reserve_exact(self.inputs.len().max(1));
        }
        self.inputs.push(input);
        self
    }

    /// Says what was taken to be so.
    pub fn assuming(mut self, what: &'static str) -> Figure<T> {
        self.assumptions.push(what);
        self
    }

    /// Hands on what an input was itself assumed to be.
    pub fn assuming_all(mut self, what: &[&'static str]) -> Figure<T> {
        for assumption in what {
            if !self.assumptions.contains(assumption) {
                self.assumptions.push(assumption);
            }
        }
        self
    }
}

/// A figure, or why there is none.
pub type Worked<T> = Result<Figure<T>, Gap>;

/// What is wanted where the text is broken, and nobody can say which key that concerns.
const UNREADABLE: &str = "a name or value that could be read";

/// Why a figure could not be worked out.
#[derive(Debug, Clone, PartialEq)]
pub enum Gap {
    /// The file does not say this.
    Missing { subject: Subject, key: &'static str },
    /// No method in this program holds for what the file says; the reason in plain words.
    NoMethod(String),
    /// The text is broken where the value would stand, or a name there leads nowhere: a fault says so already.
    Unreadable,
}

impl Gap {
    pub fn missing(subject: Subject, key: &'static str) -> Gap {
        Gap::Missing { subject, key }
    }

    /// Whether what is missing may stand in the text and only be unreadable, which is told already.
    pub fn is_unreadable(&self, design: &Design) -> bool {
        match self {
            Gap::Missing { subject, key } => subject.is_broken(design) || subject.has_unread(design, key),
            Gap::NoMethod(_) => false,
            Gap::Unreadable => true,
        }
    }

    /// What would let the figure be worked out: the field by its stable name, or the reason.
    pub fn wants(&self, design: &Design) -> String {
        match self {
            Gap::Missing { subject, key } => {
                let field = match subject {
                    Subject::Design => (*key).to_string(),
                    _ => format!("{}/{key}", subject.path(design)),
                };
                if subject.has_unread(design, key) {
                    format!("{field} could not be read")
                } else if subject.is_broken(design) {
                    UNREADABLE.to_string()
                } else {
                    field
                }
            }
            Gap::NoMethod(reason) => reason.clone(),
            Gap::Unreadable => UNREADABLE.to_string(),
        }
    }
}

impl From<engineering::OutOfRange> for Gap {
    fn from(refusal: engineering::OutOfRange) -> Gap {
        Gap::NoMethod(refusal.to_string())
    }
}

/// The value of a worked figure, without how it came about.
pub trait ValueOf<T> {
    fn value(&self) -> Result<T, Gap>;
}

impl<T: Copy> ValueOf<T> for Worked<T> {
    fn value(&self) -> Result<T, Gap> {
        match self {
            Ok(figure) => Ok(figure.value),
            Err(gap) => Err(gap.clone()),
        }
    }
}
