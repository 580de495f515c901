//! The plan of a storey, drawn to scale, as SVG: what an installer lays by, and whoever drills later looks at.
//!
//! A picture of a design and of what was found in it; nothing is worked out here but where words find room.

mod building;
mod crowd;
mod dimensions;
pub(crate) mod ink;
mod marks;
mod panel;
pub(crate) mod paper;
mod pipes;
mod scene;
pub(crate) mod sleeves;

pub(crate) use building::flag;

use crate::words::sentence;
use check::Outcome;
use crowd::Crowd;
use dimensions::Dimensions;
use ink::Ink;
use paper::Sheet;
use scene::Scene;
use std::collections::HashSet;

/// The storeys of which there is something to draw, and those of which there is not.
pub fn storeys(outcome: &Outcome) -> (Vec<Option<&str>>, Vec<Option<&str>>) {
    let (design, worked) = (&outcome.design, &outcome.workings);
    let rooms = design.rooms.values().zip(&worked.rooms).filter(|(_, room)| matches!(room.outline, Some(Ok(_))));
    let of_rooms = rooms.map(|(room, _)| room.storey.as_ref().map(|storey| storey.value.name.as_str()));
    let loops = design.loops.values().zip(&worked.loops).filter(|(_, it)| matches!(it.route, Some(Ok(_))));
    let of_loops = loops.map(|(given, _)| workings::storey_of(design, given));
    let drawn: HashSet<Option<&str>> = of_rooms.chain(of_loops).collect();
    // What names no storey stands on every one.
    let has_something = |storey: &Option<&str>| drawn.contains(storey) || drawn.contains(&None);
    workings::storeys(design).into_iter().partition(has_something)
}

/// What is wrong with the first room or loop of a storey, or of any, whose outline or route is drawn and cannot be followed.
pub fn wrong(outcome: &Outcome, storey: Option<Option<&str>>) -> Option<String> {
    let (design, worked) = (&outcome.design, &outcome.workings);
    let is_meant = |of: Option<&str>| storey.is_none_or(|storey| storey == of);
    let rooms = design.rooms.iter().zip(&worked.rooms).filter_map(|((name, room), it)| {
        let fault = it.outline.as_ref()?.as_ref().err()?;
        let of = room.value.storey.as_ref().map(|storey| storey.value.name.as_str());
        is_meant(of).then(|| format!("room {name}: {fault}"))
    });
    let loops = design.loops.iter().zip(&worked.loops).filter_map(|((name, given), it)| {
        let fault = it.route.as_ref()?.as_ref().err()?;
        is_meant(workings::storey_of(design, &given.value)).then(|| format!("loop {name}: {fault}"))
    });
    rooms.chain(loops).next()
}

/// The plan of a storey, with the findings on it or without, for the site; nothing if no room has an outline there and no
/// loop a route.
pub fn svg(outcome: &Outcome, storey: Option<&str>, with_findings: bool) -> Option<String> {
    let scene = Scene::new(outcome, storey);
    let bounds = scene.bounds?;
    let mut dimensions = Dimensions::new(&scene, bounds);
    let sheet = Sheet::fitting(bounds, |scale| dimensions.margins(scale), panel::least_height(&scene));
    dimensions.arrange(sheet.scale);

    let mut crowd = Crowd::new(sheet.wide, sheet.high);
    let mut ink = Ink::default();
    ink.block(paper::Block { x: 0.0, y: 0.0, wide: sheet.wide, high: sheet.high }, r##"fill="#fff""##);
    crowd.outside(sheet.field);
    dimensions.leads(&sheet, &mut ink);
    building::ground(&scene, &sheet, &mut ink, &mut crowd);
    building::walls(&scene, &sheet, &mut ink, &mut crowd);
    pipes::draw(&scene, &sheet, &mut ink, &mut crowd);
    building::flags(&scene, &sheet, &mut ink, &mut crowd);
    let bars = pipes::manifolds(&scene, &sheet, &mut ink, &mut crowd);
    let mut words = Ink::default();
    dimensions.draw(&sheet, &mut words, &mut crowd);
    let mut column = Ink::default();
    let found = with_findings.then(|| marks::marks(&scene, &sheet));
    let marks = panel::draw(&scene, &sheet, &mut column, found, &dimensions);
    let mut marked = Ink::default();
    panel::mark(&marks, &mut marked, &mut crowd);
    pipes::manifold_names(&bars, &mut ink, &mut crowd);
    building::names(&scene, &sheet, &mut ink, &mut crowd);
    pipes::names(&scene, &sheet, &mut ink, &mut crowd);
    for layer in [words, marked] {
        ink.raw(&layer.into_text());
    }
    ink.group(r##"fill="none" stroke="#000""##, |ink| {
        ink.block(sheet.frame(), r#"stroke-width="0.7""#);
        ink.block(sheet.column, r#"stroke-width="0.35""#);
    });
    panel::strip(&scene, &sheet, &mut ink);
    ink.raw(&column.into_text());

    let (wide, high) = (ink::number(sheet.wide), ink::number(sheet.high));
    let project = outcome.design.project.name.as_ref().map_or("plan of the pipes", |name| name.value.as_str());
    let title =
        crate::words::escaped(&sentence(&[Some(project), storey].into_iter().flatten().collect::<Vec<_>>().join(", ")));
    Some(format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{wide}mm\" \
         height=\"{high}mm\" viewBox=\"0 0 {wide} {high}\" font-family=\"sans-serif\" fill=\"#000\">\n\
         <title>{title}</title>\n{}</svg>\n",
        ink.into_text()
    ))
}
