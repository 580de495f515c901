//! What was worked out, and how.

mod json;
mod text;

pub use json::json;
pub use text::text;

use workings::Line;

/// The lines of the sheet that a name asks for: those of a block, of a thing, or one figure.
///
/// `loops`, `loops.L1`, `loops/L1`, `L1` and `loops.L1.length` are names. If nothing carries the name,
/// the one that was probably meant is given back, where there is one.
pub fn named<'l>(lines: &'l [Line], name: &str) -> Result<Vec<&'l Line>, Option<String>> {
    let name = name.replace('/', ".");
    // A name of the design may have that sign in it, too.
    let wanted: Vec<&Line> = lines.iter().filter(|line| carries(&line.name.replace('/', "."), &name)).collect();
    if wanted.is_empty() { Err(nearest(lines, &name)) } else { Ok(wanted) }
}

/// Whether a figure is the one named, or belongs to the thing or the block named.
fn carries(figure: &str, name: &str) -> bool {
    let begins = |figure: &str| figure.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'));
    begins(figure) || figure.split_once('.').is_some_and(|(_, without_block)| begins(without_block))
}

fn nearest(lines: &[Line], name: &str) -> Option<String> {
    let things = lines.iter().filter_map(|line| line.name.rsplit_once('.')).map(|(thing, _)| thing);
    let mut candidates: Vec<&str> = things.collect();
    candidates.dedup();
    candidates.extend(candidates.clone().iter().filter_map(|thing| thing.split_once('.')).map(|(_, name)| name));
    candidates.extend(lines.iter().map(|line| &*line.name));
    design::nearest(name, candidates).map(str::to_string)
}

#[cfg(test)]
mod tests {
    use super::*;
    use workings::Gap;

    fn sheet() -> Vec<Line> {
        let line = |name: &str| Line { name: name.into(), worked: Err(Gap::Unreadable), unit: "m", shown: None };
        [
            "rooms.hall.area",
            "loops.L1.length",
            "loops.L1.flow",
            "loops.L10.length",
            "loops.L1.length-in-room.hall",
            "rooms.bed/2.area",
        ]
        .map(line)
        .into()
    }

    fn names(name: &str) -> Result<Vec<String>, Option<String>> {
        let sheet = sheet();
        named(&sheet, name).map(|lines| lines.iter().map(|it| it.name.clone()).collect())
    }

    #[test]
    fn a_name_may_be_a_block_a_thing_or_a_figure() {
        let of_l1 = ["loops.L1.length", "loops.L1.flow", "loops.L1.length-in-room.hall"].map(String::from).to_vec();
        for name in ["loops.L1", "loops/L1", "L1"] {
            assert_eq!(names(name), Ok(of_l1.clone()), "{name}");
        }
        for name in ["bed/2", "rooms/bed/2", "rooms.bed/2.area", "rooms.bed/2"] {
            assert_eq!(names(name), Ok(vec!["rooms.bed/2.area".to_string()]), "{name}");
        }
        assert_eq!(names("loops").map(|it| it.len()), Ok(4));
        assert_eq!(names("loops.L1.length"), Ok(vec!["loops.L1.length".to_string()]));
    }

    #[test]
    fn an_unknown_name_is_guessed() {
        assert_eq!(names("halll"), Err(Some("hall".to_string())));
        assert_eq!(names("loops.L1.lenght"), Err(Some("loops.L1.length".to_string())));
        assert_eq!(names("cellar-corridor"), Err(None));
    }
}
