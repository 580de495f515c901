//! Pipes in a massive layer by resistances in series: for slabs, and as a second opinion on screeds.
//!
//! The temperature of the pipe plane stands between water, room and what lies below, each behind one
//! resistance. The one of the pipe plane is that of a row of line sources in the layer.

use super::conduction::Layer;
use super::en1264::EmbeddedPipe;
use super::{FLOOR_FILM, FloorResponse};
use crate::out_of_range::{Method, OutOfRange};
use quantity::{Conductivity, Length, ThermalResistance, Transmittance};
use std::f64::consts::PI;

/// Pipes in a layer of one material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MassiveFloor {
    pub pitch: Length,
    pub pipe: EmbeddedPipe,
    /// Of the layer.
    pub conductivity: Conductivity,
    /// Of the layer, above the pipe crown.
    pub cover: Length,
    /// Of the layer, below the pipe axis; not the insulation.
    pub below_axis: Length,
    pub covering: ThermalResistance,
    /// From the underside of the layer to what lies below: insulation, slab, film.
    pub below: ThermalResistance,
    /// Water to inner wall; none for a wall as warm as the water.
    pub water_film: Option<Transmittance>,
}

/// A massive floor, worked out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Series {
    pub response: FloorResponse,
    /// From water to the inner wall.
    pub of_water: ThermalResistance,
    /// Of the pipe wall and sheath.
    pub of_wall: ThermalResistance,
    /// From the pipes to their plane.
    pub of_pipe_plane: ThermalResistance,
    /// From the pipe plane to the room.
    pub above: ThermalResistance,
    /// From the pipe plane to what lies below.
    pub below: ThermalResistance,
}

/// What of a massive floor is in the range of the method, as plain numbers in SI.
struct InRange {
    pitch: f64,
    outside: f64,
    layer: f64,
    cover: f64,
    under: f64,
    covering: f64,
    below: f64,
}

const RESISTANCES: Method = Method("the series of resistances of ISO 11855-2");

impl MassiveFloor {
    /// The resistances and the linear response of the floor.
    ///
    /// Units: as typed. Source: resistance method of ISO 11855-2 (Koschenz and Lehmann 2000) with the
    /// term for an insulated underside; within 2 % of a numerical solution for floors of EN 1264 type
    /// A. Holds for: pitch of 50 to 500 mm, pipe of 8 to 40 mm and less than 40 % of the pitch, cover
    /// of 10 to 500 mm, layer of 0.3 to 3 W/(m·K) from the pipe's underside to 500 mm below the axis.
    pub fn series(&self) -> Result<Series, OutOfRange> {
        let method = RESISTANCES;
        let InRange { pitch, outside, layer, cover, under, covering, below } = self.in_range()?;
        let of_wall = pitch * self.pipe.wall_resistance(method)?;
        let of_water = match self.water_film {
            Some(film) => {
                let film = method.takes("heat transfer of the water", film, 10.0..=1e5)?;
                pitch / (PI * self.pipe.bore() * film)
            }
            None => 0.0,
        };
        let ratio = pitch / (below * layer);
        let correction: f64 = (1..=100)
            .map(|s| 2.0 * PI * f64::from(s))
            .map(|wave| (wave, (-2.0 * wave * under / pitch).exp()))
            .take_while(|(_, fading)| *fading > 1e-12)
            .map(|(wave, fading)| -(ratio - wave) / (ratio + wave) * fading * 2.0 * PI / wave)
            .sum();
        let row = (pitch / (PI * outside)).ln() + correction;
        let of_pipe_plane = pitch * row / (2.0 * PI * layer);

        let film = FLOOR_FILM.in_watts_per_square_metre_kelvin();
        let upper = cover + outside / 2.0;
        let above = upper / layer + covering + 1.0 / film;
        let under_plane = under / layer + below;
        let from_water = of_water + of_wall + of_pipe_plane;
        method.takes_number("resistance from water to pipe plane", from_water, 1e-6..=10.0)?;

        // Three resistances that meet in a point, as three between the ends.
        let [water, room, ground] = [from_water, above, under_plane].map(f64::recip);
        let sum = water + room + ground;
        let watts = Transmittance::watts_per_square_metre_kelvin;
        let across = watts(room * ground / sum);
        let resistance = ThermalResistance::square_metre_kelvin_per_watt;
        Ok(Series {
            response: FloorResponse {
                up: watts(water * room / sum),
                down: watts(water * ground / sum),
                up_across: across,
                down_across: across,
            },
            of_water: resistance(of_water),
            of_wall: resistance(of_wall),
            of_pipe_plane: resistance(of_pipe_plane),
            above: resistance(above),
            below: resistance(under_plane),
        })
    }

    fn in_range(&self) -> Result<InRange, OutOfRange> {
        let method = RESISTANCES;
        let pitch = method.takes("pipe spacing", self.pitch, 50.0..=500.0)?;
        let thickest = (0.4 * self.pitch.in_millimetres()).min(40.0);
        let outside = self.pipe.outside_with_sheath();
        let outside = method.takes("outside diameter of the pipe", outside, 8.0..=thickest)?;
        let layer = method.takes("conductivity of the layer", self.conductivity, 0.3..=3.0)?;
        let cover = method.takes("cover over the pipe", self.cover, 10.0..=500.0)?;
        let radius = outside * 500.0;
        let under = method.takes("layer below the pipe axis", self.below_axis, radius..=500.0)?;
        let covering = method.takes("covering resistance", self.covering, 0.0..=2.0)?;
        let below = method.takes("resistance below the layer", self.below, 0.01..=50.0)?;
        Ok(InRange { pitch, outside, layer, cover, under, covering, below })
    }

    /// How much hotter than its mean the surface is above a pipe, for each W/m² that the water gives. In coverings the heat
    /// spreads sideways too: tile evens out what felt lets through. `covering` is of the layers without a thickness alone; the
    /// others stand in `layers`, from the surface down.
    ///
    /// Units: as typed. Source: Fourier series of a row of line sources, layer by layer; within 3 % of a numerical solution
    /// for a pitch of 100 to 300 mm and a cover of 14 to 49 mm. Holds for: as [`MassiveFloor::series`]; layers of 0.01 to
    /// 500 W/(m·K) and to 500 mm.
    pub fn ripple_under(&self, layers: &[Layer]) -> Result<ThermalResistance, OutOfRange> {
        let InRange { pitch, outside, layer, cover, under, covering, below } = self.in_range()?;
        let method = Method("the stripes of a surface");
        let mut above = Vec::with_capacity(layers.len());
        for layer in layers {
            let thickness = method.takes("thickness of a layer", layer.thickness, 0.0..=500.0)?;
            above.push((thickness, method.takes("conductivity of a layer", layer.conductivity, 0.01..=500.0)?));
        }
        let upper = cover + outside / 2.0;
        let ripple = ripple(pitch, layer, upper, under, &above, covering, 1.0 / below);
        Ok(ThermalResistance::square_metre_kelvin_per_watt(ripple))
    }
}

/// Surface above the pipe over the mean surface, for each W/m² that the pipes give; all in SI. Of the layers on top
/// thickness and conductivity, from the surface down; `covering` only resists.
fn ripple(pitch: f64, layer: f64, upper: f64, under: f64, layers: &[(f64, f64)], covering: f64, below: f64) -> f64 {
    let film = FLOOR_FILM.in_watts_per_square_metre_kelvin();
    (1..=60)
        .map(|n| 2.0 * PI * f64::from(n) / pitch)
        .map(|k| (k, (-k * upper).exp()))
        .take_while(|(_, fading)| *fading > 1e-18)
        .map(|(k, fading)| {
            // What the wave meets going up, and what of it comes through to the surface.
            let (mut h, mut through) = (film, 1.0);
            for (thickness, conductivity) in layers {
                let own = conductivity * k;
                // cosh and sinh, their common growth taken out so that nothing overflows.
                let once = (-k * thickness).exp();
                let (cosh, sinh) = (1.0 + once * once, 1.0 - once * once);
                through *= 2.0 * once / (cosh + h / own * sinh);
                h = own * (h * cosh + own * sinh) / (own * cosh + h * sinh);
            }
            through /= 1.0 + h * covering;
            h /= 1.0 + h * covering;
            let (b, u) = (h / (layer * k), below / (layer * k));
            let lower = (-2.0 * k * under).exp();
            let whole = lower * fading * fading;
            let source = (1.0 + lower) + u * (1.0 - lower);
            let answer = (1.0 + b * u) * (1.0 - whole) + (b + u) * (1.0 + whole);
            through * 2.0 / layer * source / (k * answer) * fading
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn floor(pitch: f64, cover: f64, covering: f64) -> MassiveFloor {
        MassiveFloor {
            pitch: Length::metres(pitch),
            pipe: EmbeddedPipe {
                outside: Length::millimetres(16.0),
                wall: Length::millimetres(2.0),
                conductivity: Conductivity::watts_per_metre_kelvin(0.35),
                sheath: None,
            },
            conductivity: Conductivity::watts_per_metre_kelvin(1.2),
            cover: Length::metres(cover),
            below_axis: Length::millimetres(10.0),
            covering: ThermalResistance::square_metre_kelvin_per_watt(covering),
            below: ThermalResistance::square_metre_kelvin_per_watt(1.3),
            water_film: None,
        }
    }

    /// Without a wall, a water plane: layers in series. The closer the pipes, the nearer to it.
    #[test]
    fn output_rises_towards_the_water_plane() {
        let mut last = 0.0;
        for pitch in [0.4, 0.3, 0.2, 0.15, 0.1, 0.075, 0.05] {
            let up = floor(pitch, 0.045, 0.05).series().unwrap().response.up;
            let up = up.in_watts_per_square_metre_kelvin();
            assert!(up > last, "at {pitch}");
            last = up;
        }
        let plane = 1.0 / (1.0 / 10.8 + 0.05 + 0.053 / 1.2);
        assert!(last < plane && last > 0.85 * plane, "{last} against {plane}");
    }

    #[test]
    fn ripple_falls_with_cover_and_rises_with_pitch() {
        let ripple =
            |pitch, cover| floor(pitch, cover, 0.0).ripple_under(&[]).unwrap().in_square_metre_kelvin_per_watt();
        assert!(ripple(0.15, 0.03) > ripple(0.15, 0.045));
        assert!(ripple(0.2, 0.045) > ripple(0.15, 0.045));
        assert!(ripple(0.05, 0.3) < 1e-15);
    }

    /// Numerical solutions outside this project's code (finite volumes, cells of 0.25 mm about the pipe): screed of 1.2 W/(m·K)
    /// with 16 x 2 pipe at its base on insulation, under 10 mm of tile (1.3) on 5 mm of adhesive (0.9), or 14 mm of oak (0.17).
    #[test]
    fn a_covering_evens_out_what_is_below() {
        let layer = |(millimetres, conductivity): &(f64, f64)| Layer {
            thickness: Length::millimetres(*millimetres),
            conductivity: Conductivity::watts_per_metre_kelvin(*conductivity),
        };
        let (tile, oak, bare) = (&[(10.0, 1.3), (5.0, 0.9)][..], &[(14.0, 0.17)][..], &[][..]);
        for (pitch, cover, covering, wanted) in [
            (0.10, 0.030, tile, 0.00113),
            (0.15, 0.049, tile, 0.00245),
            (0.15, 0.014, tile, 0.01165),
            (0.20, 0.030, tile, 0.01374),
            (0.30, 0.049, tile, 0.02387),
            (0.30, 0.014, tile, 0.06122),
            (0.15, 0.049, oak, 0.00231),
            (0.20, 0.030, oak, 0.01246),
            (0.30, 0.014, oak, 0.05730),
            (0.15, 0.030, bare, 0.01123),
            (0.30, 0.049, bare, 0.03494),
        ] {
            let floor = MassiveFloor {
                below_axis: Length::millimetres(8.0),
                below: ThermalResistance::square_metre_kelvin_per_watt(5.98),
                ..floor(pitch, cover, 0.0)
            };
            let layers: Vec<Layer> = covering.iter().map(layer).collect();
            let found = floor.ripple_under(&layers).unwrap().in_square_metre_kelvin_per_watt();
            assert!((found / wanted - 1.0).abs() < 0.03, "{pitch}, {cover}: {found}, wanted {wanted}");
        }
    }

    #[test]
    fn a_laminar_film_and_a_sheath_cost_output() {
        let base = floor(0.15, 0.045, 0.05);
        let up = |floor: MassiveFloor| floor.series().unwrap().response.up;
        let laminar = Transmittance::watts_per_square_metre_kelvin(200.0);
        let turbulent = Transmittance::watts_per_square_metre_kelvin(2200.0);
        assert!(
            up(MassiveFloor { water_film: Some(laminar), ..base })
                < up(MassiveFloor { water_film: Some(turbulent), ..base })
        );
        assert!(up(MassiveFloor { water_film: Some(turbulent), ..base }) < up(base));
        let mut shallow = base;
        shallow.below_axis = Length::millimetres(7.0);
        assert!(shallow.series().is_err());
        assert!(floor(0.6, 0.045, 0.0).series().is_err());
        assert!(floor(0.15, 0.005, 0.0).series().is_err());
    }
}
