//! How much insulation a floor wants for all that is asked of it at once, so that one remedy does for every rule.

use crate::inspection::Inspection;
use crate::layers::{self, FloorItem};
use crate::remedy::Remedy;
use crate::rules::{downward_loss_too_high, floor_u_value_over_regulation, insulation_below_minimum};
use design::{Method, PipePosition, Place};
use quantity::*;
use workings::Subject;

/// A hair more than asked, so that what is met is met in the last digit as well.
const HAIR: ThermalResistance = ThermalResistance::square_metre_kelvin_per_watt(1e-6);
/// What EPS resists, EN ISO 10456.
const EPS: Conductivity = Conductivity::watts_per_metre_kelvin(0.035);

/// How much more resistance below its pipe a floor wants: for the least of EN 1264-4, for the building regulation and for
/// what may go down, as far as each applies and can be worked out. Nothing where all is met.
pub(crate) fn wanting(inspection: &Inspection, floor: &FloorItem) -> Option<ThermalResistance> {
    let below = floor.given.below?.value;
    let now = floor.worked.insulation_below.as_ref().map_or(ThermalResistance::ZERO, |it| it.value);
    let least = insulation_below_minimum::wanted(inspection, below).ok();
    let least = least.filter(|_| insulation_below_minimum::concerned(floor)).map(|least| least.value - now);
    let demands = [
        least,
        floor_u_value_over_regulation::wanting(inspection, floor),
        downward_loss_too_high::wanting(inspection, floor),
    ];
    demands.into_iter().flatten().reduce(ThermalResistance::max).filter(|more| *more > ThermalResistance::ZERO)
}

/// Insulation of whole centimetres with which a floor meets all that is asked of it: the thickest layer made thicker, or a
/// layer of its own under the board that holds the pipe.
pub(crate) fn enough(inspection: &Inspection, floor: &FloorItem) -> Option<(Place, Remedy)> {
    let more = wanting(inspection, floor)? + HAIR;
    if let Some((place, remedy)) = layers::thicker(floor, more) {
        return Some((place, layers::to_the_centimetre(remedy)?));
    }
    let pipe_layer = floor.worked.pipe_layer.clone().ok()?;
    let given = floor.given.layers.get(pipe_layer)?;
    let worked = floor.worked.layers.get(pipe_layer)?;
    let method = floor.given.method?.value;
    let at_top = given.pipe.is_some_and(|pipe| pipe.value == PipePosition::AtTop);
    if method == Method::SpreaderPlates && at_top && worked.insulates() && given.resistance.is_none() {
        let (thickness, conductivity) = (given.thickness?, worked.conductivity?);
        let text = format!("{} mm", thickness.value.in_millimetres() + (more * conductivity).in_millimetres());
        let remedy = layers::to_the_centimetre(Remedy::new("", thickness.at, text))?;
        return Some((thickness.at, remedy));
    }
    // A studded or grooved board is bought as it is: what is short goes under it.
    let under = layers::from(floor, pipe_layer).filter(|(_, _, worked)| worked.insulates()).last();
    let (at, under, _) = under?;
    let (material, held) = match method {
        Method::BondedBoard => ("XPS", ", held: full bed"),
        _ => ("EPS", ""),
    };
    let thickness = centimetres(more);
    let layer = format!("{{material: {material}, thickness: {thickness}{held}}}");
    let remedy = Remedy::of(
        format!("lay {thickness} of {material} under it"),
        layers::lay_under(inspection, floor, at, &[&layer]),
    )?;
    Some((under.material.as_ref().map_or(under.at, |it| it.at), remedy))
}

/// EPS or XPS of so much resistance, in whole centimetres.
pub(crate) fn centimetres(resistance: ThermalResistance) -> String {
    let millimetres = (resistance * EPS).in_millimetres();
    format!("{:.0} mm", ((millimetres - 1e-6) / 10.0).ceil().max(1.0) * 10.0)
}

/// The number of a floor among all.
pub(crate) fn number(floor: &FloorItem) -> Option<usize> {
    match floor.subject {
        Subject::Floor(number) => Some(number),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use crate::bench::check;

    /// What each insulation rule offers of a floor, and which of them still speaks once the first remedy is taken.
    fn offered(method: &str, layers: &[&str], more: &str) -> (Vec<String>, Vec<&'static str>) {
        const RULES: [&str; 5] = [
            "insulation-missing",
            "insulation-below-minimum",
            "floor-u-value-over-regulation",
            "downward-loss-too-high",
            "void-insulation-missing",
        ];
        let list: String = layers.iter().map(|layer| format!("      - {layer}\n")).collect();
        let rooms = "rooms: {hall: {temperature: 20 °C, heat-loss: 300 W, floor: screeded, area: 12 m²}, study: {temperature: 20 °C, \
                     heat-loss: 300 W, floor: screeded, area: 11 m²}}\n";
        let text = format!("floors:\n  screeded:\n    method: {method}\n{more}    layers:\n{list}{rooms}");
        let outcome = check(&text);
        let of_insulation: Vec<_> = outcome.findings.iter().filter(|it| RULES.contains(&it.rule.name)).collect();
        let titles = of_insulation.iter().flat_map(|it| &it.remedies).map(|it| it.title.clone()).collect();
        let whole = &outcome.sources[0].text;
        let mut changes =
            of_insulation.iter().find_map(|it| it.remedies.first()).map_or(vec![], |it| it.changes.clone());
        changes.sort_by_key(|change| change.place.range().start);
        let edits: Vec<_> = changes
            .into_iter()
            .map(|change| yaml_tree::Edit { range: change.place.range(), text: change.text })
            .collect();
        let after = yaml_tree::apply(whole, &edits).unwrap();
        let left = check(&after).findings.into_iter().map(|it| it.rule.name).filter(|it| RULES.contains(it)).collect();
        (titles, left)
    }

    /// One thickness meets EN 1264-4, the regulation and what may go down, whichever of them asks for most.
    #[test]
    fn one_remedy_does_for_all() {
        let screed = "{material: cement screed, thickness: 65 mm, pipe: at base}";
        let slab = "{material: concrete slab, thickness: 150 mm}";
        let wool = "{material: mineral wool, thickness: 25 mm, conductivity: 0.036 W/(m·K)}";
        let ground = "    below: ground\n    slab: {area: 60 m², perimeter: 32 m}\n";
        let (titles, left) = offered("clipped-in-screed", &[screed, wool, slab], ground);
        assert_eq!((titles, left), (vec!["make it 160 mm thick".to_string()], vec![]));
        let (titles, left) = offered("clipped-in-screed", &[screed, slab], ground);
        assert_eq!((titles.len(), left), (1, vec![]), "{titles:?}");
        let (titles, left) = offered("clipped-in-screed", &[screed, wool], "    below: outdoor air\n");
        assert_eq!((titles.len(), left), (1, vec![]), "{titles:?}");
    }

    /// Under a grooved board that is too thin lies a board of its own; wool between joists is made thicker.
    #[test]
    fn a_board_gets_a_board_under_it() {
        let tile = "{material: tile, thickness: 10 mm}";
        let (titles, left) = offered(
            "bonded-board",
            &[
                tile,
                "{material: XPS, thickness: 20 mm, pipe: at top, held: full bed}",
                "{material: concrete, thickness: 150 mm}",
            ],
            "    below: unheated room\n",
        );
        assert_eq!((titles, left), (vec!["lay 40 mm of XPS under it".to_string()], vec![]));
        let (titles, left) = offered(
            "spreader-plates",
            &[
                "{material: chipboard, thickness: 18 mm}",
                "{material: mineral wool, thickness: 50 mm, pipe: at top, held: fitted tight}",
            ],
            "    below: outdoor air\n    plates: {thickness: 0.5 mm, width: 130 mm, coverage: 90 %, gap: 15 mm}\n",
        );
        assert_eq!((titles.len(), left), (1, vec![]), "{titles:?}");
        let (titles, left) = offered(
            "spreader-plates",
            &["{material: chipboard, thickness: 18 mm}", "{material: air gap, thickness: 100 mm, pipe: at top}"],
            "    below: heated room\n    plates: {thickness: 0.5 mm, width: 130 mm, coverage: 90 %, gap: 15 mm}\n",
        );
        assert_eq!((titles, left), (vec!["fill it with mineral wool".to_string()], vec![]));
    }
}
