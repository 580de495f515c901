//! The issue pack as the program writes it, read back by readers that are not ours: `lopdf` for the PDF, `roxmltree` for the page and
//! the drawings, the system's own `sha256sum` for digests.

mod program;

use lopdf::{Document, Object};
use program::{Ended, Folder};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

/// A folder of its own with the demo designs in it.
fn folder(name: &str) -> Folder {
    Folder::new(name).with_demo_designs()
}

fn demo(name: &str) -> String {
    format!("demo-designs/{name}.ufh.yaml")
}

fn issue(folder: &Folder, design: &str, out: &str) -> Ended {
    folder.run(&["issue", design, "--out", out])
}

#[track_caller]
fn issued(folder: &Folder, design: &str, out: &str) -> BTreeMap<String, Vec<u8>> {
    let ended = issue(folder, design, out);
    assert_eq!(ended.status, 0, "{}", ended.err);
    files(&folder.0.join(out))
}

fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap());
    let entries = entries.filter(|it| it.file_type().unwrap().is_file());
    entries.map(|it| (it.file_name().into_string().unwrap(), std::fs::read(it.path()).unwrap())).collect()
}

/// The text of a PDF page by page, without line breaks, as `lopdf` reads it.
fn text_of(pdf: &[u8]) -> Vec<String> {
    let document = Document::load_mem(pdf).unwrap();
    let pages = document.get_pages();
    pages.keys().map(|page| document.extract_text(&[*page]).unwrap().replace('\n', " ")).collect()
}

#[test]
fn the_pdf_has_the_figures_that_the_program_tells_elsewhere() {
    let folder = folder("figures");
    let design = demo("lantern-house");
    let files = issued(&folder, &design, "out");
    let text = text_of(&files["issue-pack.pdf"]).join(" ");
    let page = String::from_utf8(files["issue-pack.html"].clone()).unwrap();
    let workings: Value = serde_json::from_str(&folder.run(&["workings", &design, "--format", "json"]).out).unwrap();
    let figures = workings["figures"].as_object().unwrap();
    assert!(figures.len() > 300);
    let mut met = 0;
    for (name, figure) in figures {
        let own = name.rsplit('.').next().unwrap();
        assert!(text.contains(own), "{name}");
        assert!(page.contains(own), "{name}");
        // Lengths from a metre on and temperatures are printed with one decimal, in metres and °C as they stand there.
        let (value, unit) = (figure["value"].as_f64().unwrap(), figure["unit"].as_str().unwrap());
        if unit == "m" && value >= 1.0 || unit == "°C" {
            assert!(text.contains(&format!("{value:.1} {unit}")), "{name} {value}");
            assert!(page.contains(&format!("{value:.1} {unit}")), "{name} {value}");
            met += 1;
        }
        let source = figure["source"].as_str().unwrap();
        assert!(text.contains(source.split([';', ' ']).next().unwrap()), "{name}");
    }
    assert!(met > 60, "{met}");
}

/// ISO 216: A4 is 210 mm x 297 mm, A3 is 297 mm x 420 mm. 72 points are an inch of 25.4 mm.
#[test]
fn pages_have_the_sizes_of_the_standard_and_the_letters_are_in_the_file() {
    let files = issued(&folder("sizes"), &demo("kiln-yard"), "out");
    let document = Document::load_mem(&files["issue-pack.pdf"]).unwrap();
    let mut sizes = BTreeMap::new();
    for page in document.get_pages().values() {
        let corners = document.get_dictionary(*page).unwrap().get(b"MediaBox").unwrap().as_array().unwrap();
        let size: Vec<f32> = corners.iter().map(|it| it.as_float().unwrap()).collect();
        let sides = [size[2] - size[0], size[3] - size[1]];
        let hundredths = sides.map(|points| (points * 25.4 / 72.0 * 100.0).round() as i32);
        *sizes.entry(hundredths).or_insert(0) += 1;
    }
    assert_eq!(sizes.remove(&[42000, 29700]), Some(1), "{sizes:?}");
    assert!(sizes.keys().all(|it| [[21000, 29700], [29700, 21000]].contains(it)), "{sizes:?}");
    let mut faces = 0;
    for object in document.objects.values() {
        let Ok(dictionary) = object.as_dict() else { continue };
        if dictionary.get(b"Type").and_then(Object::as_name).is_ok_and(|it| it == b"FontDescriptor") {
            assert!(dictionary.has(b"FontFile2"));
            faces += 1;
        }
        assert!(!dictionary.has(b"CreationDate") && !dictionary.has(b"ModDate"));
    }
    assert_eq!(faces, 2);
    for (number, text) in text_of(&files["issue-pack.pdf"]).iter().enumerate() {
        for wanted in ["KY-014", "P3", "for construction", "2026-05-04"] {
            assert!(text.contains(wanted), "page {}: {wanted}", number + 1);
        }
    }
}

#[test]
fn the_same_design_gives_the_same_bytes_wherever_it_lies_and_can_be_issued_again() {
    let folder = folder("same");
    let once = issued(&folder, &demo("lantern-house"), "one");
    let (moved, library) = ("elsewhere/lantern-house.ufh.yaml", "library/house-parts.ufh.yaml");
    folder.write(moved, folder.read(&demo("lantern-house")));
    folder.write(&format!("elsewhere/{library}"), folder.read(&format!("demo-designs/{library}")));
    for _ in 0..2 {
        assert_eq!(once, issued(&folder, moved, "two"));
    }
    // A pack of another revision takes the place of the one before it.
    folder.write(moved, folder.read(moved).replace("revision: P2", "revision: P3"));
    assert_ne!(once["issue-pack.html"], issued(&folder, moved, "two")["issue-pack.html"]);
    assert_eq!(std::fs::read_dir(&folder.0).unwrap().count(), 4, "nothing is left over");
}

#[test]
fn what_is_not_of_a_pack_is_left_alone() {
    let folder = folder("left-alone");
    let before = issued(&folder, &demo("kiln-yard"), "out");
    let refused = |out: &str, why: &str| {
        let ended = issue(&folder, &demo("kiln-yard"), out);
        assert!(ended.status == 2 && ended.err.contains(why), "{}", ended.err);
    };
    folder.write("out/letter.txt", "mine");
    refused("out", "letter.txt");
    folder.remove("out/letter.txt");
    folder.write("out/issue-pack.html", "signed by hand");
    refused("out", "issue-pack.html");
    assert_eq!(folder.read("out/issue-pack.html"), "signed by hand");
    folder.remove("out/issue-pack.html");
    assert_eq!(issued(&folder, &demo("kiln-yard"), "out"), before);
    refused("out/plan.svg", "no folder");
    refused("..", "no name");
    folder.write("out/sub/letter.txt", "mine");
    refused("out", "sub");
}

#[test]
fn a_design_with_errors_is_not_issued() {
    let folder = folder("errors");
    let ended = issue(&folder, &demo("full-of-faults"), "out");
    assert_eq!(ended.status, 1);
    assert!(ended.err.contains("error[pressure-test-too-low]") && ended.err.contains("is not issued"), "{}", ended.err);
    assert!(!ended.err.contains("warning["), "{}", ended.err);
    let ended = issue(&folder, "demo-designs/library/house-parts.ufh.yaml", "out");
    assert!(ended.status == 2 && ended.err.contains("nothing to issue"), "{}", ended.err);
    assert!(!folder.0.join("out").exists());
}

#[test]
fn the_manifest_has_the_digest_of_every_file_and_of_what_it_was_made_from() {
    let folder = folder("manifest");
    let files = issued(&folder, &demo("lantern-house"), "out");
    let manifest: Value = serde_json::from_slice(&files["manifest.json"]).unwrap();
    let entries = |key: &str| -> Vec<(String, String)> {
        let text = |it: &Value, key: &str| it[key].as_str().unwrap().to_string();
        manifest[key].as_array().unwrap().iter().map(|it| (text(it, "file"), text(it, "sha-256"))).collect()
    };
    let named: Vec<String> = entries("files").into_iter().map(|it| it.0).collect();
    assert_eq!(named, ["issue-pack.html", "issue-pack.pdf", "plan-ground.svg", "plan-first.svg", "loops.csv"]);
    let made_from: Vec<String> = entries("made-from").into_iter().map(|it| it.0).collect();
    assert_eq!(made_from, ["lantern-house.ufh.yaml", "library/house-parts.ufh.yaml"]);
    let written = entries("files").into_iter().map(|(file, digest)| (folder.0.join("out").join(file), digest));
    let read =
        entries("made-from").into_iter().map(|(file, digest)| (folder.0.join("demo-designs").join(file), digest));
    for (path, digest) in written.chain(read) {
        // The program of the system works the digest out as well; where it is not there, nothing is compared.
        let Ok(output) = Command::new("sha256sum").arg(&path).output() else { continue };
        let theirs = String::from_utf8(output.stdout).unwrap();
        assert_eq!(theirs.split(' ').next(), Some(&*digest), "{}", path.display());
    }
    let mark = &entries("made-from")[0].1[..12];
    for text in text_of(&files["issue-pack.pdf"]) {
        assert!(text.contains(mark), "{text}");
    }
    for name in ["issue-pack.html", "plan-ground.svg", "plan-first.svg"] {
        assert!(String::from_utf8_lossy(&files[name]).contains(mark), "{name}");
    }
}

/// Every demo design that may be issued, and the seeded ones: the page is well-formed, asks for nothing from outside, and every link
/// in it leads somewhere; the PDF can be read.
#[test]
fn every_drawing_is_well_formed_and_every_page_stands_alone() {
    let folder = folder("every");
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/seeded");
    for path in std::fs::read_dir(tests).unwrap().map(|it| it.unwrap().path()) {
        let text = std::fs::read_to_string(&path).unwrap().replace("../../demo-designs/library", "library");
        folder.write(&format!("demo-designs/{}", path.file_name().unwrap().to_string_lossy()), text);
    }
    let mut count = 0;
    for name in files(&folder.0.join("demo-designs")).keys() {
        let out = format!("out-{name}");
        let ended = issue(&folder, &format!("demo-designs/{name}"), &out);
        if ended.status == 1 {
            continue;
        }
        assert_eq!(ended.status, 0, "{}", ended.err);
        count += 1;
        for (file, bytes) in files(&folder.0.join(out)) {
            if file.ends_with(".pdf") {
                assert!(text_of(&bytes).len() > 4);
            }
            if !file.ends_with(".html") && !file.ends_with(".svg") {
                continue;
            }
            let text = String::from_utf8(bytes).unwrap();
            let options = roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
            let document = roxmltree::Document::parse_with_options(&text, options);
            let document = document.unwrap_or_else(|error| panic!("{file} of {name}: {error}"));
            let ids: Vec<&str> = document.descendants().filter_map(|it| it.attribute("id")).collect();
            for node in document.descendants() {
                let tag = node.tag_name().name();
                assert!(!["script", "link", "img", "iframe", "image", "use"].contains(&tag), "{tag}");
                assert!(node.attribute("src").is_none());
                if let Some(target) = node.attribute("href") {
                    assert!(target.strip_prefix('#').is_some_and(|it| ids.contains(&it)), "{target}");
                }
            }
        }
    }
    assert!(count >= 12, "{count}");
}

/// Letters of the trade and of people's names can be found and copied; what the letters of the PDF lack breaks nothing.
#[test]
fn names_of_any_kind_can_be_read_back() {
    let folder = folder("names");
    let long = "A".repeat(100);
    let room = "Größe-Ωθ²-Ž-Жук-床";
    let text = folder.read(&demo("kiln-yard")).replace("glaze-room", room).replace("throwing-room", &long);
    folder.write(&demo("names"), text.replace("Kiln Yard", "\"Čapek & <Søn>\\\"</style> \\e[2J\""));
    let files = issued(&folder, &demo("names"), "out");
    let text = text_of(&files["issue-pack.pdf"]).join(" ");
    for wanted in ["Größe-Ωθ²-Ž-Жук-", "Čapek & <Søn>", "□ stands for a letter", &long[..20]] {
        assert!(text.contains(wanted), "{wanted}");
    }
    let page = String::from_utf8(files["issue-pack.html"].clone()).unwrap();
    assert!(page.contains(room) && page.contains("&lt;Søn&gt;") && !page.contains('\u{1b}'));
    assert_eq!(page.matches("</style>").count(), 1);
}

/// What was built is held against what was issued: the sheet has what the design says now and said then.
#[test]
fn a_handover_pack_says_what_is_other_than_issued() {
    let folder = folder("issued");
    let built = include_str!("seeded/weaving-shed.ufh.yaml").replace("../../demo-designs/library", "library");
    let before = built.replace("revision: P4", "revision: P3");
    let before = before.replace("flow: 1.95 l/min, tails: 10 m", "flow: 1.85 l/min, tails: 8 m");
    assert_ne!(built, before);
    folder.write(&demo("built"), &built);
    folder.write(&demo("issued"), before);
    let ended = folder.run(&["issue", &demo("built"), "--out", "out", "--issued", &demo("issued")]);
    assert_eq!(ended.status, 0, "{}", ended.err);
    let text = text_of(&files(&folder.0.join("out"))["handover-pack.pdf"]).join(" ");
    for wanted in ["Against the issued design", "loops/L1", "8 m", "DO NOT DRILL", "2026-02-05", "6.0 bar"] {
        assert!(text.contains(wanted), "{wanted}");
    }
}
