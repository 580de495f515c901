//! What the layers of a floor are to each other, as rules ask it.

use crate::inspection::{Inspection, Item};
use crate::remedy::{Change, Remedy, add_items};
use design::{Floor, Layer, Place, Placed, Screed};
use engineering::heat::materials::Kind;
use quantity::*;
use workings::{FloorWorkings, Gap, LayerWorkings};

/// A floor as a rule meets it.
pub(crate) type FloorItem<'i> = Item<'i, Floor, FloorWorkings>;

/// A layer with its position.
pub(crate) type LayerAt<'i> = (usize, &'i Placed<Layer>, &'i LayerWorkings);

/// The layers from a position downward.
pub(crate) fn from<'i>(floor: &FloorItem<'i>, first: usize) -> impl Iterator<Item = LayerAt<'i>> + use<'i> {
    let layers = floor.given.layers.iter().zip(&floor.worked.layers).enumerate();
    layers.skip(first).map(|(at, (given, worked))| (at, given, worked))
}

/// What a layer of screed is bound with: as stated, or by its material.
pub(crate) fn binder(given: &Layer, worked: &LayerWorkings) -> Option<Screed> {
    given.screed.map(|it| it.value).or_else(|| match worked.material?.kind {
        Kind::CementScreed => Some(Screed::SandCement),
        Kind::CalciumSulphateScreed => Some(Screed::CalciumSulphate),
        Kind::MasticAsphalt => Some(Screed::MasticAsphalt),
        _ => None,
    })
}

/// What a layer is called.
pub(crate) fn name(layer: &Layer) -> &str {
    layer.material.as_ref().map_or("a layer", |name| &name.value)
}

/// The gap of a layer of which nothing tells what it is.
pub(crate) fn unknown(given: &Layer, worked: &LayerWorkings) -> Option<Gap> {
    if worked.material.is_some() || worked.conductivity.is_some() || given.resistance.is_some() {
        return None;
    }
    Some(if given.broken {
        Gap::Unreadable
    } else {
        Gap::NoMethod(format!("{} is no material that is known here; give its conductivity", name(given)))
    })
}

/// Makes the thickest insulation below the pipe so much better: the place of its thickness, and the change.
pub(crate) fn thicker(floor: &FloorItem, more: ThermalResistance) -> Option<(Place, Remedy)> {
    let first = floor.worked.pipe_layer.clone().unwrap_or(0);
    let boards = from(floor, first).filter(|(_, given, worked)| {
        let bought_as_it_is = given.pipe.is_some() || given.flat_thickness.is_some() || given.resistance.is_some();
        worked.insulates() && !bought_as_it_is
    });
    let known = boards.filter_map(|(_, given, worked)| Some((given.thickness?, worked.conductivity?)));
    let (thickness, conductivity) =
        known.max_by(|one, other| one.0.value.in_metres().total_cmp(&other.0.value.in_metres()))?;
    let text = format!("{:.0} mm", ((thickness.value + more * conductivity).in_millimetres() - 1e-6).ceil());
    Some((thickness.at, Remedy::new(format!("make it {text} thick"), thickness.at, text)))
}

/// Lays new layers under the one at a position.
pub(crate) fn lay_under(inspection: &Inspection, floor: &FloorItem, layer: usize, new: &[&str]) -> Option<Change> {
    let places: Vec<Place> = floor.given.layers.iter().take(layer + 1).map(|layer| layer.at).collect();
    let new: Vec<String> = new.iter().map(|layer| (*layer).to_string()).collect();
    add_items(inspection, &places, &new)
}

/// The same with its thickness rounded up to a whole centimetre, as boards are sold.
pub(crate) fn to_the_centimetre(mut remedy: Remedy) -> Option<Remedy> {
    let change = remedy.changes.first_mut()?;
    let thickness = Length::parse(&change.text).ok()?;
    change.text = format!("{:.0} mm", ((thickness.in_millimetres() - 1e-6) / 10.0).ceil() * 10.0);
    remedy.title = format!("make it {} thick", change.text);
    Some(remedy)
}
