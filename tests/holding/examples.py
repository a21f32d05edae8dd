"""One valid call of each public function of the room, for the dimension test."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from firstoff.holding import bending, clamped, contact, glue, grip, joint, limit_load, load_test, screw, wedge

_THREAD = {
    "pitch": 0.8e-3, "pitch_diameter": 4.4804e-3, "head_diameter": 7e-3,
    "thread_friction": np.array([0.1, 0.16]), "head_friction": 0.14,
}
_WEDGE = {"angle": 0.14, "face_friction": np.array([0.2, 0.35]), "base_friction": 0.3, "guide_friction": 0.25}
_GIVE = {"screw_compliance": 7e-9, "parts_compliance": np.array([0.8e-9, 1.5e-9])}
_STRAP = {"force": np.array([600.0, 900.0]), "arm": 12e-3, "other_arm": 20e-3, "width": 20e-3, "thickness": 5e-3}
_SCREW = {"screw_length": np.array([12e-3, 16e-3]), "clamped_thickness": 5e-3, "head_depth": 0.3e-3}

_FEET = contact.Contacts(
    np.array([[20e-3, 10e-3, 0.0], [20e-3, -10e-3, 0.0], [-20e-3, 0.0, 0.0], [0.0, 1e-3, 20e-3]]),
    np.array([[0.0, 0.0, 1.0], [0.0, 0.0, 1.0], [0.0, 0.0, 1.0], [0.0, 0.0, -1.0]]),
    np.array([1e7, 1e7, 1.2e7, 1e7]), np.array([8e6, 8e6, 9e6, 8e6]), np.array([-1, -1, -1, 0]))
_ASIDE = contact.Push(np.array([30.0, 10.0, 5.0]), np.array([0.0, 0.0, 20e-3]), np.array([0.0, 0.1, 0.2]))
_ASIDES = contact.Push(_ASIDE.force[None, None], _ASIDE.point, _ASIDE.moment)
_PRESSED = {"contacts": _FEET, "friction": np.array([[0.2], [0.15]]), "clamp_force": np.array([[500.0], [800.0]])}

EXAMPLES: dict[Callable[..., Any], dict[str, Any]] = {
    contact.tangents: {"normal": _FEET.normal},
    contact.free_way: {"contacts": _FEET._replace(side_stiffness=np.zeros(4))},
    contact.settle: {**_PRESSED, "push": _ASIDES},
    contact.limit_factor: {**_PRESSED, "push": _ASIDES},
    grip.crushing_pressure: {"yield_strength": np.array([2.5e8, 2.75e8])},
    grip.crushed_height: {"force": np.array([4000.0, 8000.0]), "width": 0.06, "yield_strength": 2.75e8},
    bending.overhang_deflection: {"force": np.array([2000.0, 4000.0]), "overhang": 12e-3, "back_span": 40e-3,
                                  "width": 30e-3, "thickness": 6e-3, "youngs_modulus": 7e10},
    bending.between_rests_at: {"arm": np.array([10e-3, 20e-3]), "other_arm": 30e-3},
    glue.strength_after: {"strength": np.array([2e5, 1e7]), "loaded": 600.0, "pulled": 60.0, "exponent": 0.2},
    limit_load.limit_load: {
        "contacts": _FEET, "friction": np.full(4, 0.2), "clamp_force": np.array([500.0]), "push": _ASIDE},
    screw.tightening_torque: {"preload": np.array([500.0, 2000.0]), **_THREAD},
    screw.preload_of_torque: {"torque": np.array([1.0, 3.0]), **_THREAD},
    screw.head_diameter_mean: {"outer": 8.5e-3, "inner": 5.5e-3},
    screw.preload_limit: {
        "yield_strength": 6.4e8, "pitch": 1e-3, "pitch_diameter": 5.3505e-3, "minor_diameter": 4.7731e-3,
        "thread_friction": np.array([0.1, 0.14]), "utilisation": 0.9,
    },
    screw.torque_by_factor: {"factor": np.array([0.15, 0.2]), "diameter": 5e-3, "preload": 800.0},
    screw.preload_by_factor: {"factor": np.array([0.15, 0.2]), "diameter": 5e-3, "torque": 1.0},
    screw.proof_load: {"stress_area": 14.2e-6, "proof_stress": 5.8e8},
    screw.handle_torque: {"force": np.array([100.0, 200.0]), "handle_length": 0.12},
    screw.finger_torque: {"pinch_force": np.array([40.0, 60.0]), "knob_diameter": 18e-3, "friction": 0.6},
    screw.jaw_force: {"torque": np.array([10.0, 25.0]), "lead": 4e-3, "efficiency": 0.25},
    screw.screw_efficiency: {
        "lead": 4e-3, "pitch_diameter": 16e-3, "thread_friction": np.array([0.1, 0.15]),
        "collar_diameter": 20e-3, "collar_friction": 0.12, "flank_angle": 0.2618,
    },
    wedge.wedge_gain: _WEDGE,
    wedge.wedge_rise: {"way": np.array([2e-3, 5e-3]), "angle": 0.14},
    clamped.screw_compliance: {
        "clamp_length": np.array([5e-3, 8e-3]), "nominal": 4e-3, "minor_diameter": 3.14e-3, "screw_modulus": 205e9,
        "part_modulus": 70e9,
    },
    clamped.cone_compliance: {
        "length": np.array([5e-3, 8e-3]), "face_diameter": 6.5e-3, "hole_diameter": 4.5e-3, "modulus": 210e9,
        "half_angle": 0.52,
    },
    clamped.load_share: {**_GIVE, "introduction": 0.5},
    clamped.bedded_preload: {"preload": np.array([800.0, 3000.0]), "bedding": 8e-6, "full_preload": 4000.0, **_GIVE},
    clamped.opening_load: {"preload": np.array([800.0, 3000.0]), "share": 0.2},
    clamped.head_face: {"outer": 6.5e-3, "inner": 4.5e-3},
    clamped.crushing_load: {"area": 17e-6, "tensile_strength": np.array([3e8, 5e8]), "hardness": 1.4},
    load_test.pull_of: {"mass": np.array([5.0, 20.0]), "gravity": 9.8},
    load_test.held_loglik: {"slips_at": np.array([150.0, 300.0]), "force": 200.0, "scatter": 0.1},
    load_test.slipped_loglik: {"slips_at": np.array([150.0, 300.0]), "force": 200.0, "scatter": 0.1},
    wedge.wedge_force_to_free: {"force_out": 400.0, **_WEDGE},
    wedge.wedge_slip_out_use: {"angle": 0.14, "face_friction": np.array([0.2, 0.35]), "base_friction": 0.3},
    wedge.force_up_slope: {"load": 800.0, "slope": 0.4, "friction": np.array([0.2, 0.35])},
    wedge.force_to_hold_on_slope: {"load": 800.0, "slope": 0.4, "friction": np.array([0.2, 0.35])},
    glue.shear_capacity: {"area": np.array([4e-4, 9e-4]), "strength": 10e6, "covered": 0.7},
    glue.strength_when_warm: {"strength": np.array([10e6, 2e5]), "rise": np.array([5.0, 30.0]), "half_rise": 60.0},
    glue.edge_pull: {"force_up": np.array([20.0, -20.0]), "moment": 2.0, "length": 40e-3, "width": 30e-3},
    glue.peel_use: {
        "force_up": np.array([20.0, -20.0]), "thickness": np.array([1e-3, 3e-3]), "young": 70e9, "peel_energy": 300.0,
    },
    glue.patch_use: {
        "side_force": np.array([80.0, -150.0]), "force_up": 30.0, "load_height": 12e-3, "length": 40e-3,
        "width": 30e-3, "shear_strength": 4e6, "pull_strength": 3e6, "peeled": 0.02,
        "pry": 0.3, "other_pry": -0.2, "twist": 0.4,
    },
    bending.support_share: {"arm": 12e-3, "other_arm": 20e-3},
    bending.moment_between_supports: {"force": np.array([600.0, 900.0]), "arm": 12e-3, "other_arm": 20e-3},
    bending.bending_stress: {"moment": np.array([4.0, 7.0]), "width": 20e-3, "thickness": 5e-3},
    bending.deflection_between_supports: {**_STRAP, "youngs_modulus": 1e11},
    bending.wall_stiffness: {
        "length": np.array([0.06, 0.08]), "height": 0.02, "thickness": 4e-3, "youngs_modulus": 7e10, "ends": 2,
        "floor_height": 0.02},
    bending.bow_in_jaws: {
        "clamp_force": np.array([2000.0, 8000.0]), "solid_area": 5e-4, "wall_area": 1.5e-3, "contact_stiffness": 1e12,
        "wall_stiffness": 2e7},
    bending.edge_load_coefficient: {"poisson": np.array([0.25, 0.33])},
    bending.plate_between_rests: {
        "force": np.array([60.0, -90.0]), "span": 0.03, "length": 0.05, "thickness": 2e-3, "youngs_modulus": 7e10,
        "poisson": 0.33,
    },
    bending.wall_deflection: {
        "force": np.array([60.0, -90.0]), "height": 15e-3, "length": 40e-3, "thickness": 2e-3,
        "youngs_modulus": 7e10, "poisson": 0.33,
    },
    joint.projection: _SCREW,
    joint.bottoming: {**_SCREW, "usable_depth": 9e-3},
    joint.slip_capacity: {"preload": np.array([1500.0, 2500.0]), "screws": 4.0, "faces": 1.0, "friction": 0.15},
    joint.slip_use: {"force": np.array([100.0, -200.0]), "capacity": 900.0},
}
