//! The power of an electric mat for each square metre suits the floor above and below it.
//!
//! Too much under wood cooks it. Too little on a bare slab warms the slab.
//!
//! ## How it is worked out
//! By the covering of the room: under wood and laminate 100 to 130 W/m²; under tile and stone 130 to 150 W/m² over insulation,
//! 180 to 200 W/m² without it or in a conservatory. More than suits is the finding; less is for information, because
//! whether the room gets warm is another rule's. Other coverings have no range that was seen: not checked.
//!
//! ## Limit
//! 150 and 200 W/m²: trade texts. The figures under wood: from memory.
//!
//! For planning only. A competent electrician must design and certify.
//!
//! ```yaml fails
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 200 W/m²}
//! #                                               ^^^^^^^^ electric mat E1 gives 200.0 W/m²; 150.0 W/m² is the most under tile over insulation
//! ```
//! ```yaml remedied
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150.0 W/m²}
//! ```
//! ```yaml passes
//! electric-mats:
//!   E1: {room: hall, area: 4.5 m², power-density: 150 W/m²}
//! ```

use super::prelude::*;
use design::Use;
use engineering::heat::materials::Kind as Material;
use workings::Gap;

pub static RULE: Rule = Rule {
    name: "electric-density-unsuited",
    group: Group::Electric,
    weights: [Warning, Warning, Error, Error],
    limits: &[WOOD_LEAST, WOOD_MOST, TILE_LEAST, TILE_MOST, BARE_LEAST, BARE_MOST],
    caution: Some("For planning only. A competent electrician must design and certify."),
    file: include_str!("electric_density_unsuited.rs"),
    check,
    ..Rule::USUAL
};

const TRADE: &str = "trade texts on electric floor heating";
const MEMORY: &str = "from memory";
const WOOD_LEAST: Limit = Limit { name: "wood-least", value: "100 W/m²", source: MEMORY };
const WOOD_MOST: Limit = Limit { name: "wood-most", value: "130 W/m²", source: MEMORY };
const TILE_LEAST: Limit = Limit { name: "tile-least", value: "130 W/m²", source: TRADE };
const TILE_MOST: Limit = Limit { name: "tile-most", value: "150 W/m²", source: TRADE };
const BARE_LEAST: Limit = Limit { name: "tile-without-insulation-least", value: "180 W/m²", source: TRADE };
const BARE_MOST: Limit = Limit { name: "tile-without-insulation-most", value: "200 W/m²", source: TRADE };

fn check(inspection: &Inspection, found: &mut Findings) {
    for mat in inspection.electric_mats() {
        let Some(room) = mat.worked.room else { continue };
        let Some(density) = found.need(mat.subject, &mat.worked.power_density) else { continue };
        let (least, most, floor) = match suits(inspection, room) {
            Ok(suits) => suits,
            Err(gap) => {
                found.not_checked(mat.subject, &gap);
                continue;
            }
        };
        let density = density.value;
        let place = mat.given.power_density.map(|it| it.at).or(mat.given.power.map(|it| it.at)).unwrap_or(mat.place);
        let finding = |limit: &LimitValue<HeatFlux>, word: &str| {
            let message = format!("electric mat {} gives {density}; {} is the {word} {floor}", mat.name, limit.value);
            // A mat that states its power is of one make; one that states its density can be chosen anew.
            let other = mat.given.power_density.filter(|_| mat.given.power.is_none()).map(|given| {
                Remedy::new(format!("choose a mat of {}", limit.value), given.at, limit.value.to_string())
            });
            let finding = Finding::new(mat.subject, place, message).value(density).limit(limit).remedy(other);
            finding.figure(format!("electric-mats.{}.power-density", mat.name))
        };
        if density > most.value {
            found.add(finding(&most, "most"));
        } else if density < least.value {
            found.add_as(Information, finding(&least, "least"));
        }
    }
}

type Suits = (LimitValue<HeatFlux>, LimitValue<HeatFlux>, &'static str);

/// The least and the most that suit the floor of a room, and the floor in words.
fn suits(inspection: &Inspection, room: usize) -> Result<Suits, Gap> {
    let covering = inspection.covering_of(room);
    let conservatory = inspection
        .design
        .rooms
        .at(room)
        .is_some_and(|(_, it)| it.value.use_.is_some_and(|it| it.value == Use::Conservatory));
    match covering {
        Some(Material::Timber | Material::Laminate) => {
            Ok((WOOD_LEAST.get(&RULE, inspection), WOOD_MOST.get(&RULE, inspection), "under wood"))
        }
        Some(Material::Tile | Material::Stone) if conservatory => {
            Ok((BARE_LEAST.get(&RULE, inspection), BARE_MOST.get(&RULE, inspection), "in a conservatory"))
        }
        Some(Material::Tile | Material::Stone) => match insulated(inspection, room) {
            Some(true) => {
                Ok((TILE_LEAST.get(&RULE, inspection), TILE_MOST.get(&RULE, inspection), "under tile over insulation"))
            }
            Some(false) => Ok((
                BARE_LEAST.get(&RULE, inspection),
                BARE_MOST.get(&RULE, inspection),
                "under tile without insulation",
            )),
            None => Err(Gap::missing(Subject::Room(room), "floor")),
        },
        Some(other) => Err(Gap::NoMethod(format!("no power that suits {other:?} was seen").to_lowercase())),
        None => Err(Gap::missing(Subject::Room(room), "covering")),
    }
}

/// Whether a room's floor has insulation or an insulating board among its layers.
pub(crate) fn insulated(inspection: &Inspection, room: usize) -> Option<bool> {
    let floor = inspection.workings.rooms.get(room)?.floor?;
    let layers = &inspection.workings.floors.get(floor)?.layers;
    let insulates = layers.iter().any(|layer| layer.is(Material::Insulation) || layer.is(Material::BackerBoard));
    // A layer that could not be read may be the one that does.
    let is_read = !Subject::Floor(floor).is_broken(inspection.design);
    (insulates || is_read).then_some(insulates)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn gives(density: &str, layers: &str) -> Vec<String> {
        let text = format!(
            "floors: {{screeded: {{layers: [{layers}]}}}}\nelectric-mats: {{E1: {{room: hall, power-density: {density} W/m²}}}}\n"
        );
        messages(&RULE, &text)
    }

    #[test]
    fn each_floor_has_its_range() {
        let slab = "{material: ceramic tile, thickness: 10 mm}, {material: concrete, thickness: 100 mm}";
        assert!(gives("180", slab).is_empty() && gives("200", slab).is_empty());
        assert_eq!(gives("201", slab).len(), 1);
        assert_eq!(
            gives("179", slab),
            ["electric mat E1 gives 179.0 W/m²; 180.0 W/m² is the least under tile without insulation"]
        );
        let wood = "{material: oak, thickness: 14 mm}, {material: EPS, thickness: 30 mm}";
        assert!(gives("100", wood).is_empty() && gives("130", wood).is_empty());
        assert_eq!(gives("150", wood).len(), 1);
    }

    #[test]
    fn a_floor_that_nobody_wrote_of_is_not_checked() {
        let text = "floors: {screeded: {layers: [{material: vinyl, thickness: 3 mm}]}}\nelectric-mats: {E1: {room: hall, \
                    power-density: 150 W/m²}}\n";
        assert_eq!(not_checked(&RULE, text), ["no power that suits resilient was seen"]);
    }
}
