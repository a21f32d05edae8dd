"""One valid call of each public function of the room, for the dimension test."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from firstoff.cutting import (
    better_speeds,
    breakthrough,
    built_up_edge,
    chatter,
    chisel,
    collet,
    edge,
    engagement,
    finish,
    force,
    force_law,
    heat,
    hole,
    lost_motion,
    orthogonal,
    power,
    process_damping,
    push_off,
    receptance,
    rubbing,
    scale_crust,
    singing,
    stability,
    still,
    strength,
    tap,
    thread,
    thread_limits,
    wall,
    wall_swing,
    wander,
    wear,
    window_force,
)

_LAW = force.Coefficients(
    np.array([7e8, 8e8, 6e8]), np.array([2e8, 1.5e8, 3e8]), np.array([2e8, 1e8, 1.5e8]),
    np.array([2e4, 1e4, 3e4]), np.array([2e4, 3e4, 1e4]), np.array([1e3, 2e3, 0.0]))
_CUT = force.Engagement(diameter=0.006, teeth=3, helix=0.5, depth_of_cut=0.002, entry=2.2, exit=float(np.pi))
_RING = np.exp(-40.0 * np.arange(1600) / 4000.0) * np.sin(0.9 * np.arange(1600))
_RUNOUT = np.array([0.0, 3e-6, 2e-5])
_BALL_NOSE = edge.Profile(diameter=0.006, corner_radius=0.0025, half_angle=0.1, tip_diameter=0.0)
_SLICES = edge.edge_in_cut(_BALL_NOSE, 3, 0.5, 0.002, 0.0, 1.4, 0.1)
_MANY = window_force.ManyCuts(np.array([5e-4, 1.5e-3]), np.array([1e-3, 1e-3]), np.zeros((2, 2)),
                              np.array([[0.9, 1.1], [1.4, 3.1]]), np.array([2e-5, 4e-5]))
_FACTORS = chatter.Factors(np.array([-0.6, -0.7]), np.array([-1.2, -1.0]), np.array([0.8, 0.9]),
                           np.array([-1.1, -0.5]))
_MODE_X = chatter.Mode(np.array([2e6, 1e6]), np.array([0.03, 0.02]), np.array([6000.0, 5000.0]))
_MODE_Y = chatter.Mode(np.array([1e6, 3e6]), np.array([0.02, 0.05]), np.array([5500.0, 7000.0]))
_STIFF = chatter.Mode(np.array([1e7, 2e7]), np.array([0.02, 0.03]), np.array([1e4, 9e3]))
_SYSTEM = {"tangential": np.array([7e8, 2e9]), "teeth": 3, "factors": _FACTORS, "along": [_MODE_X, _STIFF],
           "square": [_MODE_Y]}
_FLANKS = process_damping.FlankDamping(np.array([2e5, 1e5]), np.array([1e4, -2e4]), np.array([3e5, 1e5]))
_SWUNG = {"cut": stability.Regeneration(np.array([7e8, 9e8]), np.array([2e8, 4e8]), 3, 2.2, float(np.pi), 120.0,
                                        np.array([1e7, 2e7])),
          "along": [_MODE_X, _STIFF], "square": [_MODE_Y], "spindle_speed": np.array([900.0, 1200.0])}
_BEAM = receptance.BeamModes(np.array([7e4, 3e5]), np.array([12.0, -11.0]), np.array([0.06, 0.03]), 0.007)
_M5 = thread.COARSE["M5"]

EXAMPLES: dict[Callable[..., Any], dict[str, Any]] = {
    engagement.engagement_angles: {"width_of_cut": 0.002, "diameter": 0.006, "direction": "climb"},
    engagement.largest_chip: {"feed_per_tooth": 3e-5, "width_of_cut": 0.001, "diameter": 0.006},
    engagement.ball_diameter: {"depth_of_cut": 5e-4, "diameter": 0.006},
    engagement.corner_diameter: {"depth_of_cut": 2e-4, "diameter": 0.006, "corner_radius": 5e-4},
    engagement.chamfer_diameter: {
        "depth_of_cut": 1e-3, "tip_diameter": 1e-3, "half_angle": 0.785, "diameter": 0.01},
    engagement.cutting_speed: {"diameter": 0.006, "spindle_speed": 900.0},
    engagement.table_feed: {"feed_per_tooth": 3e-5, "teeth": 3, "spindle_speed": 900.0},
    edge.check_profile: {"profile": _BALL_NOSE},
    edge.profile_radius: {"profile": _BALL_NOSE, "height": np.array([1e-4, 2e-3, 1e-2])},
    edge.lead_angle: {"profile": _BALL_NOSE, "height": np.array([1e-4, 2e-3, 1e-2])},
    edge.slice_outline: {"profile": _BALL_NOSE, "low": np.array([0.0, 1e-3]), "high": np.array([1e-3, 3e-3])},
    edge.edge_in_cut: {
        "profile": _BALL_NOSE, "teeth": 3, "helix": 0.5, "depth_of_cut": 0.002, "entry": 0.0, "exit_angle": 1.4,
        "slope": 0.1},
    edge.edge_of_slices: {
        "profile": _BALL_NOSE, "teeth": 3, "helix": 0.5, "height": _MANY.height, "thickness": _MANY.thickness,
        "entry": np.array([0.0, 0.2]), "exit_angle": np.array([1.1, 1.3])},
    window_force.many_forces: {
        "coefficients": _LAW, "profile": _BALL_NOSE, "teeth": 3, "helix": 0.5, "cuts": _MANY},
    force.specific_force: {
        "kc11": np.array([1.8e9, 2e9]), "exponent": np.array([0.17, 0.26]), "chip": 1e-4, "reference_chip": 1e-3},
    force.milling_forces: {
        "coefficients": _LAW, "engagement": _CUT, "feed_per_tooth": 3e-5, "eccentricity": _RUNOUT},
    force.mean_axial_force: {
        "coefficients": _LAW, "engagement": _CUT, "feed_per_tooth": 3e-5, "eccentricity": _RUNOUT},
    force.normal_force: {
        "coefficients": _LAW, "engagement": _CUT, "feed_per_tooth": 3e-5, "positions": np.array([2.3, 3.1])},
    force.forces_at: {
        "coefficients": _LAW, "engagement": _SLICES, "feed_per_tooth": 3e-5, "positions": np.array([0.3, 1.1])},
    lost_motion.feed_pull: {"coefficients": _LAW, "engagement": _CUT, "feed_per_tooth": 3e-5},
    lost_motion.snatched_chip: {"chip": np.array([2e-5, 3e-5]), "lost_motion": 1e-4},
    collet.collet_grip: {
        "nut_torque": np.array([20.0, 40.0]), "nut_diameter": 0.025, "thread_friction": 0.15, "taper_angle": 0.14,
        "shank_friction": 0.12},
    collet.creep_share: {
        "pull": np.array([100.0, -50.0]), "torque": np.array([1.0, 2.0]), "shank_diameter": 0.006, "grip": 4000.0},
    force_law.share_of_edge: {"chip": np.array([1e-6, 4e-6, 2e-5]),
                              "thin": force_law.ThinChips(2e-5, 2.5e9, 1.7e4, 2e-6, 1e-5, 1e-4)},
    force_law.growth_of_power: {
        "exponent": np.array([0.17, 0.2]), "chip": np.array([6e-6, 5e-5]), "chip_low": 1e-5, "chip_high": 1e-4},
    force_law.line_of_power: {
        "kc11": np.array([1.8e9, 2e9]), "exponent": np.array([0.17, 0.26]), "chip_low": 2e-5,
        "chip_high": 1e-4, "reference_chip": 1e-3},
    force_law.power_of_line: {
        "cutting": np.array([2.5e9, 7e8]), "edge": np.array([1.7e4, 1e4]), "chip_low": 1e-5, "chip_high": 1e-4,
        "reference_chip": 1e-3},
    wall.beam_compliance: {
        "youngs_modulus": np.array([6e11, 2.1e11]), "stickout": 0.03, "flute_length": 0.015, "shank_diameter": 0.006,
        "flute_diameter": 0.0048, "load_height": 0.002, "height": 0.004},
    wall.slice_heights: {"depth_of_cut": 0.002},
    wall.made_at: {"engagement": _CUT, "wall": "climb"},
    wall.wall_lags: {"engagement": _CUT, "wall": "climb"},
    wall_swing.swung_off: {
        "coefficients": _LAW, "engagement": _CUT, "feed_per_tooth": 3e-5, "eccentricity": _RUNOUT,
        "modes": [chatter.Mode(np.array([1e6, 2e6, 3e6]), 0.03, 1500.0)], "spindle_speed": 700.0, "wall": "climb",
        "flank_damping": 3.0},
    wall_swing.response: {
        "modes": [chatter.Mode(np.array([1e6, 2e6, 3e6]), 0.03, 1500.0)], "omega": np.array([0.0, 700.0, 1400.0]),
        "flank_damping": 3.0},
    wall.wall_by_slices: {
        "coefficients": _LAW, "engagement": _CUT, "feed_per_tooth": 3e-5,
        "compliance": np.linspace(1e-6, 2e-6, 135).reshape(3, 5, 9), "wall": "climb"},
    wall.spring_passes: {
        "coefficients": _LAW, "engagement": _CUT, "feed_per_tooth": 3e-5,
        "stiffness": np.array([1e6, 2e6, 3e6]), "wall": "climb", "passes": 3},
    force.as_edge: {"engagement": _CUT},
    force.check_engagement: {"engagement": _CUT},
    power.removal_rate: {"depth_of_cut": 0.002, "width_of_cut": 0.004, "table_feed": 0.01},
    power.cutting_power: {"torque": np.array([0.1, 0.2]), "spindle_speed": 900.0},
    power.power_of_removal: {"specific_energy": np.array([1e9, 2e9]), "rate": 1e-7},
    power.spindle_torque: {"rated_power": 400.0, "base_speed": 800.0, "spindle_speed": np.array([500.0, 900.0])},
    push_off.equivalent_diameter: {"diameter": 0.006, "core_ratio": 0.8},
    push_off.tapered_diameter: {"height": np.array([0.0, 2e-3, 8e-3]), "diameter": np.array([2e-3, 2.5e-3, 4e-3])},
    push_off.tool_stiffness: {
        "youngs_modulus": np.array([6e11, 2.1e11]), "stickout": 0.03, "flute_length": 0.015,
        "shank_diameter": 0.006, "flute_diameter": 0.0048},
    push_off.series_stiffness: {"first": np.array([5e6, 2e6]), "second": 1e7, "third": 2e6},
    push_off.deflection: {"force": np.array([50.0, -20.0]), "stiffness": 2e6},
    push_off.wall_error: {
        "coefficients": _LAW, "engagement": _CUT, "feed_per_tooth": 3e-5,
        "stiffness": np.array([1e6, 2e6, 3e6]), "wall": "climb"},
    push_off.wall_by_runout: {"eccentricity": _RUNOUT},
    push_off.floor_error: {"axial_force": np.array([20.0, -5.0]), "axial_stiffness": 5e6},
    strength.bending_stress: {"force": np.array([50.0, 80.0]), "arm": 0.02, "diameter": 0.0048},
    strength.tool_stress: {
        "force": np.array([50.0, 80.0]), "stickout": 0.03, "flute_length": 0.015, "depth_of_cut": 0.002,
        "shank_diameter": 0.006, "flute_diameter": 0.0048},
    strength.stress_along: {
        "force": np.array([20.0, 40.0]), "load_height": 1e-3, "height": np.array([1e-3, 4e-3, 8e-3]),
        "diameter": np.array([2e-3, 3e-3, 4e-3])},
    strength.twisted_too: {"bending": np.array([1e9, 2e9]), "torque": 1.5, "diameter": 0.004},
    strength.breaking_torque: {"shear_strength": np.array([1e9, 2e9]), "core_diameter": 0.003},
    rubbing.minimum_chip: {"edge_radius": np.array([5e-6, 1e-5]), "ratio": 0.3},
    rubbing.offered_chips: {"chip": np.array([5e-6, 2e-5]), "teeth": 3, "eccentricity": 1e-5},
    rubbing.working_teeth: {"chip": np.array([5e-6, 2e-5]), "teeth": 3, "eccentricity": 1e-5, "minimum_chip": 2e-6},
    scale_crust.lowest_scale: {"dip": np.array([1e-4, 3e-4]), "crust": 5e-5},
    chatter.directional_factors: {"radial_ratio": np.array([0.3, 0.4]), "entry": 1.5, "exit_angle": 3.1},
    chatter.absolute_depth_limit: _SYSTEM,
    chatter.depth_limit: _SYSTEM | {
        "spindle_speed": np.array([900.0, 1200.0]), "flanks": _FLANKS, "rubbing_depth": 0.001},
    chatter.chatter_frequency: _SYSTEM | {
        "spindle_speed": np.array([900.0, 1200.0]), "flanks": _FLANKS, "rubbing_depth": 0.001},
    better_speeds.better_speeds: _SYSTEM | {
        "lowest": 300.0, "highest": 2500.0, "flanks": _FLANKS, "rubbing_depth": 0.001},
    process_damping.flank_coefficient: {"tangential": np.array([7e8, 2e9]), "damping_length": 1.5e-4},
    process_damping.mean_flank_damping: {
        "coefficient": np.array([1e5, 3e5]), "diameter": 0.006, "teeth": 3, "entry": 1.5, "exit_angle": 3.1},
    stability.largest_multiplier: _SWUNG | {"depth_of_cut": np.array([0.001, 0.002])},
    stability.sings: _SWUNG | {"depth_of_cut": np.array([0.0001, 0.02])},
    stability.can_follow: _SWUNG | {"depth_of_cut": np.array([0.001, 0.02]), "swings": 20.0},
    stability.stability_limit: _SWUNG | {"least": 1e-5, "most": 0.1},
    receptance.clamped_modes: {
        "sections": (receptance.Section(0.008, 0.006), receptance.Section(0.013, 0.0048)), "young": 6e11,
        "density": 14500.0},
    receptance.tip_modes: {
        "beam": _BEAM, "beam_stretch": np.array([0.95, 1.02]), "beam_damping": 0.02,
        "seat_stiffness": np.array([2e7, 1e7]), "seat_mass": 0.2, "machine": _MODE_X},
    receptance.compliance: {"modes": (_MODE_X, _STIFF), "frequency": np.array([3000.0, 9000.0])},
    finish.rounded_feed_mark: {"feed": 1e-4, "corner_radius": 5e-4},
    finish.sharp_feed_mark: {"feed": 1e-4, "side_angle": 0.1, "end_angle": 0.05},
    finish.wall_cusp: {"feed_per_tooth": 5e-5, "diameter": 0.006},
    finish.wall_cusp_with_runout: {
        "feed_per_tooth": 5e-5, "diameter": 0.006, "teeth": 3, "eccentricity": np.array([0.0, 1e-7, 1e-5])},
    finish.ball_scallop: {"step_over": 5e-4, "diameter": 0.006},
    finish.ridge_height: {"step_over": 5e-4, "diameter": 0.006, "corner_radius": 1e-3, "slope": 0.4},
    finish.step_over_for_ridge: {"height": 1e-5, "diameter": 0.006, "corner_radius": 1e-3, "slope": 0.4},
    finish.height_for_roughness: {"roughness": 1e-6},
    heat.rise_by_similarity: {
        "specific_energy": np.array([2e9, 3e9]), "heat_capacity": 3.5e6, "diffusivity": 1.4e-5,
        "cutting_speed": 1.5, "chip": 5e-5},
    heat.shear_strain: {"ratio": np.array([0.3, 0.5]), "rake": 0.1},
    heat.work_share: {"strain": 3.0, "diffusivity": np.array([1.4e-5, 7e-5]), "cutting_speed": 1.5, "chip": 5e-5},
    heat.patch_factor: {"aspect": np.array([0.5, 8.0])},
    heat.temperatures: {
        "work": heat.Solid(np.array([50.0, 170.0]), 3e6), "tool": heat.Solid(80.0, 4e6),
        "chip": heat.Chip(5e-5, 1e-3, 1.5, 0.4), "specific_energy": np.array([2.5e9, 8e8]), "friction_share": 0.25},
    heat.part_rise: {
        "power": np.array([20.0, 0.0]), "conductance": 2.0, "capacity": 200.0, "seconds": 60.0, "rise_before": 5.0},
    heat.cooling_time: {"rise": np.array([20.0, 1.0]), "wanted": 2.0, "conductance": 2.0, "capacity": 200.0},
    heat.growth: {"length": 0.034, "expansion": 2.3e-5, "rise": np.array([5.0, -2.0])},
    wear.tool_life: {
        "cutting_speed": np.array([1.0, 2.0]), "reference_speed": 1.5, "reference_life": 2700.0, "exponent": 0.25},
    wear.life_by_chip: {
        "life": np.array([900.0, 2700.0]), "feed_ratio": 1.3, "depth_ratio": 0.8, "exponent": 0.2,
        "feed_exponent": 0.6, "depth_exponent": 0.15},
    chisel.land_of_lips: {
        "land": np.array([1e-5, 2e-4]), "contact_pressure": 3e8, "friction": 0.5, "diameter": 0.01,
        "pilot_diameter": 0.002, "point_angle": 2.06},
    wear.set_back: {"land": np.array([1e-5, 2e-4]), "relief": 0.19},
    wear.taylor_line: {
        "cutting_speeds": np.array([1.5, 2.0, 3.0]), "lives": np.array([3000.0, 960.0, 180.0]), "life": 60.0},
    wear.life_used: {"time_in_cut": np.array([60.0, 600.0]), "life": 2700.0, "abrasion": 3.0},
    wear.flank_wear: {"used": np.array([0.1, 0.9]), "end_of_life": 3e-4},
    wear.wear_since_run_in: {"used": np.array([0.1, 0.9]), "end_of_life": 3e-4},
    wear.worn: {"sharp": _LAW, "flank_wear": 1e-4, "contact_pressure": 4e8, "friction": 0.3},
    built_up_edge.build_up_margin: {"interface_rise": np.array([300.0, 700.0]), "vanishing_rise": 540.0},
    built_up_edge.speed_without_build_up: {"cutting_speed": 1.0, "margin": np.array([0.7, 1.2])},
    built_up_edge.rough_with_build_up: {"clean": 1e-6, "fragments": np.array([2e-6, 3e-6])},
    finish.mean_roughness: {"height": 3e-6},
    orthogonal.shear_angle: {"chip_ratio": np.array([0.3, 0.5]), "rake": 0.1},
    singing.over_teeth: {"tone": np.array([4000.0, 9000.0]), "spindle_speed": 500.0, "teeth": 2},
    singing.off_the_teeth: {"tone": np.array([4000.0, 9000.0]), "spindle_speed": 600.0, "teeth": 2},
    hole.drill_chip: {"feed_per_turn": 1e-4, "point_angle": 2.06},
    hole.thrust_by_power_law: {
        "coefficient": np.array([1e4, 2e4]), "diameter": 0.01, "feed_per_turn": 1e-4, "reference_feed": 1e-5,
        "exponent": 0.85},
    chisel.chisel_torque_factor: {"chisel_ratio": np.array([0.03, 0.18])},
    chisel.chisel_thrust_factor: {"chisel_ratio": np.array([0.03, 0.18])},
    chisel.pilot_torque_factor: {"pilot_ratio": np.array([0.2, 0.6])},
    chisel.pilot_thrust_factor: {"pilot_ratio": np.array([0.2, 0.6])},
    chisel.chisel_press: {
        "specific_force": np.array([2e9, 3e9]), "diameter": 0.01, "feed_per_turn": 1e-4, "chisel_ratio": 0.18,
        "reference_area": 1e-6},
    chisel.drill_load: {
        "specific_force": np.array([2e9, 3e9]), "diameter": 0.01, "feed_per_turn": 1e-4,
        "pilot_diameter": np.array([0.0, 0.004]), "chisel_ratio": 0.18, "reference_area": 1e-6},
    wander.slope_side_force: {"press": np.array([50.0, 200.0]), "slope": 0.2},
    wander.uneven_lips_force: {
        "specific_force": np.array([2e9, 3e9]), "diameter": 0.004, "feed_per_turn": 4e-5, "slope": 0.1,
        "point_angle": 2.06},
    wander.sideways: {"side_force": np.array([5.0, 20.0]), "stiffness": np.array([2e4, 1e5])},
    wander.run_off: {"depth": 0.02, "share": np.array([0.0, 0.005])},
    wander.chance_beyond: {"allowed": 2e-4, "sd": np.array([1e-4, 2e-4]), "bias": np.array([0.0, 1e-4])},
    breakthrough.point_length: {"diameter": 0.01, "point_angle": 2.06},
    breakthrough.feed_of_breaking_through: {
        "feed_per_turn": 1e-4, "thrust": np.array([500.0, 900.0]), "stiffness": np.array([2e6, 4e6]), "play": 2e-4,
        "length": 1.2e-3},
    thread_limits.metric_limits: {"nominal": 0.008, "pitch": 0.001, "millimetre": 0.001, "tap_drill": 0.007},
    thread_limits.unified_limits: {"nominal": 0.00635, "pitch": 0.00127, "inch": 0.0254, "tap_drill": 0.0051},
    still.pull_loop: {"force": 100.0, "stiffness": np.array([2e6, 1e7]), "lost_motion": 4e-5, "slide_drag": 15.0},
    still.swing_difference: {"tilt": np.array([4e-4, -1e-4]), "swing": 0.15},
    still.turned_over_travel: {"squareness": np.array([5e-4, -1e-4]), "length": 0.045},
    still.square_size: {"nominal": 0.05, "axis_scale": np.array([3e-4, -1e-4]), "oversize": 2e-5},
    still.ring_of: {"signal": _RING, "rate": 4000.0},
    hole.drill_power: {"torque": np.array([1.0, 2.0]), "spindle_speed": 90.0},
    tap.turned_and_bent: {"torque": np.array([1.0, 2.0]), "bending": 0.5},
    tap.tap_torque: {
        "specific_force": np.array([3.6e9, 2e9]), "tap_factor": 1.35, "diameter": 0.005, "hole_diameter": 0.0042},
    thread.metric_profile: {"nominal": 0.005, "pitch": 0.0008},
    thread.thread_height_share: {"nominal": 0.005, "pitch": 0.0008, "hole_diameter": np.array([0.0042, 0.0043])},
    thread.thread_shear_areas: {
        "pitch": _M5.pitch, "engagement_length": np.array([3e-3, 6e-3]), "least_major": _M5.least_major,
        "least_pitch": _M5.least_pitch, "most_pitch": _M5.most_pitch, "most_minor": _M5.most_minor},
    thread.stripping_load: {
        "areas": thread.ShearAreas(np.array([2e-5, 4e-5]), np.array([3e-5, 6e-5])),
        "screw_shear_strength": 4.8e8, "nut_shear_strength": np.array([2.4e8, 1.8e8])},
    thread.breaking_load: {"tensile_strength": np.array([8e8, 1e9]), "stress_area": 1.42e-5},
    thread.length_to_break: {"load": 11000.0, "stripping": np.array([8e3, 6e3]), "engagement_length": 3e-3},
    thread.countersink_diameter: {"sharp_diameter": 0.00896, "sink": np.array([3e-4, -1e-4]), "half_angle": 0.785},
}

EMPIRICAL: dict[Callable[..., Any], str] = {
    heat.chip_colour: "a table of colours by temperature in kelvin",
    heat.colour_chance: "the same table",
}
