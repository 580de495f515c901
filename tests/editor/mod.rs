//! An editor for tests: the program itself, over its standard streams, as an editor speaks to it.

#![allow(dead_code, reason = "each file of tests uses a part of it")]

use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

/// Longer than anything here takes, even on a machine that is busy with something else.
pub const LONG: Duration = Duration::from_secs(60);

/// An editor with one server.
pub struct Editor {
    pub server: Child,
    pub input: Option<ChildStdin>,
    heard: Receiver<Value>,
    /// What was heard while something else was waited for.
    pub kept: Vec<Value>,
    requests: u64,
    /// What the user has set.
    pub settings: Value,
    /// What the server asked of the editor, and was answered.
    pub asked: Vec<Value>,
}

impl Editor {
    pub fn new() -> Editor {
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
        Editor { server, input, heard, kept: Vec::new(), requests: 0, settings: Value::Null, asked: Vec::new() }
    }

    /// An editor that has begun to speak with its server; gives what the server can do.
    pub fn begun(capabilities: Value) -> (Editor, Value) {
        let mut editor = Editor::new();
        let answer =
            editor.request("initialize", json!({"processId": null, "rootUri": null, "capabilities": capabilities}));
        editor.notify("initialized", json!({}));
        (editor, answer)
    }

    pub fn say(&mut self, message: Value) {
        self.say_bytes(&framed(&message.to_string()));
    }

    pub fn say_bytes(&mut self, bytes: &[u8]) {
        let input = self.input.as_mut().expect("the editor has not hung up");
        input.write_all(bytes).and_then(|()| input.flush()).expect("the server listens");
    }

    pub fn notify(&mut self, method: &str, params: Value) {
        self.say(json!({"jsonrpc": "2.0", "method": method, "params": params}));
    }

    /// Asks and goes on; the number of the question.
    pub fn ask(&mut self, method: &str, params: Value) -> u64 {
        self.requests += 1;
        self.say(json!({"jsonrpc": "2.0", "id": self.requests, "method": method, "params": params}));
        self.requests
    }

    pub fn answer(&mut self, id: u64) -> Value {
        self.wait_for(&format!("answer {id}"), |message| message["id"] == id && message.get("method").is_none())
    }

    /// Asks and waits for a result.
    pub fn request(&mut self, method: &str, params: Value) -> Value {
        let id = self.ask(method, params);
        let answer = self.answer(id);
        assert!(answer.get("error").is_none(), "{method}: {answer}");
        answer["result"].clone()
    }

    /// The first message that is wanted, of those heard already and those to come.
    pub fn wait(&mut self, wanted: impl Fn(&Value) -> bool) -> Value {
        self.wait_for("it", wanted)
    }

    fn wait_for(&mut self, what: &str, wanted: impl Fn(&Value) -> bool) -> Value {
        if let Some(at) = self.kept.iter().position(&wanted) {
            return self.kept.remove(at);
        }
        loop {
            let message = self.heard.recv_timeout(LONG);
            let message =
                message.unwrap_or_else(|error| panic!("the server does not say what it must, {what}: {error}"));
            self.oblige(&message);
            if wanted(&message) {
                return message;
            }
            self.kept.push(message);
        }
    }

    /// Answers what the server asks.
    fn oblige(&mut self, message: &Value) {
        let (Some(id), Some(method)) = (message.get("id"), message.get("method")) else { return };
        let result = match method.as_str() {
            Some("workspace/configuration") => json!([self.settings["hypocaust"]]),
            Some("window/showDocument") => json!({"success": true}),
            _ => Value::Null,
        };
        self.asked.push(message.clone());
        self.say(json!({"jsonrpc": "2.0", "id": id, "result": result}));
    }

    pub fn open(&mut self, uri: &str, version: i32, text: &str) {
        let document = json!({"uri": uri, "languageId": "yaml", "version": version, "text": text});
        self.notify("textDocument/didOpen", json!({"textDocument": document}));
    }

    pub fn change(&mut self, uri: &str, version: i32, changes: Value) {
        let document = json!({"uri": uri, "version": version});
        self.notify("textDocument/didChange", json!({"textDocument": document, "contentChanges": changes}));
    }

    /// The findings of a version of a document.
    pub fn findings(&mut self, uri: &str, version: impl Into<Option<i32>>) -> Vec<Value> {
        let version = version.into();
        let published = self.wait(|it| {
            it["method"] == "textDocument/publishDiagnostics"
                && it["params"]["uri"] == uri
                && it["params"]["version"].as_i64() == version.map(i64::from)
        });
        published["params"]["diagnostics"].as_array().expect("a list").clone()
    }

    /// Says goodbye as the protocol wants it and leaves the line open; the exit status.
    pub fn end(mut self) -> i32 {
        assert_eq!(self.request("shutdown", Value::Null), Value::Null);
        self.notify("exit", Value::Null);
        self.status()
    }

    pub fn status(&mut self) -> i32 {
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

/// A message with its header.
pub fn framed(body: &str) -> Vec<u8> {
    format!("Content-Length: {}\r\n\r\n{body}", body.len()).into_bytes()
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
pub fn ranges(findings: &[Value], rule: &str) -> Vec<(u64, u64, u64)> {
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

pub fn at(line: u64, character: u64) -> Value {
    json!({"line": line, "character": character})
}

/// What a full-grown editor can do.
pub fn full() -> Value {
    json!({
        "workspace": {"workspaceEdit": {"documentChanges": true}},
        "textDocument": {
            "publishDiagnostics": {"relatedInformation": true, "versionSupport": true},
            "hover": {"contentFormat": ["markdown", "plaintext"]},
            "codeAction": {"codeActionLiteralSupport": {"codeActionKind": {"valueSet": ["quickfix"]}}},
        },
    })
}

/// What an editor can do that can do everything.
pub fn everything() -> Value {
    json!({
        "general": {"positionEncodings": ["utf-16"]},
        "window": {"showDocument": {"support": true}, "workDoneProgress": true},
        "workspace": {
            "configuration": true,
            "workspaceEdit": {"documentChanges": true, "resourceOperations": ["create"]},
            "didChangeWatchedFiles": {"dynamicRegistration": true},
            "inlayHint": {"refreshSupport": true},
            "codeLens": {"refreshSupport": true},
            "diagnostics": {"refreshSupport": true},
            "diagnostic": {"refreshSupport": true},
        },
        "textDocument": {
            "diagnostic": {"dynamicRegistration": true, "relatedDocumentSupport": true},
            "publishDiagnostics": {"relatedInformation": true, "versionSupport": true, "tagSupport": {"valueSet": [1, 2]}},
            "hover": {"contentFormat": ["markdown", "plaintext"]},
            "completion": {"completionItem": {"snippetSupport": true, "documentationFormat": ["markdown"]}},
            "documentSymbol": {"hierarchicalDocumentSymbolSupport": true},
            "codeAction": {
                "codeActionLiteralSupport": {"codeActionKind": {"valueSet": ["quickfix", "refactor", "source"]}},
                "dataSupport": true,
                "resolveSupport": {"properties": ["edit"]},
            },
        },
    })
}

/// A folder of its own for a test, with a name that must be written with percent signs in a URI.
pub fn folder(name: &str) -> (PathBuf, String) {
    let parent = Path::new(env!("CARGO_TARGET_TMPDIR")).join("language_server");
    let path = parent.join(format!("{name} 21 °C 100 %"));
    let _ = std::fs::remove_dir_all(&path);
    std::fs::create_dir_all(path.join("library")).expect("the target folder can be written to");
    let parent = parent.to_str().expect("the target folder has a plain name").replace(' ', "%20");
    (path, format!("file://{parent}/{name}%2021%20%C2%B0C%20100%20%25"))
}
