//! Standard materials: what a layer of a floor is made of, by its plain name.

use crate::out_of_range::{Method, OutOfRange};
use quantity::{Conductivity, Density, Length, SpecificHeat, ThermalResistance};

/// A material with its design values. Density and specific heat are those of EN ISO 10456 and of
/// handbooks, from memory.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    pub name: &'static str,
    pub kind: Kind,
    /// None of membranes, whose resistance does not count, and of air gaps, for which see
    /// [`air_gap`].
    pub conductivity: Option<Conductivity>,
    pub density: Option<Density>,
    pub specific_heat: Option<SpecificHeat>,
    /// Where the conductivity comes from.
    pub source: Source,
    aliases: &'static [&'static str],
}

/// Where a conductivity comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// EN ISO 10456, as public extracts and open lists that cite its rows give it.
    EnIso10456,
    /// DIN 4108-4, as an open list that cites its rows gives it.
    Din4108,
    /// A national building-code catalogue of materials in an open library.
    BuildingCode,
    /// Usual declared values of such products, midway; the product at hand may differ.
    Declared,
    FromMemory,
    /// It has no conductivity.
    NotApplicable,
}

impl Source {
    /// The source in words, as a report prints it.
    pub const fn words(self) -> &'static str {
        match self {
            Source::EnIso10456 => "EN ISO 10456",
            Source::Din4108 => "DIN 4108-4",
            Source::BuildingCode => "national building-code catalogue",
            Source::Declared => "usual declared value",
            Source::FromMemory => "from memory",
            Source::NotApplicable => "not applicable",
        }
    }
}

/// What sort of material it is, as far as the trade treats sorts differently.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    CementScreed,
    CalciumSulphateScreed,
    MasticAsphalt,
    LevellingCompound,
    Adhesive,
    Concrete,
    Tile,
    Stone,
    /// Solid and engineered wood.
    Timber,
    /// Wood fibre with a printed face.
    Laminate,
    /// Vinyl, linoleum, rubber, cork.
    Resilient,
    Carpet,
    Underlay,
    Insulation,
    Membrane,
    WoodBoard,
    GypsumBoard,
    CementBoard,
    /// Foam with a thin cement face, to be tiled on.
    BackerBoard,
    Metal,
    AirGap,
    /// Sand, gravel, clay.
    Ground,
}

impl Kind {
    /// Whether a covering of it counts as wood, with its limit of the surface temperature.
    pub const fn is_timber(self) -> bool {
        matches!(self, Kind::Timber | Kind::Laminate)
    }

    /// Whether it is laid wet and has to dry before it is heated.
    pub const fn is_screed(self) -> bool {
        matches!(self, Kind::CementScreed | Kind::CalciumSulphateScreed)
    }

    /// Whether it can be the surface of a floor.
    pub const fn is_covering(self) -> bool {
        matches!(self, Kind::Tile | Kind::Stone | Kind::Timber | Kind::Laminate | Kind::Resilient | Kind::Carpet)
    }
}

impl Material {
    /// Resistance of a layer; none where the material has no conductivity.
    ///
    /// Units: as typed. Source: thickness over conductivity. Holds for: all.
    pub fn resistance(&self, thickness: Length) -> Option<ThermalResistance> {
        self.conductivity.map(|conductivity| ThermalResistance::of(thickness, conductivity))
    }
}

/// The material of a name or one of its other names, without regard to case, spaces and hyphens.
pub fn find(name: &str) -> Option<&'static Material> {
    MATERIALS
        .iter()
        .find(|material| same_words(material.name, name) || material.aliases.iter().any(|one| same_words(one, name)))
}

/// Every name, for completion; other names left out.
pub fn names() -> impl Iterator<Item = &'static str> {
    MATERIALS.iter().map(|material| material.name)
}

/// Every name and every other name.
pub fn all_names() -> impl Iterator<Item = &'static str> {
    MATERIALS.iter().flat_map(|material| std::iter::once(material.name).chain(material.aliases.iter().copied()))
}

/// Every material.
pub fn all() -> &'static [Material] {
    &MATERIALS
}

fn same_words(known: &str, written: &str) -> bool {
    fn letters(words: &str) -> impl Iterator<Item = char> {
        let marks = |c: &char| !matches!(c, ' ' | '-' | '_' | '/' | '.');
        words.chars().filter(marks).flat_map(char::to_lowercase)
    }
    letters(known).eq(letters(written))
}

/// Which way the heat goes through an air gap.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeatGoes {
    Up,
    Sideways,
    Down,
}

/// Resistance of an unventilated air gap between ordinary (not shining) surfaces; straight between
/// the rows of the table.
///
/// Units: as typed. Source: EN ISO 6946, table of air layers, from memory. Holds for: 0 to 300 mm.
pub fn air_gap(thickness: Length, heat_goes: HeatGoes) -> Result<ThermalResistance, OutOfRange> {
    let method = Method("EN ISO 6946 air layers");
    let thickness = method.takes("thickness of the air gap", thickness, 0.0..=300.0)? * 1000.0;
    let column = match heat_goes {
        HeatGoes::Up => 1,
        HeatGoes::Sideways => 2,
        HeatGoes::Down => 3,
    };
    let resistance = AIR_GAPS
        .windows(2)
        .find_map(|rows| {
            let [low, high] = rows else { return None };
            let share = (thickness - low[0]) / (high[0] - low[0]);
            (thickness <= high[0]).then(|| low[column] + (high[column] - low[column]) * share)
        })
        .unwrap_or(f64::NAN);
    Ok(ThermalResistance::square_metre_kelvin_per_watt(resistance))
}

/// Millimetres, then m²·K/W upward, sideways, downward.
const AIR_GAPS: [[f64; 4]; 9] = [
    [0.0, 0.0, 0.0, 0.0],
    [5.0, 0.11, 0.11, 0.11],
    [7.0, 0.13, 0.13, 0.13],
    [10.0, 0.15, 0.15, 0.15],
    [15.0, 0.16, 0.17, 0.17],
    [25.0, 0.16, 0.18, 0.19],
    [50.0, 0.16, 0.18, 0.21],
    [100.0, 0.16, 0.18, 0.22],
    [300.0, 0.16, 0.18, 0.23],
];

const fn material(
    name: &'static str,
    kind: Kind,
    conductivity: f64,
    density: f64,
    specific_heat: f64,
    source: Source,
    aliases: &'static [&'static str],
) -> Material {
    Material {
        name,
        kind,
        conductivity: Some(Conductivity::watts_per_metre_kelvin(conductivity)),
        density: Some(Density::kilograms_per_cubic_metre(density)),
        specific_heat: Some(SpecificHeat::joules_per_kilogram_kelvin(specific_heat)),
        source,
        aliases,
    }
}

const fn sheet(name: &'static str, kind: Kind, aliases: &'static [&'static str]) -> Material {
    Material {
        name,
        kind,
        conductivity: None,
        density: None,
        specific_heat: None,
        source: Source::NotApplicable,
        aliases,
    }
}

use Source::{BuildingCode, Declared, Din4108, EnIso10456, FromMemory};

// name, kind, W/(m·K), kg/m³, J/(kg·K), source, other names
#[rustfmt::skip]
static MATERIALS: [Material; 76] = [
    material("cement screed", Kind::CementScreed, 1.2, 2000.0, 1000.0, FromMemory, &["sand-cement screed", "cementitious screed", "flowing cement screed"]),
    material("calcium sulphate screed", Kind::CalciumSulphateScreed, 1.2, 2100.0, 1000.0, Din4108, &["calcium sulfate screed", "anhydrite screed", "anhydrite", "gypsum screed"]),
    material("flowing calcium sulphate screed", Kind::CalciumSulphateScreed, 1.4, 2100.0, 1000.0, Din4108, &["flowing calcium sulfate screed", "flowing anhydrite screed", "flowing screed"]),
    material("mastic asphalt", Kind::MasticAsphalt, 0.90, 2300.0, 1000.0, Din4108, &["mastic asphalt screed", "asphalt"]),
    material("levelling compound", Kind::LevellingCompound, 1.0, 1800.0, 1000.0, FromMemory, &["leveling compound", "smoothing compound", "self-levelling compound", "self-leveling compound"]),
    material("tile adhesive", Kind::Adhesive, 0.90, 1600.0, 1000.0, FromMemory, &["adhesive", "flexible tile adhesive", "thin-set mortar"]),
    material("mortar", Kind::CementScreed, 1.0, 1800.0, 1000.0, EnIso10456, &["cement mortar", "sand-cement mortar", "dry sand-cement pug", "pug"]),

    material("concrete", Kind::Concrete, 2.0, 2400.0, 1000.0, EnIso10456, &["concrete slab", "dense concrete", "beam and block"]),
    material("medium concrete", Kind::Concrete, 1.35, 2000.0, 1000.0, EnIso10456, &["concrete 2000"]),
    material("concrete 2200", Kind::Concrete, 1.65, 2200.0, 1000.0, EnIso10456, &[]),
    material("reinforced concrete", Kind::Concrete, 2.3, 2300.0, 1000.0, EnIso10456, &["reinforced concrete slab", "reinforced concrete 1 %"]),
    material("heavily reinforced concrete", Kind::Concrete, 2.5, 2400.0, 1000.0, EnIso10456, &["reinforced concrete 2 %"]),

    material("porcelain tile", Kind::Tile, 1.3, 2300.0, 840.0, EnIso10456, &["porcelain tiles", "porcelain", "porcelain stoneware"]),
    material("ceramic tile", Kind::Tile, 1.3, 2300.0, 840.0, EnIso10456, &["ceramic tiles", "tile", "tiles", "terracotta tile", "quarry tile"]),
    material("artificial stone", Kind::Stone, 1.3, 1750.0, 1000.0, BuildingCode, &["terrazzo"]),
    material("stone", Kind::Stone, 2.3, 2600.0, 1000.0, FromMemory, &["natural stone", "stone tile"]),
    material("granite", Kind::Stone, 2.8, 2600.0, 1000.0, BuildingCode, &[]),
    material("marble", Kind::Stone, 3.5, 2800.0, 1000.0, BuildingCode, &[]),
    material("slate", Kind::Stone, 2.2, 2400.0, 1000.0, BuildingCode, &[]),
    material("sandstone", Kind::Stone, 2.3, 2600.0, 1000.0, EnIso10456, &[]),
    material("limestone", Kind::Stone, 1.4, 2000.0, 1000.0, EnIso10456, &["semi-hard limestone", "travertine"]),
    material("hard limestone", Kind::Stone, 1.7, 2200.0, 1000.0, EnIso10456, &[]),
    material("soft limestone", Kind::Stone, 1.1, 1800.0, 1000.0, BuildingCode, &[]),
    material("glass", Kind::Tile, 1.0, 2500.0, 750.0, EnIso10456, &["glass tile"]),

    material("hardwood", Kind::Timber, 0.18, 700.0, 1600.0, EnIso10456, &["hardwood floor", "parquet", "ash", "beech", "maple", "walnut"]),
    material("oak", Kind::Timber, 0.18, 700.0, 1600.0, EnIso10456, &["oak floor", "oak boards", "solid oak", "oak parquet"]),
    material("softwood", Kind::Timber, 0.13, 500.0, 1600.0, EnIso10456, &["pine", "spruce", "larch", "timber", "wood"]),
    material("softwood boards", Kind::Timber, 0.13, 500.0, 1600.0, EnIso10456, &["floorboards", "softwood floorboards", "timber boards", "boards"]),
    material("engineered wood", Kind::Timber, 0.15, 600.0, 1600.0, FromMemory, &["engineered oak", "engineered timber", "engineered wood floor", "multilayer parquet"]),
    material("bamboo", Kind::Timber, 0.17, 700.0, 1600.0, FromMemory, &["bamboo floor"]),
    material("laminate", Kind::Laminate, 0.17, 850.0, 1700.0, FromMemory, &["laminate floor", "laminate flooring"]),

    material("vinyl", Kind::Resilient, 0.25, 1700.0, 1400.0, EnIso10456, &["vinyl sheet", "pvc sheet", "pvc", "plastic sheet", "luxury vinyl tile", "lvt"]),
    material("vinyl tile", Kind::Resilient, 0.20, 1000.0, 1000.0, EnIso10456, &["plastic tile", "vinyl tiles", "pvc tile"]),
    material("linoleum", Kind::Resilient, 0.17, 1200.0, 1400.0, EnIso10456, &["lino"]),
    material("rubber", Kind::Resilient, 0.17, 1200.0, 1400.0, EnIso10456, &["rubber sheet", "rubber floor"]),
    material("cork", Kind::Resilient, 0.065, 450.0, 1500.0, BuildingCode, &["cork tile", "cork tiles", "cork floor"]),
    material("carpet", Kind::Carpet, 0.06, 200.0, 1300.0, EnIso10456, &["textile", "textile covering"]),
    material("underlay", Kind::Underlay, 0.05, 120.0, 1300.0, EnIso10456, &["felt underlay", "underlay felt"]),
    material("cellular rubber underlay", Kind::Underlay, 0.10, 270.0, 1400.0, EnIso10456, &["rubber underlay"]),
    material("wool underlay", Kind::Underlay, 0.06, 200.0, 1300.0, EnIso10456, &[]),
    material("cork underlay", Kind::Underlay, 0.05, 200.0, 1500.0, FromMemory, &[]),
    material("foam underlay", Kind::Underlay, 0.04, 30.0, 1450.0, FromMemory, &["polyethylene foam underlay", "laminate underlay"]),
    material("impact sound mat", Kind::Underlay, 0.04, 60.0, 1450.0, FromMemory, &["resilient layer", "acoustic mat"]),

    material("EPS", Kind::Insulation, 0.035, 20.0, 1450.0, Declared, &["EPS board", "expanded polystyrene", "polystyrene"]),
    material("XPS", Kind::Insulation, 0.034, 35.0, 1450.0, Declared, &["XPS board", "extruded polystyrene"]),
    material("PIR board", Kind::Insulation, 0.022, 32.0, 1400.0, Declared, &["PIR", "PIR insulation", "polyisocyanurate"]),
    material("PUR board", Kind::Insulation, 0.026, 32.0, 1400.0, Declared, &["PUR", "PU board", "polyurethane", "polyurethane board"]),
    material("phenolic foam", Kind::Insulation, 0.021, 35.0, 1400.0, Declared, &["phenolic board"]),
    material("mineral wool", Kind::Insulation, 0.037, 40.0, 1030.0, Declared, &["rock wool", "stone wool", "glass wool", "glass mineral wool"]),
    material("wood fibre", Kind::Insulation, 0.040, 160.0, 2000.0, Declared, &["wood fiber", "wood fibre board", "wood fibre insulation", "wood fiber board"]),
    material("cellulose", Kind::Insulation, 0.040, 50.0, 1600.0, Declared, &["cellulose fibre", "cellulose insulation"]),
    material("sheep wool", Kind::Insulation, 0.039, 25.0, 1700.0, Declared, &["sheep's wool"]),
    material("cork board", Kind::Insulation, 0.040, 120.0, 1560.0, Declared, &["expanded cork", "insulation cork board"]),
    material("cellular glass", Kind::Insulation, 0.041, 120.0, 1000.0, Declared, &["foam glass"]),
    material("perlite", Kind::Insulation, 0.050, 100.0, 900.0, FromMemory, &["expanded perlite", "dry levelling fill"]),

    material("plywood", Kind::WoodBoard, 0.13, 500.0, 1600.0, EnIso10456, &["ply", "softwood plywood"]),
    material("dense plywood", Kind::WoodBoard, 0.17, 700.0, 1600.0, EnIso10456, &["hardwood plywood", "plywood 700"]),
    material("chipboard", Kind::WoodBoard, 0.14, 600.0, 1700.0, EnIso10456, &["particleboard", "particle board"]),
    material("dense chipboard", Kind::WoodBoard, 0.18, 900.0, 1700.0, EnIso10456, &["particleboard 900"]),
    material("OSB", Kind::WoodBoard, 0.13, 650.0, 1700.0, EnIso10456, &["OSB board", "oriented strand board"]),
    material("MDF", Kind::WoodBoard, 0.14, 600.0, 1700.0, FromMemory, &["medium density fibreboard"]),
    material("hardboard", Kind::WoodBoard, 0.18, 800.0, 1700.0, EnIso10456, &["MDF 800", "high density fibreboard"]),
    material("gypsum fibre board", Kind::GypsumBoard, 0.32, 1150.0, 1100.0, Declared, &["gypsum fiber board", "gypsum-fibre", "gypsum fibre", "dry screed board"]),
    material("plasterboard", Kind::GypsumBoard, 0.25, 900.0, 1000.0, EnIso10456, &["gypsum plasterboard", "gypsum board"]),
    material("gypsum plaster", Kind::GypsumBoard, 0.43, 1200.0, 1000.0, EnIso10456, &["plaster", "gypsum"]),
    material("cement board", Kind::CementBoard, 0.23, 1200.0, 1500.0, EnIso10456, &["cement-bonded board", "cement-bonded particleboard", "cement bonded particle board"]),
    material("fibre cement board", Kind::CementBoard, 0.35, 1400.0, 1000.0, FromMemory, &["fiber cement board", "fibre cement"]),
    material("tile backer board", Kind::BackerBoard, 0.036, 60.0, 1450.0, FromMemory, &["backer board", "insulating tile backer", "insulated tile backer board"]),

    material("aluminium", Kind::Metal, 160.0, 2800.0, 880.0, EnIso10456, &["aluminum", "aluminium plate", "aluminium foil"]),
    material("steel", Kind::Metal, 50.0, 7800.0, 450.0, EnIso10456, &["steel plate"]),
    material("copper", Kind::Metal, 380.0, 8900.0, 380.0, EnIso10456, &[]),

    material("sand", Kind::Ground, 2.0, 1950.0, 1045.0, EnIso10456, &["gravel", "sand and gravel", "hardcore", "sand blinding"]),
    material("clay", Kind::Ground, 1.5, 1500.0, 2085.0, EnIso10456, &["silt", "clay or silt"]),

    sheet("polyethylene membrane", Kind::Membrane, &["polyethylene sheet", "PE sheet", "PE membrane", "separating layer", "separating membrane", "slip membrane", "polythene", "vapour barrier", "vapor barrier", "vapour control layer", "membrane"]),
    sheet("damp-proof membrane", Kind::Membrane, &["DPM", "damp proof course", "damp-proof layer", "radon membrane"]),
    sheet("air gap", Kind::AirGap, &["air", "air layer", "void", "unventilated air", "cavity"]),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_found_as_people_write_them() {
        for (written, name) in [
            ("porcelain tile", "porcelain tile"),
            ("Porcelain-Tile", "porcelain tile"),
            ("PORCELAIN TILES", "porcelain tile"),
            ("PIR board", "PIR board"),
            ("pir", "PIR board"),
            ("concrete slab", "concrete"),
            ("sand-cement screed", "cement screed"),
            ("calcium sulfate screed", "calcium sulphate screed"),
            ("dpm", "damp-proof membrane"),
            ("gypsum-fibre board", "gypsum fibre board"),
        ] {
            assert_eq!(find(written).map(|found| found.name), Some(name), "{written}");
        }
        assert_eq!(find(""), None);
        assert_eq!(find("unobtainium"), None);
    }

    #[test]
    fn no_name_belongs_to_two_materials() {
        for material in all() {
            for name in std::iter::once(&material.name).chain(material.aliases) {
                assert_eq!(find(name).map(|found| found.name), Some(material.name), "{name}");
            }
        }
        assert_eq!(names().count(), all().len());
    }

    #[test]
    fn every_value_is_one_that_matter_can_have() {
        for material in all() {
            let Some(conductivity) = material.conductivity else {
                assert_eq!(material.source, Source::NotApplicable, "{}", material.name);
                continue;
            };
            let watts = conductivity.in_watts_per_metre_kelvin();
            let metal = material.kind == Kind::Metal;
            assert!(if metal { watts > 15.0 } else { (0.02..4.0).contains(&watts) }, "{}", material.name);
            let density = material.density.unwrap().in_kilograms_per_cubic_metre();
            assert!((10.0..9000.0).contains(&density), "{}", material.name);
            let heat = material.specific_heat.unwrap().in_joules_per_kilogram_kelvin();
            assert!((350.0..2500.0).contains(&heat), "{}", material.name);
            let insulates = material.kind == Kind::Insulation;
            assert!(!insulates || watts <= 0.06, "{}", material.name);
        }
    }

    /// Rows of EN ISO 10456 and DIN 4108-4, as public extracts and open lists that cite them give them (W/(m·K), kg/m³); each
    /// from two of them but for linoleum, sandstone, particleboard and plywood, which one gives.
    #[test]
    fn conductivities_are_those_of_the_standards() {
        for (name, conductivity) in [
            ("rubber", 0.17),
            ("vinyl", 0.25),
            ("linoleum", 0.17),
            ("cork", 0.065),
            ("ceramic tile", 1.3),
            ("granite", 2.8),
            ("marble", 3.5),
            ("slate", 2.2),
            ("sandstone", 2.3),
            ("hard limestone", 1.7),
            ("softwood", 0.13),
            ("hardwood", 0.18),
            ("plywood", 0.13),
            ("OSB", 0.13),
            ("mortar", 1.0),
            ("concrete", 2.0),
            ("medium concrete", 1.35),
            ("concrete 2200", 1.65),
            ("reinforced concrete", 2.3),
            ("heavily reinforced concrete", 2.5),
            ("plasterboard", 0.25),
            ("mastic asphalt", 0.90),
            ("glass", 1.0),
            ("steel", 50.0),
            ("calcium sulphate screed", 1.2),
            ("flowing calcium sulphate screed", 1.4),
        ] {
            let found = find(name).unwrap_or_else(|| panic!("{name}"));
            let ours = found.conductivity.unwrap().in_watts_per_metre_kelvin();
            assert!((ours / conductivity - 1.0).abs() < 0.01, "{name}: {ours}, the standard {conductivity}");
        }
    }

    /// Usual resistances of coverings in the trade: tile 10 mm 0.01, glued parquet 10 mm 0.06 m²·K/W.
    #[test]
    fn coverings_have_the_resistance_that_the_trade_knows() {
        let resistance = |name: &str, mm: f64| {
            find(name).unwrap().resistance(Length::millimetres(mm)).unwrap().in_square_metre_kelvin_per_watt()
        };
        assert!((resistance("ceramic tile", 10.0) - 0.01).abs() < 0.003);
        assert!((resistance("oak", 10.0) - 0.06).abs() < 0.006);
        assert!(find("polyethylene membrane").unwrap().resistance(Length::millimetres(0.2)).is_none());
    }

    #[test]
    fn kinds_answer_what_rules_ask() {
        assert!(find("oak").unwrap().kind.is_timber());
        assert!(find("laminate").unwrap().kind.is_timber());
        assert!(!find("plywood").unwrap().kind.is_timber());
        assert!(find("flowing screed").unwrap().kind.is_screed());
        assert!(find("vinyl").unwrap().kind.is_covering());
    }

    /// EN ISO 6946 from memory: 15 mm and more upward 0.16, 50 mm downward 0.21 m²·K/W.
    #[test]
    fn air_gaps() {
        let gap =
            |mm, goes| air_gap(Length::millimetres(mm), goes).map(|found| found.in_square_metre_kelvin_per_watt());
        assert!((gap(50.0, HeatGoes::Down).unwrap() - 0.21).abs() < 1e-9);
        assert!((gap(15.0, HeatGoes::Up).unwrap() - 0.16).abs() < 1e-9);
        assert!((gap(6.0, HeatGoes::Sideways).unwrap() - 0.12).abs() < 1e-9);
        assert_eq!(gap(0.0, HeatGoes::Up), Ok(0.0));
        assert!(gap(301.0, HeatGoes::Up).is_err());
    }
}
