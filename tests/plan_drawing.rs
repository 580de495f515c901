//! The plan as an installer gets it: the program writes it, and it is read back as XML and measured.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::process::Command;

/// A folder of its own for a test.
fn folder(name: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join("plan_drawing").join(name);
    let _ = std::fs::remove_dir_all(&path);
    std::fs::create_dir_all(&path).expect("the target folder can be written to");
    path
}

fn demo(name: &str) -> String {
    format!("{}/../../demo-designs/{name}.ufh.yaml", env!("CARGO_MANIFEST_DIR"))
}

/// Runs the program: its status, standard output, standard error.
fn run(arguments: &[&str], folder: &Path) -> (i32, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_hypocaust"))
        .args(arguments)
        .current_dir(folder)
        .stdin(std::process::Stdio::null())
        .output()
        .expect("the program starts");
    let text = |bytes| String::from_utf8(bytes).expect("what is printed is UTF-8");
    (output.status.code().expect("the program ends by itself"), text(output.stdout), text(output.stderr))
}

/// The screeder leaves a flag where its pole stands: 2.5 m by 1.5 m from the corner are 50 mm by 30 mm at 1:50 (plain arithmetic).
#[test]
fn points_for_measuring_moisture_are_flagged() {
    let design = "format: 1\nrooms: {hall: {outline: [[0, 0], [6, 0], [6, 5], [0, 5]], keep-clear: none}}\n\
                  records: {moisture-points: {p1: {at: [2.5, 1.5]}, p2: {room: hall}, p3: {at: [900, 1]}}}\n";
    let svg = plan_of("moisture-points", design);
    let drawing = roxmltree::Document::parse(&svg).unwrap();
    let flags = things(&drawing, "moisture-point");
    let [("p1", flag)] = flags[..] else { panic!("{flags:?}") };
    let foot = flag.descendants().find(|it| it.has_tag_name("circle")).unwrap();
    let room = things(&drawing, "room")[0].1.children().find(|it| it.has_tag_name("polygon")).unwrap();
    let corner = points(&room).into_iter().fold((f64::MAX, f64::MIN), |it, (x, y)| (it.0.min(x), it.1.max(y)));
    let scale = scale(&drawing);
    let off = (number(&foot, "cx") - corner.0, corner.1 - number(&foot, "cy"));
    assert!((off.0 - 2500.0 / scale).abs() < 2e-3 && (off.1 - 1500.0 / scale).abs() < 2e-3, "{off:?}");
    for said in [">p1<", ">measure moisture here: leave a flag<"] {
        assert!(svg.contains(said), "{said}");
    }
}

/// The plan of a design given as text.
fn plan_of(name: &str, design: &str) -> String {
    let folder = folder(name);
    std::fs::write(folder.join("house.ufh.yaml"), design).unwrap();
    drawn(run(&["plan", "house.ufh.yaml"], &folder))
}

fn plan_of_demo(name: &str, storey: Option<&str>) -> String {
    let file = demo(name);
    let mut arguments = vec!["plan", &file];
    arguments.extend(storey.iter().flat_map(|storey| ["--storey", storey]));
    drawn(run(&arguments, Path::new(".")))
}

/// The drawing that was printed; the status says whether all of the file could be read.
#[track_caller]
fn drawn((status, svg, told): (i32, String, String)) -> String {
    assert_eq!(status, i32::from(!told.is_empty()), "{told}");
    svg
}

/// The things of a kind on a drawing, by name.
fn things<'d>(drawing: &'d roxmltree::Document, kind: &str) -> Vec<(&'d str, roxmltree::Node<'d, 'd>)> {
    let of_kind = drawing.descendants().filter(|node| node.attribute("data-kind") == Some(kind));
    of_kind.map(|node| (node.attribute("data-name").unwrap(), node)).collect()
}

fn number(node: &roxmltree::Node, attribute: &str) -> f64 {
    node.attribute(attribute).unwrap().parse().unwrap()
}

fn points(node: &roxmltree::Node) -> Vec<(f64, f64)> {
    let pairs = node.attribute("points").unwrap().split_whitespace();
    pairs.map(|pair| pair.split_once(',').map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap())).unwrap()).collect()
}

/// How many millimetres of the building are one on the sheet, as the title block has it.
fn scale(drawing: &roxmltree::Document) -> f64 {
    let texts = drawing.descendants().filter_map(|node| node.text());
    let said = texts.filter_map(|text| text.strip_prefix("1:")?.split_once(" on A")).next().expect("the scale is told");
    said.0.parse().unwrap()
}

/// The length of a path of straights and arcs of less than half a circle, in millimetres of the sheet.
fn length(path: &str) -> f64 {
    let mut length = 0.0;
    let mut at = (0.0, 0.0);
    let spaced = path.replace('M', " M ").replace('L', " L ").replace('A', " A ");
    let mut words = spaced.split_whitespace();
    while let Some(word) = words.next() {
        let mut next = || words.next().unwrap().parse::<f64>().unwrap();
        match word {
            "M" => at = (next(), next()),
            "L" => {
                let to = (next(), next());
                length += f64::hypot(to.0 - at.0, to.1 - at.1);
                at = to;
            }
            "A" => {
                let radius = next();
                let [_, _, large, _] = [next(), next(), next(), next()];
                assert_eq!(large, 0.0, "a bend is less than half a circle");
                let to = (next(), next());
                let chord = f64::hypot(to.0 - at.0, to.1 - at.1);
                length += 2.0 * radius * (chord / 2.0 / radius).min(1.0).asin();
                at = to;
            }
            other => panic!("what is `{other}` in {path}"),
        }
    }
    length
}

/// The lengths of the flow and of the return of each loop, in metres of the building.
fn drawn_lengths(drawing: &roxmltree::Document) -> HashMap<String, (f64, f64)> {
    let scale = scale(drawing);
    let lengths = things(drawing, "loop").into_iter().map(|(name, node)| {
        let paths = node.children().filter(|it| it.has_tag_name("path"));
        let (mut flow, mut back) = (0.0, 0.0);
        for path in paths {
            let metres = length(path.attribute("d").unwrap()) * scale / 1000.0;
            match path.attribute("stroke-dasharray") {
                Some(_) => back += metres,
                None => flow += metres,
            }
        }
        (name.to_string(), (flow, back))
    });
    lengths.collect()
}

/// Paper sizes from ISO 216: A3 is 297 mm by 420 mm.
#[test]
fn a_file_for_each_storey_the_same_bytes_each_time() {
    let folder = folder("storeys");
    let file = demo("lantern-house");
    let (status, out, told) = run(&["plan", &file, "-o", "plan.svg"], &folder);
    assert_eq!((status, &*out), (0, ""), "{told}");
    assert_eq!(told, "plan-ground.svg\nplan-first.svg\n");
    for storey in ["ground", "first"] {
        let svg = std::fs::read_to_string(folder.join(format!("plan-{storey}.svg"))).unwrap();
        assert_eq!(svg, plan_of_demo("lantern-house", Some(storey)), "{storey} is not drawn twice alike");
        let drawing = roxmltree::Document::parse(&svg).unwrap();
        let root = drawing.root_element();
        assert_eq!((root.attribute("width"), root.attribute("height")), (Some("420mm"), Some("297mm")));
        assert_eq!(root.attribute("viewBox"), Some("0 0 420 297"), "a unit is a millimetre");
    }
}

/// What is drawn is as long as what is worked out, for each loop, flow and return half of it each.
#[test]
fn the_pipe_is_true_to_scale() {
    for (name, storeys) in [("lantern-house", &[Some("ground"), Some("first")][..]), ("kiln-yard", &[None])] {
        let (_, sheet, _) = run(&["workings", &demo(name), "loops", "--format", "json"], Path::new("."));
        let sheet: serde_json::Value = serde_json::from_str(&sheet).unwrap();
        let mut seen = 0;
        for storey in storeys {
            let svg = plan_of_demo(name, *storey);
            let drawing = roxmltree::Document::parse(&svg).unwrap();
            for (name, (flow, back)) in drawn_lengths(&drawing) {
                let wanted = sheet["figures"][format!("loops.{name}.length")]["value"].as_f64().unwrap();
                // A hundredth of a millimetre of paper for each of some hundred corners.
                assert!((flow + back - wanted).abs() < 0.02, "loop {name}: {} m is drawn for {wanted} m", flow + back);
                assert!((flow - back).abs() < 0.02, "loop {name}: {flow} m of flow, {back} m of return");
                seen += 1;
            }
        }
        assert_eq!(seen, if name == "kiln-yard" { 2 } else { 8 });
    }
}

/// The figures follow from the design by plain arithmetic: 5.0 m by 4.2 m at 1:50 are 100 mm by 84 mm.
#[test]
fn rooms_and_walls_are_true_to_scale() {
    let svg = plan_of_demo("lantern-house", Some("ground"));
    let drawing = roxmltree::Document::parse(&svg).unwrap();
    assert_eq!(scale(&drawing), 50.0);
    let shape = |kind: &str, name: &str| {
        let (_, node) = things(&drawing, kind).into_iter().find(|it| it.0 == name).unwrap();
        let shape = node.children().find(|it| it.has_tag_name("polygon")).unwrap();
        let corners = points(&shape);
        let span = |of: fn(&(f64, f64)) -> f64| {
            let all = corners.iter().map(of);
            all.clone().fold(f64::MIN, f64::max) - all.fold(f64::MAX, f64::min)
        };
        (span(|it| it.0), span(|it| it.1))
    };
    let near = |(x, y): (f64, f64), (wide, high): (f64, f64)| (x - wide).abs() < 2e-3 && (y - high).abs() < 2e-3;
    assert!(near(shape("room", "living"), (100.0, 84.0)));
    assert!(near(shape("wall", "W5"), (38.0, 2.0)));
    assert!(near(shape("opening", "D1"), (2.0, 18.0)));
}

/// Everything that is named on a storey is on its plan, and what is on the other storey is not.
#[test]
fn all_that_is_named_is_drawn() {
    let svg = plan_of_demo("lantern-house", Some("ground"));
    let drawing = roxmltree::Document::parse(&svg).unwrap();
    let names = |kind: &str| {
        let mut names: Vec<&str> = things(&drawing, kind).into_iter().map(|it| it.0).collect();
        names.sort_unstable();
        names.dedup();
        names
    };
    assert_eq!(names("room"), ["hall", "kitchen", "living", "shower-room", "store", "study"]);
    assert_eq!(names("wall"), ["W1", "W2", "W3", "W4", "W5", "east", "north", "south", "west"]);
    assert_eq!(names("opening"), ["D1", "D2", "D3", "D4", "D5", "front-door"]);
    assert_eq!(names("movement-joint"), ["J1", "J2", "J3", "J4", "J5"]);
    assert_eq!(names("loop"), ["L1", "L2", "L3", "L4", "L5", "L6"]);
    assert_eq!(names("keep-clear-area"), ["base-units", "bath"]);
    assert_eq!(names("manifold"), ["M1"]);
    assert_eq!(names("fixing-line"), ["pan"]);
    assert_eq!(names("hole-in-the-floor"), ["soil"]);
    // L1, L2, L3 through W1 and L5, L6 through W2, there and back.
    assert_eq!(things(&drawing, "sleeve").len(), 10);
    let texts: Vec<&str> =
        drawing.descendants().filter(|it| it.has_tag_name("text")).filter_map(|it| it.text()).collect();
    for said in
        ["Lantern House", "LH-031", "P2", "for construction", "2026-05-14", "1:50 on A3", "living", "W1", "J1", "L1"]
    {
        assert!(texts.contains(&said), "{said} is not on the plan");
    }
    assert!(texts.iter().any(|text| text.starts_with("Heating pipes in this floor. Do not drill")));
    assert!(texts.iter().any(|text| text.contains("no substitute for a competent designer")));
}

/// From the design: L2 begins 70 mm off the south wall, L1 ends 4120 mm off it, each of 14 runs at 150 mm.
#[test]
fn dimensions_are_what_a_tape_reads() {
    let svg = plan_of_demo("lantern-house", Some("ground"));
    let drawing = roxmltree::Document::parse(&svg).unwrap();
    let texts: Vec<&str> =
        drawing.descendants().filter(|it| it.has_tag_name("text")).filter_map(|it| it.text()).collect();
    for figure in
        ["0", "70", "2020", "2170", "4120", "4200", "L1: 13 × 150", "L2: 13 × 150", "4450", "4600", "tails", "3895"]
    {
        assert!(texts.contains(&figure), "no dimension says {figure}");
    }
}

/// Where words are, at least: the letters of a plain sans-serif are half as wide as they are high or wider, on average.
fn words(drawing: &roxmltree::Document) -> Vec<(String, [f64; 4])> {
    let texts = drawing.descendants().filter(|node| node.has_tag_name("text"));
    let place = |node: roxmltree::Node| {
        let text = node.text()?.to_string();
        let (x, y, size) = (number(&node, "x"), number(&node, "y"), number(&node, "font-size"));
        let long = text.chars().count() as f64 * size * 0.5;
        let before = match node.attribute("text-anchor") {
            Some("end") => long,
            Some("middle") => long / 2.0,
            _ => 0.0,
        };
        match node.attribute("transform") {
            None => Some((text, [x - before, y - size * 0.7, x - before + long, y])),
            // Read from the right of the sheet.
            Some(turn) if turn.starts_with("rotate(-90 ") => {
                Some((text, [x - size * 0.7, y + before - long, x, y + before]))
            }
            Some(_) => None,
        }
    };
    texts.filter_map(place).collect()
}

#[test]
fn no_words_cover_others() {
    for (name, storey) in [
        ("lantern-house", Some("ground")),
        ("lantern-house", Some("first")),
        ("kiln-yard", None),
        ("lock-house-kitchen", None),
        ("tray-extension", None),
        ("weigh-house", None),
        ("full-of-faults", None),
    ] {
        let svg = plan_of_demo(name, storey);
        let drawing = roxmltree::Document::parse(&svg).unwrap();
        let words = words(&drawing);
        assert!(words.len() > 60, "{} texts in {name}", words.len());
        for (at, (text, one)) in words.iter().enumerate() {
            assert!(
                one[0] > 20.0 && one[1] > 10.0 && one[2] < 410.0 && one[3] < 287.0,
                "`{text}` is outside the frame"
            );
            for (other_text, other) in &words[..at] {
                let wide = one[2].min(other[2]) - one[0].max(other[0]);
                let high = one[3].min(other[3]) - one[1].max(other[1]);
                assert!(wide < 0.1 || high < 0.1, "{name}: `{text}` covers `{other_text}` at {one:?}");
            }
        }
    }
}

/// Where pipes crowd at the manifold the number of each port still stands on its own pipe, the flow's on the full line, and on no other
/// number.
#[test]
fn numbers_of_ports_stand_on_their_pipes() {
    let crowded = [include_str!("hostile/home-5156.ufh.yaml"), include_str!("hostile/home-5240.ufh.yaml")];
    let crowded = crowded.map(|design| plan_of("ports", design));
    for svg in [crowded[0].clone(), crowded[1].clone(), plan_of_demo("lantern-house", Some("ground"))] {
        let drawing = roxmltree::Document::parse(&svg).unwrap();
        let pipes: HashMap<&str, roxmltree::Node> = things(&drawing, "loop").into_iter().collect();
        let ports = things(&drawing, "port");
        assert!(ports.len() >= 4, "{}", ports.len());
        let mut seen: Vec<(f64, f64)> = Vec::new();
        for (name, port) in ports {
            let of = |tag: &str| port.children().find(|it| it.has_tag_name(tag)).unwrap();
            let block = of("rect");
            let is_flow = of("text").attribute("fill") == Some("#fff");
            let middle = (
                number(&block, "x") + number(&block, "width") / 2.0,
                number(&block, "y") + number(&block, "height") / 2.0,
            );
            let paths = pipes[name].children().filter(|it| it.has_tag_name("path"));
            let mut own = paths.filter(|path| path.attribute("stroke-dasharray").is_none() == is_flow);
            let path = own.next().unwrap().attribute("d").unwrap();
            // Corners and ends of bends; a bend lies less than a millimetre off its chord at these scales.
            let numbers = |part: &str| part.split_whitespace().map(|it| it.parse().unwrap()).collect::<Vec<f64>>();
            let parts = path.split(['M', 'L', 'A']).filter(|part| !part.is_empty()).map(numbers);
            let ends: Vec<(f64, f64)> = parts.map(|all| (all[all.len() - 2], all[all.len() - 1])).collect();
            let off = ends.windows(2).map(|two| {
                let (way, to) =
                    ((two[1].0 - two[0].0, two[1].1 - two[0].1), (middle.0 - two[0].0, middle.1 - two[0].1));
                let along = ((way.0 * to.0 + way.1 * to.1) / (way.0 * way.0 + way.1 * way.1)).clamp(0.0, 1.0);
                f64::hypot(to.0 - along * way.0, to.1 - along * way.1)
            });
            let off = off.fold(f64::MAX, f64::min);
            assert!(off < 1.0, "port of {name}, flow {is_flow}: {off} mm beside its pipe");
            for other in &seen {
                assert!(f64::hypot(other.0 - middle.0, other.1 - middle.1) > 1.9, "port of {name} at {middle:?}");
            }
            seen.push(middle);
        }
    }
}

/// Nothing is loaded, nothing runs, nothing is too small to read.
fn assert_harmless(svg: &str) {
    let drawing = roxmltree::Document::parse(svg).unwrap_or_else(|error| panic!("{error}"));
    let known = ["svg", "g", "title", "line", "polyline", "polygon", "path", "rect", "circle", "text"];
    for node in drawing.descendants().filter(|node| node.is_element()) {
        assert!(known.contains(&node.tag_name().name()), "<{}> is on the plan", node.tag_name().name());
        assert_eq!(node.tag_name().namespace(), Some("http://www.w3.org/2000/svg"));
        for attribute in node.attributes() {
            let (name, value) = (attribute.name(), attribute.value());
            assert!(!name.starts_with("on") && !name.contains("href") && name != "style", "{name} is on the plan");
            assert!(name.starts_with("data-") || !value.contains("url("), "{name}={value}");
            assert!(name.starts_with("data-") || !(value.contains("NaN") || value.contains("inf")), "{name}={value}");
        }
        if node.has_tag_name("text") {
            assert!(number(&node, "font-size") >= 1.8, "letters of {} mm", number(&node, "font-size"));
        }
    }
}

#[test]
fn every_demo_design_gives_a_harmless_plan() {
    let mut drawn = 0;
    for entry in std::fs::read_dir(Path::new(&demo("x")).parent().unwrap()).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let Some(name) = name.strip_suffix(".ufh.yaml") else { continue };
        let folder = folder(&format!("demo-{name}"));
        let (status, _, told) = run(&["plan", path.to_str().unwrap(), "-o", "plan.svg"], &folder);
        for file in std::fs::read_dir(&folder).unwrap() {
            assert_harmless(&std::fs::read_to_string(file.unwrap().path()).unwrap());
            drawn += 1;
        }
        assert!(status < 2 || told.contains("there is nothing to draw"), "{name}: {told}");
    }
    assert!(drawn >= 5, "{drawn} plans were drawn");
}

#[test]
fn hostile_names_stay_names() {
    let bad = "<script>alert(1)</script>]]> & '";
    let design = format!(
        "format: 1\nproject: {{name: \"{bad}\", reference: {}, designer: \"👩‍🔧 שלום \\u202e\"}}\nrooms:\n  \"{bad}\":\n    \
         outline: [[0, 0], [4, 0], [4, 3], [0, 3]]\n    keep-clear: {{\"{bad}\": [[1, 1], [2, 1], [2, 2], [1, 2]]}}\nloops:\n  \
         \"{bad}\": {{room: \"{bad}\", spacing: 150 mm, pipe: PE-X 16 x 2, route: [[0.2, 0.2], [3.8, 0.2], [3.8, 0.4], [0.2, 0.4]]}}\n\
         walls: {{{}: {{line: [[0, 0], [4, 0]], thickness: 100 mm}}}}\n",
        "x".repeat(5000),
        "🔥".repeat(150),
    );
    let svg = plan_of("hostile", &design);
    assert_harmless(&svg);
    let drawing = roxmltree::Document::parse(&svg).unwrap();
    assert_eq!(things(&drawing, "loop")[0].0, bad);
    assert!(!svg.contains(&"x".repeat(500)), "a long name is cut");
}

#[test]
fn far_and_empty_plans_are_drawn_or_refused() {
    let far = "format: 1\nrooms: {a: {outline: [[9e7, 0], [90000250, 0], [90000250, 250], [9e7, 250]]}}\n\
               loops: {L1: {room: a, route: [[9e7, 0], [90000250, 0], [90000250, 1], [9e7, 1]]}}\nmanifolds: {M1: {at: [1e9, 3]}}\n\
               walls: {W: {line: [[9e7, 0], [90000250, 1]], thickness: 1e9 m}, V: {line: [[1, 1], [1, 1]], thickness: 0 m}}\n\
               openings: {D: {wall: W, from: -5 m, to: 1e9 m}, E: {wall: V, from: 1e308 m, to: -1e308 m}}\n";
    assert_harmless(&plan_of("far", far));
    assert_harmless(&plan_of("line", "format: 1\nloops: {L1: {route: [[2, 0], [2, 5]]}}\n"));
    let folder = folder("empty");
    for (text, said) in [
        ("format: 1\nrooms: {a: {area: 5 m²}}\nwalls: {W: {line: [[0, 0], [1, 0]]}}\n", "give the rooms an `outline:"),
        ("format: 1\nrooms: {a: {outline: []}}\nloops: {L1: {route: []}}\n", "there is nothing to draw"),
        ("format: 1\nrooms: {a: {outline: [[0, 0], [1e9, 0], [0, 1e9]]}}\n", "there is nothing to draw"),
        (
            "format: 1\nrooms: {a: {outline: [[0, 0], [4, 3], [4, 0], [0, 3]]}}\n",
            "room a: the outline crosses itself at [2.000, 1.500]",
        ),
        ("format: 1\nloops: {L1: {route: [[1, 1], [1, 1]]}}\n", "loop L1: fewer than two different points"),
        ("", "there is nothing to draw"),
    ] {
        std::fs::write(folder.join("a.ufh.yaml"), text).unwrap();
        let (status, out, told) = run(&["plan", "a.ufh.yaml", "-o", "a.svg"], &folder);
        assert_eq!(told.contains("these look like millimetres"), text.contains("1e9"), "it says why: {told}");
        assert_eq!((status, &*out), (2, ""), "{text}: {told}");
        assert!(told.contains(said), "{told}");
        assert!(!folder.join("a.svg").exists());
    }
}

/// Five thousand loops in one room and one manifold: soon done, and no larger than what was asked for.
#[test]
fn a_great_many_loops_are_drawn_soon() {
    let mut design = "format: 1\nrooms:\n  hall: {outline: [[0, 0], [100, 0], [100, 50], [0, 50]]}\n\
                      manifolds: {M1: {at: [0.1, 0.1], ports: 12}}\nloops:\n"
        .to_string();
    for at in 0..5000 {
        let (x, y) = (f64::from(at % 100) + 0.05, f64::from(at / 100) + 0.05);
        design += &format!(
            "  L{at}: {{manifold: M1, port: 1, room: hall, pipe: PE-X 16 x 2, spacing: 150 mm, \
             route: [[{x}, {y}], [{}, {y}], [{}, {}], [{x}, {}]]}}\n",
            x + 0.9,
            x + 0.9,
            y + 0.3,
            y + 0.3
        );
    }
    let begun = std::time::Instant::now();
    let svg = plan_of("many", &design);
    assert!(begun.elapsed().as_secs() < 20, "it took {:?}", begun.elapsed());
    assert!(svg.len() < 12 * design.len(), "{} bytes for {}", svg.len(), design.len());
    let drawing = roxmltree::Document::parse(&svg).unwrap();
    assert_eq!(things(&drawing, "loop").len(), 5000);
}

/// Where the findings of a rule are marked, in millimetres from the lower left corner of a room.
fn marked(svg: &str, rule: &str, room: &str) -> Vec<(i64, i64)> {
    let drawing = roxmltree::Document::parse(svg).unwrap();
    let (_, room) = things(&drawing, "room").into_iter().find(|it| it.0 == room).unwrap();
    let corners = points(&room.children().find(|it| it.has_tag_name("polygon")).unwrap());
    let (left, foot) = corners.iter().fold((f64::MAX, f64::MIN), |(x, y), it| (x.min(it.0), y.max(it.1)));
    let scale = scale(&drawing);
    things(&drawing, "finding")
        .into_iter()
        .filter(|it| it.0 == rule)
        .filter_map(|(_, node)| node.descendants().find(|it| it.has_tag_name("circle")))
        .map(|it| ((number(&it, "cx") - left) * scale, (foot - number(&it, "cy")) * scale))
        .map(|(x, y)| (x.round() as i64, y.round() as i64))
        .collect()
}

/// The wall W1 of the faulty design stands at x = 6.05 m, and the pipe goes through it at y = 2.00 m and 1.85 m.
#[test]
fn findings_are_marked_where_they_are() {
    let svg = plan_of_demo("full-of-faults", None);
    assert_eq!(marked(&svg, "sleeve-missing-at-wall", "lounge"), [(6050, 2000), (6050, 1850)]);
    // Pipes that come near to each other, where they are nearest: behind a bend of 80 mm.
    let near = "format: 1\nproject: {stage: for construction}\nrooms: {hall: {outline: [[0, 0], [7, 0], [7, 3], [0, 3]]}}\nloops:\n  \
                L1: {room: hall, pipe: PE-X 16 x 2, route: [[6, 1], [1, 1], [1, 2], [6, 2]]}\n  \
                L2: {room: hall, pipe: PE-X 16 x 2, route: [[6, 1.2], [4, 1.2], [4, 1.018], [2, 1.018], [2, 1.5], [6, 1.5]]}\n";
    assert_eq!(marked(&plan_of("near", near), "pipe-too-near-pipe", "hall"), [(2080, 1000)]);
}

/// The tails of L1 cannot be led through the wall: its ends are at no port, and its length is marked.
#[test]
fn what_is_not_laid_out_is_not_drawn_as_if_it_were() {
    let design = |opening: &str| {
        format!(
            "format: 1
rooms:
  lounge: {{outline: [[0, 0], [4, 0], [4, 3], [0, 3]], keep-clear: none}}
  store: {{outline: [[4.1, 0], [6, 0], [6, 3], [4.1, 3]], keep-clear: none}}
walls: {{W1: {{line: [[4.05, 0], [4.05, 3]], thickness: 100 mm}}}}
{opening}manifolds: {{M1: {{at: [5.9, 1.5], height: 0.6 m, ports: 2}}}}
loops:
  L1: {{manifold: M1, port: 1, room: lounge, pipe: PE-X 16 x 2, spacing: 200 mm, layout: spiral}}
"
        )
    };
    let shut = plan_of("shut", &design(""));
    assert!(shut.contains("** tails not laid out: their length is assumed"));
    let open = plan_of("open", &design("openings: {D1: {wall: W1, from: 1 m, to: 2 m}}\n"));
    assert!(!open.contains("tails not laid out"));
    let ports = |svg: &str| svg.matches("rx=\"1.45\"").count();
    assert_eq!(ports(&open), ports(&shut) + 2);
}

/// North lies so far clockwise from the top of the sheet: `90°` is to the right, whichever way the sheet is turned.
#[test]
fn north_is_where_it_is_said_to_be() {
    let room = "format: 1\nrooms: {a: {outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}}\n";
    let assumed = plan_of("no-north", room);
    assert!(assumed.contains("north not given"));
    for (said, way) in [("0°", (0.0, -1.0)), ("90°", (1.0, 0.0)), ("-135 deg", (-0.5f64.sqrt(), 0.5f64.sqrt()))] {
        let svg = plan_of("north", &format!("{room}site: {{north: {said}}}\n"));
        assert!(!svg.contains("north not given"));
        let drawing = roxmltree::Document::parse(&svg).unwrap();
        let (_, arrow) = things(&drawing, "north").remove(0);
        let middle = arrow.descendants().find(|it| it.has_tag_name("circle")).unwrap();
        let (x, y) = (number(&middle, "cx"), number(&middle, "cy"));
        let shape = arrow.descendants().find(|it| it.has_tag_name("polygon")).unwrap();
        let (tip_x, tip_y) = points(&shape)[0];
        let far = f64::hypot(tip_x - x, tip_y - y);
        let off = f64::hypot((tip_x - x) / far - way.0, (tip_y - y) / far - way.1);
        assert!(off < 1e-3, "{said}: the arrow points to {}, {}", tip_x - x, tip_y - y);
    }
}

#[test]
fn a_sheet_for_the_site_has_no_findings() {
    let file = demo("full-of-faults");
    let (status, svg, told) = run(&["plan", &file, "--without-findings"], Path::new("."));
    assert_eq!(status, 1, "{told}");
    let drawing = roxmltree::Document::parse(&svg).unwrap();
    assert!(things(&drawing, "finding").is_empty() && !svg.contains("Findings on this plan"));
    // That the design has errors is said all the same.
    assert!(svg.contains("check of the whole design: "));
    assert_eq!(things(&drawing, "loop").len(), 1);
}

/// The pipe is drawn where it was laid, 200 mm farther in; what was designed stands beside it.
#[test]
fn what_was_laid_is_drawn() {
    let design = "format: 1
rooms: {lounge: {outline: [[0, 0], [4, 0], [4, 3], [0, 3]], keep-clear: none}}
walls: {W1: {line: [[-0.05, 0], [-0.05, 3]], thickness: 100 mm}}
loops:
  L1: {room: lounge, pipe: PE-X 16 x 2, spacing: 200 mm, route: [[-0.5, 1], [3, 1], [3, 1.2], [-0.5, 1.2]], sleeves: [W1]}
records:
  as-built:
    date: 2026-03-04
    routes:
      L1: [[-0.5, 1.2], [3, 1.2], [3, 1.4], [-0.5, 1.4]]
";
    let svg = plan_of("as-laid", design);
    let drawing = roxmltree::Document::parse(&svg).unwrap();
    let scale = scale(&drawing);
    let (_, room) = things(&drawing, "room").remove(0);
    let foot = points(&room.children().find(|it| it.has_tag_name("polygon")).unwrap())[0].1;
    let height = |y: f64| ((foot - y) * scale).round();
    let (_, pipe) = things(&drawing, "loop").remove(0);
    let path = pipe.children().rfind(|it| it.has_tag_name("path")).unwrap().attribute("d").unwrap();
    let begins: f64 = path.trim_start_matches('M').split([' ', 'L']).nth(1).unwrap().parse().unwrap();
    assert_eq!(height(begins), 1200.0);
    let (_, designed) = things(&drawing, "designed-route").remove(0);
    let designed = points(&designed.children().find(|it| it.has_tag_name("polyline")).unwrap());
    assert_eq!(height(designed[0].1), 1000.0);
    let sleeves = things(&drawing, "sleeve").len();
    assert_eq!(sleeves, 2);
    for said in ["Drawn as laid, measured 2026-03-04: L1", "1400", "Sleeves"] {
        assert!(svg.contains(&format!(">{said}<")), "{said} is not on the plan");
    }
}

/// W1 is passed by L1, L2 and L3 there and back, W2 by L5 and L6.
#[test]
fn sleeves_are_listed() {
    let svg = plan_of_demo("lantern-house", Some("ground"));
    let drawing = roxmltree::Document::parse(&svg).unwrap();
    let texts: Vec<&str> =
        drawing.descendants().filter(|it| it.has_tag_name("text")).filter_map(|it| it.text()).collect();
    let at = texts.iter().position(|text| *text == "of loops").expect("there is a list");
    let rows: Vec<&[&str]> = texts[at + 1..].chunks(4).take_while(|row| row[0].starts_with('W')).collect();
    let number = |wall: &str| -> usize {
        rows.iter().filter(|row| row[0] == wall).map(|row| row[1].parse::<usize>().unwrap()).sum()
    };
    assert_eq!((number("W1"), number("W2")), (6, 4), "{rows:?}");
}

#[test]
fn the_design_is_not_written_over() {
    let folder = folder("over");
    std::fs::copy(demo("electric-mat-shower"), folder.join("a.ufh.yaml")).unwrap();
    let (status, _, told) = run(&["plan", "a.ufh.yaml", "-o", "./a.ufh.yaml"], &folder);
    assert!(status == 2 && told.contains("is the design itself"), "{told}");
    let (status, _, told) = run(&["plan", "a.ufh.yaml", "-o", "gone/a.svg"], &folder);
    assert!(status == 2 && told.contains("cannot write `gone/a.svg`"), "{told}");
    let (status, _, told) = run(&["plan", &demo("lantern-house")], &folder);
    assert!(status == 2 && told.contains("--storey NAME"), "{told}");
    let (status, _, told) = run(&["plan", &demo("lantern-house"), "--storey", "attic"], &folder);
    assert!(status == 2 && told.contains("ground, first"), "{told}");
}
