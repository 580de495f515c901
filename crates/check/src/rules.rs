//! Every rule. The list is derived from the folder by a test and checked in; do not edit it by hand.

mod prelude;

pub mod air_test_out_of_band;
pub mod air_test_without_care;
pub mod as_built_not_dimensioned;
pub mod asbestos_not_asked;
pub mod assumption_not_confirmed;
pub mod building_control_notice_missing;
pub mod checker_missing;
pub mod covering_laid_before_first_heat;
pub mod definition_not_used;
pub mod departure_expired;
pub mod departure_matches_nothing;
pub mod departure_not_allowed;
pub mod departure_without_reason;
pub mod drill_warning_missing;
pub mod drying_time_not_programmed;
pub mod duplicate_name;
pub mod electric_area_on_water_zone;
pub mod electric_control_in_splash_zone;
pub mod electric_density_unsuited;
pub mod electric_earth_layer_missing;
pub mod electric_floor_sensor_missing;
pub mod electric_ingress_rating_too_low;
pub mod electric_insulation_missing;
pub mod electric_load_over_circuit;
pub mod electric_mat_bigger_than_free_area;
pub mod electric_mat_cut;
pub mod electric_readings_missing;
pub mod electric_short_of_heat;
pub mod electric_under_fixed_unit;
pub mod electric_where_water_would_serve;
pub mod filling_link_without_backflow_guard;
pub mod first_heat_not_held;
pub mod flush_and_inhibitor_missing;
pub mod format_version_unknown;
pub mod frost_not_guarded;
pub mod handover_pack_incomplete;
pub mod heated_too_soon;
pub mod heating_on_while_tiling;
pub mod heating_ramp_too_fast;
pub mod heating_water_meets_drinking_water;
pub mod hot_water_store_too_cool;
pub mod issue_date_not_possible;
pub mod joint_plan_missing;
pub mod licensed_work_not_named;
pub mod limit_thermostat_missing;
pub mod limit_thermostat_set_too_high;
pub mod moisture_points_missing;
pub mod photograph_after_covering;
pub mod photographs_missing;
pub mod pipe_over_its_rating;
pub mod pressure_fell_too_far;
pub mod pressure_not_held_while_covering;
pub mod pressure_test_after_covering;
pub mod pressure_test_missing;
pub mod pressure_test_too_low;
pub mod pressure_test_too_short;
pub mod radon_or_damp_layer_pierced;
pub mod repair_not_recorded;
pub mod residual_current_device_missing;
pub mod revision_missing;
pub mod scald_guard_missing;
pub mod screed_additive_unsuited;
pub mod screed_laid_too_cold;
pub mod screed_too_damp_for_covering;
pub mod set_flows_not_recorded;
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
    &air_test_without_care::RULE,
    &as_built_not_dimensioned::RULE,
    &asbestos_not_asked::RULE,
    &assumption_not_confirmed::RULE,
    &building_control_notice_missing::RULE,
    &checker_missing::RULE,
    &covering_laid_before_first_heat::RULE,
    &definition_not_used::RULE,
    &departure_expired::RULE,
    &departure_matches_nothing::RULE,
    &departure_not_allowed::RULE,
    &departure_without_reason::RULE,
    &drill_warning_missing::RULE,
    &drying_time_not_programmed::RULE,
    &duplicate_name::RULE,
    &electric_area_on_water_zone::RULE,
    &electric_control_in_splash_zone::RULE,
    &electric_density_unsuited::RULE,
    &electric_earth_layer_missing::RULE,
    &electric_floor_sensor_missing::RULE,
    &electric_ingress_rating_too_low::RULE,
    &electric_insulation_missing::RULE,
    &electric_load_over_circuit::RULE,
    &electric_mat_bigger_than_free_area::RULE,
    &electric_mat_cut::RULE,
    &electric_readings_missing::RULE,
    &electric_short_of_heat::RULE,
    &electric_under_fixed_unit::RULE,
    &electric_where_water_would_serve::RULE,
    &filling_link_without_backflow_guard::RULE,
    &first_heat_not_held::RULE,
    &flush_and_inhibitor_missing::RULE,
    &format_version_unknown::RULE,
    &frost_not_guarded::RULE,
    &handover_pack_incomplete::RULE,
    &heated_too_soon::RULE,
    &heating_on_while_tiling::RULE,
    &heating_ramp_too_fast::RULE,
    &heating_water_meets_drinking_water::RULE,
    &hot_water_store_too_cool::RULE,
    &issue_date_not_possible::RULE,
    &joint_plan_missing::RULE,
    &licensed_work_not_named::RULE,
    &limit_thermostat_missing::RULE,
    &limit_thermostat_set_too_high::RULE,
    &moisture_points_missing::RULE,
    &photograph_after_covering::RULE,
    &photographs_missing::RULE,
    &pipe_over_its_rating::RULE,
    &pressure_fell_too_far::RULE,
    &pressure_not_held_while_covering::RULE,
    &pressure_test_after_covering::RULE,
    &pressure_test_missing::RULE,
    &pressure_test_too_low::RULE,
    &pressure_test_too_short::RULE,
    &radon_or_damp_layer_pierced::RULE,
    &repair_not_recorded::RULE,
    &residual_current_device_missing::RULE,
    &revision_missing::RULE,
    &scald_guard_missing::RULE,
    &screed_additive_unsuited::RULE,
    &screed_laid_too_cold::RULE,
    &screed_too_damp_for_covering::RULE,
    &set_flows_not_recorded::RULE,
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
