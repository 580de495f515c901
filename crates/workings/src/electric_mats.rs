//! Electric mats: area, power, current.

use crate::{Figure, Gap, Subject, Worked};
use design::{Design, ElectricMat};
use engineering::plan;
use quantity::*;

/// What was worked out of an electric mat.
#[derive(Debug, Clone)]
pub struct MatWorkings {
    pub room: Option<usize>,
    /// Its outline, if one is given: the geometry, or what is wrong with it.
    pub outline: Option<Result<plan::Outline, plan::OutlineFault>>,
    pub area: Worked<Area>,
    /// For each square metre of it.
    pub power_density: Worked<HeatFlux>,
    pub power: Worked<Power>,
    /// What it draws when it is on.
    pub current: Worked<Current>,
}

/// Works every mat out.
pub(crate) fn work_out(design: &Design) -> Vec<MatWorkings> {
    design.electric_mats.values().enumerate().map(|(at, mat)| work_out_one(design, mat, at)).collect()
}

fn work_out_one(design: &Design, mat: &ElectricMat, at: usize) -> MatWorkings {
    let missing = |key| if mat.broken { Gap::Unreadable } else { Gap::missing(Subject::ElectricMat(at), key) };
    let outline = mat.outline.as_ref().map(|it| plan::Outline::new(&crate::plan::points(&it.corners)));
    let area = match (&mat.area, &outline) {
        (Some(area), _) => Ok(Figure::new(area.value, "as stated", "the design").with_given("area", area)),
        (None, Some(Ok(outline))) => Ok(Figure::new(outline.area(), "area within the outline", "plain geometry")),
        (None, Some(Err(_))) => Err(Gap::NoMethod("the outline is no closed area".into())),
        (None, None) => Err(missing("area")),
    };
    let power = match (&mat.power, &mat.power_density) {
        (Some(power), _) => Ok(Figure::new(power.value, "as stated", "the design").with_given("power", power)),
        (None, Some(density)) => area.as_ref().map_err(Gap::clone).map(|area| {
            let figure = Figure::new(density.value * area.value, "power-density x area", "plain physics");
            figure.with_given("power-density", density).with("area", area.value)
        }),
        (None, None) => Err(missing("power-density")),
    };
    let power_density = match (&mat.power_density, &power, &area) {
        (Some(density), ..) => {
            Ok(Figure::new(density.value, "as stated", "the design").with_given("power-density", density))
        }
        (None, Ok(power), Ok(area)) if area.value > Area::ZERO => {
            let figure = Figure::new(power.value / area.value, "power / area", "plain physics");
            Ok(figure.with("power", power.value).with("area", area.value))
        }
        (None, Ok(_), Err(gap)) | (None, Err(gap), _) => Err(gap.clone()),
        (None, Ok(_), Ok(_)) => Err(Gap::NoMethod("the area is nothing".into())),
    };
    let current = power.as_ref().map_err(Gap::clone).and_then(|power| {
        let (voltage, given) = (mat.voltage.map_or(Voltage::volts(230.0), |it| it.value), mat.voltage.map(|it| it.at));
        if voltage <= Voltage::ZERO {
            return Err(Gap::NoMethod("the voltage is not above nothing".into()));
        }
        let figure = Figure::new(power.value / voltage, "power / voltage", "plain physics");
        let figure = figure.with("power", power.value).with_at("voltage", voltage, given);
        Ok(if given.is_some() { figure } else { figure.assuming("the voltage is not given: 230 V is taken") })
    });
    let room = mat.room.as_ref().and_then(|room| design.rooms.position(&room.value.name));
    MatWorkings { room, outline, area, power_density, power, current }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 4.5 m² at 150 W/m² are 675 W, and 2.9 A at 230 V: plain arithmetic.
    #[test]
    fn a_mat_of_so_many_watts_a_square_metre() {
        let text = b"format: 1\nelectric-mats:\n  E1: {area: 4.5 m2, power-density: 150 W/m2}\n  E2: {power: 300 W, \
                     voltage: 200 V, outline: [[0, 0], [2, 0], [2, 1], [0, 1]]}\n  E3: {area: 2 m2}\n";
        let reading = design::read("house.ufh.yaml", text, &|path| Err(path.to_string()));
        assert!(reading.faults.is_empty(), "{:#?}", reading.faults);
        let mats = work_out(&reading.design);
        assert_eq!(mats[0].power.as_ref().unwrap().value, Power::watts(675.0));
        assert!((mats[0].current.as_ref().unwrap().value.in_amperes() - 2.935).abs() < 0.001);
        assert_eq!(mats[1].power_density.as_ref().unwrap().value, HeatFlux::watts_per_square_metre(150.0));
        assert_eq!(mats[1].current.as_ref().unwrap().value, Current::amperes(1.5));
        let gap = Gap::missing(Subject::ElectricMat(2), "power-density");
        assert_eq!(mats[2].current.as_ref().err(), Some(&gap));
    }
}
