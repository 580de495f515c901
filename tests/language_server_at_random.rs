//! The language server under random edits and random messages: whatever is done to it, its texts are those of the editor, its
//! findings those of a check at the command line, and every request is answered once.
//!
//! `HYPOCAUST_ROUNDS` makes it longer; the test of the memory is run by hand: `cargo test -p hypocaust --test
//! language_server_at_random -- --ignored`.

#[path = "editor/mod.rs"]
mod editor;

use editor::{Editor, LONG, at, everything, framed};
use serde_json::{Value, json};
use std::collections::HashSet;
use std::process::Command;
use std::time::Instant;

/// The linear congruential generator of Knuth, "The Art of Computer Programming", volume 2, 3.3.4 (from memory).
struct Chance(u64);

impl Chance {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % end.max(1)
    }

    fn of<T: Copy>(&mut self, list: &[T]) -> T {
        list[self.below(list.len())]
    }
}

fn rounds(usual: usize) -> usize {
    std::env::var("HYPOCAUST_ROUNDS").ok().and_then(|it| it.parse().ok()).unwrap_or(usual)
}

const START: &str = "format: 1\r\nproject: {name: Ofen 🔥 Hof}\nrooms:\n  hall: {use: living, temperature: 20 °C, area: 12 m²} # Ø\n  bath: {use: bathroom}\n\
                     loops:\n  L1: {room: hall, pipe: PE-X 16 x 2, spacing: 150 mm, tails: 12 m}\n";
const PIECES: [&str; 16] = [
    "",
    "a",
    "°C",
    "m²",
    "🔥",
    "\n",
    "\r\n",
    "\r",
    "  L2: {room: bath}\n",
    "\u{feff}",
    "e\u{301}",
    "spacing: ",
    "{",
    "]",
    "rooms:\n",
    "\t",
];

/// A text the way an editor of that encoding holds it; it knows nothing of bytes.
struct Model {
    encoding: &'static str,
    text: Vec<char>,
}

impl Model {
    fn units(&self, c: char) -> u64 {
        match self.encoding {
            "utf-8" => c.len_utf8() as u64,
            "utf-16" => c.len_utf16() as u64,
            _ => 1,
        }
    }

    /// Every place between characters that can be named, with its line and character.
    fn places(&self) -> Vec<(usize, (u64, u64))> {
        let (mut line, mut character) = (0, 0);
        let mut places = Vec::with_capacity(self.text.len() + 1);
        for (index, c) in self.text.iter().enumerate() {
            let inside = index > 0 && self.text[index - 1] == '\r' && *c == '\n';
            if !inside {
                places.push((index, (line, character)));
            }
            if *c == '\n' || *c == '\r' && self.text.get(index + 1) != Some(&'\n') {
                (line, character) = (line + 1, 0);
            } else {
                character += self.units(*c);
            }
        }
        places.push((self.text.len(), (line, character)));
        places
    }

    /// An edit somewhere, made here and told as the protocol has it.
    fn edit(&mut self, chance: &mut Chance) -> Value {
        let places = self.places();
        let from = chance.below(places.len());
        // Mostly a few letters, now and then a great part.
        let most = if chance.below(10) == 0 { places.len() } else { 4 };
        let to = (from + chance.below(most)).min(places.len() - 1);
        let new = chance.of(&PIECES);
        self.text.splice(places[from].0..places[to].0, new.chars());
        let point = |it: (u64, u64)| at(it.0, it.1);
        json!({"range": {"start": point(places[from].1), "end": point(places[to].1)}, "text": new})
    }

    fn written(&self) -> String {
        self.text.iter().collect()
    }
}

/// The findings of a check at the command line: rule, message, and first and last byte.
fn at_the_command_line(text: &str, name: &str) -> Vec<(String, String, u64, u64)> {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::create_dir_all(&folder).expect("the target folder can be written to");
    let file = folder.join("random.ufh.yaml");
    std::fs::write(&file, text).expect("a file can be written");
    let output = Command::new(env!("CARGO_BIN_EXE_hypocaust"))
        .args(["check", "--format", "json"])
        .arg(&file)
        .output()
        .expect("the program starts");
    let report: Value = serde_json::from_slice(&output.stdout).expect("the report is JSON");
    let findings = report["designs"][0]["findings"].as_array().expect("a list").clone();
    let shown = |it: &Value| {
        let text = |key: &str| it[key].as_str().expect("a text").to_string();
        let byte = |nth: usize| it["span"]["bytes"][nth].as_u64().expect("a number");
        (text("rule"), text("message"), byte(0), byte(1))
    };
    let mut findings: Vec<_> = findings.iter().map(shown).collect();
    findings.sort();
    findings
}

/// The byte of a position.
fn byte(text: &str, position: &Value, encoding: &'static str) -> u64 {
    let model = Model { encoding, text: text.chars().collect() };
    let wanted = (position["line"].as_u64().expect("a number"), position["character"].as_u64().expect("a number"));
    let place =
        model.places().into_iter().find(|(_, it)| *it == wanted).unwrap_or_else(|| panic!("{wanted:?} is no place"));
    model.text[..place.0].iter().map(|c| c.len_utf8() as u64).sum()
}

#[test]
fn any_edits_in_any_encoding_end_in_the_findings_of_the_command_line() {
    for encoding in ["utf-8", "utf-16", "utf-32"] {
        for seed in 0..rounds(4) as u64 {
            let mut chance = Chance(seed * 3 + encoding.len() as u64);
            let uri = "file:///nowhere/random.ufh.yaml";
            let (mut editor, _) = Editor::begun(json!({"general": {"positionEncodings": [encoding]}}));
            let mut model = Model { encoding, text: START.chars().collect() };
            editor.open(uri, 0, START);
            let last = 40;
            for version in 1..=last {
                let changes: Vec<Value> = (0..=chance.below(3)).map(|_| model.edit(&mut chance)).collect();
                editor.change(uri, version, json!(changes));
                if chance.below(6) == 0 {
                    editor.findings(uri, version);
                }
            }
            editor.change(uri, last + 1, json!([]));
            let text = model.written();
            let shown = editor.findings(uri, last + 1);
            let mut found: Vec<_> = shown
                .iter()
                .map(|it| {
                    let text_of = |key: &str| it[key].as_str().expect("a text").to_string();
                    let place = |end: &str| byte(&text, &it["range"][end], encoding);
                    (text_of("code"), text_of("message"), place("start"), place("end"))
                })
                .collect();
            found.sort();
            let name = format!("random {encoding}");
            let wanted = at_the_command_line(&text, &name);
            // Line breaks at the end of what is marked are left out for an editor, and places inside a character or a line break are
            // moved to the nearest one that can be named.
            let rough = |all: &[(String, String, u64, u64)]| {
                let mut all: Vec<_> = all.iter().map(|it| (it.0.clone(), it.1.clone())).collect();
                all.sort();
                all
            };
            assert_eq!(rough(&found), rough(&wanted), "{encoding} seed {seed}\n{text:?}");
            let trimmed = |it: &(String, String, u64, u64)| {
                let marked = text.get(it.2 as usize..it.3 as usize).unwrap_or_default();
                let end = it.2 + marked.trim_end_matches(['\r', '\n']).len() as u64;
                (it.0.clone(), it.1.clone(), it.2, end)
            };
            if !text.contains('\u{feff}') {
                let mut wanted: Vec<_> = wanted.iter().map(trimmed).collect();
                wanted.sort();
                assert_eq!(found, wanted, "{encoding} seed {seed}\n{text:?}");
            }
            assert_eq!(editor.end(), 0);
        }
    }
}

#[test]
fn whatever_is_said_every_request_is_answered_once() {
    const METHODS: [&str; 32] = [
        "textDocument/hover",
        "textDocument/completion",
        "textDocument/definition",
        "textDocument/references",
        "textDocument/documentHighlight",
        "textDocument/prepareRename",
        "textDocument/documentSymbol",
        "textDocument/foldingRange",
        "textDocument/documentLink",
        "textDocument/semanticTokens/full",
        "textDocument/codeLens",
        "textDocument/formatting",
        "textDocument/diagnostic",
        "textDocument/prepareCallHierarchy",
        "textDocument/inlayHint",
        "textDocument/codeAction",
        "textDocument/selectionRange",
        "textDocument/rename",
        "textDocument/rangeFormatting",
        "textDocument/onTypeFormatting",
        "textDocument/semanticTokens/range",
        "textDocument/semanticTokens/full/delta",
        "codeAction/resolve",
        "completionItem/resolve",
        "inlayHint/resolve",
        "callHierarchy/incomingCalls",
        "callHierarchy/outgoingCalls",
        "workspace/symbol",
        "workspace/diagnostic",
        "workspace/executeCommand",
        "hypocaust/unheardOf",
        "$/unheardOf",
    ];
    const COMMANDS: [&str; 7] = [
        "hypocaust.plan",
        "hypocaust.schedule",
        "hypocaust.workings",
        "hypocaust.check",
        "hypocaust.guidance",
        "hypocaust.openSchedule",
        "hypocaust.unheardOf",
    ];
    const LATERS: [&str; 5] = [
        r#"{"split": {"name": "L1"}}"#,
        r#"{"draw": {"name": "L2"}}"#,
        r#"{"move": {"block": "floors", "name": "x"}}"#,
        r#"{"departure": {"rule": "spacing-too-wide", "at": "loops/L1"}}"#,
        r#"{"departure": {"rule": "no such rule", "at": "\u0000"}}"#,
    ];
    for seed in 0..rounds(6) as u64 {
        let mut chance = Chance(seed ^ 0x5eed);
        let asks = seed % 2 == 0;
        let capabilities = if asks { everything() } else { editor::full() };
        let (mut editor, _) = Editor::begun(capabilities);
        let uris = ["file:///nowhere/a.ufh.yaml", "file:///nowhere/b.ufh.yaml", "untitled:One"];
        let mut models: [Option<(i32, Model)>; 3] = [None, None, None];
        let mut asked: HashSet<u64> = HashSet::new();
        let mut version = 0;
        for _ in 0..150 {
            let which = chance.below(3);
            let uri = uris[which];
            match chance.below(12) {
                0 => {
                    editor.notify("textDocument/didClose", json!({"textDocument": {"uri": uri}}));
                    models[which] = None;
                }
                1 => editor.notify("textDocument/didSave", json!({"textDocument": {"uri": uri}})),
                2 => {
                    editor.notify("textDocument/didChange", json!({"textDocument": {"uri": uri}, "contentChanges": 7}))
                }
                3 => {
                    let id = editor.ask(chance.of(&METHODS[..12]), json!({"nonsense": [1, null]}));
                    asked.insert(id);
                }
                4 | 5 => {
                    version += 1;
                    match &mut models[which] {
                        Some((now, model)) => {
                            *now = version;
                            let changes = json!([model.edit(&mut chance)]);
                            editor.change(uri, version, changes);
                        }
                        None => {
                            editor.open(uri, version, START);
                            models[which] =
                                Some((version, Model { encoding: "utf-16", text: START.chars().collect() }));
                        }
                    }
                }
                _ => {
                    let place = at(chance.below(12) as u64, chance.below(40) as u64);
                    let range = json!({"start": place, "end": at(chance.below(12) as u64, 3)});
                    let params = json!({
                        "textDocument": {"uri": uri}, "position": place, "range": range, "positions": [place],
                        "context": {"diagnostics": [], "includeDeclaration": true}, "newName": "other",
                        "options": {"tabSize": 2, "insertSpaces": true}, "ch": "\n", "query": chance.of(&["", "l", "🔥"]),
                        "previousResultId": "1", "previousResultIds": [{"uri": uri, "value": "1"}],
                        "command": chance.of(&COMMANDS), "arguments": [uri, chance.of(&["L1", "csv", "", "loops/L1"])],
                        "title": "t", "label": "l",
                        "data": {"document": uri, "later": serde_json::from_str::<Value>(chance.of(&LATERS)).expect("it is JSON"),
                            "key": ["loops", "x", "spacing"], "block": "loops", "name": "L1", "design": uri, "kind": "loop"},
                        "item": {"name": "L1", "kind": 1, "uri": uri, "range": range, "selectionRange": range,
                            "data": {"design": uri, "kind": chance.of(&["loop", "room", "?"]), "name": "L1"}},
                    });
                    // Who asks for findings once is told none from then on.
                    let method = chance.of(&METHODS);
                    if method.ends_with("/diagnostic") && !asks {
                        continue;
                    }
                    let id = editor.ask(method, params);
                    asked.insert(id);
                    if chance.below(3) == 0 {
                        editor.notify("$/cancelRequest", json!({"id": id}));
                    }
                }
            }
        }
        for id in &asked {
            let answer = editor.answer(*id);
            let code = answer["error"]["code"].as_i64();
            assert!(
                code.is_none_or(|it| [-32602, -32601, -32800, -32801, -32803].contains(&it)),
                "seed {seed}: {answer}"
            );
        }
        // The last that is told of a document is of its last version.
        for (uri, model) in uris.iter().zip(&models) {
            let Some((version, _)) = model else { continue };
            if asks {
                let report = editor.request("textDocument/diagnostic", json!({"textDocument": {"uri": uri}}));
                assert_eq!(report["kind"], "full");
            } else {
                let is_of_it = |it: &Value| {
                    it["method"] == "textDocument/publishDiagnostics"
                        && it["params"]["uri"] == *uri
                        && it["params"]["version"] == *version
                };
                if !editor.kept.iter().any(is_of_it) {
                    editor.findings(uri, *version);
                }
            }
        }
        let second = editor.kept.iter().find(|it| it.get("id").is_some() && it.get("method").is_none());
        assert!(second.is_none(), "seed {seed}: a second answer {second:?}");
        if asks {
            assert!(
                editor.kept.iter().all(|it| it["method"] != "textDocument/publishDiagnostics"),
                "seed {seed}: told and asked"
            );
        }
        assert_eq!(editor.end(), 0);
    }
}

/// The bytes of a conversation are damaged at random; each well-formed request between is answered, and the end is orderly.
#[test]
fn whatever_becomes_of_the_bytes_the_next_request_is_answered() {
    let uri = "file:///nowhere/bytes.ufh.yaml";
    let message = |method: &str, params: Value| json!({"jsonrpc": "2.0", "method": method, "params": params});
    let place =
        json!({"textDocument": {"uri": uri}, "position": at(4, 20), "range": {"start": at(4, 1), "end": at(6, 3)}});
    let document = json!({"uri": uri, "languageId": "yaml", "version": 1, "text": START});
    let ask = |method: &str| json!({"jsonrpc": "2.0", "id": "damaged", "method": method, "params": place});
    let talk = [
        message("textDocument/didOpen", json!({"textDocument": document})),
        message(
            "textDocument/didChange",
            json!({"textDocument": {"uri": uri, "version": 2}, "contentChanges": [{"text": "a: \u{1f525}"}]}),
        ),
        ask("textDocument/hover"),
        ask("textDocument/completion"),
        message("$/cancelRequest", json!({"id": "damaged"})),
        json!({"jsonrpc": "2.0", "id": 0, "result": [null]}),
        message("textDocument/didClose", json!({"textDocument": {"uri": uri}})),
    ];
    let talk: Vec<Vec<u8>> = talk.iter().map(|it| framed(&it.to_string())).collect();
    let pieces: [&[u8]; 7] = [b"\n", b"\r\n\r\n", b"Content-Length: ", b"\"", b"\\ud800", b"\xff", b"{}"];
    for seed in 0..rounds(6) as u64 {
        let mut chance = Chance(seed ^ 0xb17e);
        let (mut editor, _) = Editor::begun(everything());
        for round in 0..60 {
            let mut bytes = talk[chance.below(talk.len())].clone();
            for _ in 0..=chance.below(4) {
                let at = chance.below(bytes.len());
                match chance.below(4) {
                    0 if at < bytes.len() => bytes[at] = chance.below(256) as u8,
                    1 => bytes.truncate(at),
                    2 => drop(bytes.drain(at..(at + chance.below(30)).min(bytes.len()))),
                    _ => drop(bytes.splice(at..at, chance.of(&pieces).iter().copied())),
                }
            }
            editor.say_bytes(&bytes);
            let id = editor.ask("textDocument/documentSymbol", json!({"textDocument": {"uri": uri}}));
            let answer = editor.answer(id);
            assert!(
                answer.get("result").is_some(),
                "seed {seed}, round {round}: {answer} after {:?}",
                String::from_utf8_lossy(&bytes)
            );
        }
        assert_eq!(editor.end(), 0, "seed {seed}");
    }
}

/// What the server holds in memory, in kilobytes.
#[cfg(target_os = "linux")]
fn resident(editor: &Editor) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{}/status", editor.server.id())).expect("the system tells it");
    let line = status.lines().find(|line| line.starts_with("VmRSS:")).expect("the system tells it");
    line.split_whitespace().nth(1).and_then(|it| it.parse().ok()).expect("a number")
}

/// A hundred thousand edits leave no trace in memory.
#[cfg(target_os = "linux")]
#[test]
#[ignore = "takes minutes; run by hand"]
fn a_hundred_thousand_edits_leave_no_trace() {
    let begun = Instant::now();
    let uri = "file:///nowhere/soak.ufh.yaml";
    let (mut editor, _) = Editor::begun(everything());
    let design = include_str!("../demo-designs/kiln-yard.ufh.yaml");
    editor.open(uri, 0, design);
    let lines = design.lines().count() as u64;
    let mut chance = Chance(1);
    let edits = rounds(100_000) as i32;
    let mut after_warming_up = 0;
    for version in 1..=edits {
        // A comment grows and is taken away again, now here, now there.
        let line = chance.below(lines as usize) as u64;
        let (place, text) = (at(line, 0), "# x\n");
        match version % 2 {
            1 => editor.change(uri, version, json!([{"range": {"start": place, "end": place}, "text": text}])),
            _ => editor.change(uri, version, json!([{"text": design}])),
        }
        if version % 50 == 0 {
            editor.request("textDocument/diagnostic", json!({"textDocument": {"uri": uri}}));
            let params = json!({"textDocument": {"uri": uri}, "position": at(line, 3)});
            editor.request("textDocument/hover", params.clone());
            editor.request("textDocument/completion", params);
            editor.request("textDocument/semanticTokens/full", json!({"textDocument": {"uri": uri}}));
            editor.kept.clear();
            editor.asked.clear();
        }
        if version == edits / 10 {
            after_warming_up = resident(&editor);
        }
    }
    let end = resident(&editor);
    println!(
        "{edits} edits in {:?}: {after_warming_up} kB after a tenth of them, {end} kB at the end",
        begun.elapsed()
    );
    assert!(end * 100 <= after_warming_up * 105, "{after_warming_up} kB have become {end} kB");
    assert!(begun.elapsed() < LONG * 60);
    assert_eq!(editor.end(), 0);
}
