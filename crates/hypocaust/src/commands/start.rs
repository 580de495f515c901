//! `start`: a few wishes in, a new design out.

use crate::Status;
use crate::arguments::Start;
use crate::failure::{Failure, failure, failure_with_help};
use crate::files::ENDING;
use crate::output;
use ::check::{RoomWish, Wishes};
use design::Method;
use std::io::{BufRead, ErrorKind, IsTerminal, Write};

pub fn start(arguments: &Start) -> Result<Status, Failure> {
    let path = &arguments.file;
    if design::is_house_standard(path) {
        if arguments.construction.is_some() || !arguments.room.is_empty() {
            return Err(failure("a house standard has no construction and no rooms; a design has"));
        }
        return write(path, &::check::start_house_standard());
    }
    let prints = path == "-";
    let name = std::path::Path::new(path).file_name().map(|name| name.to_string_lossy()).unwrap_or_default();
    let project = match name.strip_suffix(ENDING).filter(|stem| !stem.is_empty()) {
        Some(stem) => stem.to_string(),
        None if prints => "new".to_string(),
        None => {
            let help = "so that a folder can be searched for designs";
            return Err(failure_with_help(format!("a design is named `NAME{ENDING}`, not `{path}`"), help));
        }
    };
    if !prints && std::fs::exists(path).unwrap_or(false) {
        return Err(taken(path));
    }
    let rooms: Result<Vec<RoomWish>, String> = arguments.room.iter().map(|room| RoomWish::read(room)).collect();
    let (mut method, mut rooms) = (arguments.construction, rooms.map_err(failure)?);
    if method.is_none() || rooms.is_empty() {
        if !std::io::stdin().is_terminal() {
            let help = "give `--construction WORD` and, once for each room, `--room 'NAME SIZE'`; on a terminal they are asked for";
            return Err(failure_with_help("a design is begun from a construction and its rooms", help));
        }
        let (mut input, mut out) = (std::io::stdin().lock(), std::io::stderr().lock());
        let mut asked = || -> std::io::Result<()> {
            if method.is_none() {
                method = ask_method(&mut input, &mut out)?;
            }
            if rooms.is_empty() {
                rooms = ask_rooms(&mut input, &mut out)?;
            }
            Ok(())
        };
        asked().map_err(|error| failure(format!("cannot ask: {error}")))?;
    }
    let Some(method) = method else { return Err(failure("no construction was chosen; nothing was written")) };
    let wishes = Wishes { project, method, source: arguments.source, rooms };
    let text = ::check::start(&wishes, jiff::ZonedDateTime::now().date()).map_err(failure)?;
    if prints {
        output::print([text.as_bytes()])?;
        return Ok(Status::Clean);
    }
    write(path, &text)
}

fn taken(path: &str) -> Failure {
    failure(format!("`{path}` is there already, and is left as it is; name another file"))
}

/// Writes a file that is not there yet.
fn write(path: &str, text: &str) -> Result<Status, Failure> {
    let mut file = std::fs::File::create_new(path).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => taken(path),
        _ => failure(format!("cannot write `{path}`: {error}")),
    })?;
    file.write_all(text.as_bytes()).map_err(|error| failure(format!("cannot write `{path}`: {error}")))?;
    say_line!("{path}; look at it with `hypocaust check {path}`");
    Ok(Status::Clean)
}

/// Asks for a construction by its number or word until one is given; nothing if the answers end.
fn ask_method(input: &mut impl BufRead, out: &mut impl Write) -> std::io::Result<Option<Method>> {
    let methods: Vec<Method> = ::check::methods().collect();
    writeln!(out, "How is the floor built?")?;
    for (number, method) in (1..).zip(&methods) {
        let about = Method::WORDS.iter().find(|(word, _)| *word == method.word()).map_or("", |(_, about)| about.trim());
        writeln!(out, "  {number}  {method}: {about}")?;
    }
    loop {
        let Some(answer) = answer(input, out, "number or word: ")? else { return Ok(None) };
        let numbered = answer.parse().ok().and_then(|number: usize| methods.get(number.checked_sub(1)?));
        if let Some(method) = numbered.or_else(|| methods.iter().find(|it| it.word() == answer)) {
            return Ok(Some(*method));
        }
        writeln!(out, "there is no `{answer}` among them")?;
    }
}

/// Asks for rooms until an empty line.
fn ask_rooms(input: &mut impl BufRead, out: &mut impl Write) -> std::io::Result<Vec<RoomWish>> {
    writeln!(out, "Which rooms, one a line, such as `kitchen 4.2 x 3.6` or `hall 12 m²`? An empty line ends them.")?;
    let mut rooms = Vec::new();
    while let Some(answer) = answer(input, out, "room: ")?.filter(|it| !it.is_empty()) {
        match RoomWish::read(&answer) {
            Ok(room) => rooms.push(room),
            Err(wrong) => writeln!(out, "{wrong}")?,
        }
    }
    Ok(rooms)
}

/// A line of input; nothing at its end.
fn answer(input: &mut impl BufRead, out: &mut impl Write, question: &str) -> std::io::Result<Option<String>> {
    write!(out, "{question}")?;
    out.flush()?;
    let mut line = String::new();
    let read = input.read_line(&mut line)?;
    Ok((read > 0).then(|| line.trim().to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wrong_answer_is_asked_again() {
        let mut told = Vec::new();
        let method = ask_method(&mut "9\nmarble\n3\n".as_bytes(), &mut told).unwrap();
        assert_eq!(method, Some(Method::BondedBoard));
        let told = String::from_utf8(told).unwrap();
        assert!(told.contains("there is no `9` among them") && told.contains("there is no `marble`"), "{told}");
        assert_eq!(ask_method(&mut "".as_bytes(), &mut Vec::new()).unwrap(), None);
        let rooms = ask_rooms(&mut "kitchen\nkitchen 4 x 3\nhall 6 m²\n\nbath 1 x 2\n".as_bytes(), &mut Vec::new());
        assert_eq!(rooms.unwrap().iter().map(|it| it.name.as_str()).collect::<Vec<_>>(), ["kitchen", "hall"]);
    }
}
