"""The linear model against parts and assemblies that are placed and cut with rotations in full: a million of each."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.stack.chain import covariance
from firstoff.stack.chance import joint_chance_out
from firstoff.stack.torsor import Torsor, displacement, located, through_points
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


# --- the mouth of a plane: a body with its bed at 22 degrees, dowelled to a sole whose lip closes the mouth -------

LEAN = np.radians(22.0)
OUT = np.array([np.sin(LEAN), 0.0, np.cos(LEAN)])                  # square to the bed, up and to the front
SOLE = 0.005
TOP = np.array([[0.005, 0.003, SOLE], [0.105, 0.003, SOLE], [0.055, 0.031, SOLE]])     # of the sole, under the body
DOWELS = np.array([[0.012, 0.017], [0.098, 0.017]])
MOUTH = np.array([[0.080, 0.017 - 0.0127, 0.0], [0.080, 0.017 + 0.0127, 0.0]])         # where the iron comes out
#: three points of the bed: along it, and on both sides
BED = MOUTH[[0, 1, 0]] + np.array([[0.0, 0.0, 0.0]] * 2 + [[0.0, 0.0127, 0.0]]) + np.outer(
    [0.02, 0.02, 0.06], [-np.cos(LEAN), 0.0, np.sin(LEAN)])
#: sd of the sole's top and the bed at each point, of each dowel hole in each part along x and y, of the lip [m]
ERRORS = np.array([15e-6] * 3 + [12e-6] * 3 + [10e-6] * 8 + [20e-6] * 2)


def mouth_lines() -> np.ndarray:
    """What each error does to the opening at either side (2, 16), to first order."""
    off = np.eye(16)
    sits, bed = through_points(TOP, UP, off[:3]), through_points(BED, OUT, off[3:6])
    body, sole = off[6:10], off[10:14]                              # x and y of the first dowel, then of the second
    along = sole - body
    yaw = (along[3] - along[1]) / (DOWELS[1, 0] - DOWELS[0, 0])
    turn, shift = np.zeros((3, 16)), np.zeros((3, 16))
    turn[2] = yaw
    shift[0], shift[1] = along[0] + yaw * DOWELS[0, 1], along[1] - yaw * DOWELS[0, 0]
    moved = [sum(displacement(*torsor, at) for torsor in (sits, bed, Torsor(turn, shift))) for at in MOUTH]
    return np.array([off[14 + k] - OUT @ each / OUT[0] for k, each in enumerate(moved)])


def planes(points: np.ndarray) -> np.ndarray:
    """Unit normals of the planes through three points each (N, 3, 3)."""
    out = np.cross(points[:, 1] - points[:, 0], points[:, 2] - points[:, 0])
    return np.asarray(out / np.linalg.norm(out, axis=1)[:, None])


def frame(way: np.ndarray, normal: np.ndarray) -> np.ndarray:
    """Axes along the line through two dowels, across it and square to the plane that both stand in (N, 3, 3)."""
    along = way / np.linalg.norm(way, axis=1)[:, None]
    return np.stack([along, np.cross(normal, along), normal], axis=2)


def mouths(errors: np.ndarray) -> np.ndarray:
    """Change of the opening at either side, every plane and turn in full (N, 2)."""
    top = TOP + errors[:, :3, None] * UP
    up = planes(top)
    height = np.einsum("ni,ni->n", up, top[:, 0])
    holes = np.zeros((len(errors), 2, 3))
    holes[:, :, :2] = DOWELS + errors[:, 10:14].reshape(-1, 2, 2)
    holes[:, :, 2] = (height[:, None] - np.einsum("nki,ni->nk", holes[:, :, :2], up[:, :2])) / up[:, 2, None]
    own = np.zeros((len(errors), 2, 3))
    own[:, :, :2] = DOWELS + errors[:, 6:10].reshape(-1, 2, 2)
    turned = (frame(holes[:, 1] - holes[:, 0], up)
              @ frame(own[:, 1] - own[:, 0], np.tile(UP, (len(up), 1))).transpose(0, 2, 1))
    shift = holes[:, 0] - np.einsum("nij,nj->ni", turned, own[:, 0])
    bed = BED - np.array([0.0, 0.0, SOLE]) + errors[:, 3:6, None] * OUT        # as the body has it, its bottom at 0
    placed_bed = np.einsum("nij,nkj->nki", turned, bed) + shift[:, None, :]
    normal = planes(placed_bed)
    level = np.einsum("ni,ni->n", normal, placed_bed[:, 0])
    iron = (level[:, None] - normal[:, 1, None] * MOUTH[:, 1]) / normal[:, 0, None]
    return np.asarray(errors[:, 14:] - (iron - MOUTH[:, 0]))


def test_a_mouth_across_two_parts_against_a_million_assemblies() -> None:
    rng, limit = np.random.default_rng(22), 150e-6
    total, squares, out = np.zeros(2), np.zeros(2), 0
    for _ in range(DRAWS // CHUNK):
        off = mouths(rng.standard_normal((CHUNK, 16)) * ERRORS)
        total, squares = total + off.sum(axis=0), squares + (off**2).sum(axis=0)
        out += int((np.abs(off) > limit).any(axis=1).sum())
    cov = covariance(mouth_lines(), ERRORS)
    drawn = np.sqrt(squares / DRAWS - (total / DRAWS) ** 2)
    for k, name in enumerate(("right", "left")):
        agrees("stack", f"mouth across body and sole, {name}, sd over a million assemblies turned in full", "own",
               drawn[k] * 1e6, np.sqrt(cov[k, k]) * 1e6, "um", within=0.005)
    chance = float(joint_chance_out(np.zeros((1, 2)), cov, np.full(2, -limit), np.full(2, limit))[0])
    agrees("stack", "chance that the mouth is out by more than 150 um on either side, a million assemblies", "own",
           out / DRAWS, chance, "1", within=0.03)
    assert 0.01 < chance < 0.5 and np.abs(total / DRAWS).max() < 0.2e-6


def test_the_gains_of_the_mouth_are_those_of_its_angle() -> None:
    """All of the sole thicker by one: 1 / tan 22 less; the bed higher by one: 1 / sin 22 less; the lip: as much."""
    lines = mouth_lines()
    assert lines[:, :3].sum(axis=1) == pytest.approx(-1.0 / np.tan(LEAN))
    assert lines[:, 3:6].sum(axis=1) == pytest.approx(-1.0 / np.sin(LEAN))
    assert lines[:, 14:] == pytest.approx(np.eye(2))
