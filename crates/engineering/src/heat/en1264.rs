//! Output of warm-water floors by EN 1264-2: characteristic, limit curve, downward loss, design flow.
//!
//! The tables are those of the standard as public copies give them; two sources agree on the
//! tables of types A and C. Between table points this module interpolates linearly, and refuses
//! outside them.

use super::{FLOOR_FILM, FloorResponse};
use crate::out_of_range::{Method, OutOfRange};
use quantity::{
    Area, Conductivity, HeatFlux, Length, MassFlow, Power, Share, SpecificHeat, Temperature, TemperatureDifference,
    ThermalResistance, Transmittance,
};
use std::f64::consts::PI;

/// Specific heat of water that EN 1264-3 reckons with.
pub const WATER: SpecificHeat = SpecificHeat::joules_per_kilogram_kelvin(4190.0);

const EN_1264_2: Method = Method("EN 1264-2");

/// Heat flux from a floor surface that is so much warmer than its room.
///
/// Units: kelvin in, W/m² out. Source: EN 1264-2, basic characteristic. Holds for: 0 to 80 K.
pub fn basic_characteristic(excess: TemperatureDifference) -> Result<HeatFlux, OutOfRange> {
    let excess = EN_1264_2.takes("excess temperature", excess, 0.0..=80.0)?;
    Ok(HeatFlux::watts_per_square_metre(8.92 * excess.powf(1.1)))
}

/// How much warmer than its room the floor surface is, on average, when it gives this heat flux:
/// the basic characteristic turned round.
///
/// Units: W/m² in, kelvin out. Source: EN 1264-2. Holds for: 0 to 1000 W/m².
pub fn surface_excess(flux: HeatFlux) -> Result<TemperatureDifference, OutOfRange> {
    let flux = EN_1264_2.takes("heat flux", flux, 0.0..=1000.0)?;
    Ok(TemperatureDifference::kelvin((flux / 8.92).powf(1.0 / 1.1)))
}

/// Mean excess of the water over the room, as a logarithmic mean of flow and return.
///
/// Units: °C in, kelvin out. Source: EN 1264-2. Holds for: flow ≥ return > room.
pub fn log_mean_excess(
    flow: Temperature,
    return_temperature: Temperature,
    room: Temperature,
) -> Result<TemperatureDifference, OutOfRange> {
    let method = Method("the logarithmic mean excess");
    let warmer = room + TemperatureDifference::kelvin(1e-6);
    let return_celsius =
        method.takes("return temperature", return_temperature, warmer.in_celsius()..=flow.in_celsius())?;
    let return_excess = return_celsius - room.in_celsius();
    let drop = (flow - return_temperature).in_kelvin();
    let mean = match drop {
        0.0 => return_excess,
        // ln(1 + x) keeps its digits where flow and return almost agree.
        _ => drop / (drop / return_excess).ln_1p(),
    };
    Ok(TemperatureDifference::kelvin(mean))
}

/// The pipe in the screed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EmbeddedPipe {
    pub outside: Length,
    pub wall: Length,
    pub conductivity: Conductivity,
    pub sheath: Option<Sheath>,
}

/// A sleeve all along the pipe. PVC 0.20 W/(m·K), with trapped air 0.15 (EN 1264-2).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sheath {
    pub outside: Length,
    pub conductivity: Conductivity,
}

/// Studs or fixings that take up a share of the screed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Studs {
    /// Share of the volume, up to 15 %.
    pub share: Share,
    pub conductivity: Conductivity,
}

/// A floor of type A or C: pipe inside the screed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WetFloor {
    /// Distance of the pipes, centre to centre.
    pub pitch: Length,
    pub pipe: EmbeddedPipe,
    /// Screed above the pipe crown, not its whole thickness.
    pub cover: Length,
    pub screed: Conductivity,
    /// Resistance of the floor covering.
    pub covering: ThermalResistance,
    pub studs: Option<Studs>,
}

/// The characteristic of a floor, `flux = k_h · mean excess`, with the factors behind it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Characteristic {
    pub k_h: Transmittance,
    /// Coefficient of the system, W/(m²·K): 6.7 for the reference pipe (type A, C), 6.5 (type B, D).
    pub b: f64,
    /// Factor of the covering.
    pub a_b: f64,
    /// Factor of the pitch, before its exponent.
    pub a_t: f64,
    /// Factor of the cover; for types A and C before its exponent.
    pub a_u: f64,
    /// Factor of the outside diameter, before its exponent; 1 for types B and D.
    pub a_d: f64,
    pub m_t: f64,
    pub m_u: f64,
    pub m_d: f64,
    /// Factor of the conducting plate; 1 but for type B.
    pub a_wl: f64,
    /// Correction of the contact of plate and screed; 1 but for type B.
    pub a_k: f64,
    /// Product of the factors with their exponents.
    pub product: f64,
    /// Conductivity of the screed, studs counted in.
    pub screed: Conductivity,
    /// The tables are from memory: no basis for a pass or a fail.
    pub from_memory: bool,
}

impl Characteristic {
    /// Heat flux at this mean excess of the water.
    ///
    /// Units: kelvin in, W/m² out. Source: EN 1264-2. Holds for: 0 to 80 K.
    pub fn heat_flux(&self, mean_excess: TemperatureDifference) -> Result<HeatFlux, OutOfRange> {
        EN_1264_2.takes("excess temperature", mean_excess, 0.0..=80.0)?;
        Ok(self.k_h * mean_excess)
    }

    /// The floor as a linear response, downward loss by EN 1264-2 from the resistances above and
    /// below the pipe plane.
    ///
    /// Units: as typed. Source: EN 1264-2 (heat flux downward). Holds for: `below` of 0.05 m²·K/W
    /// and more.
    pub fn response(&self, above: ThermalResistance, below: ThermalResistance) -> Result<FloorResponse, OutOfRange> {
        let below = DOWNWARD.takes("resistance below the pipes", below, 0.05..=50.0)?;
        let down = self.k_h * (above.in_square_metre_kelvin_per_watt() / below);
        Ok(FloorResponse {
            up: self.k_h,
            down,
            up_across: Transmittance::ZERO,
            down_across: Transmittance::watts_per_square_metre_kelvin(1.0 / below) - down,
        })
    }
}

const WIDEST: f64 = 0.375;

impl WetFloor {
    /// The characteristic of the floor.
    ///
    /// Units: as typed. Source: EN 1264-2, types A and C; studs and thick cover as there.
    /// Holds for: pitch 50 to 500 mm (above 375 mm by the rule for wide pitch), pipe with sheath 8 to
    /// 30 mm, cover 10 to 300 mm, screed 0.5 to 2.5 W/(m·K), covering 0 to 0.15 m²·K/W, studs to 15 %.
    pub fn characteristic(&self) -> Result<Characteristic, OutOfRange> {
        let watts = Conductivity::watts_per_metre_kelvin;
        // The rule for wide pitch has no upper end in the standard; beyond half a metre stripes of
        // cold floor make the mean meaningless.
        let pitch = EN_1264_2.takes("pipe spacing", self.pitch, 50.0..=500.0)?;
        let cover = EN_1264_2.takes("cover over the pipe", self.cover, 10.0..=300.0)?;
        let covering = EN_1264_2.takes("covering resistance", self.covering, 0.0..=0.15)?;
        let outside = self.pipe.outside_with_sheath();
        let outside = EN_1264_2.takes("outside diameter of the pipe", outside, 8.0..=30.0)?;
        let screed = self.effective_screed()?;
        EN_1264_2.takes("conductivity of the screed", watts(screed), 0.5..=2.5)?;

        let spacing = pitch.min(WIDEST);
        // The factor of the covering takes 45 mm of screed whatever the cover is.
        let reference = 1.0 / film() + 0.045;
        let a_b = reference / (1.0 / film() + 0.045 / screed + covering);
        let a_t = interpolate(&COVERINGS, &A_T, covering);
        let a_u = interpolate_both(&PITCHES, &COVERINGS, &A_U, spacing, covering);
        let a_d = interpolate_both(&PITCHES, &COVERINGS, &A_D, spacing, covering);
        let m_t = 1.0 - spacing / 0.075;
        let m_d = 250.0 * (outside - 0.020);

        let thick = if spacing <= 0.200 { 0.100 } else { 0.5 * spacing };
        let plain_cover = cover.min(thick);
        let m_u = 100.0 * (0.045 - plain_cover);
        let product = a_b * a_t.powf(m_t) * a_u.powf(m_u) * a_d.powf(m_d);
        let b = 1.0 / (1.0 / 6.7 + 1.1 * product * spacing * self.pipe.against_reference()?);
        let plain = b * product;
        let at_widest = 1.0 / (1.0 / plain + (cover - plain_cover) / screed);
        let k_h = at_widest * spacing / pitch;
        Ok(Characteristic {
            k_h: Transmittance::watts_per_square_metre_kelvin(k_h),
            b,
            a_b,
            a_t,
            a_u,
            a_d,
            m_t,
            m_u,
            m_d,
            a_wl: 1.0,
            a_k: 1.0,
            product,
            screed: watts(screed),
            from_memory: false,
        })
    }

    /// Conductivity of the screed with its studs, `(1 − share) · screed + share · stud`.
    fn effective_screed(&self) -> Result<f64, OutOfRange> {
        let screed = self.screed.in_watts_per_metre_kelvin();
        let Some(studs) = self.studs else {
            return Ok(screed);
        };
        let share = EN_1264_2.takes("share of studs in the screed", studs.share, 0.0..=15.0)?;
        let stud = EN_1264_2.takes("conductivity of the studs", studs.conductivity, 0.0..=500.0)?;
        Ok((1.0 - share) * screed + share * stud)
    }

    /// The limit curve where the hottest point of the floor surface reaches `highest_excess` over the
    /// room.
    ///
    /// Units: kelvin in (9 K for occupied floors, 15 K for edges), W/m² and kelvin out.
    /// Source: EN 1264-2, limit curves of types A and C. Holds for: as [`WetFloor::characteristic`],
    /// and cover over conductivity of 0.01 m²·K/W and more; where that exceeds 0.0792, cover over
    /// pitch of 0.173 and more; 1 to 20 K.
    pub fn limit(&self, highest_excess: TemperatureDifference) -> Result<Limit, OutOfRange> {
        let characteristic = self.characteristic()?;
        let kelvin = TemperatureDifference::kelvin;
        let highest = EN_1264_2.takes("highest surface excess", highest_excess, 1.0..=20.0)?;
        let phi = (highest / 9.0).powf(1.1);
        let pitch = self.pitch.in_metres();
        let spacing = pitch.min(WIDEST);
        let cover = self.cover.in_metres();
        let (b_g, n_g) = limit_factors(spacing, cover, characteristic.screed.in_watts_per_metre_kelvin())?;

        let most = phi * 100.0;
        let k_h_at_spacing = characteristic.k_h.in_watts_per_square_metre_kelvin() * pitch / spacing;
        let excess = phi * (b_g / k_h_at_spacing).powf(1.0 / (1.0 - n_g));
        // Between table points the limit can pass the flux that an even surface would give.
        let flux = (k_h_at_spacing * excess).min(most);
        let excess = flux / k_h_at_spacing;

        let flux_if_wide = flux * spacing / pitch;
        let f_g = match cover / pitch {
            ratio if pitch <= WIDEST || ratio <= 0.173 => 1.0,
            ratio => {
                let fading = (-20.0 * (ratio - 0.173) * (ratio - 0.173)).exp();
                (most - (most - flux_if_wide) * fading) / flux_if_wide
            }
        };
        Ok(Limit {
            heat_flux: HeatFlux::watts_per_square_metre(flux_if_wide * f_g),
            mean_excess: kelvin(excess * f_g),
            b_g,
            n_g,
            phi,
            f_g,
        })
    }

    /// Resistance from the pipe crown to the room, `1/α + covering + cover/screed`.
    ///
    /// Units: m²·K/W. Source: EN 1264-2 (heat flux downward). Holds for: as
    /// [`WetFloor::characteristic`].
    pub fn resistance_above(&self) -> Result<ThermalResistance, OutOfRange> {
        let screed = self.characteristic()?.screed;
        Ok(resistance_above(self.cover, screed, self.covering))
    }
}

impl EmbeddedPipe {
    pub(crate) fn outside_with_sheath(&self) -> Length {
        self.sheath.map_or(self.outside, |sheath| sheath.outside)
    }

    pub(crate) fn bore(&self) -> f64 {
        (self.outside - self.wall * 2.0).in_metres()
    }

    /// Resistance of wall and sheath for each metre of pipe, m·K/W.
    pub(crate) fn wall_resistance(&self, method: Method) -> Result<f64, OutOfRange> {
        let outside = self.outside.in_metres();
        let thickest = self.outside.in_millimetres() * 0.34;
        method.takes("pipe wall", self.wall, 0.3..=thickest)?;
        let of_pipe = method.takes("conductivity of the pipe", self.conductivity, 0.1..=500.0)?;
        let wall = (outside / self.bore()).ln() / (2.0 * PI * of_pipe);
        let Some(sheath) = self.sheath else {
            return Ok(wall);
        };
        let of_sheath = sheath.conductivity;
        let of_sheath = method.takes("conductivity of the sheath", of_sheath, 0.02..=500.0)?;
        let least = self.outside.in_millimetres();
        method.takes("outside diameter of the sheath", sheath.outside, least..=60.0)?;
        Ok(wall + (sheath.outside.in_metres() / outside).ln() / (2.0 * PI * of_sheath))
    }

    /// How much more wall and sheath resist than the wall of the reference pipe, 2 mm of 0.35
    /// W/(m·K); m·K/W.
    fn against_reference(&self) -> Result<f64, OutOfRange> {
        let reference = self.outside_with_sheath().in_metres();
        let of_reference = (reference / (reference - 0.004)).ln() / (2.0 * PI * 0.35);
        Ok(self.wall_resistance(EN_1264_2)? - of_reference)
    }
}

/// The point of the limit curve that a floor reaches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Most that the floor may give.
    pub heat_flux: HeatFlux,
    /// Mean excess of the water at which it gives that.
    pub mean_excess: TemperatureDifference,
    pub b_g: f64,
    pub n_g: f64,
    /// Factor of the permitted surface excess, `(excess / 9 K)^1.1`.
    pub phi: f64,
    /// Factor of a pitch over 375 mm.
    pub f_g: f64,
}

/// Coefficient and exponent of the limit curve at a pitch up to 375 mm.
fn limit_factors(spacing: f64, cover: f64, screed: f64) -> Result<(f64, f64), OutOfRange> {
    let resistance = cover / screed;
    let by_resistance = ThermalResistance::square_metre_kelvin_per_watt;
    if resistance <= 0.0792 {
        Method("EN 1264-2 limit curve").takes(
            "cover over its conductivity",
            by_resistance(resistance),
            0.01..=0.0792,
        )?;
        let b_g = interpolate_both(&LIMIT_PITCHES_B, &LIMIT_RESISTANCES, &LIMIT_B, spacing, resistance);
        let n_g = interpolate_both(&LIMIT_PITCHES_N, &LIMIT_RESISTANCES, &LIMIT_N, spacing, resistance);
        return Ok((b_g, n_g));
    }
    let ratio = Method("EN 1264-2 limit curve for thick cover").takes_number(
        "cover divided by the pipe spacing",
        cover / spacing,
        0.173..=f64::INFINITY,
    )?;
    let ratio = ratio.min(0.75);
    Ok((interpolate(&LIMIT_RATIOS, &LIMIT_THICK_B, ratio), interpolate(&LIMIT_RATIOS, &LIMIT_THICK_N, ratio)))
}

/// A floor of type B: conducting plates with the pipe below the screed or load layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlateFloor {
    pub pitch: Length,
    pub pipe_outside: Length,
    pub plate_thickness: Length,
    pub plate_conductivity: Conductivity,
    /// Width of one plate, up to the pitch.
    pub plate_width: Length,
    /// Load layer above the plate.
    pub cover: Length,
    pub cover_conductivity: Conductivity,
    pub covering: ThermalResistance,
}

impl PlateFloor {
    /// The characteristic of the floor. **The factor of the contact, and that of an endlessly conductive plate, are from
    /// memory**, and the floor comes out 1 % below to 15 % above a numerical solution: use [`super::conduction`] for a pass
    /// or a fail.
    ///
    /// Units: as typed. Source: EN 1264-2 type B; formulas and the other tables as an open rendering of ISO 11855-2
    /// (2021), annex A, carries them. Holds for: pitch 50 to 450 mm, cover over conductivity 0.01 to 0.18 m²·K/W, covering
    /// 0 to 0.15 m²·K/W, plate no wider than the pitch, pipe 14 to 22 mm.
    pub fn characteristic(&self) -> Result<Characteristic, OutOfRange> {
        let method = Method("EN 1264-2 type B");
        let pitch = method.takes("pipe spacing", self.pitch, 50.0..=450.0)?;
        let outside = method.takes("outside diameter of the pipe", self.pipe_outside, 14.0..=22.0)?;
        let plate = method.takes("plate thickness", self.plate_thickness, 0.0..=3.0)?;
        let of_plate = self.plate_conductivity;
        let of_plate = method.takes("conductivity of the plate", of_plate, 0.0..=500.0)?;
        let widest = self.pitch.in_millimetres();
        let width = method.takes("plate width", self.plate_width, 0.0..=widest)?;
        let of_cover = self.cover_conductivity;
        let of_cover = method.takes("conductivity of the load layer", of_cover, 0.05..=2.5)?;
        let cover = method.takes("load layer", self.cover, 1.0..=300.0)?;
        let resistance = ThermalResistance::of(self.cover, self.cover_conductivity);
        let resistance = method.takes("resistance of the load layer", resistance, 0.01..=0.18)?;
        let covering = method.takes("covering resistance", self.covering, 0.0..=0.15)?;

        let a_t = interpolate(&B_RESISTANCES, &B_A_T, resistance);
        let m_t = 1.0 - pitch / 0.075;
        let a_u = (1.0 / film() + 0.045) / (1.0 / film() + resistance);
        let a_k = interpolate(&B_PITCHES, &B_A_K, pitch);
        let b_u = interpolate(&B_PITCHES, &B_B_U, pitch);
        let screed_share = b_u * cover * of_cover;
        let whole = plate_factor(pitch, outside, (plate * of_plate + screed_share) / 0.125);
        let without = plate_factor(pitch, outside, screed_share / 0.125);
        let x = width / pitch;
        let a_wl = whole - (whole - without) * (1.0 - 3.2 * x + 3.4 * x * x - 1.2 * x * x * x);
        let bare = a_t.powf(m_t) * a_u * a_wl * a_k;
        let a_b = 1.0 / (1.0 + 6.5 * bare * covering * (1.0 + 0.44 * pitch.sqrt()));
        let characteristic = of_plates(a_b, a_t, a_u, m_t, a_wl, a_k, a_b * bare, self.cover_conductivity);
        Ok(Characteristic { from_memory: true, ..characteristic })
    }
}

/// The characteristic of a floor of type D: water all over the area, under a load layer.
/// It comes out 2 to 5 % below the exact value of layers in series.
///
/// Units: as typed. Source: EN 1264-2 type D, as an open rendering of ISO 11855-2 (2021), annex A, carries it. Holds for: cover over conductivity 0.01 to
/// 0.18 m²·K/W, covering 0 to 0.15 m²·K/W.
pub fn water_plane(
    cover: Length,
    cover_conductivity: Conductivity,
    covering: ThermalResistance,
) -> Result<Characteristic, OutOfRange> {
    let method = Method("EN 1264-2 type D");
    let resistance = ThermalResistance::of(cover, cover_conductivity);
    let resistance = method.takes("resistance of the load layer", resistance, 0.01..=0.18)?;
    let covering = method.takes("covering resistance", covering, 0.0..=0.15)?;
    let a_u = (1.0 / film() + 0.045) / (1.0 / film() + resistance);
    let a_b = 1.0 / (1.0 + 6.5 * 1.06 * a_u * covering);
    Ok(of_plates(a_b, 1.06, a_u, 1.0, 1.0, 1.0, a_b * 1.06 * a_u, cover_conductivity))
}

#[expect(clippy::too_many_arguments, reason = "the factors of one formula, in its order")]
fn of_plates(
    a_b: f64,
    a_t: f64,
    a_u: f64,
    m_t: f64,
    a_wl: f64,
    a_k: f64,
    product: f64,
    screed: Conductivity,
) -> Characteristic {
    Characteristic {
        k_h: Transmittance::watts_per_square_metre_kelvin(6.5 * product),
        b: 6.5,
        a_b,
        a_t,
        a_u,
        a_d: 1.0,
        m_t,
        m_u: 1.0,
        m_d: 0.0,
        a_wl,
        a_k,
        product,
        screed,
        from_memory: false,
    }
}

/// Factor of a plate as wide as the pitch, for its own conductance over 0.125 W/K.
fn plate_factor(pitch: f64, outside: f64, conductance: f64) -> f64 {
    let at = |of: usize| interpolate_both(&B_PITCHES, &B_OUTSIDES, &B_A_WL[of], pitch, outside);
    if conductance > 0.4 {
        let endless = interpolate(&B_PITCHES, &B_A_WL_ENDLESS, pitch);
        return endless - (endless - at(4)) * (0.4 / conductance).powi(4);
    }
    interpolate(&[0.0, 0.1, 0.2, 0.3, 0.4], &[at(0), at(1), at(2), at(3), at(4)], conductance)
}

const DOWNWARD: Method = Method("EN 1264-2 heat flux downward");

/// Resistance from the pipe crown to the room, `1/α + covering + cover/conductivity`.
///
/// Units: m²·K/W. Source: EN 1264-2 (heat flux downward). Holds for: a conductivity above zero.
pub fn resistance_above(cover: Length, screed: Conductivity, covering: ThermalResistance) -> ThermalResistance {
    let film = ThermalResistance::square_metre_kelvin_per_watt(1.0 / film());
    film + covering + ThermalResistance::of(cover, screed)
}

/// Heat flux downward from a floor that gives `upward`; negative where what lies below is warmer
/// than the pipe plane.
///
/// Units: as typed; `above` from pipe crown to room, `below` from pipe plane to what lies below, films
/// included (0.17 m²·K/W to a room below, none to the ground, 0.04 to outdoor air).
/// Source: EN 1264-2. Holds for: `below` of 0.05 m²·K/W and more. Good to 5 % for screeds; boards
/// without plates lose up to a third more than this says.
pub fn downward_heat_flux(
    upward: HeatFlux,
    above: ThermalResistance,
    below: ThermalResistance,
    room: Temperature,
    under: Temperature,
) -> Result<HeatFlux, OutOfRange> {
    DOWNWARD.takes("resistance below the pipes", below, 0.05..=50.0)?;
    Ok((upward * above + (room - under)) / below)
}

/// Design excess of the flow temperature over the room, from the mean excess and the drop.
///
/// Units: kelvin. Source: EN 1264-3. Holds for: mean excess above 0 to 80 K, drop 0 up to 1.5 times
/// the mean excess; within 0.5 % of the exact `drop / (1 − e^(−drop / mean))`.
pub fn flow_excess(
    mean_excess: TemperatureDifference,
    drop: TemperatureDifference,
) -> Result<TemperatureDifference, OutOfRange> {
    let method = Method("EN 1264-3 design flow temperature");
    let kelvin = TemperatureDifference::kelvin;
    let mean = method.takes("mean excess of the water", mean_excess, 0.1..=80.0)?;
    let drop = method.takes("temperature drop of the water", drop, 0.0..=mean_excess.in_kelvin() * 1.5)?;
    let third = if drop / mean > 0.5 { drop * drop / (12.0 * mean) } else { 0.0 };
    Ok(kelvin(mean + drop / 2.0 + third))
}

/// Temperature drop of the water in a room that needs less than the most demanding one, at the same
/// flow temperature.
///
/// Units: kelvin; both excesses over this room. Source: EN 1264-3. Holds for: mean excess above 0 to
/// 80 K, flow excess from the mean excess up to 1.9 times it.
pub fn drop_at_flow_excess(
    flow_excess: TemperatureDifference,
    mean_excess: TemperatureDifference,
) -> Result<TemperatureDifference, OutOfRange> {
    let method = Method("EN 1264-3 temperature drop of the other rooms");
    let kelvin = TemperatureDifference::kelvin;
    let mean = method.takes("mean excess of the water", mean_excess, 0.1..=80.0)?;
    let flow = method.takes(
        "flow excess of the water",
        flow_excess,
        mean_excess.in_kelvin()..=mean_excess.in_kelvin() * 1.9,
    )?;
    let drop = 2.0 * (flow - mean);
    if drop / mean <= 0.5 {
        return Ok(kelvin(drop));
    }
    Ok(kelvin(3.0 * mean * ((1.0 + 4.0 * (flow - mean) / (3.0 * mean)).sqrt() - 1.0)))
}

/// Mass flow that carries the heat of an area at a temperature drop.
///
/// Units: as typed; `downward` as [`downward_heat_flux`] gives it. Source: EN 1264-3, with [`WATER`]
/// as its specific heat. Holds for: a drop of 0.1 to 80 K and specific heat of 1000 J/(kg·K) and more.
pub fn mass_flow(
    area: Area,
    upward: HeatFlux,
    downward: HeatFlux,
    drop: TemperatureDifference,
    specific_heat: SpecificHeat,
) -> Result<MassFlow, OutOfRange> {
    let heat: Power = (upward + downward) * area;
    carrying(heat, drop, specific_heat)
}

/// Mass flow that carries a heat flow at a temperature drop.
///
/// Units, source, range: as [`mass_flow`].
pub fn carrying(heat: Power, drop: TemperatureDifference, specific_heat: SpecificHeat) -> Result<MassFlow, OutOfRange> {
    let method = Method("the heat balance of the water");
    let drop = method.takes("temperature drop of the water", drop, 0.1..=80.0)?;
    let heat_of_fluid = method.takes("specific heat of the fluid", specific_heat, 1000.0..=10_000.0)?;
    let flow = heat.in_watts() / (heat_of_fluid * drop);
    Ok(MassFlow::kilograms_per_second(flow))
}

const fn film() -> f64 {
    FLOOR_FILM.in_watts_per_square_metre_kelvin()
}

/// The value at `x` on the line between the two table points about it; `x` lies within the table.
fn interpolate(points: &[f64], values: &[f64], x: f64) -> f64 {
    let (index, share) = place(points, x);
    match (values.get(index), values.get(index + 1)) {
        (Some(low), Some(high)) => low + (high - low) * share,
        (Some(only), None) => *only,
        _ => f64::NAN,
    }
}

/// The same over two directions: rows, then columns.
fn interpolate_both<const ROWS: usize, const COLUMNS: usize>(
    rows: &[f64; ROWS],
    columns: &[f64; COLUMNS],
    values: &[[f64; COLUMNS]; ROWS],
    row: f64,
    column: f64,
) -> f64 {
    let (index, share) = place(rows, row);
    let low = values.get(index).map_or(f64::NAN, |values| interpolate(columns, values, column));
    match values.get(index + 1) {
        Some(values) => low + (interpolate(columns, values, column) - low) * share,
        None => low,
    }
}

/// The table point at or below `x`, and how far `x` is on the way to the next.
fn place(points: &[f64], x: f64) -> (usize, f64) {
    let above = points.partition_point(|point| *point <= x);
    let index = above.saturating_sub(1);
    match (points.get(index), points.get(index + 1)) {
        (Some(low), Some(high)) => (index, (x - low) / (high - low)),
        _ => (index, 0.0),
    }
}

const COVERINGS: [f64; 4] = [0.0, 0.05, 0.10, 0.15];
const A_T: [f64; 4] = [1.23, 1.188, 1.156, 1.134];
const PITCHES: [f64; 8] = [0.050, 0.075, 0.100, 0.150, 0.200, 0.225, 0.300, 0.375];
#[rustfmt::skip]
const A_U: [[f64; 4]; 8] = [
    [1.069, 1.056, 1.043, 1.037],
    [1.066, 1.053, 1.041, 1.035],
    [1.063, 1.050, 1.039, 1.0335],
    [1.057, 1.046, 1.035, 1.0305],
    [1.051, 1.041, 1.0315, 1.0275],
    [1.048, 1.038, 1.0295, 1.026],
    [1.0395, 1.031, 1.024, 1.021],
    [1.030, 1.0221, 1.0181, 1.015],
];
#[rustfmt::skip]
const A_D: [[f64; 4]; 8] = [
    [1.013, 1.013, 1.012, 1.011],
    [1.021, 1.019, 1.016, 1.014],
    [1.029, 1.025, 1.022, 1.018],
    [1.040, 1.034, 1.029, 1.024],
    [1.046, 1.040, 1.035, 1.030],
    [1.049, 1.043, 1.038, 1.033],
    [1.053, 1.049, 1.044, 1.039],
    [1.056, 1.051, 1.046, 1.042],
];
#[rustfmt::skip]
const LIMIT_RESISTANCES: [f64; 9] =
    [0.01, 0.0208, 0.0292, 0.0375, 0.0458, 0.0542, 0.0625, 0.0708, 0.0792];
const LIMIT_PITCHES_B: [f64; 8] = PITCHES;
#[rustfmt::skip]
const LIMIT_B: [[f64; 9]; 8] = [
    [85.0, 91.5, 96.8, 100.0, 100.0, 100.0, 100.0, 100.0, 100.0],
    [75.3, 83.5, 89.9, 96.3, 99.5, 100.0, 100.0, 100.0, 100.0],
    [66.0, 75.4, 82.9, 89.3, 95.5, 98.8, 100.0, 100.0, 100.0],
    [51.0, 61.1, 69.2, 76.3, 82.7, 87.5, 91.8, 95.1, 97.8],
    [38.5, 48.2, 56.2, 63.1, 69.1, 74.5, 81.3, 86.4, 90.0],
    [33.0, 42.5, 49.5, 56.5, 62.0, 67.5, 75.3, 81.6, 86.1],
    [20.5, 26.8, 31.6, 36.4, 41.5, 47.5, 57.5, 65.3, 72.4],
    [11.5, 13.7, 15.5, 18.2, 21.5, 27.5, 40.0, 49.1, 58.3],
];
#[rustfmt::skip]
const LIMIT_PITCHES_N: [f64; 10] =
    [0.050, 0.075, 0.100, 0.150, 0.200, 0.225, 0.2625, 0.300, 0.3375, 0.375];
#[rustfmt::skip]
const LIMIT_N: [[f64; 9]; 10] = [
    [0.008, 0.005, 0.002, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [0.024, 0.021, 0.018, 0.011, 0.002, 0.0, 0.0, 0.0, 0.0],
    [0.046, 0.043, 0.041, 0.033, 0.014, 0.005, 0.0, 0.0, 0.0],
    [0.088, 0.085, 0.082, 0.076, 0.055, 0.038, 0.024, 0.014, 0.006],
    [0.131, 0.130, 0.129, 0.123, 0.105, 0.083, 0.057, 0.040, 0.028],
    [0.155, 0.154, 0.153, 0.146, 0.130, 0.110, 0.077, 0.056, 0.041],
    [0.197, 0.196, 0.196, 0.190, 0.173, 0.150, 0.110, 0.083, 0.062],
    [0.254, 0.253, 0.253, 0.245, 0.228, 0.195, 0.145, 0.114, 0.086],
    [0.322, 0.321, 0.321, 0.310, 0.293, 0.260, 0.187, 0.148, 0.115],
    [0.422, 0.421, 0.421, 0.405, 0.385, 0.325, 0.230, 0.183, 0.142],
];
#[rustfmt::skip]
const LIMIT_RATIOS: [f64; 13] =
    [0.173, 0.20, 0.25, 0.30, 0.35, 0.40, 0.45, 0.50, 0.55, 0.60, 0.65, 0.70, 0.75];
#[rustfmt::skip]
const LIMIT_THICK_B: [f64; 13] =
    [27.5, 40.0, 57.5, 69.5, 78.2, 84.4, 88.3, 91.6, 94.0, 96.3, 98.6, 99.8, 100.0];
#[rustfmt::skip]
const LIMIT_THICK_N: [f64; 13] =
    [0.32, 0.23, 0.145, 0.097, 0.067, 0.048, 0.033, 0.023, 0.015, 0.009, 0.005, 0.002, 0.0];
const B_RESISTANCES: [f64; 10] = [0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.10, 0.15, 0.18];
const B_A_T: [f64; 10] = [1.103, 1.100, 1.097, 1.094, 1.091, 1.088, 1.082, 1.075, 1.064, 1.059];
const B_PITCHES: [f64; 9] = [0.050, 0.075, 0.100, 0.150, 0.200, 0.225, 0.300, 0.375, 0.450];
const B_A_K: [f64; 9] = [1.0, 0.99, 0.98, 0.95, 0.92, 0.90, 0.82, 0.72, 0.60];
const B_B_U: [f64; 9] = [1.0, 1.0, 1.0, 0.7, 0.5, 0.43, 0.25, 0.10, 0.0];
const B_OUTSIDES: [f64; 5] = [0.014, 0.016, 0.018, 0.020, 0.022];
/// For plate conductance over 0.125 W/K of 0, 0.1, 0.2, 0.3 and 0.4: by pitch, then by outside diameter.
#[rustfmt::skip]
const B_A_WL: [[[f64; 5]; 9]; 5] = [
    [
        [0.82, 0.86, 0.9, 0.93, 0.96],
        [0.59, 0.644, 0.7, 0.754, 0.8],
        [0.488, 0.533, 0.576, 0.617, 0.658],
        [0.387, 0.415, 0.444, 0.47, 0.505],
        [0.337, 0.357, 0.379, 0.4, 0.422],
        [0.32, 0.34, 0.357, 0.376, 0.396],
        [0.288, 0.3, 0.315, 0.33, 0.344],
        [0.266, 0.278, 0.29, 0.3, 0.312],
        [0.25, 0.264, 0.28, 0.29, 0.3],
    ],
    [
        [0.88, 0.905, 0.93, 0.955, 0.975],
        [0.74, 0.776, 0.812, 0.836, 0.859],
        [0.66, 0.693, 0.726, 0.76, 0.77],
        [0.561, 0.58, 0.6, 0.621, 0.642],
        [0.49, 0.51, 0.53, 0.55, 0.57],
        [0.467, 0.485, 0.504, 0.522, 0.54],
        [0.435, 0.444, 0.453, 0.462, 0.472],
        [0.411, 0.421, 0.434, 0.446, 0.46],
        [0.41, 0.42, 0.43, 0.44, 0.45],
    ],
    [
        [0.92, 0.937, 0.955, 0.97, 0.985],
        [0.845, 0.865, 0.885, 0.893, 0.902],
        [0.81, 0.821, 0.832, 0.843, 0.855],
        [0.735, 0.745, 0.755, 0.765, 0.775],
        [0.68, 0.688, 0.695, 0.703, 0.71],
        [0.655, 0.663, 0.67, 0.678, 0.685],
        [0.585, 0.592, 0.6, 0.608, 0.615],
        [0.55, 0.558, 0.565, 0.573, 0.58],
        [0.55, 0.555, 0.56, 0.565, 0.57],
    ],
    [
        [0.95, 0.96, 0.97, 0.98, 0.99],
        [0.92, 0.925, 0.93, 0.935, 0.94],
        [0.9, 0.905, 0.91, 0.915, 0.92],
        [0.855, 0.855, 0.855, 0.855, 0.855],
        [0.8, 0.8, 0.8, 0.8, 0.8],
        [0.79, 0.79, 0.79, 0.79, 0.79],
        [0.72, 0.72, 0.72, 0.72, 0.72],
        [0.69, 0.69, 0.69, 0.69, 0.69],
        [0.68, 0.68, 0.68, 0.68, 0.68],
    ],
    [
        [0.97, 0.978, 0.985, 0.99, 0.995],
        [0.965, 0.964, 0.963, 0.962, 0.96],
        [0.94, 0.94, 0.94, 0.94, 0.94],
        [0.895, 0.895, 0.895, 0.895, 0.895],
        [0.86, 0.86, 0.86, 0.86, 0.86],
        [0.84, 0.84, 0.84, 0.84, 0.84],
        [0.78, 0.78, 0.78, 0.78, 0.78],
        [0.76, 0.76, 0.76, 0.76, 0.76],
        [0.75, 0.75, 0.75, 0.75, 0.75],
    ],
];
/// From memory, as is the factor of the contact.
const B_A_WL_ENDLESS: [f64; 9] = [1.0, 1.01, 1.02, 1.04, 1.06, 1.07, 1.09, 1.10, 1.10];

#[cfg(test)]
mod tests {
    use super::*;

    const KELVIN: fn(f64) -> TemperatureDifference = TemperatureDifference::kelvin;
    const CELSIUS: fn(f64) -> Temperature = Temperature::celsius;

    #[track_caller]
    fn near(found: f64, wanted: f64, tolerance: f64) {
        assert!((found - wanted).abs() <= tolerance, "{found}, wanted {wanted} ± {tolerance}");
    }

    /// A floor from pitch, pipe outside and wall, pipe conductivity, cover, screed, covering; SI.
    fn floor(pitch: f64, outside: f64, wall: f64, pipe: f64, cover: f64, screed: f64, covering: f64) -> WetFloor {
        WetFloor {
            pitch: Length::metres(pitch),
            pipe: EmbeddedPipe {
                outside: Length::metres(outside),
                wall: Length::metres(wall),
                conductivity: Conductivity::watts_per_metre_kelvin(pipe),
                sheath: None,
            },
            cover: Length::metres(cover),
            screed: Conductivity::watts_per_metre_kelvin(screed),
            covering: ThermalResistance::square_metre_kelvin_per_watt(covering),
            studs: None,
        }
    }

    fn k_h(floor: WetFloor) -> f64 {
        floor.characteristic().unwrap().k_h.in_watts_per_square_metre_kelvin()
    }

    /// EN 1264-2: 9 K about 100 W/m², 15 K about 175 W/m²; numbers by hand from its formula.
    #[test]
    fn the_basic_characteristic_gives_the_fluxes_that_the_standard_names() {
        let flux = |excess| basic_characteristic(KELVIN(excess)).unwrap().in_watts_per_square_metre();
        near(flux(9.0), 100.007, 0.001);
        near(flux(15.0), 175.414, 0.001);
        let excess = surface_excess(HeatFlux::watts_per_square_metre(80.0)).unwrap();
        near((CELSIUS(20.0) + excess).in_celsius(), 27.347, 0.001);
        assert!(basic_characteristic(KELVIN(-1.0)).is_err());
        assert!(surface_excess(HeatFlux::watts_per_square_metre(-1.0)).is_err());
    }

    /// EN 1264-2, logarithmic mean of 40/33/20 °C.
    #[test]
    fn the_mean_excess_is_logarithmic() {
        near(log_mean_excess(CELSIUS(40.0), CELSIUS(33.0), CELSIUS(20.0)).unwrap().in_kelvin(), 16.2495, 1e-4);
        near(log_mean_excess(CELSIUS(40.0), CELSIUS(40.0), CELSIUS(20.0)).unwrap().in_kelvin(), 20.0, 1e-12);
        near(log_mean_excess(CELSIUS(40.0 + 1e-9), CELSIUS(40.0), CELSIUS(20.0)).unwrap().in_kelvin(), 20.0, 1e-8);
        assert!(log_mean_excess(CELSIUS(40.0), CELSIUS(20.0), CELSIUS(20.0)).is_err());
        assert!(log_mean_excess(CELSIUS(33.0), CELSIUS(40.0), CELSIUS(20.0)).is_err());
        assert!(log_mean_excess(CELSIUS(f64::NAN), CELSIUS(30.0), CELSIUS(20.0)).is_err());
    }

    /// Worked by hand from the formulas and tables of EN 1264-2 as open libraries set them out.
    #[test]
    fn type_a_agrees_with_values_worked_from_the_standard() {
        let found = floor(0.15, 0.016, 0.002, 0.35, 0.045, 1.2, 0.05).characteristic().unwrap();
        near(found.a_b, 0.76401, 1e-5);
        near(found.product, 0.62196, 1e-5);
        near(found.b, 6.7, 1e-12);
        near(found.k_h.in_watts_per_square_metre_kelvin(), 4.16713, 1e-5);

        let found = floor(0.20, 0.020, 0.002, 0.42, 0.060, 1.4, 0.075).characteristic().unwrap();
        near(found.a_t, 1.172, 1e-9);
        near(found.a_u, 1.03625, 1e-9);
        near(found.a_d, 1.0375, 1e-9);
        near(found.b, 6.78478, 1e-5);
        near(found.k_h.in_watts_per_square_metre_kelvin(), 3.40094, 1e-5);

        near(k_h(floor(0.50, 0.020, 0.002, 0.35, 0.045, 1.2, 0.0)), 2.32198, 1e-5);
    }

    /// As above; limit curve for 29 °C in a room of 20 °C.
    #[test]
    fn the_limit_curve_agrees_with_values_worked_from_the_standard() {
        let floor = floor(0.20, 0.016, 0.002, 0.35, 0.045, 1.2, 0.10);
        let limit = floor.limit(KELVIN(9.0)).unwrap();
        near(k_h(floor), 3.04016, 1e-5);
        near(limit.b_g, 63.1, 1e-9);
        near(limit.n_g, 0.123, 1e-9);
        near(limit.mean_excess.in_kelvin(), 31.759, 1e-3);
        near(limit.heat_flux.in_watts_per_square_metre(), 96.551, 1e-3);
    }

    /// EN 1264-2 and -3, worked by hand from their formulas.
    #[test]
    fn downward_loss_and_mass_flow_follow_the_standard() {
        let above = ThermalResistance::square_metre_kelvin_per_watt(0.18009);
        let below = ThermalResistance::square_metre_kelvin_per_watt(1.55);
        let upward = HeatFlux::watts_per_square_metre(65.0);
        let downward = downward_heat_flux(upward, above, below, CELSIUS(20.0), CELSIUS(12.0)).unwrap();
        near(downward.in_watts_per_square_metre(), 12.714, 1e-3);
        let flow = mass_flow(Area::square_metres(20.0), upward, downward, KELVIN(6.0), WATER).unwrap();
        near(flow.in_kilograms_per_second() * 3600.0, 222.57, 0.01);

        // The linear response gives the same two fluxes.
        let characteristic = floor(0.15, 0.016, 0.002, 0.35, 0.045, 1.2, 0.05).characteristic().unwrap();
        let response = characteristic.response(above, below).unwrap();
        let water = CELSIUS(20.0) + KELVIN(65.0 / characteristic.k_h.in_watts_per_square_metre_kelvin());
        near(response.upward(water, CELSIUS(20.0), CELSIUS(12.0)).in_watts_per_square_metre(), 65.0, 1e-9);
        near(
            response.downward(water, CELSIUS(20.0), CELSIUS(12.0)).in_watts_per_square_metre(),
            downward.in_watts_per_square_metre(),
            1e-9,
        );
    }

    /// Formula 7 of hydraulic balance (same form as EN 1264-3): 12 m², 50 W/m², 7 K, water 4179 J/(kg·K).
    #[test]
    fn mass_flow_of_a_room_over_an_unheated_one() {
        let resistance = ThermalResistance::square_metre_kelvin_per_watt;
        let upward = HeatFlux::watts_per_square_metre(50.0);
        let downward =
            downward_heat_flux(upward, resistance(0.15), resistance(0.75), CELSIUS(20.0), CELSIUS(10.0)).unwrap();
        near(downward.in_watts_per_square_metre(), 23.333, 1e-3);
        let area = Area::square_metres(12.0);
        near(((upward + downward) * area).in_watts(), 880.0, 0.05);
        let water = SpecificHeat::joules_per_kilogram_kelvin(4179.004);
        let flow = mass_flow(area, upward, downward, KELVIN(7.0), water).unwrap();
        near(flow.in_kilograms_per_second(), 0.030082, 1e-6);
    }

    /// EN 1264-3 for the rooms that are not the most demanding one, and its exact counterpart.
    #[test]
    fn drops_of_the_other_rooms_stay_close_to_the_logarithmic_mean() {
        let mean = KELVIN(40.0 / 3.6);
        let drop = drop_at_flow_excess(KELVIN(18.5), mean).unwrap();
        near(drop.in_kelvin(), 12.452, 1e-3);
        // Exact, by the logarithmic mean: 12.487 K.
        near(drop.in_kelvin(), 12.487, 0.04);
        let back = flow_excess(mean, drop).unwrap();
        near(back.in_kelvin(), 18.5, 1e-9);
        for tenth in 1..=15 {
            let drop = KELVIN(2.0 * f64::from(tenth));
            let exact = drop.in_kelvin() / (1.0 - (-drop.in_kelvin() / 20.0).exp());
            let share = if tenth <= 5 { 0.017 } else { 0.005 };
            let found = flow_excess(KELVIN(20.0), drop).unwrap().in_kelvin();
            near(found, exact, exact * share);
        }
        assert!(flow_excess(KELVIN(10.0), KELVIN(16.0)).is_err());
        assert!(drop_at_flow_excess(KELVIN(9.0), KELVIN(10.0)).is_err());
    }

    #[test]
    fn output_falls_with_pitch_covering_and_sheath_and_rises_with_conductivity() {
        let base = floor(0.15, 0.016, 0.002, 0.35, 0.045, 1.2, 0.05);
        let with = |change: fn(&mut WetFloor)| {
            let mut floor = base;
            change(&mut floor);
            k_h(floor)
        };
        assert!(with(|floor| floor.screed = floor.screed * 1.5) > k_h(base));
        assert!(with(|floor| floor.pipe.conductivity = floor.pipe.conductivity * 2.0) > k_h(base));
        assert!(with(|floor| floor.cover = Length::millimetres(80.0)) < k_h(base));
        let sheathed = with(|floor| {
            floor.pipe.sheath = Some(Sheath {
                outside: Length::millimetres(20.0),
                conductivity: Conductivity::watts_per_metre_kelvin(0.2),
            })
        });
        assert!(sheathed < k_h(base));
        let studs =
            |percent| Studs { share: Share::percent(percent), conductivity: Conductivity::watts_per_metre_kelvin(0.2) };
        assert!(k_h(WetFloor { studs: Some(studs(10.0)), ..base }) < k_h(base));
        assert!(WetFloor { studs: Some(studs(16.0)), ..base }.characteristic().is_err());

        let mut last = f64::INFINITY;
        for millimetres in (50..=500).step_by(5) {
            let found = k_h(WetFloor { pitch: Length::millimetres(f64::from(millimetres)), ..base });
            assert!(found < last, "at {millimetres} mm");
            last = found;
        }
        last = f64::INFINITY;
        for thousandth in 0..=150 {
            let covering = ThermalResistance::square_metre_kelvin_per_watt(f64::from(thousandth) / 1000.0);
            let found = k_h(WetFloor { covering, ..base });
            assert!(found < last, "at {covering}");
            last = found;
        }
    }

    /// A cover of 100 mm (pitch up to 200 mm) is where the rule for thick cover takes over.
    #[test]
    fn thick_cover_joins_on_without_a_jump() {
        let at = |cover| k_h(floor(0.15, 0.016, 0.002, 0.35, cover, 1.2, 0.05));
        near(at(0.1 - 1e-9), at(0.1 + 1e-9), 1e-6);
        near(1.0 / at(0.160), 1.0 / at(0.100) + 0.060 / 1.2, 1e-9);
    }

    #[test]
    fn limits_join_on_at_the_wide_pitch_and_never_pass_an_even_surface() {
        let at = |pitch, cover| floor(pitch, 0.016, 0.002, 0.35, cover, 1.2, 0.0).limit(KELVIN(9.0));
        let flux = |pitch, cover| at(pitch, cover).unwrap().heat_flux.in_watts_per_square_metre();
        near(flux(0.375 - 1e-9, 0.045), flux(0.375 + 1e-9, 0.045), 1e-5);
        for pitch in [0.05, 0.08, 0.1, 0.15, 0.2, 0.25, 0.3, 0.375, 0.45] {
            for cover in [0.012, 0.03, 0.045, 0.065, 0.09, 0.12, 0.2] {
                let found = flux(pitch, cover);
                assert!(found <= 100.0 + 1e-9 && found > 10.0, "{found} at {pitch}, {cover}");
            }
        }
        assert!(floor(0.375, 0.016, 0.002, 0.35, 0.05, 0.6, 0.0).limit(KELVIN(9.0)).is_err());
    }

    #[test]
    fn outside_the_tables_there_is_no_answer() {
        let refusal = |floor: WetFloor| floor.characteristic().unwrap_err().to_string();
        assert_eq!(
            refusal(floor(0.15, 0.016, 0.002, 0.35, 0.045, 1.2, 0.16)),
            "the covering resistance is 0.16 m²·K/W; EN 1264-2 holds from 0 m²·K/W to 0.15 m²·K/W"
        );
        assert_eq!(
            refusal(floor(0.6, 0.016, 0.002, 0.35, 0.045, 1.2, 0.0)),
            "the pipe spacing is 600 mm; EN 1264-2 holds from 50 mm to 500 mm"
        );
        for bad in [
            floor(0.04, 0.016, 0.002, 0.35, 0.045, 1.2, 0.0),
            floor(0.15, 0.032, 0.002, 0.35, 0.045, 1.2, 0.0),
            floor(0.15, 0.006, 0.001, 0.35, 0.045, 1.2, 0.0),
            floor(0.15, 0.016, 0.008, 0.35, 0.045, 1.2, 0.0),
            floor(0.15, 0.016, 0.002, 0.0, 0.045, 1.2, 0.0),
            floor(0.15, 0.016, 0.002, 0.35, 0.005, 1.2, 0.0),
            floor(0.15, 0.016, 0.002, 0.35, 0.045, 0.0, 0.0),
            floor(0.15, 0.016, 0.002, 0.35, 0.045, 1.2, -0.1),
            floor(f64::NAN, 0.016, 0.002, 0.35, 0.045, 1.2, 0.0),
        ] {
            assert!(bad.characteristic().is_err(), "{bad:?}");
        }
    }

    /// Exact series of layers under a water plane; the standard's type D lies 2 to 5 % below (derived).
    #[test]
    fn a_water_plane_comes_close_to_layers_in_series() {
        for (cover, covering) in [(0.045, 0.0), (0.045, 0.1), (0.03, 0.05)] {
            let found = water_plane(
                Length::metres(cover),
                Conductivity::watts_per_metre_kelvin(1.2),
                ThermalResistance::square_metre_kelvin_per_watt(covering),
            )
            .unwrap();
            let exact = 1.0 / (1.0 / 10.8 + cover / 1.2 + covering);
            let ratio = found.k_h.in_watts_per_square_metre_kelvin() / exact;
            assert!((0.93..1.0).contains(&ratio), "{ratio}");
        }
    }

    #[test]
    fn plates_raise_output_and_say_that_their_tables_are_from_memory() {
        let plates = |width| PlateFloor {
            pitch: Length::millimetres(200.0),
            pipe_outside: Length::millimetres(16.0),
            plate_thickness: Length::millimetres(0.5),
            plate_conductivity: Conductivity::watts_per_metre_kelvin(200.0),
            plate_width: Length::millimetres(width),
            cover: Length::millimetres(45.0),
            cover_conductivity: Conductivity::watts_per_metre_kelvin(1.2),
            covering: ThermalResistance::square_metre_kelvin_per_watt(0.05),
        };
        let at = |width| plates(width).characteristic().unwrap();
        assert!(at(180.0).k_h > at(100.0).k_h && at(100.0).k_h > at(0.0).k_h);
        assert!(at(180.0).from_memory);
        assert!(plates(210.0).characteristic().is_err());
        // A thicker pipe touches more of its plate.
        let thick = PlateFloor { pipe_outside: Length::millimetres(20.0), ..plates(100.0) };
        assert!(thick.characteristic().unwrap().k_h > at(100.0).k_h);
    }
}
