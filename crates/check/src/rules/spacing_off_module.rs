//! A loop is laid at a spacing that its tray, board or plates can hold.
//!
//! Pipe goes where the studs, grooves and joists are. Any other spacing is not laid, whatever the sheet says.
//!
//! ## How it is worked out
//! The spacing of the loop and of its rooms' edge zones over the `module` of the floor: a whole number of modules. A
//! castellated tray without a module is taken at 50 mm. Plates without one go by the joists: the distance between joists
//! is a whole number of spacings. Plates are no wider than the spacing: they would lie on each other. Of a plate with two grooves the
//! width is what each pipe has of it.
//!
//! ## Limit
//! A multiple of the product's module: common practice, no source. Plates beside each other: plain geometry.
//!
//! ```yaml fails
//! floors:
//!   tray: {method: castellated-tray, below: heated room, layers: [{material: cement screed, thickness: 60 mm, pipe: at base}]}
//! rooms:
//!   hall: {floor: tray, area: 12 m²}
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 130 mm, tails: 10 m}
//! #                                                       ^^^^^^ loop L1 states 130 mm; floor tray holds pipe at multiples of 50 mm
//! ```
//! ```yaml remedied
//! floors:
//!   tray: {method: castellated-tray, below: heated room, layers: [{material: cement screed, thickness: 60 mm, pipe: at base}]}
//! rooms:
//!   hall: {floor: tray, area: 12 m²}
//! loops:
//!   L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}
//! ```

use super::prelude::*;
use crate::layers::FloorItem;
use crate::remedy::Change;
use design::{Floor, Method, Placed};

pub static RULE: Rule = Rule {
    name: "spacing-off-module",
    group: Group::Geometry,
    weights: [Warning, Error, Error, Error],
    limits: &[TRAY],
    file: include_str!("spacing_off_module.rs"),
    check,
    ..Rule::USUAL
};

const TRAY: Limit = Limit { name: "module-of-a-tray", value: "50 mm", source: "common practice, no source" };

/// What a spacing may be off by rounding.
const HAIR: Length = mm(0.5);

const fn mm(number: f64) -> Length {
    Length::millimetres(number)
}

/// At what spacings a floor holds pipe.
enum Holds {
    Multiples(Length),
    /// Whole parts of the distance between joists.
    PartsOf(Length),
}

fn check(inspection: &Inspection, found: &mut Findings) {
    for floor in inspection.floors() {
        plates_overlap(inspection, found, &floor);
        if floor.worked.loops.is_empty() {
            continue;
        }
        let holds = match holds(inspection, floor.given) {
            Ok(Some(holds)) => holds,
            Ok(None) => continue,
            Err(missing) => {
                if !floor.given.broken && inspection.is_read(floor.given.place) {
                    found.missing(floor.subject, missing);
                }
                continue;
            }
        };
        let mut told = |about: Subject, called: String, spacing: Placed<Length>| {
            let Some(nearest) = holds.nearest(spacing.value) else { return };
            let at = match holds {
                Holds::Multiples(module) => format!("multiples of {module}"),
                Holds::PartsOf(joists) => format!("whole parts of {joists} from joist to joist"),
            };
            let message = format!("{called} {}; floor {} holds pipe at {at}", spacing.value, floor.name);
            let limit = TRAY.get::<Length>(&RULE, inspection).with(nearest);
            let module = floor.given.module.map(|module| module.at).or(floor.given.method.map(|method| method.at));
            let mut finding = Finding::new(about, spacing.at, message).value(spacing.value).limit(&limit);
            if let Some(place) = module {
                finding = finding.related(place, "this decides where pipe can lie");
            }
            found.add(finding.remedy(Remedy::new(format!("lay it at {nearest}"), spacing.at, nearest.to_string())));
        };
        for at in &floor.worked.loops {
            let Some((name, entry)) = inspection.design.loops.at(*at) else { continue };
            if let Some(spacing) = entry.value.spacing {
                told(Subject::Loop(*at), format!("loop {name} states"), spacing);
            }
        }
        for at in &floor.worked.rooms {
            let Some((name, room)) = inspection.design.rooms.at(*at) else { continue };
            let spacing = room.value.edge_zone.as_ref().and_then(|zone| zone.spacing);
            if let Some(spacing) = spacing.filter(|_| !inspection.workings.rooms[*at].loops.is_empty()) {
                told(Subject::Room(*at), format!("the edge zone of {name} states"), spacing);
            }
        }
    }
}

/// Plates that are wider than the pipes are apart.
fn plates_overlap(inspection: &Inspection, found: &mut Findings, floor: &FloorItem) {
    let width = floor.given.plates.as_ref().and_then(|plates| plates.width);
    // A width that nobody would believe is told as that.
    let Some(width) = width.filter(|width| width.value <= Length::millimetres(1200.0)) else { return };
    let spacings = floor.worked.loops.iter().filter_map(|at| {
        let (name, entry) = inspection.design.loops.at(*at)?;
        Some((name, entry.value.spacing?))
    });
    // A spacing that no one can lay is told already.
    let laid = spacings.filter(|(_, spacing)| spacing.value >= Length::millimetres(40.0));
    let closest = laid.min_by(|one, other| one.1.value.si().total_cmp(&other.1.value.si()));
    let Some((name, spacing)) = closest.filter(|(_, spacing)| width.value > spacing.value + HAIR) else { return };
    let message = format!(
        "the plates of floor {} are {} wide, but the pipes of loop {name} lie {} apart; plates would overlap",
        floor.name, width.value, spacing.value
    );
    let limit = LimitValue::new(spacing.value, "plain geometry");
    // Their half, where one plate holds two pipes; else as wide as fits.
    let half = width.value / 2.0;
    let fits = if half <= spacing.value && half * 2.0 > spacing.value * 1.5 { half } else { spacing.value };
    let text = whole_centimetres(fits);
    found.add(
        Finding::new(floor.subject, width.at, message)
            .value(width.value)
            .limit(&limit)
            .related(spacing.at, "the spacing")
            .remedy(Remedy::new(format!("make them {text} wide for each pipe"), width.at, text)),
    );
}

/// Where a floor holds pipe; nothing where it holds it anywhere, or the key that would tell.
fn holds(inspection: &Inspection, floor: &Floor) -> Result<Option<Holds>, &'static str> {
    let above_nothing = |it: Length| it > Length::ZERO;
    if let Some(module) = floor.module {
        return Ok(above_nothing(module.value).then_some(Holds::Multiples(module.value)));
    }
    match floor.method.map(|method| method.value) {
        Some(Method::CastellatedTray) => Ok(Some(Holds::Multiples(TRAY.get::<Length>(&RULE, inspection).value))),
        Some(Method::BondedBoard | Method::FloatingBoard) => Err("module"),
        Some(Method::SpreaderPlates) => match floor.joists.as_ref().and_then(|joists| joists.spacing) {
            Some(joists) => Ok(above_nothing(joists.value).then_some(Holds::PartsOf(joists.value))),
            None => Err("joists/spacing"),
        },
        Some(Method::ClippedInScreed | Method::EmbeddedInSlab | Method::ElectricMat) | None => Ok(None),
    }
}

/// The spacings at which a remedy may lay pipe in a room, the widest first: those that its tray, board or joists hold; where pipe goes
/// anywhere, those of the trade.
pub(super) fn spacings(inspection: &Inspection, room: usize) -> Vec<Length> {
    const TRADE: [f64; 6] = [300.0, 250.0, 200.0, 150.0, 125.0, 100.0];
    let floor = inspection.workings.rooms.get(room).and_then(|room| inspection.design.floors.at(room.floor?));
    let floor = floor.map(|(_, floor)| &floor.value);
    let mut spacings: Vec<Length> = match floor.map(|floor| holds(inspection, floor)) {
        Some(Ok(Some(holds))) => {
            (1..=30).map(|number| holds.number(number)).filter(|it| (mm(75.0)..=mm(300.0)).contains(it)).collect()
        }
        // Where the module is not known no other spacing can be said to fit.
        Some(Err(_)) => Vec::new(),
        Some(Ok(None)) | None => TRADE.map(Length::millimetres).to_vec(),
    };
    spacings.sort_by(|one, other| other.si().total_cmp(&one.si()));
    spacings
}

/// The plates of a room's floor made to fit between pipes at a spacing, where they are wider, and how wide they are then.
pub(super) fn narrower_plates(inspection: &Inspection, room: usize, spacing: Length) -> Option<(Change, String)> {
    let floor = inspection.workings.rooms.get(room)?.floor?;
    let (_, floor) = inspection.design.floors.at(floor)?;
    let width = floor.value.plates.as_ref()?.width.filter(|width| width.value > spacing + HAIR)?;
    let text = whole_centimetres(spacing);
    Some((Change { place: width.at, text: text.clone() }, text))
}

/// As wide as fits, with a gap between.
fn whole_centimetres(fits: Length) -> String {
    format!("{:.0} mm", (fits.in_millimetres() / 10.0).floor() * 10.0)
}

impl Holds {
    /// The spacing of so many modules, or of so many pipes from joist to joist, in whole millimetres.
    fn number(&self, number: u32) -> Length {
        let spacing = match self {
            Holds::Multiples(module) => *module * f64::from(number),
            Holds::PartsOf(joists) => *joists / f64::from(number),
        };
        mm(spacing.in_millimetres().round())
    }

    /// The nearest spacing that can be held; nothing where the given one can.
    fn nearest(&self, spacing: Length) -> Option<Length> {
        let nearest = match self {
            Holds::Multiples(module) => *module * (spacing / *module).round().max(1.0),
            Holds::PartsOf(joists) if spacing >= *joists => *joists * (spacing / *joists).round(),
            Holds::PartsOf(joists) => *joists / (*joists / spacing).round().max(1.0),
        };
        let is_off = (nearest - spacing).abs() > HAIR && nearest.in_metres().is_finite();
        is_off.then_some(Length::millimetres(nearest.in_millimetres().round()))
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{check, messages, not_checked};

    fn text(floor: &str, spacing: &str) -> String {
        format!(
            "floors:\n  dry: {{{floor}, layers: [{{material: plywood, thickness: 22 mm, pipe: at top}}]}}\nrooms:\n  hall: {{floor: dry, area: 9 \
             m²}}\nloops:\n  L1: {{room: hall, spacing: {spacing}}}\n"
        )
    }

    fn says(floor: &str, spacing: &str) -> usize {
        messages(&RULE, &text(floor, spacing)).len()
    }

    #[test]
    fn trays_boards_and_plates() {
        let tray = "method: castellated-tray";
        assert_eq!((says(tray, "150 mm"), says(tray, "160 mm")), (0, 1));
        let wide = "method: castellated-tray, module: 80 mm";
        assert_eq!((says(wide, "160 mm"), says(wide, "150 mm"), says(wide, "70 mm")), (0, 1, 1));
        let board = "method: bonded-board, module: 166.7 mm";
        assert_eq!((says(board, "167 mm"), says(board, "150 mm")), (0, 1));
        let plates = "method: spreader-plates, joists: {spacing: 400 mm}";
        assert_eq!(
            (says(plates, "200 mm"), says(plates, "400 mm"), says(plates, "133.3 mm"), says(plates, "300 mm")),
            (0, 0, 0, 1)
        );
        assert_eq!(says("method: clipped-in-screed", "137 mm"), 0);
    }

    /// What a remedy offers the tray can hold: 80, 160, 240 mm and not 200 mm; plates are made to fit.
    #[test]
    fn remedies_keep_to_the_module() {
        let offered = |floor: &str, spacing: &str, used: &str, rule: &str| {
            let outcome = check(&format!(
                "floors:\n  tray: {{{floor}}}\nrooms:\n  hall: {{use: {used}, temperature: 20 °C, heat-loss: 330 W, floor: tray, area: 8 \
                 m²}}\nloops:\n  L1: {{manifold: M1, room: hall, pipe: PEX-16, spacing: {spacing}, tails: 10 m}}\nheat-source: {{kind: heat \
                 pump, flow-temperature: 32 °C, temperature-drop: 5 K}}\n"
            ));
            let finding = outcome.findings.into_iter().find(|it| it.rule.name == rule);
            finding.map(|it| it.remedies.into_iter().map(|it| it.title).collect::<Vec<_>>()).unwrap_or_default()
        };
        let screed = "below: heated room, layers: [{material: tile, thickness: 10 mm}, {material: cement screed, thickness: 65 mm, pipe: at \
                      base}, {material: EPS, thickness: 40 mm}]";
        let tray = |module: &str| {
            offered(
                &format!("method: castellated-tray, module: {module}, {screed}"),
                "240 mm",
                "office",
                "room-short-of-heat",
            )
        };
        assert_eq!(tray("80 mm")[0], "lay its loops at 160 mm");
        assert_eq!(tray("120 mm")[0], "lay its loops at 120 mm");
        let plates = "method: spreader-plates, below: heated room, joists: {spacing: 400 mm, depth: 200 mm, width: 47 mm, span: 3 m}, plates: \
                      {thickness: 0.3 mm, width: 180 mm}, layers: [{material: tile, thickness: 8 mm}, {material: cement board, thickness: 18 \
                      mm}, {material: mineral wool, thickness: 120 mm, pipe: at top}]";
        assert_eq!(
            offered(plates, "200 mm", "bathroom", "spacing-too-wide")[0],
            "lay it at 133 mm with plates 130 mm wide"
        );
    }

    #[test]
    fn plates_lie_beside_each_other() {
        let plates =
            |width: &str| format!("method: spreader-plates, joists: {{spacing: 400 mm}}, plates: {{width: {width}}}");
        assert_eq!((says(&plates("200 mm"), "200 mm"), says(&plates("180 mm"), "200 mm")), (0, 0));
        assert_eq!(
            messages(&RULE, &text(&plates("380 mm"), "200 mm")),
            [
                "the plates of floor dry are 380 mm wide, but the pipes of loop L1 lie 200 mm apart; plates would overlap"
            ]
        );
    }

    #[test]
    fn without_a_module_it_is_not_checked() {
        assert_eq!(not_checked(&RULE, &text("method: floating-board", "150 mm")), ["floors/dry/module"]);
        assert_eq!(not_checked(&RULE, &text("method: spreader-plates", "150 mm")), ["floors/dry/joists/spacing"]);
    }
}
