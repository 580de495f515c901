//! Every rule. The list is derived from the folder by a test and checked in; do not edit it by hand.

mod prelude;

pub mod bend_too_tight;
pub mod duplicate_name;
pub mod format_version_unknown;
pub mod hairpin_tighter_than_bend;
pub mod heated_run_crosses_joint;
pub mod loops_cross;
pub mod one_sleeve_for_two_crossings;
pub mod outline_not_simple;
pub mod pipe_crosses_building_joint;
pub mod pipe_crosses_itself;
pub mod pipe_too_near_flue;
pub mod pipe_too_near_wall;
pub mod pipe_under_fixing;
pub mod pipe_under_keep_clear;
pub mod rooms_overlap;
pub mod sleeve_filled_solid;
pub mod sleeve_missing_at_joint;
pub mod sleeve_missing_at_wall;
pub mod sleeve_on_nothing;
pub mod sleeve_too_short;
pub mod syntax_error;
pub mod unit_missing_or_wrong;
pub mod unknown_field;
pub mod unknown_reference;
pub mod value_not_understood;

use crate::Rule;

/// Every rule, by name.
pub static RULES: &[&Rule] = &[
    &bend_too_tight::RULE,
    &duplicate_name::RULE,
    &format_version_unknown::RULE,
    &hairpin_tighter_than_bend::RULE,
    &heated_run_crosses_joint::RULE,
    &loops_cross::RULE,
    &one_sleeve_for_two_crossings::RULE,
    &outline_not_simple::RULE,
    &pipe_crosses_building_joint::RULE,
    &pipe_crosses_itself::RULE,
    &pipe_too_near_flue::RULE,
    &pipe_too_near_wall::RULE,
    &pipe_under_fixing::RULE,
    &pipe_under_keep_clear::RULE,
    &rooms_overlap::RULE,
    &sleeve_filled_solid::RULE,
    &sleeve_missing_at_joint::RULE,
    &sleeve_missing_at_wall::RULE,
    &sleeve_on_nothing::RULE,
    &sleeve_too_short::RULE,
    &syntax_error::RULE,
    &unit_missing_or_wrong::RULE,
    &unknown_field::RULE,
    &unknown_reference::RULE,
    &value_not_understood::RULE,
];

#[cfg(test)]
mod tests {
    use std::path::Path;

    /// A rule is one file in `rules/`; this list follows from the folder. When it is stale the test
    /// writes it anew and fails once, to be run again.
    #[test]
    fn the_list_is_that_of_the_folder() {
        let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
        let mut names: Vec<String> = std::fs::read_dir(source.join("rules"))
            .unwrap()
            .filter_map(|file| file.unwrap().file_name().to_str()?.strip_suffix(".rs").map(str::to_string))
            .filter(|name| name != "prelude")
            .collect();
        names.sort();
        let modules: String = names.iter().map(|name| format!("pub mod {name};\n")).collect();
        let rules: String = names.iter().map(|name| format!("    &{name}::RULE,\n")).collect();
        let text = std::fs::read_to_string(source.join("rules.rs")).unwrap();
        let (head, rest) = text.split_once("mod prelude;\n\n").unwrap();
        let (_, rest) = rest.split_once("\nuse crate::Rule;").unwrap();
        let (between, rest) = rest.split_once("&[&Rule] = &[\n").unwrap();
        let (_, foot) = rest.split_once("];").unwrap();
        let wanted =
            format!("{head}mod prelude;\n\n{modules}\nuse crate::Rule;{between}&[&Rule] = &[\n{rules}];{foot}");
        if wanted != text {
            std::fs::write(source.join("rules.rs"), wanted).unwrap();
            panic!("the list of rules was stale and is written anew; run the tests again");
        }
    }

    /// The name of a rule is that of its file, in hyphens.
    #[test]
    fn a_rule_is_named_like_its_file() {
        for rule in super::RULES {
            let file =
                Path::new(env!("CARGO_MANIFEST_DIR")).join("src/rules").join(rule.name.replace('-', "_") + ".rs");
            let text = std::fs::read_to_string(&file).unwrap_or_default();
            assert!(text == rule.file, "{}: the rule's name or its `file` is not its own", rule.name);
        }
    }
}
