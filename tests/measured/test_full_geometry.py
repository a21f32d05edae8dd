"""The linear model against parts that are placed and cut with rotations in full: a million of them."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.stack.chance import joint_chance_out
from firstoff.stack.torsor import displacement, located
from tests.published import agrees
from tests.stack.examples import _NORMALS, _POINTS

DRAWS, CHUNK = 1_000_000, 100_000
HEIGHT = 0.024
CORNERS = np.array([[0.0, 0.0, HEIGHT], [0.11, 0.0, HEIGHT], [0.0, 0.034, HEIGHT], [0.11, 0.034, HEIGHT]])
#: standard deviation of each locator, far worse than a vise's so that the angles count [m]
SD = np.array([30e-6, 30e-6, 30e-6, 40e-6, 40e-6, 50e-6])
UP = np.array([0.0, 0.0, 1.0])


def rotations(turn: np.ndarray) -> np.ndarray:
    """Rotation matrices of rotation vectors (N, 3), in full."""
    angle = np.linalg.norm(turn, axis=1)[:, None, None]
    x, y, z = turn.T
    zero = np.zeros_like(x)
    cross = np.array([[zero, -z, y], [z, zero, -x], [-y, x, zero]]).transpose(2, 0, 1)
    near = np.where(angle > 0.0, angle, 1.0)
    return np.asarray(np.eye(3) + np.sin(near) / near * cross + (1.0 - np.cos(near)) / near**2 * (cross @ cross))


def placed(errors: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rotation and shift of parts whose three planes touch six locators that stand off: Newton, to rounding."""
    inverse = located(_POINTS, _NORMALS, np.eye(6))
    at = _POINTS + errors[:, :, None] * _NORMALS
    turn, shift = (errors @ np.asarray(form).T for form in inverse)
    for _ in range(4):
        matrix = rotations(turn)
        own = np.einsum("nji,nkj->nki", matrix, at - shift[:, None, :])       # the locators as the part sees them
        missed = np.einsum("nki,ki->nk", own, _NORMALS)
        turn = turn + missed @ np.asarray(inverse.rotation).T
        shift = shift + missed @ np.asarray(inverse.translation).T
    return rotations(turn), shift


def thickness(errors: np.ndarray) -> np.ndarray:
    """Deviation of the thickness at the corners when the top is milled level (N, 4)."""
    matrix, shift = placed(errors)
    level = HEIGHT - shift[:, 2, None] - matrix[:, 2, 0, None] * CORNERS[:, 0] - matrix[:, 2, 1, None] * CORNERS[:, 1]
    return np.asarray(level / matrix[:, 2, 2, None] - HEIGHT)


def test_closed_form_against_a_million_parts() -> None:
    rng = np.random.default_rng(20)
    limit = 60e-6
    total, squares, out = np.zeros(4), np.zeros(4), 0
    for _ in range(DRAWS // CHUNK):
        off = thickness(rng.standard_normal((CHUNK, 6)) * SD)
        total, squares = total + off.sum(axis=0), squares + (off**2).sum(axis=0)
        out += int((np.abs(off) > limit).any(axis=1).sum())
    torsor = located(_POINTS, _NORMALS, np.diag(SD))
    lines = np.array([-UP @ displacement(*torsor, corner) for corner in CORNERS])
    sd = np.sqrt((lines**2).sum(axis=1))
    drawn = np.sqrt(squares / DRAWS - (total / DRAWS) ** 2)
    for k, name in enumerate(("near left", "near right", "far left", "far right")):
        agrees("stack", f"thickness at the {name} corner, sd over a million parts turned in full", "own",
               drawn[k] * 1e6, sd[k] * 1e6, "um", within=0.005)
    assert np.abs(total / DRAWS).max() < 0.1e-6
    chance = float(joint_chance_out(np.zeros((1, 4)), lines @ lines.T, np.full(4, -limit), np.full(4, limit))[0])
    agrees("stack", "chance that any corner is out by more than 60 um, a million parts turned in full", "own",
           out / DRAWS, chance, "1", within=0.03)
    assert chance > 0.05


@pytest.mark.parametrize("scale", [1.0, 30.0])
def test_what_the_linear_model_leaves_out_is_of_second_order(scale: float) -> None:
    errors = np.random.default_rng(4).standard_normal((200, 6)) * SD * scale
    torsor = located(_POINTS, _NORMALS, errors.T)
    linear = np.array([-UP @ displacement(*torsor, corner) for corner in CORNERS]).T
    angle = float(np.linalg.norm(torsor.rotation, axis=0).max())
    assert np.abs(thickness(errors) - linear).max() < 2.0 * angle**2 * 0.12 + angle * np.abs(errors).max()
