//! Every rule. The list is derived from the folder by a test and checked in; do not edit it by hand.

mod prelude;

pub mod air_trap_in_route;
pub mod antifreeze_not_in_sums;
pub mod base_not_flat;
pub mod blending_valve_missing;
pub mod board_not_bonded;
pub mod boiler_return_too_warm;
pub mod clips_too_far_apart;
pub mod coils_cut_wastefully;
pub mod covering_too_resistive;
pub mod duplicate_name;
pub mod expansion_volume_missing;
pub mod floor_cannot_give_this_much;
pub mod flow_carries_too_little_heat;
pub mod flow_gauge_out_of_range;
pub mod flow_is_laminar;
pub mod flow_temperature_over_regulation;
pub mod format_version_unknown;
pub mod heat_loss_missing;
pub mod heat_pump_flow_rate_not_met;
pub mod heat_pump_flow_too_warm;
pub mod heat_pump_volume_too_small;
pub mod heated_run_crosses_joint;
pub mod insulation_below_minimum;
pub mod joint_buried_in_floor;
pub mod joist_notch_too_deep;
pub mod layer_over_its_temperature_limit;
pub mod loop_longer_than_coil;
pub mod loop_over_maximum_length;
pub mod loop_pressure_drop_too_high;
pub mod loops_unlike_in_length;
pub mod manifold_below_loops;
pub mod manifold_far_from_rooms;
pub mod manifold_flow_too_high;
pub mod manifold_flows_unbalanced;
pub mod manifold_not_reachable;
pub mod manifold_serves_two_storeys;
pub mod manifold_without_isolation;
pub mod mixed_emitters_one_temperature;
pub mod mixed_pipe_on_one_manifold;
pub mod mixing_valve_defeats_heat_pump;
pub mod no_weather_compensation;
pub mod one_room_sets_flow_temperature;
pub mod one_sleeve_for_two_crossings;
pub mod pipe_class_too_low;
pub mod pipe_crosses_building_joint;
pub mod pipe_without_oxygen_barrier;
pub mod port_used_twice;
pub mod ports_too_few;
pub mod pressure_drop_over_pump;
pub mod primary_pipe_not_insulated;
pub mod primary_pipe_too_small;
pub mod pump_flow_too_small;
pub mod residual_current_device_missing;
pub mod room_short_of_heat;
pub mod room_without_thermostat;
pub mod screed_too_thin_over_pipe;
pub mod sleeve_filled_solid;
pub mod sleeve_missing_at_joint;
pub mod sleeve_missing_at_wall;
pub mod sleeve_on_nothing;
pub mod sleeve_too_short;
pub mod solid_fuel_source_uncontrolled;
pub mod source_cooler_than_floor_needs;
pub mod source_too_small;
pub mod spare_port_missing;
pub mod surface_too_warm_bathroom;
pub mod surface_too_warm_occupied;
pub mod syntax_error;
pub mod temperature_drop_too_wide;
pub mod throttled_loop_will_sing;
pub mod tile_adhesive_not_flexible;
pub mod timber_covering_too_warm;
pub mod unit_missing_or_wrong;
pub mod unknown_field;
pub mod unknown_reference;
pub mod unlike_floors_on_one_manifold;
pub mod value_not_understood;
pub mod valve_settings_missing;
pub mod velocity_too_high;
pub mod velocity_too_low;

use crate::Rule;

/// Every rule, by name.
pub static RULES: &[&Rule] = &[
    &air_trap_in_route::RULE,
    &antifreeze_not_in_sums::RULE,
    &base_not_flat::RULE,
    &blending_valve_missing::RULE,
    &board_not_bonded::RULE,
    &boiler_return_too_warm::RULE,
    &clips_too_far_apart::RULE,
    &coils_cut_wastefully::RULE,
    &covering_too_resistive::RULE,
    &duplicate_name::RULE,
    &expansion_volume_missing::RULE,
    &floor_cannot_give_this_much::RULE,
    &flow_carries_too_little_heat::RULE,
    &flow_gauge_out_of_range::RULE,
    &flow_is_laminar::RULE,
    &flow_temperature_over_regulation::RULE,
    &format_version_unknown::RULE,
    &heat_loss_missing::RULE,
    &heat_pump_flow_rate_not_met::RULE,
    &heat_pump_flow_too_warm::RULE,
    &heat_pump_volume_too_small::RULE,
    &heated_run_crosses_joint::RULE,
    &insulation_below_minimum::RULE,
    &joint_buried_in_floor::RULE,
    &joist_notch_too_deep::RULE,
    &layer_over_its_temperature_limit::RULE,
    &loop_longer_than_coil::RULE,
    &loop_over_maximum_length::RULE,
    &loop_pressure_drop_too_high::RULE,
    &loops_unlike_in_length::RULE,
    &manifold_below_loops::RULE,
    &manifold_far_from_rooms::RULE,
    &manifold_flow_too_high::RULE,
    &manifold_flows_unbalanced::RULE,
    &manifold_not_reachable::RULE,
    &manifold_serves_two_storeys::RULE,
    &manifold_without_isolation::RULE,
    &mixed_emitters_one_temperature::RULE,
    &mixed_pipe_on_one_manifold::RULE,
    &mixing_valve_defeats_heat_pump::RULE,
    &no_weather_compensation::RULE,
    &one_room_sets_flow_temperature::RULE,
    &one_sleeve_for_two_crossings::RULE,
    &pipe_class_too_low::RULE,
    &pipe_crosses_building_joint::RULE,
    &pipe_without_oxygen_barrier::RULE,
    &port_used_twice::RULE,
    &ports_too_few::RULE,
    &pressure_drop_over_pump::RULE,
    &primary_pipe_not_insulated::RULE,
    &primary_pipe_too_small::RULE,
    &pump_flow_too_small::RULE,
    &residual_current_device_missing::RULE,
    &room_short_of_heat::RULE,
    &room_without_thermostat::RULE,
    &screed_too_thin_over_pipe::RULE,
    &sleeve_filled_solid::RULE,
    &sleeve_missing_at_joint::RULE,
    &sleeve_missing_at_wall::RULE,
    &sleeve_on_nothing::RULE,
    &sleeve_too_short::RULE,
    &solid_fuel_source_uncontrolled::RULE,
    &source_cooler_than_floor_needs::RULE,
    &source_too_small::RULE,
    &spare_port_missing::RULE,
    &surface_too_warm_bathroom::RULE,
    &surface_too_warm_occupied::RULE,
    &syntax_error::RULE,
    &temperature_drop_too_wide::RULE,
    &throttled_loop_will_sing::RULE,
    &tile_adhesive_not_flexible::RULE,
    &timber_covering_too_warm::RULE,
    &unit_missing_or_wrong::RULE,
    &unknown_field::RULE,
    &unknown_reference::RULE,
    &unlike_floors_on_one_manifold::RULE,
    &value_not_understood::RULE,
    &valve_settings_missing::RULE,
    &velocity_too_high::RULE,
    &velocity_too_low::RULE,
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
