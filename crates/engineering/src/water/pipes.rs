//! Standard pipes by their designation: `multilayer 16 x 2`.

use quantity::{Conductivity, Length};
use std::fmt;

/// What a pipe is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PipeMaterial {
    /// Cross-linked polyethylene, ISO 15875-2.
    PeX,
    /// Polyethylene of raised temperature resistance, ISO 22391-2.
    PeRt,
    /// Polybutylene, ISO 15876-2.
    Pb,
    /// Polypropylene random copolymer, ISO 15874-2.
    PpR,
    /// Plastic with a layer of metal, ISO 21003-2.
    Multilayer,
    /// EN 1057.
    Copper,
    /// EN 10255, EN 10305-3.
    Steel,
}

impl PipeMaterial {
    /// Every material.
    pub const ALL: [PipeMaterial; 7] = [
        PipeMaterial::Multilayer,
        PipeMaterial::PeX,
        PipeMaterial::PeRt,
        PipeMaterial::Pb,
        PipeMaterial::PpR,
        PipeMaterial::Copper,
        PipeMaterial::Steel,
    ];

    /// The name as a design writes it.
    pub const fn name(self) -> &'static str {
        match self {
            PipeMaterial::PeX => "PE-X",
            PipeMaterial::PeRt => "PE-RT",
            PipeMaterial::Pb => "PB",
            PipeMaterial::PpR => "PP-R",
            PipeMaterial::Multilayer => "multilayer",
            PipeMaterial::Copper => "copper",
            PipeMaterial::Steel => "steel",
        }
    }

    /// Conductivity of the wall.
    ///
    /// Units: W/(m·K). Source: EN 1264-2 (multilayer from memory). Holds for: all.
    pub const fn conductivity(self) -> Conductivity {
        Conductivity::watts_per_metre_kelvin(match self {
            PipeMaterial::PeX | PipeMaterial::PeRt => 0.35,
            PipeMaterial::Pb | PipeMaterial::PpR => 0.22,
            PipeMaterial::Multilayer => 0.40,
            PipeMaterial::Copper => 390.0,
            PipeMaterial::Steel => 52.0,
        })
    }

    /// Height of the roughness of a new wall.
    ///
    /// Units: m. Source: handbooks, from memory: plastic 0.007 mm (0.0015 to 0.01), drawn copper
    /// 0.0015 mm, steel 0.045 mm. Holds for: new pipe.
    pub const fn roughness(self) -> Length {
        Length::millimetres(match self {
            PipeMaterial::Copper => 0.0015,
            PipeMaterial::Steel => 0.045,
            _ => 0.007,
        })
    }

    /// Whether oxygen can pass the bare wall (EN 1264-4 asks for a barrier, or for metals that bear it).
    pub const fn lets_oxygen_through(self) -> bool {
        !matches!(self, PipeMaterial::Multilayer | PipeMaterial::Copper | PipeMaterial::Steel)
    }

    /// The other names that people write; compared without case, spaces and hyphens.
    const fn spellings(self) -> &'static [&'static str] {
        match self {
            PipeMaterial::PeX => &["pex", "pexa", "pexb", "pexc", "vpe", "crosslinkedpolyethylene"],
            PipeMaterial::PeRt => &["pert", "pertii", "pert2", "perti", "pert1"],
            PipeMaterial::Pb => &["pb", "pb1", "polybutylene", "polybutene"],
            PipeMaterial::PpR => &["ppr", "pp", "pprct", "polypropylene"],
            PipeMaterial::Multilayer => &[
                "multilayer",
                "multilayerpipe",
                "multilayercomposite",
                "mlc",
                "mlcp",
                "composite",
                "metalplasticcomposite",
                "pex/al/pex",
                "pert/al/pert",
                "pexalpex",
                "pertalpert",
            ],
            PipeMaterial::Copper => &["copper", "cu"],
            PipeMaterial::Steel => &["steel", "carbonsteel"],
        }
    }
}

/// A pipe by material, outside diameter and wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pipe {
    pub material: PipeMaterial,
    pub outside: Length,
    pub wall: Length,
    /// Whether the standards list this pair of sizes.
    pub listed: bool,
}

impl Pipe {
    /// A pipe of any size that leaves a bore.
    ///
    /// Units: as typed. Source: `bore = outside − 2 wall`; walls are minima, so a real bore is
    /// smaller. Holds for: outside diameter of 5 to 110 mm, wall of 0.3 mm up to a third of it.
    pub fn new(material: PipeMaterial, outside: Length, wall: Length) -> Result<Pipe, PipeFault> {
        let (outside_mm, wall_mm) = (outside.in_millimetres(), wall.in_millimetres());
        if !(5.0..=110.0).contains(&outside_mm) {
            return Err(PipeFault::Outside);
        }
        if !(0.3..=outside_mm / 3.0).contains(&wall_mm) {
            return Err(PipeFault::Wall);
        }
        let listed = LISTED.iter().any(|&(of, sizes)| {
            of == material
                && sizes
                    .iter()
                    .any(|(outside, wall)| (outside - outside_mm).abs() < 0.005 && (wall - wall_mm).abs() < 0.005)
        });
        Ok(Pipe { material, outside, wall, listed })
    }

    /// Reads `multilayer 16 x 2`, `PE-RT 16x2.0`, `copper 15 × 0.7 mm`: material, outside diameter and
    /// wall in millimetres.
    pub fn parse(text: &str) -> Result<Pipe, PipeFault> {
        let text = text.trim();
        // The size begins at the first digit after the last letter of the material: `PB1 16 x 2`,
        // `PE-RT 16x2`.
        let cross = text.rfind(['x', 'X', '×', '*']).ok_or(PipeFault::NoSize)?;
        let before = text.get(..cross).unwrap_or_default().trim_end();
        let number_from = before
            .rfind(|c: char| !(c.is_ascii_digit() || c == '.'))
            .map_or(0, |at| at + before[at..].chars().next().map_or(0, char::len_utf8));
        let (name, outside) = before.split_at(number_from);
        let after = text.get(cross..).unwrap_or_default();
        let wall = after.trim_start_matches(['x', 'X', '×', '*']).trim().trim_end_matches("mm").trim();
        let outside: f64 = outside.parse().map_err(|_| PipeFault::NoSize)?;
        let wall: f64 = wall.parse().map_err(|_| PipeFault::NoSize)?;
        let name = name.trim().trim_end_matches("pipe").trim();
        if name.is_empty() {
            return Err(PipeFault::NoMaterial);
        }
        let material = PipeMaterial::ALL
            .into_iter()
            .find(|material| material.spellings().iter().any(|one| same_word(one, name)))
            .ok_or(PipeFault::UnknownMaterial)?;
        Pipe::new(material, Length::millimetres(outside), Length::millimetres(wall))
    }

    /// Inner diameter.
    pub fn bore(&self) -> Length {
        self.outside - self.wall * 2.0
    }

    /// Conductivity of the wall, as [`PipeMaterial::conductivity`].
    pub fn conductivity(&self) -> Conductivity {
        self.material.conductivity()
    }

    /// Roughness of the wall, as [`PipeMaterial::roughness`].
    pub fn roughness(&self) -> Length {
        self.material.roughness()
    }
}

impl fmt::Display for Pipe {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let hundredths = |length: Length| (length.in_millimetres() * 100.0).round() / 100.0;
        let (outside, wall) = (hundredths(self.outside), hundredths(self.wall));
        write!(f, "{} {outside} x {wall}", self.material.name())
    }
}

/// The listed pipes, for completion.
pub fn listed() -> impl Iterator<Item = Pipe> {
    LISTED.iter().flat_map(|&(material, sizes)| {
        sizes.iter().map(move |&(outside, wall)| Pipe {
            material,
            outside: Length::millimetres(outside),
            wall: Length::millimetres(wall),
            listed: true,
        })
    })
}

/// Why a text is no pipe.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PipeFault {
    NoMaterial,
    UnknownMaterial,
    NoSize,
    /// Outside diameter not within 5 to 110 mm.
    Outside,
    /// Wall not within 0.3 mm and a third of the outside diameter.
    Wall,
}

impl fmt::Display for PipeFault {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            PipeFault::NoMaterial => {
                write!(f, "the material of the pipe is missing; write `multilayer 16 x 2`")
            }
            PipeFault::UnknownMaterial => {
                write!(f, "no known pipe material; known are ")?;
                for (at, material) in PipeMaterial::ALL.into_iter().enumerate() {
                    write!(f, "{}{}", if at == 0 { "" } else { ", " }, material.name())?;
                }
                Ok(())
            }
            PipeFault::NoSize => write!(
                f,
                "the size of the pipe is missing; write outside diameter and wall in millimetres, \
                 `16 x 2`"
            ),
            PipeFault::Outside => {
                write!(f, "the outside diameter of the pipe is not within 5 mm and 110 mm")
            }
            PipeFault::Wall => {
                write!(f, "the wall of the pipe is not within 0.3 mm and a third of the outside diameter")
            }
        }
    }
}

impl std::error::Error for PipeFault {}

/// Whether a name is this spelling, but for case, spaces, hyphens and underscores.
fn same_word(spelling: &str, name: &str) -> bool {
    let written = name.chars().filter(|c| !matches!(c, ' ' | '-' | '_')).map(|c| c.to_ascii_lowercase());
    spelling.chars().eq(written)
}

/// Outside diameter and wall in millimetres. Plastic: ISO 4065 series, from memory; copper: EN 1057
/// Table 3 as an open library lists it; multilayer has no series of its own, these are the sizes in
/// common use.
#[rustfmt::skip]
const LISTED: [(PipeMaterial, &[(f64, f64)]); 7] = [
    (PipeMaterial::Multilayer, &[
        (14.0, 2.0), (16.0, 2.0), (18.0, 2.0), (20.0, 2.0), (20.0, 2.25), (25.0, 2.5), (26.0, 3.0), (32.0, 3.0),
    ]),
    (PipeMaterial::PeX, POLYETHYLENE),
    (PipeMaterial::PeRt, POLYETHYLENE),
    (PipeMaterial::Pb, &[
        (10.0, 1.3), (12.0, 1.3), (14.0, 2.0), (15.0, 1.5), (16.0, 1.5), (16.0, 1.8), (16.0, 2.0), (16.0, 2.2),
        (18.0, 2.0), (20.0, 1.9), (20.0, 2.0), (20.0, 2.8), (25.0, 2.3), (25.0, 3.5),
    ]),
    (PipeMaterial::PpR, &[
        (16.0, 2.2), (16.0, 2.7), (20.0, 2.8), (20.0, 3.4), (25.0, 3.5), (25.0, 4.2), (32.0, 4.4), (32.0, 5.4),
    ]),
    (PipeMaterial::Copper, &[
        (10.0, 0.6), (10.0, 1.0), (12.0, 0.6), (12.0, 1.0), (15.0, 0.7), (15.0, 1.0), (18.0, 1.0), (22.0, 0.9),
        (22.0, 1.0), (28.0, 0.9), (28.0, 1.0), (28.0, 1.5), (35.0, 1.2), (35.0, 1.5), (42.0, 1.2), (42.0, 1.5),
    ]),
    (PipeMaterial::Steel, &[
        (12.0, 1.2), (15.0, 1.2), (18.0, 1.2), (22.0, 1.5), (28.0, 1.5), (35.0, 1.5), (42.0, 1.5),
    ]),
];
#[rustfmt::skip]
const POLYETHYLENE: &[(f64, f64)] = &[
    (10.0, 1.1), (12.0, 1.3), (12.0, 2.0), (14.0, 2.0), (16.0, 1.5), (16.0, 1.8), (16.0, 2.0), (16.0, 2.2),
    (17.0, 2.0), (18.0, 2.0), (20.0, 1.9), (20.0, 2.0), (20.0, 2.8), (25.0, 2.3), (25.0, 3.5), (32.0, 2.9),
    (32.0, 4.4),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn designations_are_read() {
        for (text, shown, bore) in [
            ("multilayer 16 x 2", "multilayer 16 x 2", 12.0),
            ("PE-X 16 x 2", "PE-X 16 x 2", 12.0),
            ("pex 16x2", "PE-X 16 x 2", 12.0),
            ("PE-Xa 17 × 2.0 mm", "PE-X 17 x 2", 13.0),
            ("PE-RT 16x2.0", "PE-RT 16 x 2", 12.0),
            ("PE-RT/AL/PE-RT 16 x 2", "multilayer 16 x 2", 12.0),
            ("PB 15 x 1.5", "PB 15 x 1.5", 12.0),
            ("PB1 16 x 1.8", "PB 16 x 1.8", 12.4),
            ("PP-R 20x2.8", "PP-R 20 x 2.8", 14.4),
            ("copper 15 x 0.7", "copper 15 x 0.7", 13.6),
            ("Copper pipe 15X0.7", "copper 15 x 0.7", 13.6),
        ] {
            let pipe = Pipe::parse(text).unwrap();
            assert_eq!(pipe.to_string(), shown);
            assert!((pipe.bore().in_millimetres() - bore).abs() < 1e-9, "{text}");
            assert!(pipe.listed, "{text}");
        }
    }

    #[test]
    fn other_sizes_are_pipes_too_but_not_listed() {
        let pipe = Pipe::parse("PE-X 15 x 1.7").unwrap();
        assert!(!pipe.listed);
        assert!((pipe.bore().in_millimetres() - 11.6).abs() < 1e-9);
    }

    #[test]
    fn what_is_no_pipe_is_said() {
        for (text, fault) in [
            ("", PipeFault::NoSize),
            ("PE-X", PipeFault::NoSize),
            ("16 x 2", PipeFault::NoMaterial),
            ("rubber 16 x 2", PipeFault::UnknownMaterial),
            ("PE-X 16 x", PipeFault::NoSize),
            ("PE-X x 2", PipeFault::NoSize),
            ("PE-X 16 x 6", PipeFault::Wall),
            ("PE-X 16 x 0", PipeFault::Wall),
            ("PE-X 16 x nan", PipeFault::Wall),
            ("PE-X 200 x 20", PipeFault::Outside),
            ("é 16×2", PipeFault::UnknownMaterial),
            ("é×é", PipeFault::NoSize),
            ("×", PipeFault::NoSize),
        ] {
            assert_eq!(Pipe::parse(text), Err(fault), "{text}");
        }
        assert!(PipeFault::UnknownMaterial.to_string().ends_with("copper, steel"));
    }

    #[test]
    fn every_listed_pipe_reads_back() {
        for pipe in listed() {
            assert_eq!(Pipe::parse(&pipe.to_string()), Ok(pipe));
        }
    }

    /// Walls of pipe series S5 and S3.2, ISO 4065: outside / (2 S + 1), rounded up to a tenth, but for
    /// the least wall of the product standards (from memory).
    #[test]
    fn walls_follow_the_pipe_series() {
        for (outside, series, wall) in
            [(20.0, 5.012, 1.9), (25.0, 5.012, 2.3), (16.0, 3.162, 2.2), (20.0, 3.162, 2.8), (25.0, 3.162, 3.5)]
        {
            let least = f64::ceil(outside / (2.0 * series + 1.0) * 10.0 - 1e-9) / 10.0;
            assert_eq!(least, wall);
            let pipe = Pipe::new(PipeMaterial::PeX, Length::millimetres(outside), Length::millimetres(wall));
            assert!(pipe.unwrap().listed);
        }
    }
}
