//! The language server as an editor meets it: the program itself, over its standard streams.
//!
//! What is found and how it is worded is tested where it is made. The messages are those of the Language Server
//! Protocol 3.17, and the columns are counted by hand after its "Position" and "PositionEncodingKind".

#[path = "editor/mod.rs"]
mod editor;

use editor::{Editor, at, folder, framed, full, ranges};
use serde_json::{Value, json};

/// Two keys that the format does not know, one of them behind a character that UTF-16 counts twice.
const FAULTY: &str = "format: 1\r\nproject: {name: Kiln 🔥 Yard, colour: red}\r\nwalls:\r\n  W1: {line: [[0, 0], [4, 0]], thicknes: 100 mm}\r\n";

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
    let nothing = editor.request("textDocument/hover", json!({"textDocument": {"uri": uri}, "position": at(9, 1)}));
    assert_eq!(nothing, Value::Null);

    let context = json!({"diagnostics": [], "only": ["quickfix"]});
    let selected = json!({"start": at(3, 33), "end": at(3, 33)});
    let params = json!({"textDocument": {"uri": uri}, "range": selected, "context": context});
    let actions = editor.request("textDocument/codeAction", params);
    let action = &actions[0];
    assert_eq!((&action["title"], &action["kind"]), (&json!("write `thickness`"), &json!("quickfix")));
    assert_eq!(action["isPreferred"], true);
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

/// The codes are those of JSON-RPC 2.0, 5.1; that nothing known of the text is lost is asked of the findings.
#[test]
fn messages_that_cannot_be_read_are_answered_and_survived() {
    let (mut editor, _) = Editor::begun(json!({}));
    let uri = "file:///nowhere/garbage.ufh.yaml";
    editor.open(uri, 1, "format: 1\n");
    for (bytes, code) in [
        (framed("{\"jsonrpc\": \"2.0\", \"id\": 7,"), -32700),
        (framed(""), -32700),
        (framed("[]"), -32600),
        (b"Content-Length: -7\r\n\r\n".to_vec(), -32700),
        (b"Content-Length: 99999999999\r\n\r\n".to_vec(), -32700),
        (b"Content-Length: 400\r\n\r\n{\"jsonrpc\":".to_vec(), -32700),
        (b"Content-Type: text/plain\r\n\r\n{}\r\n".to_vec(), -32700),
        (b"\x00\xff\x00\n".to_vec(), -32700),
    ] {
        editor.say_bytes(&bytes);
        let question = editor.ask("textDocument/hover", json!({"textDocument": {"uri": uri}, "position": at(0, 1)}));
        assert!(editor.answer(question)["result"].is_object(), "{}", String::from_utf8_lossy(&bytes));
        let answer = editor.wait(|it| it.get("id").is_some_and(Value::is_null));
        assert_eq!(answer["error"]["code"], code, "{}", String::from_utf8_lossy(&bytes));
    }
    // A header in other letters, and half a character in a text.
    let change = json!({"jsonrpc": "2.0", "method": "textDocument/didChange", "params": {
        "textDocument": {"uri": uri, "version": 2}, "contentChanges": [{"text": "format: 1 # HALF\nwals: {}\n"}]}});
    let change = change.to_string().replace("HALF", "\\ud83d");
    let header = format!("content-type: application/vscode-jsonrpc\r\ncontent-length: {}\r\n\r\n", change.len());
    editor.say_bytes((header + &change).as_bytes());
    assert_eq!(ranges(&editor.findings(uri, 2), "unknown-field"), [(1, 0, 4)]);
    assert_eq!(editor.end(), 0);
}

/// "initialize", "shutdown" and "$ Notifications and Requests" of the Language Server Protocol 3.17.
#[test]
fn requests_out_of_turn_are_refused() {
    let mut editor = Editor::new();
    let code = |editor: &mut Editor, method: &str| {
        let id = editor.ask(method, json!({}));
        editor.answer(id)["error"]["code"].as_i64()
    };
    for method in ["shutdown", "textDocument/hover", "hypocaust/unheardOf", "$/unheardOf"] {
        assert_eq!(code(&mut editor, method), Some(-32002), "{method} before `initialize`");
    }
    editor.notify("textDocument/didOpen", json!({}));
    editor.request("initialize", json!({"processId": null, "rootUri": null, "capabilities": {}}));
    for method in ["hypocaust/unheardOf", "$/unheardOf"] {
        assert_eq!(code(&mut editor, method), Some(-32601), "{method}");
    }
    assert_eq!(code(&mut editor, "initialize"), Some(-32600), "twice");
    editor.request("shutdown", json!({}));
    for method in ["textDocument/hover", "hypocaust/unheardOf", "shutdown", "initialize"] {
        assert_eq!(code(&mut editor, method), Some(-32600), "{method} after `shutdown`");
    }
    editor.notify("exit", json!({}));
    assert_eq!(editor.status(), 0);
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
