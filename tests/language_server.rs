//! The language server as an editor meets it: the program itself, over its standard streams.
//!
//! What is found and how it is worded is tested where it is made. The messages are those of the Language Server
//! Protocol 3.17, and the columns are counted by hand after its "Position" and "PositionEncodingKind".

use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

/// Longer than anything here takes, even on a machine that is busy with something else.
const LONG: Duration = Duration::from_secs(60);

/// Two keys that the format does not know, one of them behind a character that UTF-16 counts twice.
const FAULTY: &str = "format: 1\r\nproject: {name: Kiln 🔥 Yard, colour: red}\r\nwalls:\r\n  W1: {line: [[0, 0], [4, 0]], thicknes: 100 mm}\r\n";

/// An editor with one server.
struct Editor {
    server: Child,
    input: Option<ChildStdin>,
    heard: Receiver<Value>,
    /// What was heard while something else was waited for.
    kept: Vec<Value>,
    requests: u64,
}

impl Editor {
    fn new() -> Editor {
        let mut server = Command::new(env!("CARGO_BIN_EXE_hypocaust"))
            .arg("language-server")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let input = server.stdin.take();
        let mut output = BufReader::new(server.stdout.take().expect("standard output is a pipe"));
        let (say, heard) = channel();
        std::thread::spawn(move || {
            while let Some(message) = read(&mut output) {
                if say.send(message).is_err() {
                    return;
                }
            }
        });
        Editor { server, input, heard, kept: Vec::new(), requests: 0 }
    }

    /// An editor that has begun to speak with its server; gives what the server can do.
    fn begun(capabilities: Value) -> (Editor, Value) {
        let mut editor = Editor::new();
        let answer =
            editor.request("initialize", json!({"processId": null, "rootUri": null, "capabilities": capabilities}));
        editor.notify("initialized", json!({}));
        (editor, answer)
    }

    fn say(&mut self, message: Value) {
        let text = message.to_string();
        let input = self.input.as_mut().expect("the editor has not hung up");
        write!(input, "Content-Length: {}\r\n\r\n{text}", text.len()).expect("the server listens");
        input.flush().expect("the server listens");
    }

    fn notify(&mut self, method: &str, params: Value) {
        self.say(json!({"jsonrpc": "2.0", "method": method, "params": params}));
    }

    /// Asks and goes on; the number of the question.
    fn ask(&mut self, method: &str, params: Value) -> u64 {
        self.requests += 1;
        self.say(json!({"jsonrpc": "2.0", "id": self.requests, "method": method, "params": params}));
        self.requests
    }

    fn answer(&mut self, id: u64) -> Value {
        self.wait(|message| message["id"] == id && message.get("method").is_none())
    }

    /// Asks and waits for a result.
    fn request(&mut self, method: &str, params: Value) -> Value {
        let id = self.ask(method, params);
        let answer = self.answer(id);
        assert!(answer.get("error").is_none(), "{method}: {answer}");
        answer["result"].clone()
    }

    /// The first message that is wanted, of those heard already and those to come.
    fn wait(&mut self, wanted: impl Fn(&Value) -> bool) -> Value {
        if let Some(at) = self.kept.iter().position(&wanted) {
            return self.kept.remove(at);
        }
        loop {
            let message = self.heard.recv_timeout(LONG).expect("the server says what it must");
            if wanted(&message) {
                return message;
            }
            self.kept.push(message);
        }
    }

    fn open(&mut self, uri: &str, version: i32, text: &str) {
        let document = json!({"uri": uri, "languageId": "yaml", "version": version, "text": text});
        self.notify("textDocument/didOpen", json!({"textDocument": document}));
    }

    fn change(&mut self, uri: &str, version: i32, changes: Value) {
        let document = json!({"uri": uri, "version": version});
        self.notify("textDocument/didChange", json!({"textDocument": document, "contentChanges": changes}));
    }

    /// The findings of a version of a document.
    fn findings(&mut self, uri: &str, version: impl Into<Option<i32>>) -> Vec<Value> {
        let version = version.into();
        let published = self.wait(|it| {
            it["method"] == "textDocument/publishDiagnostics"
                && it["params"]["uri"] == uri
                && it["params"]["version"].as_i64() == version.map(i64::from)
        });
        published["params"]["diagnostics"].as_array().expect("a list").clone()
    }

    /// Says goodbye as the protocol wants it and leaves the line open; the exit status.
    fn end(mut self) -> i32 {
        assert_eq!(self.request("shutdown", Value::Null), Value::Null);
        self.notify("exit", Value::Null);
        self.status()
    }

    fn status(&mut self) -> i32 {
        let begun = Instant::now();
        while begun.elapsed() < LONG {
            if let Some(status) = self.server.try_wait().expect("the program can be waited for") {
                return status.code().expect("the program ends by itself");
            }
            std::thread::sleep(Duration::from_millis(2));
        }
        panic!("the server does not end");
    }
}

impl Drop for Editor {
    fn drop(&mut self) {
        // Only a test that has failed leaves it running.
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}

/// The next message; nothing at the end of the stream.
fn read(from: &mut impl BufRead) -> Option<Value> {
    let mut length = 0;
    loop {
        let mut line = String::new();
        from.read_line(&mut line).ok().filter(|read| *read > 0)?;
        match line.trim_end().split_once(": ") {
            Some(("Content-Length", value)) => length = value.parse().expect("a length is a number"),
            Some(_) => {}
            None => break,
        }
    }
    let mut body = vec![0; length];
    from.read_exact(&mut body).ok()?;
    Some(serde_json::from_slice(&body).expect("a message is JSON"))
}

/// The findings of the rule, each as its line, first and last character.
fn ranges(findings: &[Value], rule: &str) -> Vec<(u64, u64, u64)> {
    let of_rule = findings.iter().filter(|it| it["code"] == rule);
    of_rule
        .map(|it| {
            let range = &it["range"];
            assert_eq!(range["start"]["line"], range["end"]["line"], "{it}");
            let number = |value: &Value| value.as_u64().expect("a number");
            (number(&range["start"]["line"]), number(&range["start"]["character"]), number(&range["end"]["character"]))
        })
        .collect()
}

fn at(line: u64, character: u64) -> Value {
    json!({"line": line, "character": character})
}

/// What a full-grown editor can do.
fn full() -> Value {
    json!({
        "workspace": {"workspaceEdit": {"documentChanges": true}},
        "textDocument": {
            "publishDiagnostics": {"relatedInformation": true, "versionSupport": true},
            "hover": {"contentFormat": ["markdown", "plaintext"]},
            "codeAction": {"codeActionLiteralSupport": {"codeActionKind": {"valueSet": ["quickfix"]}}},
        },
    })
}

/// A folder of its own for a test, with a name that must be written with percent signs in a URI.
fn folder(name: &str) -> (PathBuf, String) {
    let parent = Path::new(env!("CARGO_TARGET_TMPDIR")).join("language_server");
    let path = parent.join(format!("{name} 21 °C 100 %"));
    let _ = std::fs::remove_dir_all(&path);
    std::fs::create_dir_all(path.join("library")).expect("the target folder can be written to");
    let parent = parent.to_str().expect("the target folder has a plain name").replace(' ', "%20");
    (path, format!("file://{parent}/{name}%2021%20%C2%B0C%20100%20%25"))
}

#[test]
fn a_session_from_first_fault_to_clean() {
    let uri = "file:///nowhere/kiln.ufh.yaml";
    let (mut editor, server) = Editor::begun(full());
    assert_eq!(server["serverInfo"]["name"], "hypocaust");
    assert_eq!(server["capabilities"]["positionEncoding"], "utf-16");
    assert_eq!(server["capabilities"]["textDocumentSync"]["change"], 2, "incremental");

    editor.open(uri, 1, FAULTY);
    let found = editor.findings(uri, 1);
    assert_eq!(ranges(&found, "unknown-field"), [(1, 30, 36), (3, 31, 39)]);
    let thicknes = found.iter().find(|it| it["range"]["start"]["line"] == 3 && it["code"] == "unknown-field");
    let thicknes = thicknes.expect("it was just seen");
    assert_eq!((&thicknes["source"], &thicknes["severity"]), (&json!("hypocaust"), &json!(2)));
    assert_eq!(thicknes["message"], "a wall has no key `thicknes`; did you mean `thickness`");

    let hover = editor.request("textDocument/hover", json!({"textDocument": {"uri": uri}, "position": at(3, 33)}));
    let text = hover["contents"]["value"].as_str().expect("there is something to tell");
    assert!(text.contains("**unknown-field**: Every key must be one of the format."), "{text}");
    assert_eq!(hover["range"], json!({"start": at(3, 31), "end": at(3, 39)}));
    let nothing = editor.request("textDocument/hover", json!({"textDocument": {"uri": uri}, "position": at(0, 1)}));
    assert_eq!(nothing, Value::Null);

    let context = json!({"diagnostics": [], "only": ["quickfix"]});
    let selected = json!({"start": at(3, 33), "end": at(3, 33)});
    let params = json!({"textDocument": {"uri": uri}, "range": selected, "context": context});
    let actions = editor.request("textDocument/codeAction", params);
    let action = &actions[0];
    assert_eq!((&action["title"], &action["kind"]), (&json!("write `thickness`"), &json!("quickfix")));
    assert_eq!(&action["diagnostics"][0], thicknes);
    let edit = &action["edit"]["documentChanges"][0];
    assert_eq!(edit["textDocument"], json!({"uri": uri, "version": 1}));

    let change = json!([{"range": edit["edits"][0]["range"], "text": edit["edits"][0]["newText"]}]);
    editor.change(uri, 2, change);
    assert_eq!(ranges(&editor.findings(uri, 2), "unknown-field"), [(1, 30, 36)]);
    // From the comma to the end of the value: behind the fire, two units for one character.
    editor.change(uri, 3, json!([{"range": {"start": at(1, 28), "end": at(1, 41)}, "text": ""}]));
    assert_eq!(ranges(&editor.findings(uri, 3), "unknown-field"), []);

    editor.notify("textDocument/didClose", json!({"textDocument": {"uri": uri}}));
    assert!(editor.findings(uri, None).is_empty());
    assert_eq!(editor.end(), 0);
}

#[test]
fn columns_are_counted_as_agreed() {
    let agreed = [("utf-8", 32), ("utf-16", 30), ("utf-32", 29)];
    for (encoding, column) in agreed {
        let (mut editor, server) = Editor::begun(json!({"general": {"positionEncodings": [encoding, "utf-16"]}}));
        assert_eq!(server["capabilities"]["positionEncoding"], encoding);
        editor.open("untitled:Untitled-1", 1, FAULTY);
        let found = editor.findings("untitled:Untitled-1", 1);
        assert_eq!(ranges(&found, "unknown-field")[0], (1, column, column + 6), "{encoding}");
        assert_eq!(editor.end(), 0);
    }
}

#[test]
fn a_library_is_read_from_the_editor_before_the_disk() {
    let (path, uri) = folder("library");
    std::fs::write(path.join("library/pipes.ufh.yaml"), "format: 1\npipes: {thin: {}}\n")
        .expect("a file can be written");
    let (design, library) = (format!("{uri}/house.ufh.yaml"), format!("{uri}/library/pipes.ufh.yaml"));
    let (mut editor, _) = Editor::begun(full());
    editor.open(&design, 7, "format: 1\nlibrary: [library/pipes.ufh.yaml]\nloops: {L1: {pipe: thin}}\n");
    assert_eq!(ranges(&editor.findings(&design, 7), "unknown-reference"), []);

    editor.open(&library, 1, "format: 1\npipes: {wide: {materal: PE-X}}\n");
    assert_eq!(ranges(&editor.findings(&design, 7), "unknown-reference"), [(2, 19, 23)]);
    assert_eq!(ranges(&editor.findings(&library, 1), "unknown-field"), [(1, 15, 22)]);

    editor.notify("textDocument/didClose", json!({"textDocument": {"uri": library}}));
    assert!(editor.findings(&library, None).is_empty());
    assert_eq!(ranges(&editor.findings(&design, 7), "unknown-reference"), []);
    assert_eq!(editor.end(), 0);
}

#[test]
fn a_burst_of_edits_ends_on_the_last_text() {
    let uri = "file:///nowhere/burst.ufh.yaml";
    let (mut editor, _) = Editor::begun(json!({}));
    editor.open(uri, 0, "format: 1\nwals: {}\n");
    for version in 1..=200 {
        let end = at(1, 3 + version as u64 - 1);
        editor.change(uri, version, json!([{"range": {"start": end, "end": end}, "text": "s"}]));
    }
    let found = editor.findings(uri, 200);
    assert_eq!(ranges(&found, "unknown-field"), [(1, 0, 204)]);
    let versions: Vec<i64> = editor.kept.iter().filter_map(|it| it["params"]["version"].as_i64()).collect();
    assert!(versions.is_sorted(), "{versions:?}");
    assert_eq!(editor.end(), 0);
}

#[test]
fn every_question_has_one_answer_be_it_cancelled() {
    let uri = "file:///nowhere/cancel.ufh.yaml";
    let (mut editor, _) = Editor::begun(full());
    editor.open(uri, 1, FAULTY);
    let mut asked = Vec::new();
    for _ in 0..20 {
        let params = json!({"textDocument": {"uri": uri}, "range": {"start": at(0, 0), "end": at(9, 0)}, "context": {"diagnostics": []}});
        let id = editor.ask("textDocument/codeAction", params);
        editor.notify("$/cancelRequest", json!({"id": id}));
        asked.push(id);
    }
    for id in asked {
        let answer = editor.answer(id);
        assert!(answer["result"].is_array() || answer["error"]["code"] == -32800, "{answer}");
    }
    assert!(editor.kept.iter().all(|it| it.get("id").is_none()), "no second answers");
    assert_eq!(editor.end(), 0);
}

#[test]
fn nonsense_is_answered_and_survived() {
    let (mut editor, _) = Editor::begun(json!({}));
    let uri = "file:///nowhere/nonsense.ufh.yaml";
    editor.change(uri, 5, json!([{"text": "never opened"}]));
    editor.notify("textDocument/didClose", json!({"textDocument": {"uri": uri}}));
    editor.notify("textDocument/didChange", json!({"textDocument": "what"}));
    let id = editor.ask("textDocument/hover", json!({"textDocument": {"uri": "not a uri"}}));
    assert!(editor.answer(id)["error"].is_object());
    let id = editor.ask("hypocaust/unheardOf", json!({}));
    assert_eq!(editor.answer(id)["error"]["code"], -32601);
    editor.open(uri, 1, "format: 1\n");
    editor.change(uri, 2, json!([{"range": {"start": at(9, 9), "end": at(0, 99)}, "text": "wals: {}"}]));
    editor.findings(uri, 2);
    let hover =
        editor.request("textDocument/hover", json!({"textDocument": {"uri": uri}, "position": at(4_000_000_000, 7)}));
    assert!(hover.is_null() || hover.is_object());
    assert_eq!(editor.end(), 0);
}

#[test]
fn the_end_is_prompt_and_tells_whether_it_was_orderly() {
    let (mut editor, _) = Editor::begun(json!({}));
    editor.notify("exit", Value::Null);
    assert_eq!(editor.status(), 1, "exit without shutdown");

    let (mut editor, _) = Editor::begun(json!({}));
    editor.input = None;
    assert_eq!(editor.status(), 1, "the editor has gone");

    // Both at once: the answer must not get lost.
    let (mut editor, _) = Editor::begun(json!({}));
    let id = editor.ask("shutdown", Value::Null);
    editor.notify("exit", Value::Null);
    assert_eq!(editor.answer(id)["result"], Value::Null);
    assert_eq!(editor.status(), 0);
}
