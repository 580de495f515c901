//! What can be asked for.

use check::Severity;
use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;
use design::{Method, SourceKind};
use jiff::civil::Date;
use report::CAUTIONS;
use report::findings::Form;
use std::path::PathBuf;

/// Checks designs of warm-water underfloor heating.
///
/// A design is a YAML file, `NAME.ufh.yaml`. The checker works out what the floor will really do and holds it
/// against standards and common practice. It is no substitute for a competent designer, nor for the rules in force
/// where you build.
#[derive(Debug, Parser)]
#[command(name = "hypocaust", version, after_help = BEGIN, after_long_help = format!("{BEGIN}\n\nCautions:\n  {}", CAUTIONS.join("\n  ")))]
pub struct Arguments {
    #[command(subcommand)]
    pub command: Command,
}

const BEGIN: &str = "Begin with:\n  hypocaust check house.ufh.yaml";

#[derive(Debug, Subcommand)]
pub enum Command {
    Start(Start),
    Check(Check),
    Workings(Workings),
    Schedule(Schedule),
    Plan(Plan),
    Issue(Issue),
    Remedy(Remedy),
    Compare(Compare),
    /// Tell the rules, or print the page of one.
    ///
    /// Without a name, each rule has one line: its name and what it asks. With a name, its page is printed:
    /// why it matters, how it is worked out, an example that fails and one that passes, its limits and
    /// whose they are, and how much it weighs at each stage.
    /// With `--site`, all pages are written into a folder, with an index and a search field, for a browser.
    #[command(after_help = "\
Examples:
  hypocaust guidance
  hypocaust guidance syntax-error
  hypocaust guidance --site pages

Exit status:
  0  told or written
  2  there is no such rule, or the pages could not be written")]
    Guidance {
        /// The name of a rule.
        #[arg(conflicts_with = "site")]
        rule: Option<String>,
        /// Write the pages of all rules into this folder; it is made if it is not there.
        #[arg(long, value_name = "FOLDER")]
        site: Option<PathBuf>,
        /// The house standard whose limits and own rules are told too; the nearest `house-standard.yaml` on the way up from here,
        /// if left out.
        #[arg(long, value_name = "FILE")]
        house_standard: Option<String>,
    },
    /// Serve an editor: findings while you type, figures, remedies.
    ///
    /// Speaks the Language Server Protocol on standard input and output. Editors start it; there is no need to.
    #[command(after_help = "\
Example, as an editor calls it:
  hypocaust language-server

Exit status:
  0  the editor asked it to shut down, then to exit
  1  the editor went away")]
    LanguageServer {
        /// Speak on standard input and output, as it does anyway; many editors add this.
        #[arg(long)]
        stdio: bool,
    },
    /// Print what a shell needs to complete commands, options and words.
    ///
    /// Where a shell looks for it differs; the folder must be there before the file is written.
    #[command(after_help = "\
Examples:
  hypocaust completions bash > ~/.local/share/bash-completion/completions/hypocaust
  hypocaust completions zsh > ~/.zfunc/_hypocaust
  hypocaust completions fish > ~/.config/fish/completions/hypocaust.fish

Exit status:
  0  printed
  2  there is no such shell")]
    Completions {
        /// The shell.
        shell: Shell,
    },
    /// Write the pages of the manual, one for the program and one for each command.
    ///
    /// They say what `--help` says, as pages of section 1: `hypocaust.1`, `hypocaust-check.1` and so on.
    #[command(after_help = "\
Example:
  hypocaust manual ~/.local/share/man/man1

Exit status:
  0  written
  2  not written, with the reason")]
    Manual {
        /// The folder to write them into; it is made if it is not there.
        folder: PathBuf,
    },
    /// Print the JSON Schema of designs, of house standards, of what `check`, `workings`, `schedule` and `compare` print, or of the manifest of a pack.
    ///
    /// An editor that knows the schema of designs completes keys and words even without the language server.
    #[command(after_help = "\
Example:
  hypocaust schema design > ufh.schema.json

Exit status:
  0  printed
  2  there is no such schema")]
    Schema {
        /// Whose schema: that of design files, of house standards, of what a command prints with `--format json`, or of the `manifest.json`
        /// that `issue` writes.
        of: SchemaOf,
    },
}

/// Begin a new design from a construction and the sizes of rooms, or a house standard.
///
/// Construction and rooms that are not given are asked for, on a terminal. The design is a sketch at stage `preliminary` in which a
/// check finds no error: a usual build-up, loops as long as they may be, a heat loss of so many watts a square metre that waits for
/// the real one, and water as warm as that needs. Two sides of a room give it an outline, so that it can be drawn; an area does not.
///
/// A file named `house-standard.yaml` becomes a house standard that changes nothing yet and shows all that a firm can change.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  hypocaust start house.ufh.yaml
  hypocaust start house.ufh.yaml --construction clipped-in-screed --room 'kitchen 4.2 x 3.6' --room 'hall 6 m²'
  hypocaust start house-standard.yaml

Exit status:
  0  written
  2  not written, with the reason")]
pub struct Start {
    /// The file to write, `NAME.ufh.yaml` or `house-standard.yaml`; one that is there is left alone. With `-` the design is printed.
    pub file: String,
    /// How the floor is built.
    #[arg(long, value_name = "WORD", value_parser = word(::check::methods(), Method::word))]
    pub construction: Option<Method>,
    /// A room: its name, and its sides in metres or its area; once for each room.
    #[arg(long, value_name = "ROOM")]
    pub room: Vec<String>,
    /// What heats the water.
    #[arg(long, value_name = "WORD", default_value = "heat pump", value_parser = word(SourceKind::ALL.iter().copied(), SourceKind::word))]
    pub source: SourceKind,
}

/// Check designs and say what is wrong, where, why, and what would put it right.
///
/// A folder is searched for `*.ufh.yaml`. Left out are files that an ignore file names, and hidden ones and those in hidden folders, unless `git` keeps
/// them all the same and no `.ignore` names them; how many is told. Libraries, files of pipes, floors and manifolds without a project, rooms or loops, are passed over,
/// and so are links to folders elsewhere, which is told. A file that you name is checked whatever it holds.
/// A firm's own limits, severities and rules stand in a `house-standard.yaml`, which holds for all designs in its folder and below;
/// `hypocaust start house-standard.yaml` writes one to begin with. Checked by itself, the examples of its own rules are tried.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  hypocaust check house.ufh.yaml
  hypocaust check designs --fail-on warning
  hypocaust check - --format json < house.ufh.yaml
  hypocaust check designs --accepted accepted.yaml --write-accepted
  hypocaust check designs --accepted accepted.yaml --changed-since origin/main --format sarif > findings.sarif

Exit status:
  0  nothing at or above the failing severity
  1  findings at or above it; or, where warnings fail, accepted findings that stand no more
  2  something could not be checked, or an option is wrong; the rest is still printed")]
pub struct Check {
    /// Design files, folders of them, or `-` for standard input.
    #[arg(required = true)]
    pub paths: Vec<String>,
    /// How to print.
    #[arg(long, value_name = "FORM", default_value = "text", value_parser = form())]
    pub format: Form,
    /// The severity from which on findings fail the check.
    #[arg(long, value_name = "SEVERITY", default_value = "error", value_parser = severity())]
    pub fail_on: Severity,
    #[command(flatten)]
    pub against: Against,
    /// A list of findings that stood when the check began here. They are counted, and do not fail.
    ///
    /// It names findings by design, rule and thing, never by line. It does not accept one that has become graver, as from warning to error,
    /// nor one whose value lies farther beyond its limit than it did, by more than a hundredth, nor a second one of the rule at the same
    /// thing, nor one of a rule that guards people: for those there are departures.
    #[arg(long, value_name = "FILE", help_heading = "The gate")]
    pub accepted: Option<String>,
    /// Write the list of `--accepted`: where there is none yet, with all that stands; else without what stands no more.
    ///
    /// Nothing is ever added to a list that is there.
    #[arg(long, requires = "accepted", conflicts_with_all = ["changed_since", "share"], help_heading = "The gate")]
    pub write_accepted: bool,
    /// Only designs that are touched by what changed since this revision of the repository.
    ///
    /// What changed is what differs between the files as they are now and where this branch parted from that revision; files that
    /// `git` does not know yet count too. A design is touched by a change of its own file, of its libraries, of its house standard, or of the
    /// list of accepted findings. Needs the `git` program.
    #[arg(long, value_name = "REVISION", help_heading = "The gate")]
    pub changed_since: Option<String>,
    /// Only this share of the designs, such as `2/5`, so that five machines can check them.
    ///
    /// The designs are taken in the order in which one machine would print them, and each share is a run of them: what the shares
    /// list, one after the other, is what one machine lists, and their numbers add up to its.
    #[arg(long, value_name = "SHARE/SHARES", value_parser = share, help_heading = "The gate")]
    pub share: Option<Share>,
    /// Whether to colour the text; `auto` does so on a terminal, unless NO_COLOR is set.
    #[arg(long, value_name = "WHEN", value_enum, default_value_t)]
    pub color: Colour,
}

// What a design is held against. (Words of documentation here would become those of the commands.)
#[derive(Debug, Args)]
pub struct Against {
    /// The house standard to hold designs against; the nearest `house-standard.yaml` on the way up from each, if left out.
    #[arg(long, value_name = "FILE")]
    house_standard: Option<String>,
    /// The day of the check, YYYY-MM-DD, by which departures run out; the day it is, if left out.
    #[arg(long, value_name = "DATE", value_parser = day)]
    today: Option<Date>,
}

impl Against {
    pub fn house_standard(&self) -> Option<&str> {
        self.house_standard.as_deref()
    }

    /// The day as on which the check is made.
    pub fn day(&self) -> Date {
        self.today.unwrap_or_else(|| jiff::ZonedDateTime::now().date())
    }
}

/// Show the figures of a design and how each came about.
///
/// For each figure: its value, the formula, what went into it and in which line that stands, what was assumed, and
/// whose method it is. A figure that could not be worked out says what is missing.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  hypocaust workings house.ufh.yaml
  hypocaust workings house.ufh.yaml loops.L1
  hypocaust workings house.ufh.yaml loops.L1.length

Exit status:
  0  shown
  1  shown, but part of the file could not be read: what it says is missing from the figures
  2  nothing could be shown, with the reason")]
pub struct Workings {
    /// The design file, or `-` for standard input.
    pub file: String,
    /// Only the figures of this name: a block, a thing, or one figure, such as `loops`, `L1`, `loops.L1.length`.
    pub name: Option<String>,
    /// How to print: as text for people, or as JSON in SI units for programs (see `hypocaust schema workings`).
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

/// Set out the loops of each manifold as a table for the site.
///
/// For each loop: its port, room, pipe, spacing, length, flow, presetting, pressure drop, water temperatures and output;
/// then the coils that the loops are cut from, with what is left of each.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  hypocaust schedule house.ufh.yaml
  hypocaust schedule house.ufh.yaml --format csv > loops.csv

Exit status:
  0  set out
  1  set out, but part of the file could not be read: what it says is missing from the table
  2  nothing could be set out, with the reason")]
pub struct Schedule {
    /// The design file, or `-` for standard input.
    pub file: String,
    /// How to print: as text for people, as CSV for spreadsheets (the loops alone), or as JSON in SI units for programs
    /// (see `hypocaust schema schedule`).
    #[arg(long, value_enum, default_value_t)]
    pub format: ScheduleFormat,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum ScheduleFormat {
    #[default]
    Text,
    Csv,
    Json,
}

/// Draw the plan of each storey to scale, as SVG.
///
/// Walls, doors, joints and what must stay clear of pipe; the loops with flow and return told apart, sleeves, the ports
/// of the manifolds; dimensions from the walls to the runs and turn lines; the table of loops; findings where they are.
/// A storey is drawn if a room there has an outline or a loop a route. Several storeys are several files, each with the
/// storey's name in its own.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  hypocaust plan house.ufh.yaml -o plan.svg
  hypocaust plan house.ufh.yaml --storey first > first.svg
  hypocaust plan house.ufh.yaml --without-findings -o for-site.svg

Exit status:
  0  drawn
  1  drawn, but part of the file could not be read: what it says is missing from the drawing
  2  nothing could be drawn, with the reason")]
pub struct Plan {
    /// The design file, or `-` for standard input.
    pub file: String,
    /// Where to write the drawing; standard output if left out or `-`.
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<String>,
    /// Only this storey.
    #[arg(long, value_name = "NAME")]
    pub storey: Option<String>,
    /// The house standard to hold designs against; the nearest `house-standard.yaml` on the way up from each, if left out.
    #[arg(long, value_name = "FILE")]
    pub house_standard: Option<String>,
    /// Leave the findings off: a sheet for the site.
    #[arg(long)]
    pub without_findings: bool,
}

/// Write the pack that goes out with a revision: plan, schedules, screed, site, check record, calculation.
///
/// It is one page for a browser, one PDF, the plans as SVG, the loops as CSV, and a manifest with the digest of each file and of the
/// design that it was made from. Nothing is written while an error stands that no departure accepts. A design at the stage `as built`
/// gives the handover pack, with what was recorded in place of what is still to be done. The pack waits for the signatures of those
/// who design and check: the program signs nothing.
///
/// The design is checked as on the day its project says it was issued, so that the same files give the same pack on any day; as on
/// today if it says none, or one that is still to come.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  hypocaust issue house.ufh.yaml --out issued
  hypocaust issue house.ufh.yaml --out issued --today 2026-05-31
  hypocaust issue as-built.ufh.yaml --out handover --issued house-P3.ufh.yaml

Exit status:
  0  written
  1  not written: errors stand, and are told
  2  not written, with the reason")]
pub struct Issue {
    /// The design file.
    pub file: String,
    /// The folder for the pack; it is made if it is not there. An earlier pack of the project that lies there as it was written is
    /// replaced, and folders in it are let alone; where any other file lies, a file of that pack was changed since, or it went out as the
    /// same revision of another text, nothing is written.
    #[arg(long, value_name = "FOLDER")]
    pub out: String,
    /// The design as it was issued before, to be held against this one: what changed gets a sheet of its own. Above all for a design as
    /// built.
    #[arg(long, value_name = "FILE")]
    pub issued: Option<String>,
    /// The house standard to hold the design against; the nearest `house-standard.yaml` on the way up from it, if left out.
    #[arg(long, value_name = "FILE")]
    pub house_standard: Option<String>,
    /// The day of the check, YYYY-MM-DD; the day of issue that the design gives, if left out.
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub today: Option<Date>,
}

/// Show what would put findings right, or put it right.
///
/// Each remedy was tried on the text: its finding goes, and no new error comes. With `--apply` the first remedy of each
/// error and warning is applied, the gravest first, until none is left to apply; comments and layout stay as they are, what was
/// changed is printed as a diff, and no other file is touched. At the stage `as built` only slips of writing are mended: what was
/// built is not changed by a file. Read the diff before you keep it: a remedy clears a finding, it does not know the house.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  hypocaust remedy house.ufh.yaml
  hypocaust remedy house.ufh.yaml --apply
  hypocaust remedy house.ufh.yaml --apply --only unit-missing-or-wrong
  hypocaust remedy - --apply < house.ufh.yaml > mended.ufh.yaml

Exit status:
  0  listed or applied, whatever is left
  2  the file could not be read or written, or an option is wrong")]
pub struct Remedy {
    /// The design file, or `-` for standard input.
    pub file: String,
    /// Apply the remedies to the file; of standard input, print the mended text.
    #[arg(long)]
    pub apply: bool,
    /// Only those of this rule, whatever it weighs; may be given more than once.
    #[arg(long, value_name = "RULE")]
    pub only: Vec<String>,
    #[command(flatten)]
    pub against: Against,
}

/// Tell what a revision of a design changed.
///
/// For each thing that was added, removed, renamed or changed: what the design says of it and the figures that a reviewer knows it by,
/// before and after; how far outlines and pipes moved; departures with their reasons; then the findings that are new, graver, cleared, or not checked any more. Last, whether the
/// revision was raised: a version that was issued must not be changed without it.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  hypocaust compare issued/house-P2.ufh.yaml house.ufh.yaml
  hypocaust compare house.ufh.yaml --since P2
  hypocaust compare house.ufh.yaml --since origin/main --format markdown > comment.md

Exit status:
  0  compared
  1  compared; findings at or above the failing severity are new or graver, or the revision was not raised or was lowered, or
     part of a version could not be read
  2  not compared, with the reason")]
pub struct Compare {
    /// The old version; with `--since`, the design itself.
    #[arg(value_name = "OLD")]
    pub old: String,
    /// The new version.
    #[arg(value_name = "NEW", conflicts_with = "since")]
    pub new: Option<String>,
    /// Compare the design with what it was at this revision of its repository, libraries and house standard included. Needs `git`.
    ///
    /// Links are followed as they led then, and repositories within it as they stood then. A library outside the repository is for both
    /// versions as it is now, and that is told.
    #[arg(long, value_name = "REVISION")]
    pub since: Option<String>,
    /// How to print: as text for people, as Markdown for a comment on a merge request, or as JSON in SI units for programs (see
    /// `hypocaust schema compare`).
    #[arg(long, value_enum, default_value_t)]
    pub format: CompareFormat,
    /// The severity from which on findings that are new or graver give exit status 1.
    #[arg(long, value_name = "SEVERITY", default_value = "error", value_parser = severity())]
    pub fail_on: Severity,
    #[command(flatten)]
    pub against: Against,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum CompareFormat {
    #[default]
    Text,
    Markdown,
    Json,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum Format {
    #[default]
    Text,
    Json,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum Colour {
    #[default]
    Auto,
    Always,
    Never,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SchemaOf {
    Design,
    HouseStandard,
    Check,
    Workings,
    Schedule,
    Compare,
    Manifest,
}

/// Reads a day.
fn day(text: &str) -> Result<Date, &'static str> {
    text.parse().map_err(|_| "a day is written as year, month and day: 2026-05-31")
}

/// Reads one of the words of the design format.
fn word<W: Copy + Send + Sync + 'static>(
    words: impl Iterator<Item = W>,
    written: fn(W) -> &'static str,
) -> impl TypedValueParser<Value = W> {
    let words: Vec<W> = words.collect();
    PossibleValuesParser::new(words.iter().map(|it| PossibleValue::new(written(*it)))).map(move |word| {
        let named = words.iter().find(|it| written(**it) == word);
        *named.expect("the parser lets only these words through")
    })
}

/// A share of the designs: the number of it, counted from one, and of how many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Share {
    pub number: usize,
    pub of: usize,
}

/// Reads a share.
fn share(text: &str) -> Result<Share, &'static str> {
    let numbers = text.split_once('/').and_then(|(number, of)| Some((number.parse().ok()?, of.parse().ok()?)));
    match numbers {
        Some((number, of)) if 1 <= number && number <= of => Ok(Share { number, of }),
        _ => Err("a share is written as its number and how many there are: 2/5"),
    }
}

/// Reads the form of a report by its word.
fn form() -> impl TypedValueParser<Value = Form> {
    PossibleValuesParser::new(Form::ALL.map(|it| PossibleValue::new(it.word()).help(it.about()))).map(|word| {
        let form = Form::ALL.into_iter().find(|it| it.word() == word);
        form.expect("the parser lets only the words of forms through")
    })
}

/// Reads a severity by its word.
fn severity() -> impl TypedValueParser<Value = Severity> {
    let words = Severity::ALL.map(|it| PossibleValue::new(it.word()));
    PossibleValuesParser::new(words).map(|word| {
        let severity = Severity::ALL.into_iter().find(|it| it.word() == word);
        severity.expect("the parser lets only the words of severities through")
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_arguments_are_well_formed() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn the_long_help_warns_of_what_can_hurt() {
        let help = Arguments::command().render_long_help().to_string();
        let help = help.split_whitespace().collect::<Vec<_>>().join(" ");
        for word in ["Pressure tests", "Legionella", "asbestos", "licensed people", "do not drill", "too hot"] {
            assert!(help.contains(word), "{word}");
        }
    }

    #[test]
    fn every_command_has_an_example_and_says_how_it_ends() {
        for command in Arguments::command().get_subcommands() {
            let help = command.get_after_help().map(ToString::to_string).unwrap_or_default();
            assert!(help.contains(&format!("hypocaust {}", command.get_name())), "{}", command.get_name());
            assert!(help.contains("\nExit status:\n  0  "), "{}", command.get_name());
        }
    }
}
