//! What the user has set in the editor.

use serde_json::Value;

/// The section of an editor's settings that is ours.
pub const SECTION: &str = "hypocaust";

/// Everything that can be set; what is not said is as it is here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Settings {
    pub hints: Hints,
    pub code_lens: bool,
}

/// Beside what figures are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hints {
    pub loops: bool,
    pub rooms: bool,
    pub manifolds: bool,
}

impl Default for Settings {
    fn default() -> Settings {
        Settings { hints: Hints { loops: true, rooms: true, manifolds: true }, code_lens: true }
    }
}

impl Settings {
    /// Reads our section; some clients send all of their settings.
    ///
    /// `inlayHints` is `true`, `false` or `{loops, rooms, manifolds}`; `codeLens` is `true` or `false`.
    pub fn of(sent: &Value) -> Settings {
        let section = sent.get(SECTION).unwrap_or(sent);
        let flag = |value: Option<&Value>, otherwise: bool| value.and_then(Value::as_bool).unwrap_or(otherwise);
        let hints = section.get("inlayHints");
        let all = flag(hints, flag(hints.and_then(|it| it.get("enabled")), true));
        let of = |key: &str| all && flag(hints.and_then(|it| it.get(key)), true);
        Settings {
            hints: Hints { loops: of("loops"), rooms: of("rooms"), manifolds: of("manifolds") },
            code_lens: flag(
                section.get("codeLens"),
                flag(section.get("codeLens").and_then(|it| it.get("enabled")), true),
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn what_is_not_said_stays_on() {
        assert_eq!(Settings::of(&Value::Null), Settings::default());
        assert_eq!(Settings::of(&json!({"hypocaust": null})), Settings::default());
        let off = Hints { loops: false, rooms: false, manifolds: false };
        assert_eq!(Settings::of(&json!({"hypocaust": {"inlayHints": false}})).hints, off);
        assert_eq!(Settings::of(&json!({"inlayHints": {"enabled": false}})).hints, off);
        assert_eq!(
            Settings::of(&json!({"inlayHints": {"rooms": false}})).hints,
            Hints { rooms: false, ..Settings::default().hints }
        );
        assert!(!Settings::of(&json!({"codeLens": false})).code_lens);
    }
}
