//! A new design from a few wishes: a construction, and rooms as sizes.

use crate::asked::with_inspection;
use crate::remedy::written;
use crate::rules::manifold_flows_unbalanced::{any_preset, left_by_pump, presettings};
use crate::{Files, Job, look, mend};
use design::{Method, SourceKind, Use};
use jiff::civil::Date;
use quantity::*;
use std::collections::HashSet;

/// What a new design is to hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Wishes {
    pub project: String,
    pub method: Method,
    pub source: SourceKind,
    pub rooms: Vec<RoomWish>,
}

/// A room with its size.
#[derive(Debug, Clone, PartialEq)]
pub struct RoomWish {
    pub name: String,
    pub size: Size,
}

/// How large a room is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Size {
    Area(Area),
    Sides(Length, Length),
}

impl Size {
    fn area(self) -> Area {
        match self {
            Size::Area(area) => area,
            Size::Sides(one, other) => one * other,
        }
    }
}

impl RoomWish {
    /// Reads `kitchen 4.2 x 3.6` or `hall 12 m²`: a name, then two sides in metres or an area.
    ///
    /// # Errors
    /// What is wrong, in a sentence.
    pub fn read(text: &str) -> Result<RoomWish, String> {
        let text = text.trim();
        // A name may hold numbers: the size is the last part that reads as one.
        let starts = text.char_indices().filter(|(at, c)| c.is_ascii_digit() && text[..*at].ends_with([' ', '\t']));
        let named = starts.filter_map(|(at, _)| Some((text[..at].trim_end(), size(&text[at..])?))).next();
        let named = named.filter(|(name, _)| !name.ends_with([' ', '\t', '×']) && !name.ends_with(" x"));
        let Some((name, size)) = named else {
            return Err(format!("a room is a name and a size, `kitchen 4.2 x 3.6` or `hall 12 m²`, not `{text}`"));
        };
        let area = size.area().in_square_metres();
        if !(0.5..=500.0).contains(&area) {
            return Err(format!("a room of {} is hard to believe; 0.5 m² to 500 m² can be begun with", size.area()));
        }
        Ok(RoomWish { name: name.trim_end_matches([':', '=']).to_string(), size })
    }

    /// What the room is for, as far as its name says it.
    fn use_of_it(&self) -> Use {
        let name = self.name.to_lowercase();
        let says = [
            ("bath", Use::Bathroom),
            ("shower", Use::Bathroom),
            ("toilet", Use::Toilet),
            ("bed", Use::Bedroom),
            ("kitchen", Use::Kitchen),
            ("dining", Use::Dining),
            ("hall", Use::Hall),
            ("corridor", Use::Hall),
            ("utility", Use::Utility),
            ("office", Use::Office),
            ("study", Use::Office),
            ("workshop", Use::Workshop),
            ("conservatory", Use::Conservatory),
            ("shop", Use::Shop),
            ("class", Use::Classroom),
            ("garage", Use::Garage),
            ("store", Use::Store),
        ];
        says.into_iter().find(|(word, _)| name.contains(word)).map_or(Use::Living, |(_, use_of_it)| use_of_it)
    }
}

/// Reads two sides in metres, or an area.
fn size(text: &str) -> Option<Size> {
    let sides: Vec<&str> = text.split(['x', '×', 'X']).map(|it| it.trim().trim_end_matches('m').trim_end()).collect();
    match sides[..] {
        [one, other] => {
            let metres = |text: &str| text.parse().ok().map(Length::metres);
            Some(Size::Sides(metres(one)?, metres(other)?))
        }
        _ => Area::parse(text).ok().map(Size::Area),
    }
}

/// A construction to begin with: what is usual, for the designer to change.
struct Sketch {
    /// The floor's block, from `below` on.
    floor: &'static str,
    pipe: &'static str,
    spacing: Length,
    /// Whether rooms have wood on it, but for wet ones.
    wood: bool,
    /// How much of a loop lies in its room at most.
    field: Length,
}

impl Sketch {
    /// What most have.
    const USUAL: Sketch = Sketch {
        floor: "",
        pipe: "multilayer 16 x 2",
        spacing: Length::millimetres(150.0),
        wood: false,
        field: Length::metres(70.0),
    };
}

fn sketch(method: Method) -> Option<Sketch> {
    let mm = Length::millimetres;
    Some(match method {
        Method::ClippedInScreed => Sketch {
            floor: "    below: ground
    layers:
      - {material: porcelain tile, thickness: 10 mm}
      - {material: tile adhesive, thickness: 5 mm, held: full bed}
      - {material: cement screed, thickness: 65 mm, pipe: at base, screed: sand-cement}
      - {material: polyethylene membrane, thickness: 0.2 mm}
      - {material: PIR board, thickness: 130 mm, conductivity: 0.022 W/(m·K)}
      - {material: damp-proof membrane, thickness: 0.3 mm}
      - {material: concrete slab, thickness: 150 mm}
    edge-strip: {thickness: 10 mm, complete: true}
",
            ..Sketch::USUAL
        },
        Method::CastellatedTray => Sketch {
            floor: "    below: ground
    module: 50 mm
    tray: {lifts-pipe: 4 mm, lapped: true, fixed: true}
    layers:
      - {material: porcelain tile, thickness: 10 mm}
      - {material: tile adhesive, thickness: 5 mm, held: full bed}
      - {material: cement screed, thickness: 65 mm, pipe: at base, screed: sand-cement}
      - {material: polyethylene membrane, thickness: 0.2 mm}
      - {material: PIR board, thickness: 130 mm, conductivity: 0.022 W/(m·K)}
      - {material: damp-proof membrane, thickness: 0.3 mm}
      - {material: concrete slab, thickness: 150 mm}
    edge-strip: {thickness: 10 mm, complete: true}
",
            ..Sketch::USUAL
        },
        Method::BondedBoard => Sketch {
            floor: "    below: heated room
    module: 100 mm
    base: {kind: screed, flatness: 2 mm, primed: true}
    layers:
      - {material: porcelain tile, thickness: 10 mm}
      - {material: tile adhesive, thickness: 5 mm, adhesive-class: C2 S1, held: full bed}
      - {material: XPS, thickness: 40 mm, pipe: at top, held: full bed, grooves-filled: true}
      - {material: tile adhesive, thickness: 4 mm, adhesive-class: C2 S1, held: full bed}
      - {material: cement screed, thickness: 50 mm, screed: sand-cement}
      - {material: concrete slab, thickness: 150 mm}
    edge-strip: {thickness: 8 mm, complete: true}
",
            pipe: "PE-RT 12 x 2",
            spacing: mm(100.0),
            field: Length::metres(45.0),
            ..Sketch::USUAL
        },
        Method::FloatingBoard => Sketch {
            floor: "    below: heated room
    module: 150 mm
    base: {kind: boarded timber, flatness: 2 mm}
    plates: {material: aluminium, thickness: 0.5 mm, width: 130 mm}
    layers:
      - {material: cement board, thickness: 18 mm, held: glued, joints-glued: true}
      - {material: EPS, thickness: 30 mm, pipe: at top, joints-glued: true, held: floating}
      - {material: softwood boards, thickness: 22 mm}
      - {material: mineral wool, thickness: 100 mm}
      - {material: plasterboard, thickness: 15 mm}
    edge-strip: {thickness: 10 mm, complete: true}
",
            wood: true,
            ..Sketch::USUAL
        },
        Method::SpreaderPlates => Sketch {
            floor: "    below: heated room
    base: {kind: joists}
    joists: {depth: 220 mm, width: 47 mm, spacing: 400 mm, span: 3.6 m}
    plates: {material: aluminium, thickness: 0.5 mm, width: 180 mm, gap: 15 mm, coverage: 90 %}
    layers:
      - {material: cement board, thickness: 18 mm, held: screwed}
      - {material: mineral wool, thickness: 120 mm, pipe: at top, held: fitted tight, joist-share: 12 %}
      - {material: plasterboard, thickness: 15 mm}
    edge-strip: {thickness: 8 mm, complete: true}
",
            spacing: mm(200.0),
            wood: true,
            ..Sketch::USUAL
        },
        Method::EmbeddedInSlab => Sketch {
            floor: "    below: ground
    layers:
      - {material: reinforced concrete, thickness: 180 mm, pipe: 60 mm}
      - {material: polyethylene membrane, thickness: 0.2 mm}
      - {material: XPS, thickness: 160 mm, conductivity: 0.034 W/(m·K)}
      - {material: damp-proof membrane, thickness: 0.3 mm}
    edge-strip: {thickness: 10 mm, complete: true}
",
            spacing: mm(200.0),
            ..Sketch::USUAL
        },
        Method::ElectricMat => return None,
    })
}

/// The constructions that a design can be begun with.
pub fn methods() -> impl Iterator<Item = Method> {
    Method::ALL.iter().copied().filter(|method| sketch(*method).is_some())
}

/// The text of a new design at stage `preliminary`, with its water as warm as its floors need.
///
/// # Errors
/// What cannot be, in a sentence: no room, two of one name, a construction without pipe.
pub fn start(wishes: &Wishes, today: Date) -> Result<String, String> {
    let Some(sketch) = sketch(wishes.method) else {
        return Err(format!("a design of {} is not begun here; it has no loops", wishes.method));
    };
    if wishes.rooms.is_empty() {
        return Err("a design has at least one room".into());
    }
    let mut names = HashSet::new();
    if let Some(twice) = wishes.rooms.iter().find(|room| !names.insert(&room.name)) {
        return Err(format!("two rooms are called `{}`; give each a name of its own", twice.name));
    }
    // The water is as warm as the floor that needs the warmest; that shows when the loops have been worked out.
    let first = text(wishes, &sketch, 40.0);
    let files: &Files = &|_| Err(String::new());
    let outcome = look(&job(&first, files, today));
    let needed = outcome.workings.loops.iter().filter_map(|it| Some(it.flow_temperature_needed.as_ref().ok()?.value));
    let warmest = needed.reduce(Temperature::max).map_or(40.0, |it| it.in_celsius().ceil());
    let sketched = text(wishes, &sketch, warmest.clamp(28.0, 55.0));
    // What is still to be said of it is put right as it would be for a designer.
    let mended = mend(&job(&sketched, files, today), |_| true);
    // A flow that was set after the valves asks for other valves.
    let set_anew = with_inspection(&job(&mended.text, files, today), Some(&mended.left.workings), |inspection| {
        let set = inspection.manifolds().filter(|it| any_preset(inspection, it.worked));
        let changes = set.filter_map(|it| presettings(inspection, &it, left_by_pump(it.worked))).flatten();
        mended.left.texts_after(&changes.collect::<Vec<_>>())?.into_iter().next()
    });
    let holds = |text: &String| look(&job(text, files, today)).findings.len() <= mended.left.findings.len();
    Ok(set_anew.filter(holds).unwrap_or(mended.text))
}

fn job<'j>(text: &'j str, files: &'j Files, today: Date) -> Job<'j> {
    Job { path: "new.ufh.yaml", bytes: text.as_bytes(), files, house_standard: None, today, remedies: false }
}

fn text(wishes: &Wishes, sketch: &Sketch, celsius: f64) -> String {
    let mut rooms = String::new();
    let mut loops = String::new();
    let mut number = 0;
    let mut left = 0.0;
    for room in &wishes.rooms {
        let area = room.size.area();
        let (use_of_it, name) = (room.use_of_it(), written(&room.name));
        let (celsius, for_each) = match use_of_it {
            Use::Bathroom => (22, 40.0),
            Use::Bedroom | Use::Hall | Use::Toilet | Use::Utility => (18, 45.0),
            _ => (20, 40.0),
        };
        let loss = (area.in_square_metres() * for_each / 10.0).ceil() * 10.0;
        let size = match room.size {
            Size::Area(area) => format!("area: {} m²", round(area.in_square_metres())),
            Size::Sides(along, across) => {
                let right = round(left + along.in_metres());
                let (from, up) = (round(left), round(across.in_metres()));
                left = right + 0.1;
                format!("outline: [[{from}, 0], [{right}, 0], [{right}, {up}], [{from}, {up}]]")
            }
        };
        let covering = match (sketch.wood, use_of_it) {
            (false, _) => "",
            (true, Use::Bathroom | Use::Toilet) => {
                ", covering: [{material: porcelain tile, thickness: 10 mm}, {material: tile adhesive, thickness: 5 mm}]"
            }
            (true, _) => ", covering: [{material: engineered wood, thickness: 10 mm, held: glued}]",
        };
        rooms += &format!(
            "  {name}: {{use: {use_of_it}, temperature: {celsius} °C, heat-loss: {loss} W, floor: floor, {size}{covering}, assumed: \
             [heat-loss]}}\n"
        );
        let parts = (area / sketch.spacing / sketch.field).ceil().max(1.0) as usize;
        for _ in 0..parts {
            number += 1;
            let share = if parts == 1 {
                String::new()
            } else {
                format!(", area: {} m²", round(area.in_square_metres() / parts as f64))
            };
            loops += &format!(
                "  L{number}: {{manifold: M1, port: {number}, room: {name}, pipe: {}, spacing: {} mm, tails: 8 m{share}}}\n",
                sketch.pipe,
                sketch.spacing.in_millimetres()
            );
        }
    }
    format!(
        "format: 1
project: {{name: {}, stage: preliminary}}
site: {{outdoor-temperature: -3 °C}} # the coldest day that the heating is designed for
# As warm as the floors need for the heat losses below.
heat-source: {{kind: {}, flow-temperature: {celsius} °C, temperature-drop: 5 K}}

floors:
  floor:
    method: {}
{}
# Each heat loss is only so many watts a square metre: put in what was worked out for the room, and take its `assumed` out.
# Once a loop has a `layout: meander` or a `route`, and the manifold its place `at: [x, y]`, the plan can be drawn.
rooms:
{rooms}
manifolds:
  M1: {{ports: {}, pump: {{head: 30 kPa}}}}

loops:
{loops}",
        written(&wishes.project),
        wishes.source,
        wishes.method,
        sketch.floor,
        number + 1,
    )
}

/// To the centimetre, or the hundredth of a square metre.
fn round(number: f64) -> f64 {
    (number * 100.0).round() / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Outcome;

    const TODAY: Date = jiff::civil::date(2026, 6, 1);

    fn begun(method: Method, source: SourceKind, rooms: &[&str]) -> String {
        let rooms = rooms.iter().map(|room| RoomWish::read(room).unwrap()).collect();
        start(&Wishes { project: "Mill End: 1".into(), method, source, rooms }, TODAY).unwrap()
    }

    #[test]
    fn every_design_that_is_begun_is_clean() {
        let houses: [&[&str]; 5] = [
            &["living 4.2 x 3.6"],
            &["kitchen 4 x 5", "hall 9 m²", "bathroom 3.0 x 2.4", "bed 1 12.5 m²"],
            &["office 8 x 5", "hall 60 m²"],
            &["workshop 8 x 5"],
            &["a: b 3 x 3", "shower room 2.6 x 2.6", "a 4 x 4", "b 4 x 4", "c 4 x 4", "d 4 x 4", "e 5 x 7"],
        ];
        let mut said = Vec::new();
        for method in methods() {
            for source in [SourceKind::HeatPump, SourceKind::CondensingBoiler] {
                for rooms in houses {
                    let text = begun(method, source, rooms);
                    let files: &Files = &|_| Err(String::new());
                    let Outcome { findings, workings, .. } = look(&job(&text, files, TODAY));
                    for it in &workings.loops {
                        // A valve is set for the flow that stands beside it.
                        let (Ok(flow), Ok(as_set)) = (&it.flow, &it.flow_as_set) else { continue };
                        let off = (as_set.value / flow.value - 1.0).abs();
                        assert!(off < 0.06, "{method} {rooms:?}: {} and as set {}", flow.value, as_set.value);
                    }
                    said.extend(findings.iter().map(|it| format!("{method} {:?}: {}", it.rule, it.message)));
                }
            }
        }
        assert!(said.is_empty(), "{said:#?}");
    }

    #[test]
    fn a_room_is_a_name_and_a_size() {
        let read = |text: &str| RoomWish::read(text).map(|it| (it.name, it.size.area().in_square_metres()));
        assert_eq!(read("kitchen 4 x 2.5"), Ok(("kitchen".into(), 10.0)));
        assert_eq!(read("bed 1: 4×3 m"), Ok(("bed 1".into(), 12.0)));
        assert_eq!(read("bed 2 12.5 m²"), Ok(("bed 2".into(), 12.5)));
        assert_eq!(read("hall 12 m²"), Ok(("hall".into(), 12.0)));
        for wrong in
            ["", "hall", "12 m²", "hall 12", "hall 4 x", "hall 4 x 3 x 2", "hall -4 x 3", "hall 1e9 m²", "hall nan x 3"]
        {
            assert!(read(wrong).is_err(), "{wrong}: {:?}", read(wrong));
        }
    }

    #[test]
    fn what_cannot_be_begun_is_told() {
        let wishes = |method, rooms: &[&str]| {
            let rooms = rooms.iter().map(|room| RoomWish::read(room).unwrap()).collect();
            start(&Wishes { project: "a".into(), method, source: SourceKind::HeatPump, rooms }, TODAY)
        };
        assert!(wishes(Method::ElectricMat, &["hall 4 x 3"]).is_err());
        assert!(wishes(Method::BondedBoard, &[]).is_err());
        assert!(wishes(Method::BondedBoard, &["hall 4 x 3", "hall 2 x 3"]).is_err());
    }
}
