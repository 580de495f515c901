//! The issue pack: what goes out with a revision. Each sheet is described once, in its own module; the page for a browser and
//! the PDF are made from the same descriptions, so that both say the same.
//!
//! A design as built gives the handover pack: what was laid, tested and set takes the place of what is still to be done.

mod arithmetic;
mod calculation;
mod changes;
mod cover;
mod floors;
mod handover;
mod html;
mod identity;
mod loops;
mod manifest;
mod pdf;
mod plans;
mod record;
mod sheet;
mod site;
mod sources;

pub use identity::{Project, sha256};
pub use manifest::{Pack, read};

use check::Outcome;
use design::Stage;
use identity::Identity;
use jiff::civil::Date;
use sheet::Sheet;

/// A file of the pack.
#[derive(Debug)]
pub struct File {
    pub name: String,
    pub bytes: Vec<u8>,
}

/// The name of the file that lists the others.
pub const MANIFEST: &str = "manifest.json";

/// All files of the pack of a design that was checked as on this day, held against the design as it was issued before where that is
/// given.
pub fn files(outcome: &Outcome, day: Date, issued: Option<&Outcome>) -> Vec<File> {
    let issue = Issue { outcome, day, issued, identity: Identity::of(outcome) };
    let mut sheets = vec![Sheet::default()];
    if issue.is_as_built() {
        sheets.push(handover::notice(&issue));
    }
    let (plan, plans) = plans::sheet(&issue).unzip();
    sheets.extend(plan);
    sheets.extend(loops::sheet(&issue));
    sheets.push(floors::sheet(&issue));
    sheets.push(if issue.is_as_built() { handover::sheet(&issue) } else { site::sheet(&issue) });
    sheets.extend(issue.issued.map(|issued| changes::sheet(&issue, issued)));
    sheets.push(record::sheet(&issue));
    sheets.push(calculation::sheet(&issue));
    sheets.iter_mut().for_each(sources::note);
    sheets[0] = cover::sheet(&issue, &sheets[1..]);

    let name = if issue.is_as_built() { "handover-pack" } else { "issue-pack" };
    let mut files = vec![
        File { name: format!("{name}.html"), bytes: html::page(&issue, &sheets).into_bytes() },
        File { name: format!("{name}.pdf"), bytes: pdf::document(&issue, &sheets) },
    ];
    files.extend(plans.into_iter().flatten());
    if !outcome.design.loops.is_empty() {
        files.push(File { name: "loops.csv".into(), bytes: crate::schedule::csv(outcome).into_bytes() });
    }
    files.push(File { name: MANIFEST.into(), bytes: manifest::json(&issue, &files).into_bytes() });
    files
}

/// What is issued.
struct Issue<'o> {
    outcome: &'o Outcome,
    /// The day by which it was checked.
    day: Date,
    /// The design as it was issued before.
    issued: Option<&'o Outcome>,
    identity: Identity,
}

impl Issue<'_> {
    fn is_as_built(&self) -> bool {
        self.outcome.design.stage() == Stage::AsBuilt
    }

    /// What the pack is called.
    fn title(&self) -> &'static str {
        if self.is_as_built() { "Handover pack" } else { "Issue pack" }
    }

    /// A limit of a rule as it is written, the house standard's where that has its own, and whose it is.
    fn limit(&self, rule: &str, limit: &str) -> (&str, String) {
        let (text, by_rule, is_moved) = crate::limit(self.outcome, rule, limit);
        let whose = match is_moved {
            true => format!("the house standard; without it {}", by_rule.value),
            false => sources::printed(by_rule.source),
        };
        (text, whose)
    }

    /// The same as a measured value.
    fn limit_value<Q: quantity::Quantity>(&self, rule: &str, limit: &str) -> Q {
        Q::parse(self.limit(rule, limit).0).expect("the check reads every limit, and a house standard's only if it can")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(text: &str) -> Vec<File> {
        files(&crate::checked(text), jiff::civil::date(2026, 6, 1), None)
    }

    fn page(text: &str) -> String {
        let files = all(text);
        let page = files.iter().find(|file| file.name.ends_with(".html")).expect("there is always a page");
        String::from_utf8(page.bytes.clone()).expect("a page is text")
    }

    const HOUSE: &str = "format: 1
project: {name: Mill, reference: M-1, revision: P1, stage: STAGE, issued: 2026-05-04}
heat-source: {flow-temperature: 40 °C}
floors:
  screeded:
    method: clipped-in-screed
    below: ground
    layers: [{material: cement screed, thickness: 65 mm, pipe: at base}, {material: PIR board, thickness: 100 mm}]
rooms: {hall: {temperature: 20 °C, heat-loss: 600 W, floor: screeded, outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}}
manifolds: {M1: {ports: 2, at: [0.1, 0.1]}}
loops: {L1: {manifold: M1, port: 1, room: hall, pipe: PE-X 16 x 2, spacing: 150 mm, layout: meander}}
";

    /// A pack of a design with loops in screed asks for every limit that any sheet asks for.
    #[test]
    fn every_limit_is_there() {
        let page = page(&HOUSE.replace("STAGE", "for construction"));
        for limit in [
            "4.0 bar at least",
            "60 min at least",
            "0.2 bar at most",
            "2 bar to 3 bar",
            "21 days at least",
            "at most 40 m²",
        ] {
            assert!(page.contains(limit), "{limit}");
        }
    }

    /// 25 °C for three days, up by 5 K a day, four days at 40 °C, and down again: common practice as the rules have it; by hand.
    #[test]
    fn the_first_heating_is_told_day_by_day() {
        let page = page(&HOUSE.replace("STAGE", "for construction"));
        let start = page.find("flow temperature</th>").expect("there is a programme");
        let rows: Vec<&str> = page[start..].split("<tr>").skip(1).take(8).collect();
        let of = |days: &str, celsius: &str| format!("<td class=\"n\">{days}</td><td class=\"b\">{celsius} °C</td>");
        let wanted = [
            ("1 to 3", "25.0"),
            ("4", "30.0"),
            ("5", "35.0"),
            ("6 to 9", "40.0"),
            ("10", "35.0"),
            ("11", "30.0"),
            ("12", "25.0"),
        ];
        for (row, (days, celsius)) in rows.iter().zip(wanted) {
            assert!(row.starts_with(&of(days, celsius)), "{row}");
        }
    }

    /// What is not drawn heats its bay all the same; a sleeve of no length is as long as the rule asks, and says so.
    #[test]
    fn what_is_not_given_is_named_and_what_is_assumed_is_marked() {
        let house = HOUSE.replace("STAGE", "for construction");
        let bays = page(&house.replace(", layout: meander", ", tails: 4 m"));
        assert!(bays.contains("<td>not drawn: L1</td>"), "{bays}");
        let route = ", route: [[0.1, 0.1], [3.5, 0.1], [3.5, 0.5], [0.1, 0.5]], sleeves: [{at: J1}]";
        let joint = "movement-joints: {J1: {line: [[2, 0], [2, 3]]}}\n";
        let joints = page(&format!("{}{joint}", house.replace(", layout: meander", route)));
        assert!(joints.contains("L1: 2 times, all in sleeves of 300 mm *"), "{joints}");
        assert_eq!(joints.matches("* length of the sleeve not given").count(), 2, "on the plan and on the sheet");
        // A wall of 100 mm and 25 mm beyond each face.
        let wall = "walls: {W1: {line: [[2, 0], [2, 3]], thickness: 100 mm}}\n";
        let walls = page(&format!("{}{wall}", house.replace(", layout: meander", &route.replace("J1", "W1"))));
        assert!(walls.contains(">150 mm *<"), "{walls}");
    }

    /// A spiral in a room of 2.6 m, which is no multiple of its spacing, is laid closer than stated, and every schedule says so.
    #[test]
    fn the_spacing_that_is_laid_is_told_beside_the_one_stated() {
        let house = HOUSE.replace("STAGE", "for construction").replace("layout: meander", "layout: spiral");
        let house = house.replace("[4, 3], [0, 3]", "[4, 2.6], [0, 2.6]").replace("150 mm", "200 mm");
        let outcome = crate::checked(&house);
        let laid = workings::spacing_drawn(&outcome.workings, 0).expect("it is laid out").value;
        let (laid, metres) = (format!("{:.0} mm", laid.in_millimetres()), laid.in_metres());
        assert_ne!(laid, "200 mm");
        let page = page(&house);
        assert!(page.contains(&format!("<td class=\"n\">200 mm</td><td class=\"n\">{laid}</td>")), "{page}");
        assert!(crate::schedule::text(&outcome).contains(&format!(" 200 mm  {laid} ")));
        assert!(crate::schedule::csv(&outcome).contains(&format!(",{:.0},\r\n", metres * 1000.0)));
        let document: serde_json::Value = serde_json::from_str(&crate::schedule::json(&outcome)).expect("it is JSON");
        let told = &document["manifolds"][0]["loops"][0];
        assert_eq!(told["spacing"].as_f64(), Some(0.2));
        let is_laid = told["spacing-laid"].as_f64().is_some_and(|told| (told - metres).abs() < 1e-9);
        assert!(is_laid, "{told:#}");
    }

    /// A setting that was worked out for the head needed does not hold beside one that is stated for all that the pump offers.
    #[test]
    fn settings_for_two_pressures_are_told_apart() {
        let house = HOUSE.replace("STAGE", "for construction").replace(", layout: meander", ", tails: 4 m");
        let house = house.replace("{ports: 2,", "{ports: 2, pump: {head: 30 kPa},");
        let loops = |more: &str| {
            format!("{house}  L2: {{manifold: M1, port: 2, room: hall, pipe: PE-X 16 x 2, spacing: 150 mm, tails: 6 m{more}}}\n")
                .replace("loops: {L1: {", "loops:\n  L1: {")
                .replace("tails: 4 m}}", "tails: 4 m}")
        };
        let (none, one) = (page(&loops("")), page(&loops(", presetting: 0.9 m³/h")));
        assert!(none.contains("presettings are for the pump set to ") && !none.contains("by its gauge"), "{none}");
        assert!(
            one.contains("presettings stated are for all of the pump&#39;s 30.0 kPa, those worked out (*) are for "),
            "{one}"
        );
        let site = &one[one.find("Setting the manifolds").expect("there is a site sheet")..];
        assert!(site.contains("<td class=\"n\">by its gauge</td>") && site.contains("Kv 0.90 m³/h</td>"), "{site}");
        // What is handed over says what the design asks for: nobody recorded how the pump was set.
        let built = page(&loops("").replace("for construction", "as built"));
        assert!(built.contains("Pump by the design: set to "), "{built}");
    }

    /// A firm puts its name below the sheet: a limit that nobody read in the standard is marked, once explained.
    #[test]
    fn what_nobody_read_in_the_standard_is_marked() {
        let page = page(&HOUSE.replace("STAGE", "for construction"));
        let site = &page
            [page.find("<h1>Site sheet").expect("there is one")..page.find("<h1>Check record").expect("there is one")];
        assert!(site.contains("EN 14336 †") && !site.contains("memory") && !site.contains("secondary text"), "{site}");
        assert_eq!(site.matches("† not verified against the text").count(), 1);
    }

    #[test]
    fn what_is_other_than_issued_is_told() {
        let (issued, built) = (HOUSE.replace("STAGE", "for construction"), HOUSE.replace("STAGE", "as built"));
        let built = built.replace("heat-loss: 600 W", "heat-loss: 640 W").replace("P1", "P2");
        let (issued, built) = (crate::checked(&issued), crate::checked(&built));
        let files = files(&built, jiff::civil::date(2026, 6, 1), Some(&issued));
        let page = String::from_utf8_lossy(&files[0].bytes).into_owned();
        assert!(page.contains("<tr><th class=\"group\" colspan=\"3\">rooms/hall</th></tr>"), "{page}");
        assert!(page.contains("<td class=\"b\">heat-loss</td><td>600 W</td><td>640 W</td>"));
        let manifest = String::from_utf8_lossy(&files.last().expect("there is a manifest").bytes).into_owned();
        assert!(manifest.contains("compared-with") && manifest.contains(&sha256(issued.sources[0].text.as_bytes())));
    }

    #[test]
    fn a_design_as_built_gives_the_handover_pack() {
        let files = all(&HOUSE.replace("STAGE", "as built"));
        let names: Vec<&str> = files.iter().map(|it| &*it.name).collect();
        assert_eq!(names, ["handover-pack.html", "handover-pack.pdf", "plan.svg", "loops.csv", "manifest.json"]);
        let page = page(&HOUSE.replace("STAGE", "as built"));
        assert!(page.contains("DO NOT DRILL") && page.contains("No pressure test is recorded."));
        assert!(!page.contains("Site sheet"));
    }

    /// Half a design, none at all, one of nothing but broken text or mats: there is a pack, and nothing breaks.
    #[test]
    fn anything_that_can_be_read_can_be_set() {
        let mat = "electric-mats: {E1: {room: hall, area: 2 m², power-density: 150 W/m²}}\nrooms: {hall: {}}\n";
        let without_manifold = HOUSE.replace("manifolds: {M1: {ports: 2, at: [0.1, 0.1]}}\n", "");
        let names = HOUSE.replace("hall", &format!("\"{}\"", "床 <b>&amp; 'Ωß\u{0301} שלום ".repeat(30)));
        for text in ["", "format: 1\n", "a: [", "rooms: {hall: {}}", mat, &without_manifold, &names] {
            for stage in ["as built", "for construction"] {
                let files = all(&text.replace("STAGE", stage));
                assert!(files.iter().all(|file| !file.bytes.is_empty()));
            }
        }
    }
}
