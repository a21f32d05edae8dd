"""One valid call of each public function of the room, for the dimension test."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from firstoff.stack import causes, chain, chance, conformity, fits, spring, torsor, update

_SD = np.array([8e-6, 20e-6, 5e-6])
_CHAIN = np.array([[1.0, -1.0, 0.0], [0.5, 1.0, 2.0]])
_COV = np.array([[4e-10, 2e-10], [2e-10, 9e-10]])
_OFFSETS = np.array([[1e-5, -2e-5], [0.0, 1e-5], [3e-5, 0.0]])
_POINTS = np.array([[0.0, 0.0, 0.0], [0.1, 0.0, 0.0], [0.05, 0.03, 0.0],
                    [0.01, 0.0, 0.01], [0.09, 0.0, 0.01], [0.0, 0.015, 0.01]])
_NORMALS = np.array([[0.0, 0.0, -1.0]] * 3 + [[0.0, -1.0, 0.0]] * 2 + [[-1.0, 0.0, 0.0]])

EXAMPLES: dict[Callable[..., Any], dict[str, Any]] = {
    chain.covariance: {"sensitivities": _CHAIN, "sd": _SD},
    chain.share_of_each_source: {"sensitivities": _CHAIN, "sd": _SD},
    chain.worst_case: {"sensitivities": _CHAIN, "half_tolerance": _SD},
    chain.sd_of_equally_likely: {"half_width": 1e-5},
    chain.gaussian_of: {
        "names": ("slot", "step"), "mean": np.array([1e-5, 0.0]), "sensitivities": _CHAIN,
        "sources": tuple(chain.ErrorSource(name, sd, "setting") for name, sd in zip("abc", _SD, strict=True)),
    },
    causes.explain: {
        "readings": np.array([2e-5, -1e-5]), "lines": _CHAIN, "expected": np.zeros(3),
        "covariance": np.diag(_SD**2), "reading_sd": np.array([3e-6, 4e-6]), "causes": np.array([0, 0, 1]),
        "sizes": _CHAIN,
    },
    causes.forecast: {
        "missed": np.array([[2e-5, -1e-5], [0.0, 1e-5]]), "lines": _CHAIN, "sd": np.array([_SD, 2.0 * _SD]),
        "reading_sd": np.array([3e-6, 4e-6]), "sizes": _CHAIN, "offset": np.zeros((2, 2)),
    },
    causes.left_over: {
        "readings": np.array([2e-4, -1e-4]), "lines": _CHAIN, "explained": np.zeros(3),
        "covariance": np.diag(_SD**2), "reading_sd": np.array([3e-6, 4e-6]),
    },
    causes.told_apart: {"first": _SD, "second": 2.0 * _SD, "spread": _SD, "reading_sd": 3e-6},
    chance.chance_out: {"mean": _OFFSETS[:, 0], "sd": 2e-5, "lower": -5e-5, "upper": 4e-5},
    chance.joint_chance_out: {
        "offsets": _OFFSETS, "covariance": _COV,
        "lower": np.array([-5e-5, -6e-5]), "upper": np.array([4e-5, 7e-5]),
    },
    torsor.displacement: {
        "rotation": np.array([[1e-4], [2e-4], [-1e-4]]), "translation": np.array([[1e-5], [0.0], [2e-5]]),
        "point": np.array([0.1, 0.02, 0.03]),
    },
    torsor.located: {"points": _POINTS, "normals": _NORMALS, "advances": np.eye(6) * 1e-5},
    torsor.through_points: {"points": _POINTS[:3], "normal": _NORMALS[0], "advances": np.eye(3) * 1e-5},
    update.update: {
        "offsets": _OFFSETS, "covariance": _COV, "design": np.array([[1.0, -1.0]]),
        "readings": np.array([2e-5]), "reading_sd": np.array([1e-5]),
    },
    update.covariance_after: {
        "covariance": _COV, "design": np.array([[1.0, -1.0]]), "reading_sd": np.array([1e-5])
    },
    update.row_weights: {"log_likelihood": np.array([-1.0, -2.0, 0.5])},
    conformity.expanded_uncertainty: {"standard_uncertainty": 4e-6, "coverage": 2.0},
    conformity.acceptance_zone: {"lower": 9.95e-3, "upper": 10.05e-3, "uncertainty": 8e-6},
    conformity.decide: {
        "reading": np.array([9.9e-3, 10e-3, 10.045e-3]), "uncertainty": 8e-6,
        "lower": 9.95e-3, "upper": 10.05e-3,
    },
    conformity.share_of_tolerance: {"uncertainty": 8e-6, "lower": 9.95e-3, "upper": 10.05e-3},
    conformity.too_coarse: {
        "uncertainty": 8e-6, "lower": 9.95e-3, "upper": 10.05e-3, "allowed_share": 0.2
    },
    fits.clearance: {
        "hole_lower": 30e-3, "hole_upper": 30.02e-3, "shaft_lower": 29.982e-3, "shaft_upper": 29.995e-3
    },
    spring.bow_after_skin: {
        "skin_stress": np.array([1e8, -5e7]), "skin_depth": 1e-3, "thickness": 8e-3, "length": 0.11,
        "youngs_modulus": 2.1e11,
    },
    spring.bow_after_both_skins: {
        "first_stress": np.array([1e8, -5e7]), "second_stress": 2e7, "skin_depth": 1e-3, "thickness": 8e-3,
        "length": 0.11, "youngs_modulus": 2.1e11,
    },
}

EMPIRICAL: dict[Callable[..., Any], str] = {
    fits.limits_of: "the standard's table of absolute sizes",
    fits.fit_of: "the standard's table of absolute sizes",
}
