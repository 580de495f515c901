//! The issue pack as the program writes it, read back by readers that are not ours: `lopdf` for the PDF, `roxmltree` for the page and
//! the drawings, the system's own `sha256sum` for digests.

mod program;

use lopdf::{Document, Object};
use program::{Ended, Folder, fitting};
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

/// Another process, another place in the world, another language, other rights of new files: the same bytes.
#[cfg(unix)]
#[test]
fn neither_the_hour_nor_the_language_of_the_machine_changes_a_byte() {
    let folder = folder("anywhere");
    let once = issued(&folder, &demo("orchard-house"), "one");
    for (zone, language, mask) in [("Pacific/Kiritimati", "tr_TR.UTF-8", "077"), ("Etc/GMT+12", "C", "000")] {
        let script = format!("umask {mask}; exec \"$0\" issue orchard-house.ufh.yaml --out ../two");
        let ended = Command::new("sh")
            .args(["-c", &script, env!("CARGO_BIN_EXE_hypocaust")])
            .current_dir(folder.0.join("demo-designs"))
            .envs([("TZ", zone), ("LANG", language), ("LC_ALL", language), ("HOME", "/"), ("TERM", "dumb")])
            .output()
            .unwrap();
        assert!(ended.status.success(), "{}", String::from_utf8_lossy(&ended.stderr));
        assert_eq!(once, files(&folder.0.join("two")));
        std::fs::remove_dir_all(folder.0.join("two")).unwrap();
    }
}

/// The folder of a pack may be a mount point, or lie where nobody may make another: it stays, and its files are replaced.
#[cfg(unix)]
#[test]
fn the_folder_of_a_pack_stays_the_same_folder() {
    use std::os::unix::fs::MetadataExt;
    let folder = folder("stays");
    issued(&folder, &demo("lantern-house"), "out");
    let before = std::fs::metadata(folder.0.join("out")).unwrap().ino();
    let other = folder.read(&demo("kiln-yard")).replace("Kiln Yard", "Lantern House").replace("KY-014", "LH-031");
    folder.write(&demo("smaller"), other);
    let files = issued(&folder, &demo("smaller"), "out");
    assert_eq!(std::fs::metadata(folder.0.join("out")).unwrap().ino(), before);
    let names: Vec<&str> = files.keys().map(String::as_str).collect();
    assert_eq!(names, ["issue-pack.html", "issue-pack.pdf", "loops.csv", "manifest.json", "plan.svg"]);
    assert_eq!(std::fs::read_dir(folder.0.join("out")).unwrap().count(), names.len(), "nothing is left over");
}

#[test]
fn what_cannot_be_written_is_told_and_leaves_nothing() {
    let folder = folder("cannot");
    folder.write("file", "no folder");
    let ended = issue(&folder, &demo("kiln-yard"), "file/out");
    assert!(ended.status == 2 && ended.err.contains("cannot write `file/out"), "{}", ended.err);
    // Nothing can be made there, whoever asks.
    if Path::new("/proc/self").exists() {
        let ended = issue(&folder, &demo("kiln-yard"), "/proc/self/issued");
        assert!(ended.status == 2 && ended.err.contains("cannot write `/proc/self/issued`"), "{}", ended.err);
    }
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
    let manifest = folder.read("out/manifest.json");
    folder.write("out/manifest.json", manifest.replace("KY-014", "KY-015"));
    refused("out", "manifest.json");
    folder.write("out/manifest.json", manifest);
    assert_eq!(issued(&folder, &demo("kiln-yard"), "out"), before);
    refused("out/plan.svg", "no folder");
    refused("..", "no name");
    // A folder that has the name of no file of the pack is nobody's concern.
    folder.write("out/photographs/hall.txt", "mine");
    assert_eq!(issue(&folder, &demo("kiln-yard"), "out").status, 0);
    assert_eq!(folder.read("out/photographs/hall.txt"), "mine");
    folder.remove("out/issue-pack.html");
    folder.write("out/issue-pack.html/letter.txt", "mine");
    refused("out", "issue-pack.html");
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
    let schema = include_str!("../schema/manifest.schema.json");
    let manifest = fitting(std::str::from_utf8(&files["manifest.json"]).unwrap(), schema);
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

/// A pack that is dated before the work that it records is not the pack of that work.
#[test]
fn a_handover_pack_is_not_dated_before_its_records() {
    let folder = folder("dated");
    let built = include_str!("seeded/weaving-shed.ufh.yaml").replace("../../demo-designs/library", "library");
    let early = built.replace("issued: 2026-05-25\n", "issued: 2026-05-19\n");
    assert_ne!(built, early);
    folder.write(&demo("built"), &early);
    let ended = issue(&folder, &demo("built"), "out");
    let why = "3 days after the design as built was issued on 2026-05-19";
    assert!(ended.status == 1 && ended.err.contains(why), "{}", ended.err);
    assert!(!folder.0.join("out").exists());
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
    let files = files(&folder.0.join("out"));
    fitting(std::str::from_utf8(&files["manifest.json"]).unwrap(), include_str!("../schema/manifest.schema.json"));
    let text = text_of(&files["handover-pack.pdf"]).join(" ");
    for wanted in ["Against the issued design", "loops/L1", "8 m", "DO NOT DRILL", "2026-02-05", "6.0 bar"] {
        assert!(text.contains(wanted), "{wanted}");
    }
}

/// What went out keeps its revision only as long as it is the same design.
#[test]
fn an_issued_revision_is_not_issued_again_as_another_design() {
    let folder = folder("not-raised");
    let text = std::fs::read_to_string(folder.0.join(demo("tray-extension"))).unwrap();
    let changed = text.replace("heat-loss: 690 W", "heat-loss: 680 W");
    assert_ne!(text, changed);
    folder.write(&demo("changed"), &changed);
    let against =
        |design: &str, out: &str| folder.run(&["issue", design, "--out", out, "--issued", &demo("tray-extension")]);
    let ended = against(&demo("changed"), "out");
    assert!(ended.status == 1 && ended.err.contains("raise the revision"), "{}", ended.err);
    assert!(!folder.0.join("out").exists());
    folder.write(&demo("changed"), changed.replace("revision: P1", "revision: P2"));
    assert_eq!(against(&demo("changed"), "out").status, 0);
    assert_eq!(against(&demo("tray-extension"), "same").status, 0);
    let library = "demo-designs/library/house-parts.ufh.yaml";
    let ended = folder.run(&["issue", &demo("changed"), "--out", "other", "--issued", library]);
    assert!(ended.status == 2 && ended.err.contains("no design that was issued"), "{}", ended.err);
}

/// The pack of another project, or what went out as the same revision of another text, is not replaced.
#[test]
fn a_pack_gives_way_only_to_a_later_one_of_its_project() {
    let folder = folder("gives-way");
    let before = issued(&folder, &demo("kiln-yard"), "out");
    let refused = |design: &str, more: &[&str], whys: &[&str]| {
        let ended = folder.run(&[&["issue", &demo(design), "--out", "out"], more].concat());
        assert!(ended.status == 2 && whys.iter().all(|why| ended.err.contains(why)), "{}", ended.err);
        assert_eq!(before, files(&folder.0.join("out")));
    };
    refused("lantern-house", &[], &["Kiln Yard (KY-014)", "Lantern House (LH-031)"]);
    let text = folder.read(&demo("kiln-yard"));
    folder.write(&demo("more"), text.replace("designer: M. Lathe", "designer: N. Lathe"));
    refused("more", &[], &["revision P3 stands in `out`", "raise the revision"]);
    folder.write(
        &demo("more"),
        text.replace("designer: M. Lathe", "designer: N. Lathe").replace("revision: P3", "revision: ' p 3'"),
    );
    refused("more", &[], &["revision P3 stands in `out`"]);
    let help = ["`demo-designs/lantern-house.ufh.yaml` is of Lantern House (LH-031)", "of Kiln Yard (KY-014)"];
    refused("kiln-yard", &["--issued", &demo("lantern-house")], &help);
    folder.write(&demo("more"), text.replace("revision: P3", "revision: P2"));
    refused("more", &[], &["revision P3 stands in `out`", "and this is P2, which comes before it"]);
    refused(
        "kiln-yard",
        &["--issued", "out/manifest.json"],
        &["is the manifest of a pack of Kiln Yard (KY-014), revision P3"],
    );
    folder.write(&demo("more"), text.replace("revision: P3", "revision: P4"));
    assert_eq!(issue(&folder, &demo("more"), "out").status, 0);
    // A sketch that has a revision is known by it as well.
    let sketch = text.replace("stage: for construction", "stage: preliminary");
    folder.write(&demo("sketch"), &sketch);
    assert_eq!(issue(&folder, &demo("sketch"), "sketched").status, 0);
    folder.write(&demo("again"), sketch.replace("designer: M. Lathe", "designer: N. Lathe"));
    let ended = issue(&folder, &demo("again"), "sketched");
    assert!(ended.status == 2 && ended.err.contains("raise the revision"), "{}", ended.err);
    let widened = sketch.replacen("spacing: 150 mm", "spacing: 160 mm", 1);
    assert_ne!(widened, sketch);
    folder.write(&demo("again"), widened);
    let ended = folder.run(&["issue", &demo("again"), "--out", "elsewhere", "--issued", &demo("sketch")]);
    assert!(ended.status == 1 && ended.err.contains("raise the revision"), "{}", ended.err);
    // One that goes back is not issued as if it were later.
    let ended = folder.run(&["issue", &demo("kiln-yard"), "--out", "other", "--issued", &demo("more")]);
    assert!(ended.status == 1 && ended.err.contains("it is revision P3, and"), "{}", ended.err);
}

/// Of two revisions whose marks are of different kinds the list of earlier ones and the days of issue tell which is later.
#[test]
fn a_pack_gives_way_to_none_that_may_be_the_earlier_one() {
    let folder = folder("may-be-earlier");
    let text = folder.read(&demo("kiln-yard"));
    let of = |revision: &str, day: &str, earlier: &str| {
        let earlier = if earlier.is_empty() { String::new() } else { format!("\n  earlier-revisions: {earlier}") };
        let text = text.replace("revision: P3", &format!("revision: {revision}"));
        folder.write(&demo("more"), text.replace("issued: 2026-05-04", &format!("issued: {day}{earlier}")));
        issue(&folder, &demo("more"), "out")
    };
    let is_refused = |ended: Ended, why: &str| {
        assert!(ended.status == 2 && ended.err.contains(why), "{}", ended.err);
    };
    assert_eq!(of("C1", "2026-05-04", "").status, 0);
    is_refused(of("P2", "2026-04-30", ""), "and this is P2, which comes before it");
    is_refused(
        of("P2", "2026-05-04", ""),
        "and this is P2; neither the marks nor the days of issue tell which is later",
    );
    is_refused(of("P2", "2026-05-04", ""), "list C1 under `earlier-revisions` if it is the earlier one");
    is_refused(of("Rev C1", "2026-05-05", ""), "made from other files");
    let listed = of("P2", "2026-05-04", "[{revision: C1, issued: 2026-05-04}]");
    assert_eq!(listed.status, 0, "{}", listed.err);
    // The pack that stands now says that C1 came before it.
    is_refused(of("C1", "2026-05-20", ""), "and this is C1, which comes before it");
    let later = of("D1", "2026-05-05", "");
    assert_eq!(later.status, 0, "{}", later.err);
    assert_eq!(of("AA", "2026-05-06", "").status, 0);
    is_refused(of("Z", "2026-05-07", ""), "and this is Z, which comes before it");
}

/// Designs that give neither name nor reference are the same by their file alone.
#[test]
fn a_pack_gives_way_to_none_whose_project_cannot_be_told() {
    let folder = folder("whose");
    let text = folder.read(&demo("kiln-yard"));
    let named = "  name: Kiln Yard\n  reference: KY-014\n";
    assert!(text.contains(named));
    let later =
        |text: &str| text.replace("revision: P3", "revision: P4").replace("issued: 2026-05-04", "issued: 2026-05-05");
    let unnamed = text.replace(named, "");
    folder.write(&demo("one"), &unnamed);
    folder.write(&demo("other"), later(&unnamed));
    let before = issued(&folder, &demo("one"), "out");
    assert_eq!(before, issued(&folder, &demo("one"), "out"));
    let ended = issue(&folder, &demo("other"), "out");
    assert!(ended.status == 2 && ended.err.contains("nothing tells whether this one of"), "{}", ended.err);
    assert_eq!(before, files(&folder.0.join("out")));
    let ended = folder.run(&["issue", &demo("other"), "--out", "out", "--issued", &demo("one")]);
    assert_eq!(ended.status, 0, "{}", ended.err);
    // One reference under two names.
    folder.write(&demo("first"), &text);
    folder.write(&demo("second"), later(&text).replace("name: Kiln Yard", "name: Kiln Row"));
    issued(&folder, &demo("first"), "named");
    let ended = issue(&folder, &demo("second"), "named");
    assert!(ended.status == 2 && ended.err.contains("Kiln Row (KY-014) is of the same project"), "{}", ended.err);
    folder.write(&demo("first"), folder.read(&demo("second")));
    issued(&folder, &demo("first"), "named");
}

/// 12 m² over 150 mm and 10 m of tails are 90 m (plain arithmetic); what was laid takes the place of it wherever a length is told.
#[test]
fn a_handover_pack_has_lengths_as_laid() {
    let folder = folder("as-laid");
    let built = include_str!("seeded/weaving-shed.ufh.yaml").replace("../../demo-designs/library", "library");
    let built = built.replace("signed-by: M. Lathe}", "signed-by: M. Lathe, routes: {L1: [[0, 0], [93, 0]]}}");
    folder.write(&demo("built"), built);
    let files = issued(&folder, &demo("built"), "out");
    let csv = String::from_utf8(files["loops.csv"].clone()).unwrap();
    let rows: Vec<Vec<&str>> = csv.lines().map(|line| line.split(',').collect()).collect();
    let column = |name: &str| rows[0].iter().position(|head| *head == name).unwrap();
    let lengths = |row: usize| [rows[row][column("length m")], rows[row][column("length as designed m")]];
    assert_eq!([lengths(1), lengths(2)], [["93.0", "90.0"], ["85.3", "85.3"]]);
    let page = String::from_utf8(files["handover-pack.html"].clone()).unwrap();
    let schedule = &page[page.find("<h1>Loop schedule").unwrap()..];
    assert!(schedule.contains("<td class=\"n\">93.0 m</td><td class=\"n\">90.0 m</td>"), "{schedule}");
    let printed = folder.run(&["schedule", &demo("built")]).out;
    assert!(printed.contains("93.0 m") && printed.contains("90.0 m"), "{printed}");
}

/// What is set on site has to be set at the pressure for which the settings were worked out.
#[test]
fn the_site_sheet_says_for_which_pressure_of_the_pump_the_settings_are() {
    let folder = folder("pump");
    let page = |name: &str, from: &str, to: &str| {
        let text = folder.read(&demo("kiln-yard"));
        let changed = text.replace(from, to);
        assert!(from == to || text != changed, "{from}");
        folder.write(&demo(name), changed);
        let files = issued(&folder, &demo(name), name);
        let site = String::from_utf8(files["issue-pack.html"].clone()).unwrap();
        site[site.find("Setting the manifolds").unwrap()..].to_string()
    };
    let needed = page("needed", "", "");
    assert!(
        needed.contains("set to 13.8 kPa: the presettings are for that; it offers 30.0 kPa at this flow"),
        "{needed}"
    );
    let curve = "pump: {curve: [{flow: 0 l/min, head: 30 kPa}, {flow: 20 l/min, head: 20 kPa}]}";
    let curve = page("curve", "pump: {head: 30 kPa}", curve);
    assert!(curve.contains("on its curve, which gives 27.9 kPa: the presettings are for that"), "{curve}");
}

/// A program that reads documents out finds every word of the sheets in its part of the document: ISO 32000-1, 14.7 and 14.8.
#[test]
fn the_pdf_is_tagged_and_every_mark_has_its_part() {
    let files = issued(&folder("tagged"), &demo("lantern-house"), "out");
    let document = Document::load_mem(&files["issue-pack.pdf"]).unwrap();
    let catalog = document.catalog().unwrap();
    assert_eq!(catalog.get(b"Lang").unwrap().as_str().unwrap(), b"en");
    assert!(catalog.get(b"MarkInfo").unwrap().as_dict().unwrap().get(b"Marked").unwrap().as_bool().unwrap());
    let get = |of: &lopdf::Dictionary, key: &[u8]| document.dereference(of.get(key).unwrap()).unwrap().1.clone();
    let root = get(catalog, b"StructTreeRoot").as_dict().unwrap().clone();

    // How many parts of each kind there are, and which marks of which page they have.
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    let mut marked: BTreeMap<lopdf::ObjectId, Vec<i64>> = BTreeMap::new();
    let mut waiting = vec![root.get(b"K").unwrap().as_reference().unwrap()];
    while let Some(id) = waiting.pop() {
        let part = document.get_dictionary(id).unwrap();
        let kind = String::from_utf8(part.get(b"S").unwrap().as_name().unwrap().to_vec()).unwrap();
        if kind == "Figure" {
            assert!(!part.get(b"Alt").unwrap().as_str().unwrap().is_empty());
        }
        *kinds.entry(kind).or_default() += 1;
        for kid in part.get(b"K").unwrap().as_array().unwrap() {
            match kid {
                Object::Reference(id) => {
                    let parent = document.get_dictionary(*id).unwrap().get(b"P").unwrap();
                    assert!(document.get_dictionary(parent.as_reference().unwrap()).unwrap().get(b"S").is_ok());
                    waiting.push(*id);
                }
                Object::Integer(mark) => {
                    let page = part.get(b"Pg").unwrap().as_reference().unwrap();
                    marked.entry(page).or_default().push(*mark);
                }
                mark => {
                    let mark = mark.as_dict().unwrap();
                    let page = mark.get(b"Pg").unwrap().as_reference().unwrap();
                    marked.entry(page).or_default().push(mark.get(b"MCID").unwrap().as_i64().unwrap());
                }
            }
        }
    }
    for (kind, least) in
        [("Document", 1), ("Sect", 7), ("H1", 6), ("H2", 30), ("Table", 30), ("TH", 200), ("TD", 1000), ("Figure", 3)]
    {
        assert!(kinds.get(kind).is_some_and(|count| *count >= least), "{kind}: {kinds:?}");
    }
    let parents = get(&root, b"ParentTree");
    let parents = parents.as_dict().unwrap().get(b"Nums").unwrap().as_array().unwrap();
    for (number, page) in document.get_pages().values().enumerate() {
        let about = document.get_dictionary(*page).unwrap();
        assert_eq!(about.get(b"StructParents").unwrap().as_i64().unwrap(), number as i64);
        let own = document.get_object(parents[2 * number + 1].as_reference().unwrap()).unwrap().as_array().unwrap();
        let mut marks = marked.remove(page).unwrap_or_default();
        marks.sort_unstable();
        assert_eq!(marks, (0..own.len() as i64).collect::<Vec<_>>(), "page {}", number + 1);
        // Nothing is shown outside of a mark, and every mark is closed.
        let content = lopdf::content::Content::decode(&document.get_page_content(*page)).unwrap();
        let mut depth = 0;
        for operation in &content.operations {
            match operation.operator.as_str() {
                "BMC" | "BDC" => depth += 1,
                "EMC" => depth -= 1,
                "Tj" | "S" | "f" | "B" => assert!(depth > 0, "{operation:?} on page {}", number + 1),
                _ => {}
            }
        }
        assert_eq!(depth, 0);
    }
    assert!(marked.is_empty());
    // The words stand in the order in which they are read.
    let text = text_of(&files["issue-pack.pdf"]).join(" ");
    let places = [
        "State of the check",
        "Contents",
        "Cautions",
        "Loop schedule",
        "Coils",
        "Bays",
        "Pressure test",
        "Every rule",
        "Signs",
    ];
    let mut from = 0;
    for place in places {
        from += text[from..].find(place).unwrap_or_else(|| panic!("{place} comes too early or not at all"));
    }
}
