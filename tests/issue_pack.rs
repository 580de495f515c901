//! The issue pack as the program writes it, read back by readers that are not ours: `lopdf` for the PDF, `roxmltree` for the page and
//! the drawings, the system's own `sha256sum` for digests.

use lopdf::{Document, Object};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A folder of its own for a test, empty.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("issue-pack").join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

fn demo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo-designs").join(format!("{name}.ufh.yaml"))
}

fn hypocaust(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_hypocaust")).args(arguments).output().unwrap()
}

#[track_caller]
fn issue(design: &Path, out: &Path) -> BTreeMap<String, Vec<u8>> {
    let output = hypocaust(&["issue", design.to_str().unwrap(), "--out", out.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    files(out)
}

fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap());
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
    let design = demo("lantern-house");
    let files = issue(&design, &folder("figures").join("out"));
    let text = text_of(&files["issue-pack.pdf"]).join(" ");
    let page = String::from_utf8(files["issue-pack.html"].clone()).unwrap();
    let workings = hypocaust(&["workings", design.to_str().unwrap(), "--format", "json"]);
    let workings: Value = serde_json::from_slice(&workings.stdout).unwrap();
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
        assert!(
            text.contains(figure["source"].as_str().unwrap().split(';').next().unwrap().split(' ').next().unwrap()),
            "{name}"
        );
    }
    assert!(met > 60, "{met}");
}

/// ISO 216: A4 is 210 mm x 297 mm, A3 is 297 mm x 420 mm. 72 points are an inch of 25.4 mm.
#[test]
fn pages_have_the_sizes_of_the_standard_and_the_letters_are_in_the_file() {
    let files = issue(&demo("kiln-yard"), &folder("sizes").join("out"));
    let document = Document::load_mem(&files["issue-pack.pdf"]).unwrap();
    let mut sizes = BTreeMap::new();
    for page in document.get_pages().values() {
        let page = document.get_dictionary(*page).unwrap();
        let size: Vec<f32> =
            page.get(b"MediaBox").unwrap().as_array().unwrap().iter().map(|it| it.as_float().unwrap()).collect();
        let millimetres =
            [size[2] - size[0], size[3] - size[1]].map(|points| (points * 25.4 / 72.0 * 100.0).round() as i32);
        *sizes.entry(millimetres).or_insert(0) += 1;
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
        for clock in [b"CreationDate".as_slice(), b"ModDate"] {
            assert!(!dictionary.has(clock));
        }
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
    let once = issue(&demo("lantern-house"), &folder.join("one"));
    for path in ["lantern-house.ufh.yaml", "library/house-parts.ufh.yaml"] {
        let to = folder.join("elsewhere").join(path);
        std::fs::create_dir_all(to.parent().unwrap()).unwrap();
        std::fs::copy(demo("x").with_file_name("").join(path), to).unwrap();
    }
    let out = folder.join("two");
    for _ in 0..2 {
        assert_eq!(once, issue(&folder.join("elsewhere/lantern-house.ufh.yaml"), &out));
    }
    // A pack of another revision takes the place of the one before it.
    let moved = folder.join("elsewhere/lantern-house.ufh.yaml");
    let text = std::fs::read_to_string(&moved).unwrap();
    std::fs::write(&moved, text.replace("revision: P2", "revision: P3")).unwrap();
    assert_ne!(once["issue-pack.html"], issue(&moved, &out)["issue-pack.html"]);
    assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 3, "nothing is left over");
}

#[test]
fn what_is_not_of_a_pack_is_left_alone() {
    let folder = folder("left-alone");
    let (design, out) = (demo("kiln-yard"), folder.join("out"));
    issue(&design, &out);
    let before = files(&out);
    let refused = |why: &str| {
        let output = hypocaust(&["issue", design.to_str().unwrap(), "--out", out.to_str().unwrap()]);
        assert_eq!(output.status.code(), Some(2));
        assert!(String::from_utf8_lossy(&output.stderr).contains(why), "{}", String::from_utf8_lossy(&output.stderr));
    };
    std::fs::write(out.join("letter.txt"), "mine").unwrap();
    refused("letter.txt");
    std::fs::remove_file(out.join("letter.txt")).unwrap();
    std::fs::write(out.join("issue-pack.html"), "signed by hand").unwrap();
    refused("issue-pack.html");
    assert_eq!(std::fs::read(out.join("issue-pack.html")).unwrap(), b"signed by hand");
    std::fs::remove_file(out.join("issue-pack.html")).unwrap();
    assert_eq!(issue(&design, &out), before);
    let output = hypocaust(&["issue", design.to_str().unwrap(), "--out", out.join("plan.svg").to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
}

#[test]
fn a_design_with_errors_is_not_issued() {
    let out = folder("errors").join("out");
    let output = hypocaust(&["issue", demo("full-of-faults").to_str().unwrap(), "--out", out.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(1));
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(told.contains("error[pressure-test-too-low]") && told.contains("is not issued"), "{told}");
    assert!(!told.contains("warning["), "{told}");
    assert!(!out.exists());
}

#[test]
fn the_manifest_has_the_digest_of_every_file_and_of_what_it_was_made_from() {
    let out = folder("manifest").join("out");
    let files = issue(&demo("lantern-house"), &out);
    let manifest: Value = serde_json::from_slice(&files["manifest.json"]).unwrap();
    let named: Vec<&str> =
        manifest["files"].as_array().unwrap().iter().map(|it| it["file"].as_str().unwrap()).collect();
    assert_eq!(named, ["issue-pack.html", "issue-pack.pdf", "plan-ground.svg", "plan-first.svg", "loops.csv"]);
    let made_from: Vec<&str> =
        manifest["made-from"].as_array().unwrap().iter().map(|it| it["file"].as_str().unwrap()).collect();
    assert_eq!(made_from, ["lantern-house.ufh.yaml", "library/house-parts.ufh.yaml"]);
    let digests = manifest["files"].as_array().unwrap().iter().map(|it| (out.join(it["file"].as_str().unwrap()), it));
    let made_from = manifest["made-from"].as_array().unwrap().iter();
    let made_from = made_from.map(|it| (demo("x").with_file_name("").join(it["file"].as_str().unwrap()), it));
    for (path, entry) in digests.chain(made_from) {
        // The program of the system works the digest out as well; where it is not there, nothing is compared.
        let Ok(output) = Command::new("sha256sum").arg(&path).output() else { continue };
        let digest = String::from_utf8(output.stdout).unwrap();
        assert_eq!(digest.split(' ').next(), entry["sha-256"].as_str(), "{}", path.display());
    }
    let mark = manifest["made-from"][0]["sha-256"].as_str().unwrap()[..12].to_string();
    for text in text_of(&files["issue-pack.pdf"]) {
        assert!(text.contains(&mark), "{text}");
    }
    for name in ["issue-pack.html", "plan-ground.svg", "plan-first.svg"] {
        assert!(String::from_utf8_lossy(&files[name]).contains(&mark), "{name}");
    }
}

/// Every demo design that may be issued, and the seeded ones: the page is well-formed, asks for nothing from outside, and every link
/// in it leads somewhere; the PDF can be read.
#[test]
fn every_drawing_is_well_formed_and_every_page_stands_alone() {
    let folder = folder("every");
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/seeded");
    let designs =
        [demo("x").parent().unwrap().to_path_buf(), tests].into_iter().flat_map(|it| std::fs::read_dir(it).unwrap());
    let mut issued = 0;
    for path in designs.map(|it| it.unwrap().path()).filter(|it| it.to_string_lossy().ends_with(".ufh.yaml")) {
        let out = folder.join(path.file_stem().unwrap());
        let output = hypocaust(&["issue", path.to_str().unwrap(), "--out", out.to_str().unwrap()]);
        if output.status.code() == Some(1) {
            continue;
        }
        issued += 1;
        for (name, bytes) in files(&out) {
            if name.ends_with(".pdf") {
                assert!(text_of(&bytes).len() > 4);
            }
            if !name.ends_with(".html") && !name.ends_with(".svg") {
                continue;
            }
            let text = String::from_utf8(bytes).unwrap();
            let options = roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
            let document = roxmltree::Document::parse_with_options(&text, options)
                .unwrap_or_else(|error| panic!("{name} of {path:?}: {error}"));
            let ids: Vec<&str> = document.descendants().filter_map(|it| it.attribute("id")).collect();
            for node in document.descendants() {
                assert!(
                    !["script", "link", "img", "iframe", "image", "use"].contains(&node.tag_name().name()),
                    "{name}"
                );
                assert!(node.attribute("src").is_none());
                if let Some(target) = node.attribute("href") {
                    assert!(target.strip_prefix('#').is_some_and(|it| ids.contains(&it)), "{target}");
                }
            }
        }
    }
    assert!(issued >= 12, "{issued}");
}

/// Letters of the trade and of people's names can be found and copied; what the letters of the PDF lack breaks nothing.
#[test]
fn names_of_any_kind_can_be_read_back() {
    let folder = folder("names");
    let long = "A".repeat(100);
    let room = "Größe-Ωθ²-Ž-Жук-床";
    let text = std::fs::read_to_string(demo("kiln-yard")).unwrap();
    let text = text
        .replace("glaze-room", room)
        .replace("throwing-room", &long)
        .replace("Kiln Yard", "Čapek & <Søn> \\u{1b}[2J");
    let design = folder.join("names.ufh.yaml");
    std::fs::create_dir_all(folder.join("library")).unwrap();
    std::fs::copy(demo("library/house-parts"), folder.join("library/house-parts.ufh.yaml")).unwrap();
    std::fs::write(&design, text).unwrap();
    let files = issue(&design, &folder.join("out"));
    let pages = text_of(&files["issue-pack.pdf"]);
    let text = pages.join(" ");
    for wanted in ["Größe-Ωθ²-Ž-Жук-", "Čapek & <Søn>", "□ stands for a letter", &long[..20]] {
        assert!(text.contains(wanted), "{wanted}");
    }
    let page = String::from_utf8(files["issue-pack.html"].clone()).unwrap();
    assert!(page.contains(room) && page.contains("&lt;Søn&gt;") && !page.contains('\u{1b}'));
}

/// What was built is held against what was issued: the sheet has what the design says now and said then.
#[test]
fn a_handover_pack_says_what_is_other_than_issued() {
    let folder = folder("issued");
    let built = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/seeded/weaving-shed.ufh.yaml");
    let text = std::fs::read_to_string(&built).unwrap().replace("../../demo-designs/library", "library");
    std::fs::create_dir_all(folder.join("library")).unwrap();
    std::fs::copy(demo("library/house-parts"), folder.join("library/house-parts.ufh.yaml")).unwrap();
    let (old, new) = (folder.join("issued.ufh.yaml"), folder.join("built.ufh.yaml"));
    std::fs::write(
        &old,
        text.replace("revision: P4", "revision: P3")
            .replace("flow: 1.95 l/min, tails: 10 m", "flow: 1.85 l/min, tails: 8 m"),
    )
    .unwrap();
    std::fs::write(&new, text).unwrap();
    let out = folder.join("out");
    let arguments = ["issue", new.to_str().unwrap(), "--out", out.to_str().unwrap(), "--issued", old.to_str().unwrap()];
    let output = hypocaust(&arguments);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let text = text_of(&files(&out)["handover-pack.pdf"]).join(" ");
    for wanted in
        ["Against the issued design", "loops/L1", "tails", "8.0 m", "10 m", "DO NOT DRILL", "2026-02-05", "6.0 bar"]
    {
        assert!(text.contains(wanted), "{wanted}");
    }
}
