//! Messages as bytes: a header that tells a length, and JSON behind it. Written as the protocol has it, read more kindly.
//!
//! Whatever comes in, the next whole message is found. No string of JSON has a line break in it, so a header cannot stand in a
//! message: where one does, what was being read was cut off there.

use serde_json::{Map, Value};
use std::io::{BufRead, ErrorKind};
use tower_lsp::jsonrpc::{Error, Id, Request, Response};

/// The only header that says anything.
const LENGTH: &[u8] = b"content-length";
/// The greatest length that is believed, in bytes: several times that of the greatest text that is checked.
const MOST: usize = 256 << 20;
/// What stands before the end of a line that is longer can be no header.
const LONGEST_HEADER: usize = 64;
/// A longer line is no header, and all but its end is forgotten.
const LONGEST_LINE: usize = 4096;

/// What was heard.
#[derive(Debug)]
pub enum Heard {
    Request(Request),
    Response(Response),
    /// Something that cannot be understood, and what is to be answered.
    Nonsense(Response),
}

/// Reads message after message.
pub struct Reader<I> {
    input: I,
    /// What was read of a line.
    line: Vec<u8>,
    /// The length that a header told whose end has not come yet.
    length: Option<usize>,
    /// Whether what stands between two messages has been answered already.
    astray: bool,
}

impl<I: BufRead> Reader<I> {
    pub fn new(input: I) -> Reader<I> {
        Reader { input, line: Vec::new(), length: None, astray: false }
    }

    /// The next message, or what came in place of one; nothing at the end of the input.
    pub fn next(&mut self) -> Option<Heard> {
        loop {
            let line = self.line()?;
            let line = line.trim_ascii();
            if line.is_empty() {
                if let Some(length) = self.length.take() {
                    return self.body(length);
                }
                continue;
            }
            match told_length(line) {
                Some((before, length)) => {
                    self.length = length;
                    if before == 0 && length.is_some() {
                        continue;
                    }
                }
                None if is_header(line) => continue,
                None => self.length = None,
            }
            if !std::mem::replace(&mut self.astray, true) {
                return Some(unreadable());
            }
        }
    }

    /// A line with its end. Of a very long one only the end.
    fn line(&mut self) -> Option<Vec<u8>> {
        loop {
            let more = available(&mut self.input)?;
            let end = line_end(more);
            self.line.extend_from_slice(&more[..end]);
            self.input.consume(end);
            if self.line.ends_with(b"\n") {
                return Some(std::mem::take(&mut self.line));
            }
            if self.line.len() > LONGEST_LINE {
                self.line.drain(..self.line.len() - LONGEST_HEADER);
            }
        }
    }

    /// The message behind a header.
    fn body(&mut self, length: usize) -> Option<Heard> {
        let mut body = Vec::new();
        let mut line = 0;
        while body.len() < length {
            let Some(more) = available(&mut self.input) else { return Some(unreadable()) };
            let end = line_end(&more[..more.len().min(length - body.len())]);
            body.extend_from_slice(&more[..end]);
            self.input.consume(end);
            if body.ends_with(b"\n") {
                if let Some((_, Some(length))) = told_length(&body[line..]) {
                    (self.length, self.astray) = (Some(length), true);
                    return Some(unreadable());
                }
                line = body.len();
            }
        }
        let value = json(&body);
        self.astray = value.is_none();
        let Some(value) = value else {
            // If it was told too long, the next header begins in it.
            self.line = body.split_off(line.max(body.len().saturating_sub(LONGEST_HEADER)));
            return Some(unreadable());
        };
        Some(message(value).unwrap_or_else(|id| Heard::Nonsense(Response::from_error(id, Error::invalid_request()))))
    }
}

/// A message with its header.
pub fn written(message: &impl serde::Serialize) -> Vec<u8> {
    let body = serde_json::to_vec(message).expect("a message has only keys that are texts");
    let mut written = format!("Content-Length: {}\r\n\r\n", body.len()).into_bytes();
    written.extend(body);
    written
}

fn unreadable() -> Heard {
    Heard::Nonsense(Response::from_error(Id::Null, Error::parse_error()))
}

/// What can be read without waiting, or comes first; nothing at the end.
fn available<I: BufRead>(input: &mut I) -> Option<&[u8]> {
    // Asked twice because what is borrowed from the first time could not be given back.
    while let Err(error) = input.fill_buf() {
        if error.kind() != ErrorKind::Interrupted {
            return None;
        }
    }
    input.fill_buf().ok().filter(|it| !it.is_empty())
}

/// Where the first line of the bytes ends, or they themselves.
fn line_end(bytes: &[u8]) -> usize {
    bytes.iter().position(|byte| *byte == b'\n').map_or(bytes.len(), |at| at + 1)
}

/// Where in a line the header begins that it ends with, if that tells a length, and the length if it can be believed.
fn told_length(line: &[u8]) -> Option<(usize, Option<usize>)> {
    let line = line.trim_ascii_end();
    let from = line.len().saturating_sub(LONGEST_HEADER);
    let colon = from + line[from..].iter().rposition(|byte| *byte == b':')?;
    let name = line[..colon].trim_ascii_end();
    let start = name.len().checked_sub(LENGTH.len())?;
    let length = || std::str::from_utf8(line[colon + 1..].trim_ascii()).ok()?.parse().ok();
    name[start..].eq_ignore_ascii_case(LENGTH).then(|| (start, length().filter(|it| *it <= MOST)))
}

fn is_header(line: &[u8]) -> bool {
    let name = line.split(|byte| *byte == b':').next().unwrap_or_default();
    let is_name = |byte: &u8| byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_');
    name.len() < line.len() && !name.is_empty() && name.iter().all(is_name)
}

/// The JSON of a body. What is no character in it becomes U+FFFD, as everywhere that characters are read.
fn json(body: &[u8]) -> Option<Value> {
    let text = String::from_utf8_lossy(body);
    serde_json::from_str(&text).or_else(|_| serde_json::from_str(&with_whole_characters(&text))).ok()
}

/// JSON in which no half of a surrogate pair stands alone, as it does in texts of editors that count in UTF-16.
fn with_whole_characters(json: &str) -> String {
    let unit = |text: &str| u32::from_str_radix(text.strip_prefix("\\u")?.get(..4)?, 16).ok();
    let mut whole = String::with_capacity(json.len());
    let mut rest = json;
    while let Some(at) = rest.find('\\') {
        whole.push_str(&rest[..at]);
        rest = &rest[at..];
        let (new, old) = match unit(rest) {
            Some(0xd800..0xdc00) => match rest.get(6..).and_then(unit) {
                Some(0xdc00..0xe000) => (&rest[..12], 12),
                _ => ("\\ufffd", 6),
            },
            Some(0xdc00..0xe000) => ("\\ufffd", 6),
            _ => {
                let escape = 1 + rest[1..].chars().next().map_or(0, char::len_utf8);
                (&rest[..escape], escape)
            }
        };
        whole.push_str(new);
        rest = &rest[old..];
    }
    whole + rest
}

/// What a value says; if it is no message, the number that it has nevertheless.
fn message(value: Value) -> Result<Heard, Id> {
    let Value::Object(mut it) = value else { return Err(Id::Null) };
    let id: Option<Id> = it.remove("id").map(|id| serde_json::from_value(id).map_err(|_| Id::Null)).transpose()?;
    let own = || id.clone().unwrap_or_default();
    if it.get("jsonrpc").and_then(Value::as_str) != Some("2.0") {
        return Err(own());
    }
    match it.remove("method") {
        Some(Value::String(method)) => {
            let mut request = Request::build(method);
            if let Some(params) = it.remove("params") {
                request = request.params(params);
            }
            if let Some(id) = id {
                request = request.id(id);
            }
            Ok(Heard::Request(request.finish()))
        }
        Some(_) => Err(own()),
        None => Ok(Heard::Response(response(id.clone(), it).ok_or_else(own)?)),
    }
}

fn response(id: Option<Id>, mut it: Map<String, Value>) -> Option<Response> {
    let error = it.remove("error").filter(|it| !it.is_null());
    Some(match (error, it.remove("result")) {
        (Some(error), _) => {
            Response::from_error(id?, serde_json::from_value(error).unwrap_or_else(|_| Error::internal_error()))
        }
        (None, result) => Response::from_ok(id?, result?),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;
    use std::io::BufReader;

    /// All that is heard of an input that comes in small pieces, each with a word for its kind.
    fn heard(input: &[u8]) -> Vec<(&'static str, Value)> {
        let mut reader = Reader::new(BufReader::with_capacity(7, input));
        let mut heard = Vec::new();
        while let Some(it) = reader.next() {
            heard.push(match it {
                Heard::Request(it) => ("request", json!(it)),
                Heard::Response(it) => ("response", json!(it)),
                Heard::Nonsense(it) => ("nonsense", json!({"id": it.id(), "code": it.error().map(|it| it.code)})),
            });
        }
        heard
    }

    fn ask(id: u64) -> Value {
        json!({"jsonrpc": "2.0", "id": id, "method": "ask"})
    }

    fn message(body: &str) -> String {
        format!("Content-Length: {}\r\n\r\n{body}", body.len())
    }

    /// "Base Protocol" of the Language Server Protocol 3.17 for the headers; names of header fields in any case, as RFC 9110,
    /// 5.1 has it.
    #[test]
    fn headers_are_read_however_they_are_written() {
        let body = ask(1).to_string();
        let length = body.len();
        for header in [
            format!("Content-Length: {length}\r\n\r\n"),
            format!("content-length:{length}\r\n\r\n"),
            format!("CONTENT-LENGTH :  {length} \n\n"),
            format!("Content-Type: application/vscode-jsonrpc\r\nContent-Length: {length}\r\n\r\n"),
            format!(
                "Content-Length: {length}\r\nContent-Type: application/vscode-jsonrpc; charset=utf8\r\nX: y\r\n\r\n"
            ),
            format!("\r\n\r\nContent-Length: {length}\r\n\r\n"),
        ] {
            assert_eq!(heard(format!("{header}{body}").as_bytes()), [("request", ask(1))], "{header:?}");
        }
    }

    /// The codes are those of JSON-RPC 2.0, 5.1.
    #[test]
    fn what_is_no_message_is_answered_and_the_next_one_is_heard() {
        let unreadable = ("nonsense", json!({"id": null, "code": -32700}));
        let invalid = |id: Value| ("nonsense", json!({"id": id, "code": -32600}));
        let next = message(&ask(2).to_string());
        for (first, answer) in [
            (message("{\"jsonrpc\""), &unreadable),
            (message(""), &unreadable),
            (message("\u{feff}{}"), &unreadable),
            (message(&"[".repeat(1000)), &unreadable),
            ("Content-Length: -5\r\n\r\n{}".into(), &unreadable),
            ("Content-Length: 99999999999999999999\r\n\r\n{}".into(), &unreadable),
            (format!("Content-Length: {}\r\n\r\n{{}}", MOST + 1), &unreadable),
            ("Content-Length: many\r\n\r\n{}".into(), &unreadable),
            ("Content-Type: text\r\n\r\n{}".into(), &unreadable),
            ("{}\n".into(), &unreadable),
            ("nonsense".into(), &unreadable),
            ("Content-Length: 900\r\n\r\n{\"jsonrpc\": \"2.0\", \"id\":".into(), &unreadable),
            ("Content-Length: 4\r\n\r\n{\"jsonrpc\": \"2.0\", \"id\":".into(), &unreadable),
            ("Content-Length: 7\r\n\r\n{}".into(), &unreadable),
            ("Content-Length: 26\r\n\r\n{}".into(), &unreadable),
            (message("[]"), &invalid(Value::Null)),
            (message("7"), &invalid(Value::Null)),
            (message("{\"jsonrpc\": \"1.0\", \"id\": 5, \"method\": \"ask\"}"), &invalid(json!(5))),
            (message("{\"jsonrpc\": \"2.0\", \"id\": 5, \"method\": 6}"), &invalid(json!(5))),
            (message("{\"jsonrpc\": \"2.0\", \"id\": \"five\"}"), &invalid(json!("five"))),
            (message("{\"jsonrpc\": \"2.0\", \"id\": [5], \"method\": \"ask\"}"), &invalid(Value::Null)),
        ] {
            let all = heard(format!("{first}{next}").as_bytes());
            assert_eq!(all, [answer.clone(), ("request", ask(2))], "{first:?}");
        }
    }

    #[test]
    fn answers_are_heard() {
        let is = |body: Value| heard(message(&body.to_string()).as_bytes());
        let answer = json!({"jsonrpc": "2.0", "result": null, "id": 3});
        assert_eq!(is(answer.clone()), [("response", answer)]);
        let error = json!({"jsonrpc": "2.0", "error": {"code": -32601, "message": "no"}, "id": 3});
        assert_eq!(is(error.clone()), [("response", error)]);
        let with_more = json!({"jsonrpc": "2.0", "error": {"code": 1, "message": "no", "stack": []}, "id": 3});
        assert_eq!(is(with_more)[0].1["error"]["code"], -32603);
    }

    /// Half of a pair is no character (The Unicode Standard, 3.8, D71 to D75; number from memory).
    #[test]
    fn half_a_character_becomes_a_whole_one() {
        for (written, read) in [
            (r"a\ud83d", "a\u{fffd}"),
            (r"\udd25b", "\u{fffd}b"),
            (r"\ud83d\ud83d\udd25", "\u{fffd}\u{1f525}"),
            (r"\uD83D\n\udd25", "\u{fffd}\n\u{fffd}"),
            (r"\\ud83d", r"\ud83d"),
            (r"\ud83d\\udd25é", "\u{fffd}\\udd25é"),
        ] {
            let body =
                format!("{{\"jsonrpc\": \"2.0\", \"method\": \"tell\", \"params\": {{\"text\": \"{written}\"}}}}");
            assert_eq!(heard(message(&body).as_bytes())[0].1["params"]["text"], read, "{written}");
        }
    }

    /// Whatever is done to the bytes of a conversation, the message behind them is heard.
    #[test]
    fn after_any_garbage_the_next_message_is_heard() {
        let mut chance: u64 = 7;
        let mut below = |end: usize| {
            // The generator of Knuth, "The Art of Computer Programming", volume 2, 3.3.4 (from memory).
            chance = chance.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (chance >> 33) as usize % end.max(1)
        };
        let talk: String = (0..4).map(|id| message(&ask(id).to_string())).collect();
        let pieces: [&[u8]; 8] = [
            b"\n",
            b"\r\n\r\n",
            b"Content-Length: ",
            b"\"",
            b"\\ud800",
            b"\xff",
            b"9",
            b"content-length: 30\r\n\r\n{}",
        ];
        for round in 0..20_000 {
            let mut bytes = talk.clone().into_bytes();
            for _ in 0..=below(6) {
                let at = below(bytes.len());
                match below(4) {
                    0 if at < bytes.len() => bytes[at] = below(256) as u8,
                    1 => bytes.truncate(at),
                    2 => drop(bytes.drain(at..(at + below(9)).min(bytes.len()))),
                    _ => drop(bytes.splice(at..at, pieces[below(8)].iter().copied())),
                }
            }
            let said = String::from_utf8_lossy(&bytes).into_owned();
            bytes.extend(message(&ask(77).to_string()).bytes());
            let last = heard(&bytes).pop();
            assert_eq!(last, Some(("request", ask(77))), "round {round}: {said:?}");
        }
    }
}
