//! The heat of a floor, by the method that holds for its construction.

use crate::floors::FloorWorkings;
use crate::loops::PipeWorkings;
use crate::{Figure, Gap, Subject, Worked};
use design::{Floor, Method};
use engineering::heat::FloorResponse;
use engineering::heat::en1264::{EmbeddedPipe, Studs, WetFloor};
use quantity::*;

/// How a floor answers to warm water at a pitch: the figure, and the same as a linear response.
pub(crate) struct Heat {
    pub characteristic: Figure<Transmittance>,
    pub response: FloorResponse,
}

/// What a loop is laid in.
pub(crate) struct Laid<'w> {
    pub floor: &'w Floor,
    pub worked: &'w FloorWorkings,
    pub subject: Subject,
    /// R of all layers above the pipe's, the room's own covering included.
    pub covering: &'w Worked<ThermalResistance>,
    /// R_o with the room's own covering.
    pub above: &'w Worked<ThermalResistance>,
}

/// The heat of a floor by the method that holds for it.
pub(crate) fn heat(laid: &Laid, pipe: &PipeWorkings, pitch: Length) -> Result<Heat, Gap> {
    let Some(method) = laid.floor.method else {
        return Err(if laid.floor.broken { Gap::Unreadable } else { Gap::missing(laid.subject, "method") });
    };
    let above = laid.above.as_ref().map_err(Gap::clone)?;
    let below = laid.worked.resistance_below.as_ref().map_err(Gap::clone)?;
    if let Some(tested) = &laid.floor.tested_output {
        let characteristic =
            Figure::new(tested.value, "as tested", "the maker's test").with_given("tested-output", tested);
        return Ok(Heat { response: response(tested.value, above.value, below.value)?, characteristic });
    }
    let characteristic = match method.value {
        Method::ClippedInScreed | Method::CastellatedTray => in_screed(laid, pipe, pitch)?,
        Method::ElectricMat => return Err(Gap::NoMethod("an electric mat carries no water".into())),
        other => {
            let reason = format!(
                "EN 1264-2 has no checked table for {other}; give the floor's tested-output, or wait for the conduction method"
            );
            return Err(Gap::NoMethod(reason));
        }
    };
    Ok(Heat { response: response(characteristic.value, above.value, below.value)?, characteristic })
}

/// Upward by the characteristic, downward by the resistances above and below the pipe.
fn response(up: Transmittance, above: ThermalResistance, below: ThermalResistance) -> Result<FloorResponse, Gap> {
    let per_kelvin = |resistance: ThermalResistance| 1.0 / resistance.in_square_metre_kelvin_per_watt();
    if below.in_square_metre_kelvin_per_watt() < 0.05 {
        return Err(Gap::NoMethod("next to nothing lies below the pipe; EN 1264-2 holds from 0.05 m²·K/W".into()));
    }
    let down = up * (above / below);
    Ok(FloorResponse {
        up,
        down,
        up_across: Transmittance::ZERO,
        down_across: Transmittance::watts_per_square_metre_kelvin(per_kelvin(below)) - down,
    })
}

/// Pipe in screed, EN 1264-2 types A and C.
fn in_screed(laid: &Laid, pipe: &PipeWorkings, pitch: Length) -> Result<Figure<Transmittance>, Gap> {
    let layer = laid.worked.pipe_layer.clone()?;
    let cover = laid.worked.cover.as_ref().map_err(Gap::clone)?;
    let covering = laid.covering.as_ref().map_err(Gap::clone)?;
    let screed = laid.worked.layers[layer].conductivity;
    let screed = screed.ok_or(Gap::missing(laid.subject, "layers/…/conductivity"))?;
    let stud_share = laid.floor.tray.as_ref().and_then(|tray| tray.stud_share).or(laid.floor.layers[layer].stud_share);
    // The cover is that over the thickest pipe of the floor; a thinner pipe at the same level has more.
    let cover = cover.value + laid.worked.pipe_outside.clone()? - pipe.outside;
    let wet = WetFloor {
        pitch,
        pipe: EmbeddedPipe { outside: pipe.outside, wall: pipe.wall, conductivity: pipe.conductivity, sheath: None },
        cover,
        screed,
        covering: covering.value,
        // Foam or plastic studs: 0.035 W/(m·K).
        studs: stud_share
            .map(|share| Studs { share: share.value, conductivity: Conductivity::watts_per_metre_kelvin(0.035) }),
    };
    let found = wet.characteristic()?;
    let figure = Figure::new(
        found.k_h,
        "B x a_B x a_T^m_T x a_U^m_U x a_D^m_D",
        "EN 1264-2, types A and C; tables as an open library carries them",
    );
    let figure = figure
        .with("spacing", pitch)
        .with("outside diameter", pipe.outside)
        .with("wall", pipe.wall)
        .with("pipe conductivity", pipe.conductivity)
        .with("cover", cover)
        .with("screed conductivity", found.screed)
        .with("covering", covering.value)
        .with_number("B", found.b)
        .with_number("a_B", found.a_b)
        .with_number("a_T", found.a_t)
        .with_number("m_T", found.m_t)
        .with_number("a_U", found.a_u)
        .with_number("m_U", found.m_u)
        .with_number("a_D", found.a_d)
        .with_number("m_D", found.m_d);
    Ok(figure.assuming_all(&pipe.assumptions))
}
