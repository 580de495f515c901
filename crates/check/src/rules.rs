//! Every rule. The list is derived from the folder by a test and checked in; do not edit it by hand.

mod prelude;

pub mod actuator_count_wrong;
pub mod actuator_voltage_mixed;
pub mod air_test_out_of_band;
pub mod air_test_without_care;
pub mod air_trap_in_route;
pub mod all_zones_can_shut;
pub mod antifreeze_not_in_sums;
pub mod as_built_differs_from_design;
pub mod as_built_not_dimensioned;
pub mod asbestos_not_asked;
pub mod assumption_not_confirmed;
pub mod base_not_flat;
pub mod base_not_prepared;
pub mod bathroom_control_in_splash_zone;
pub mod bathroom_short_of_heat;
pub mod bay_over_forty;
pub mod bay_side_over_eight;
pub mod bay_too_slender;
pub mod bend_too_tight;
pub mod blending_valve_missing;
pub mod board_not_bonded;
pub mod boiler_return_too_cool;
pub mod boiler_return_too_warm;
pub mod build_up_higher_than_room;
pub mod building_control_notice_missing;
pub mod calcium_sulphate_in_wet_room;
pub mod checker_missing;
pub mod clip_longer_than_insulation;
pub mod clips_too_far_apart;
pub mod coils_cut_wastefully;
pub mod cold_strip_at_outside_wall;
pub mod cooling_without_dew_point_guard;
pub mod covering_laid_before_first_heat;
pub mod covering_not_bonded;
pub mod covering_not_stated;
pub mod covering_too_resistive;
pub mod damp_proof_membrane_missing;
pub mod deck_too_resistive_over_plates;
pub mod definition_not_used;
pub mod departure_expired;
pub mod departure_matches_nothing;
pub mod departure_not_allowed;
pub mod departure_without_reason;
pub mod design_temperature_missing;
pub mod door_crowded_with_tails;
pub mod downward_loss_too_high;
pub mod drill_warning_missing;
pub mod dry_board_joints_not_glued;
pub mod dry_floor_load_layer_missing;
pub mod drying_time_not_programmed;
pub mod duplicate_name;
pub mod edge_detail_missing_at_step;
pub mod edge_strip_missing;
pub mod edge_strip_too_thin;
pub mod edge_zone_too_wide;
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
pub mod expansion_vessel_unsuited;
pub mod filling_link_without_backflow_guard;
pub mod first_heat_not_held;
pub mod first_stair_riser_changed;
pub mod floating_floor_fixed_down;
pub mod floor_cannot_give_this_much;
pub mod floor_holes_not_made_first;
pub mod floor_loss_counted_twice;
pub mod floor_sensor_badly_placed;
pub mod floor_sensor_set_too_low;
pub mod floor_u_value_over_regulation;
pub mod flow_carries_too_little_heat;
pub mod flow_gauge_out_of_range;
pub mod flow_is_laminar;
pub mod flow_off_pump_curve;
pub mod flow_temperature_over_regulation;
pub mod flush_and_inhibitor_missing;
pub mod foil_faced_board_bare_to_cement;
pub mod format_version_unknown;
pub mod frost_not_guarded;
pub mod glass_wall_without_edge_zone;
pub mod glazing_not_in_loss;
pub mod hairpin_tighter_than_bend;
pub mod handover_pack_incomplete;
pub mod heat_loss_missing;
pub mod heat_loss_not_room_by_room;
pub mod heat_pump_flow_rate_not_met;
pub mod heat_pump_flow_too_warm;
pub mod heat_pump_volume_too_small;
pub mod heated_run_crosses_joint;
pub mod heated_too_soon;
pub mod heating_on_while_tiling;
pub mod heating_ramp_too_fast;
pub mod heating_water_meets_drinking_water;
pub mod high_room_not_allowed_for;
pub mod hot_water_store_too_cool;
pub mod house_standard_unsound;
pub mod insulation_below_minimum;
pub mod insulation_layers_out_of_order;
pub mod insulation_missing;
pub mod insulation_too_soft;
pub mod issue_date_not_possible;
pub mod joint_buried_in_floor;
pub mod joint_ends_short;
pub mod joint_not_carried_through_tile;
pub mod joint_plan_missing;
pub mod joist_notch_too_deep;
pub mod keep_clear_missing_in_kitchen;
pub mod keep_clear_outside_room;
pub mod layer_over_its_temperature_limit;
pub mod layout_falls_short;
pub mod layout_not_laid_out;
pub mod licensed_work_not_named;
pub mod limit_thermostat_missing;
pub mod limit_thermostat_set_too_high;
pub mod limit_thermostat_set_too_low;
pub mod loop_duty_not_shared;
pub mod loop_in_two_bays;
pub mod loop_longer_than_coil;
pub mod loop_over_maximum_length;
pub mod loop_pressure_drop_too_high;
pub mod loops_cross;
pub mod loops_unlike_in_length;
pub mod manifold_below_loops;
pub mod manifold_far_from_rooms;
pub mod manifold_flow_too_high;
pub mod manifold_flows_unbalanced;
pub mod manifold_not_reachable;
pub mod manifold_serves_two_storeys;
pub mod manifold_without_isolation;
pub mod material_not_known;
pub mod membrane_missing;
pub mod metres_and_millimetres_mixed;
pub mod mixed_emitters_one_temperature;
pub mod mixed_pipe_on_one_manifold;
pub mod mixing_valve_defeats_heat_pump;
pub mod moisture_points_missing;
pub mod no_joint_at_doorway;
pub mod no_joint_at_inside_corner;
pub mod no_joint_between_unlike_heat;
pub mod no_weather_compensation;
pub mod one_room_sets_flow_temperature;
pub mod one_sleeve_for_two_crossings;
pub mod opening_not_in_its_wall;
pub mod outline_not_simple;
pub mod passage_heated_by_tails;
pub mod photograph_after_covering;
pub mod photographs_missing;
pub mod pipe_class_too_low;
pub mod pipe_crosses_building_joint;
pub mod pipe_crosses_itself;
pub mod pipe_over_its_rating;
pub mod pipe_through_floor_hole;
pub mod pipe_too_near_flue;
pub mod pipe_too_near_pipe;
pub mod pipe_too_near_wall;
pub mod pipe_under_fixing;
pub mod pipe_under_keep_clear;
pub mod pipe_without_oxygen_barrier;
pub mod plate_coverage_too_small;
pub mod port_used_twice;
pub mod ports_too_few;
pub mod pressure_drop_over_pump;
pub mod pressure_fell_too_far;
pub mod pressure_not_held_while_covering;
pub mod pressure_test_after_covering;
pub mod pressure_test_missing;
pub mod pressure_test_too_low;
pub mod pressure_test_too_short;
pub mod primary_pipe_not_insulated;
pub mod primary_pipe_too_small;
pub mod pump_and_source_not_interlocked;
pub mod radon_or_damp_layer_pierced;
pub mod record_date_not_possible;
pub mod records_out_of_order;
pub mod repair_not_recorded;
pub mod required_field_missing;
pub mod residual_current_device_missing;
pub mod resilient_covering_too_warm;
pub mod revision_missing;
pub mod room_far_over_heat;
pub mod room_partly_unheated;
pub mod room_short_of_heat;
pub mod room_split_between_thermostats;
pub mod room_temperature_out_of_line;
pub mod room_without_thermostat;
pub mod rooms_overlap;
pub mod route_cannot_be_followed;
pub mod route_leaves_its_rooms;
pub mod route_not_closed_at_manifold;
pub mod rugs_not_allowed_for;
pub mod scald_guard_missing;
pub mod screed_additive_unsuited;
pub mod screed_laid_too_cold;
pub mod screed_load_on_timber_unchecked;
pub mod screed_too_damp_for_covering;
pub mod screed_too_thick;
pub mod screed_too_thin_over_pipe;
pub mod screed_too_thin_overall;
pub mod second_emitter_missing;
pub mod set_flows_not_proven;
pub mod setback_unsuited;
pub mod sleeve_filled_solid;
pub mod sleeve_missing_at_joint;
pub mod sleeve_missing_at_wall;
pub mod sleeve_on_nothing;
pub mod sleeve_too_short;
pub mod slow_floor_in_brief_use_room;
pub mod solid_fuel_source_uncontrolled;
pub mod sound_or_fire_layer_missing;
pub mod source_cooler_than_floor_needs;
pub mod source_flow_rate_not_met;
pub mod source_too_small;
pub mod spacing_drawn_not_as_stated;
pub mod spacing_off_module;
pub mod spacing_too_wide;
pub mod spare_port_missing;
pub mod stated_area_differs;
pub mod stated_heat_loss_differs;
pub mod stated_length_differs;
pub mod surface_ripple_too_great;
pub mod surface_too_warm_bathroom;
pub mod surface_too_warm_edge;
pub mod surface_too_warm_occupied;
pub mod syntax_error;
pub mod tails_too_dense_at_manifold;
pub mod temperature_drop_too_narrow;
pub mod temperature_drop_too_wide;
pub mod thermostat_badly_placed;
pub mod throttled_loop_will_sing;
pub mod tile_adhesive_not_flexible;
pub mod tile_on_timber_not_stiff;
pub mod timber_covering_too_warm;
pub mod timber_floor_without_floor_sensor;
pub mod tray_not_locked;
pub mod unit_missing_or_wrong;
pub mod unknown_field;
pub mod unknown_reference;
pub mod unlike_floors_on_one_manifold;
pub mod value_not_believable;
pub mod value_not_understood;
pub mod valve_settings_missing;
pub mod velocity_too_high;
pub mod velocity_too_low;
pub mod void_insulation_missing;
pub mod working_pressure_out_of_line;
pub mod zone_shared_by_unlike_rooms;

use crate::Rule;

/// Every rule, by name.
pub static RULES: &[&Rule] = &[
    &actuator_count_wrong::RULE,
    &actuator_voltage_mixed::RULE,
    &air_test_out_of_band::RULE,
    &air_test_without_care::RULE,
    &air_trap_in_route::RULE,
    &all_zones_can_shut::RULE,
    &antifreeze_not_in_sums::RULE,
    &as_built_differs_from_design::RULE,
    &as_built_not_dimensioned::RULE,
    &asbestos_not_asked::RULE,
    &assumption_not_confirmed::RULE,
    &base_not_flat::RULE,
    &base_not_prepared::RULE,
    &bathroom_control_in_splash_zone::RULE,
    &bathroom_short_of_heat::RULE,
    &bay_over_forty::RULE,
    &bay_side_over_eight::RULE,
    &bay_too_slender::RULE,
    &bend_too_tight::RULE,
    &blending_valve_missing::RULE,
    &board_not_bonded::RULE,
    &boiler_return_too_cool::RULE,
    &boiler_return_too_warm::RULE,
    &build_up_higher_than_room::RULE,
    &building_control_notice_missing::RULE,
    &calcium_sulphate_in_wet_room::RULE,
    &checker_missing::RULE,
    &clip_longer_than_insulation::RULE,
    &clips_too_far_apart::RULE,
    &coils_cut_wastefully::RULE,
    &cold_strip_at_outside_wall::RULE,
    &cooling_without_dew_point_guard::RULE,
    &covering_laid_before_first_heat::RULE,
    &covering_not_bonded::RULE,
    &covering_not_stated::RULE,
    &covering_too_resistive::RULE,
    &damp_proof_membrane_missing::RULE,
    &deck_too_resistive_over_plates::RULE,
    &definition_not_used::RULE,
    &departure_expired::RULE,
    &departure_matches_nothing::RULE,
    &departure_not_allowed::RULE,
    &departure_without_reason::RULE,
    &design_temperature_missing::RULE,
    &door_crowded_with_tails::RULE,
    &downward_loss_too_high::RULE,
    &drill_warning_missing::RULE,
    &dry_board_joints_not_glued::RULE,
    &dry_floor_load_layer_missing::RULE,
    &drying_time_not_programmed::RULE,
    &duplicate_name::RULE,
    &edge_detail_missing_at_step::RULE,
    &edge_strip_missing::RULE,
    &edge_strip_too_thin::RULE,
    &edge_zone_too_wide::RULE,
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
    &expansion_vessel_unsuited::RULE,
    &filling_link_without_backflow_guard::RULE,
    &first_heat_not_held::RULE,
    &first_stair_riser_changed::RULE,
    &floating_floor_fixed_down::RULE,
    &floor_cannot_give_this_much::RULE,
    &floor_holes_not_made_first::RULE,
    &floor_loss_counted_twice::RULE,
    &floor_sensor_badly_placed::RULE,
    &floor_sensor_set_too_low::RULE,
    &floor_u_value_over_regulation::RULE,
    &flow_carries_too_little_heat::RULE,
    &flow_gauge_out_of_range::RULE,
    &flow_is_laminar::RULE,
    &flow_off_pump_curve::RULE,
    &flow_temperature_over_regulation::RULE,
    &flush_and_inhibitor_missing::RULE,
    &foil_faced_board_bare_to_cement::RULE,
    &format_version_unknown::RULE,
    &frost_not_guarded::RULE,
    &glass_wall_without_edge_zone::RULE,
    &glazing_not_in_loss::RULE,
    &hairpin_tighter_than_bend::RULE,
    &handover_pack_incomplete::RULE,
    &heat_loss_missing::RULE,
    &heat_loss_not_room_by_room::RULE,
    &heat_pump_flow_rate_not_met::RULE,
    &heat_pump_flow_too_warm::RULE,
    &heat_pump_volume_too_small::RULE,
    &heated_run_crosses_joint::RULE,
    &heated_too_soon::RULE,
    &heating_on_while_tiling::RULE,
    &heating_ramp_too_fast::RULE,
    &heating_water_meets_drinking_water::RULE,
    &high_room_not_allowed_for::RULE,
    &hot_water_store_too_cool::RULE,
    &house_standard_unsound::RULE,
    &insulation_below_minimum::RULE,
    &insulation_layers_out_of_order::RULE,
    &insulation_missing::RULE,
    &insulation_too_soft::RULE,
    &issue_date_not_possible::RULE,
    &joint_buried_in_floor::RULE,
    &joint_ends_short::RULE,
    &joint_not_carried_through_tile::RULE,
    &joint_plan_missing::RULE,
    &joist_notch_too_deep::RULE,
    &keep_clear_missing_in_kitchen::RULE,
    &keep_clear_outside_room::RULE,
    &layer_over_its_temperature_limit::RULE,
    &layout_falls_short::RULE,
    &layout_not_laid_out::RULE,
    &licensed_work_not_named::RULE,
    &limit_thermostat_missing::RULE,
    &limit_thermostat_set_too_high::RULE,
    &limit_thermostat_set_too_low::RULE,
    &loop_duty_not_shared::RULE,
    &loop_in_two_bays::RULE,
    &loop_longer_than_coil::RULE,
    &loop_over_maximum_length::RULE,
    &loop_pressure_drop_too_high::RULE,
    &loops_cross::RULE,
    &loops_unlike_in_length::RULE,
    &manifold_below_loops::RULE,
    &manifold_far_from_rooms::RULE,
    &manifold_flow_too_high::RULE,
    &manifold_flows_unbalanced::RULE,
    &manifold_not_reachable::RULE,
    &manifold_serves_two_storeys::RULE,
    &manifold_without_isolation::RULE,
    &material_not_known::RULE,
    &membrane_missing::RULE,
    &metres_and_millimetres_mixed::RULE,
    &mixed_emitters_one_temperature::RULE,
    &mixed_pipe_on_one_manifold::RULE,
    &mixing_valve_defeats_heat_pump::RULE,
    &moisture_points_missing::RULE,
    &no_joint_at_doorway::RULE,
    &no_joint_at_inside_corner::RULE,
    &no_joint_between_unlike_heat::RULE,
    &no_weather_compensation::RULE,
    &one_room_sets_flow_temperature::RULE,
    &one_sleeve_for_two_crossings::RULE,
    &opening_not_in_its_wall::RULE,
    &outline_not_simple::RULE,
    &passage_heated_by_tails::RULE,
    &photograph_after_covering::RULE,
    &photographs_missing::RULE,
    &pipe_class_too_low::RULE,
    &pipe_crosses_building_joint::RULE,
    &pipe_crosses_itself::RULE,
    &pipe_over_its_rating::RULE,
    &pipe_through_floor_hole::RULE,
    &pipe_too_near_flue::RULE,
    &pipe_too_near_pipe::RULE,
    &pipe_too_near_wall::RULE,
    &pipe_under_fixing::RULE,
    &pipe_under_keep_clear::RULE,
    &pipe_without_oxygen_barrier::RULE,
    &plate_coverage_too_small::RULE,
    &port_used_twice::RULE,
    &ports_too_few::RULE,
    &pressure_drop_over_pump::RULE,
    &pressure_fell_too_far::RULE,
    &pressure_not_held_while_covering::RULE,
    &pressure_test_after_covering::RULE,
    &pressure_test_missing::RULE,
    &pressure_test_too_low::RULE,
    &pressure_test_too_short::RULE,
    &primary_pipe_not_insulated::RULE,
    &primary_pipe_too_small::RULE,
    &pump_and_source_not_interlocked::RULE,
    &radon_or_damp_layer_pierced::RULE,
    &record_date_not_possible::RULE,
    &records_out_of_order::RULE,
    &repair_not_recorded::RULE,
    &required_field_missing::RULE,
    &residual_current_device_missing::RULE,
    &resilient_covering_too_warm::RULE,
    &revision_missing::RULE,
    &room_far_over_heat::RULE,
    &room_partly_unheated::RULE,
    &room_short_of_heat::RULE,
    &room_split_between_thermostats::RULE,
    &room_temperature_out_of_line::RULE,
    &room_without_thermostat::RULE,
    &rooms_overlap::RULE,
    &route_cannot_be_followed::RULE,
    &route_leaves_its_rooms::RULE,
    &route_not_closed_at_manifold::RULE,
    &rugs_not_allowed_for::RULE,
    &scald_guard_missing::RULE,
    &screed_additive_unsuited::RULE,
    &screed_laid_too_cold::RULE,
    &screed_load_on_timber_unchecked::RULE,
    &screed_too_damp_for_covering::RULE,
    &screed_too_thick::RULE,
    &screed_too_thin_over_pipe::RULE,
    &screed_too_thin_overall::RULE,
    &second_emitter_missing::RULE,
    &set_flows_not_proven::RULE,
    &setback_unsuited::RULE,
    &sleeve_filled_solid::RULE,
    &sleeve_missing_at_joint::RULE,
    &sleeve_missing_at_wall::RULE,
    &sleeve_on_nothing::RULE,
    &sleeve_too_short::RULE,
    &slow_floor_in_brief_use_room::RULE,
    &solid_fuel_source_uncontrolled::RULE,
    &sound_or_fire_layer_missing::RULE,
    &source_cooler_than_floor_needs::RULE,
    &source_flow_rate_not_met::RULE,
    &source_too_small::RULE,
    &spacing_drawn_not_as_stated::RULE,
    &spacing_off_module::RULE,
    &spacing_too_wide::RULE,
    &spare_port_missing::RULE,
    &stated_area_differs::RULE,
    &stated_heat_loss_differs::RULE,
    &stated_length_differs::RULE,
    &surface_ripple_too_great::RULE,
    &surface_too_warm_bathroom::RULE,
    &surface_too_warm_edge::RULE,
    &surface_too_warm_occupied::RULE,
    &syntax_error::RULE,
    &tails_too_dense_at_manifold::RULE,
    &temperature_drop_too_narrow::RULE,
    &temperature_drop_too_wide::RULE,
    &thermostat_badly_placed::RULE,
    &throttled_loop_will_sing::RULE,
    &tile_adhesive_not_flexible::RULE,
    &tile_on_timber_not_stiff::RULE,
    &timber_covering_too_warm::RULE,
    &timber_floor_without_floor_sensor::RULE,
    &tray_not_locked::RULE,
    &unit_missing_or_wrong::RULE,
    &unknown_field::RULE,
    &unknown_reference::RULE,
    &unlike_floors_on_one_manifold::RULE,
    &value_not_believable::RULE,
    &value_not_understood::RULE,
    &valve_settings_missing::RULE,
    &velocity_too_high::RULE,
    &velocity_too_low::RULE,
    &void_insulation_missing::RULE,
    &working_pressure_out_of_line::RULE,
    &zone_shared_by_unlike_rooms::RULE,
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
