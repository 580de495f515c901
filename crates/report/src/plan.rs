//! The plan of a storey, drawn to scale, as SVG: what an installer lays by, and whoever drills later looks at.
//!
//! A picture of a design and of what was found in it; nothing is worked out here but where words find room.

mod building;
mod crowd;
mod dimensions;
mod ink;
mod marks;
mod panel;
mod paper;
mod pipes;
mod scene;

use check::Outcome;
use crowd::Crowd;
use dimensions::Dimensions;
use ink::Ink;
use paper::Sheet;
use scene::Scene;

/// The storeys of which there is something to draw, and those of which there is not.
pub fn storeys(outcome: &Outcome) -> (Vec<Option<&str>>, Vec<Option<&str>>) {
    workings::storeys(&outcome.design).into_iter().partition(|storey| Scene::new(outcome, *storey).bounds.is_some())
}

/// The plan of a storey; nothing if no room has an outline there and no loop a route.
pub fn svg(outcome: &Outcome, storey: Option<&str>) -> Option<String> {
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
    pipes::manifolds(&scene, &sheet, &mut ink, &mut crowd);
    let mut words = Ink::default();
    dimensions.draw(&sheet, &mut words, &mut crowd);
    let mut column = Ink::default();
    let marks = panel::draw(&scene, &sheet, &mut column, marks::marks(&scene, &sheet), dimensions.left_out);
    let mut marked = Ink::default();
    panel::mark(&marks, &mut marked, &mut crowd);
    building::names(&scene, &sheet, &mut ink, &mut crowd);
    pipes::names(&scene, &sheet, &mut ink, &mut crowd);
    for layer in [words, marked] {
        ink.raw(&layer.into_text());
    }
    ink.group(r##"fill="none" stroke="#000""##, |ink| {
        ink.block(sheet.frame(), r#"stroke-width="0.7""#);
        ink.block(sheet.column, r#"stroke-width="0.35""#);
    });
    panel::strip(&sheet, &mut ink);
    ink.raw(&column.into_text());

    let (wide, high) = (ink::number(sheet.wide), ink::number(sheet.high));
    Some(format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{wide}mm\" \
         height=\"{high}mm\" viewBox=\"0 0 {wide} {high}\" font-family=\"sans-serif\" fill=\"#000\">\n{}</svg>\n",
        ink.into_text()
    ))
}
