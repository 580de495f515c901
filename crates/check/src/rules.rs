//! Every rule. The list is derived from the folder by a test and checked in; do not edit it by hand.

mod prelude;

pub mod air_test_out_of_band;
pub mod assumption_not_confirmed;
pub mod checker_missing;
pub mod covering_laid_before_first_heat;
pub mod definition_not_used;
pub mod departure_expired;
pub mod departure_matches_nothing;
pub mod departure_not_allowed;
pub mod departure_without_reason;
pub mod drying_time_not_programmed;
pub mod duplicate_name;
pub mod first_heat_not_held;
pub mod format_version_unknown;
pub mod heated_too_soon;
pub mod heating_ramp_too_fast;
pub mod issue_date_not_possible;
pub mod photograph_after_covering;
pub mod photographs_missing;
pub mod pressure_fell_too_far;
pub mod pressure_test_after_covering;
pub mod pressure_test_missing;
pub mod pressure_test_too_low;
pub mod pressure_test_too_short;
pub mod revision_missing;
pub mod screed_too_damp_for_covering;
pub mod syntax_error;
pub mod unit_missing_or_wrong;
pub mod unknown_field;
pub mod unknown_reference;
pub mod value_not_believable;
pub mod value_not_understood;

use crate::Rule;

/// Every rule, by name.
pub static RULES: &[&Rule] = &[
    &air_test_out_of_band::RULE,
    &assumption_not_confirmed::RULE,
    &checker_missing::RULE,
    &covering_laid_before_first_heat::RULE,
    &definition_not_used::RULE,
    &departure_expired::RULE,
    &departure_matches_nothing::RULE,
    &departure_not_allowed::RULE,
    &departure_without_reason::RULE,
    &drying_time_not_programmed::RULE,
    &duplicate_name::RULE,
    &first_heat_not_held::RULE,
    &format_version_unknown::RULE,
    &heated_too_soon::RULE,
    &heating_ramp_too_fast::RULE,
    &issue_date_not_possible::RULE,
    &photograph_after_covering::RULE,
    &photographs_missing::RULE,
    &pressure_fell_too_far::RULE,
    &pressure_test_after_covering::RULE,
    &pressure_test_missing::RULE,
    &pressure_test_too_low::RULE,
    &pressure_test_too_short::RULE,
    &revision_missing::RULE,
    &screed_too_damp_for_covering::RULE,
    &syntax_error::RULE,
    &unit_missing_or_wrong::RULE,
    &unknown_field::RULE,
    &unknown_reference::RULE,
    &value_not_believable::RULE,
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
