"""A revised model: what only has other numbers is the same, a moved hole has moved, a filled pocket is lost."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.part import build, match
from firstoff.part.shapes import Part, Vector
from firstoff.part.vectors import along
from tests.part import models


def permuted(part: Part, seed: int) -> tuple[Part, list[int]]:
    """The part with its faces in another order; and the new number of each."""
    order = list(range(len(part.faces)))
    random.Random(seed).shuffle(order)
    to = [order.index(n) for n in range(len(order))]
    faces = tuple(replace(part.faces[n], number=k, neighbours=tuple(sorted(to[m] for m in part.faces[n].neighbours)))
                  for k, n in enumerate(order))
    return replace(part, faces=faces), to


def shifted(part: Part, by: Vector) -> Part:
    """The part with its origin elsewhere."""

    def there(place: Vector) -> Vector:
        return along(place, by, 1.0)

    return replace(part, faces=tuple(
        replace(face, centroid=there(face.centroid), low=there(face.low), high=there(face.high),
                axis_point=None if face.axis_point is None else there(face.axis_point)) for face in part.faces))


@cache
def plate(folder: Path, **kwargs: Any) -> Part:
    """A plate with two bores, a blind one and a pocket, at places that can be changed."""
    how = {"bore": (20.0, 20.0), "blind": (60.0, 15.0), "pocket": (30.0, 32.0), "deep": 4.0, "wide": 6.0,
           "length": 80.0, **kwargs}
    solid = models.without(
        models.box(how["length"], 50, 10), models.bar((*how["bore"], -1), (0, 0, 1), how["wide"], 12),
        models.bar((10, 40, -1), (0, 0, 1), 6, 12), models.bar((*how["blind"], 4), (0, 0, 1), 8, 12),
        *([models.box(20, 10, 10, (*how["pocket"], 10 - how["deep"]))] if how["pocket"] else []))
    return build.digest(models.write(solid, folder / "plate.step"))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the plates are written."""
    return tmp_path_factory.mktemp("plates")


def hole_at(part: Part, x: float, y: float) -> int:
    """The number of the round face whose axis passes there."""
    (number,) = [face.number for face in part.faces if face.kind == "cylinder"
                 and face.axis_point is not None and math.dist(face.axis_point[:2], (x, y)) < 1e-6]
    return number


@settings(max_examples=20)
@given(st.sampled_from(models.NAMES), st.integers(0, 10**6),
       st.tuples(*(st.floats(-500, 500, allow_subnormal=False) for _ in range(3))))
def test_other_numbers_and_another_origin_change_nothing(name: str, seed: int, by: Vector) -> None:
    part = models.example(name)
    new, to = permuted(shifted(part, by), seed)
    found = match.match(part, new)
    assert found.unchanged
    assert found.shift == pytest.approx(by, abs=1e-2 if max(map(abs, by)) < 1e-2 else 1e-6)
    assert match.renumbered(found) == dict(enumerate(to))
    assert [line for line in match.told(part, found) if "origin" not in line] == []


def test_a_moved_bore_has_moved_and_the_rest_is_the_same(folder: Path) -> None:
    old, new = plate(folder), plate(folder, bore=(23.0, 24.0))
    found = match.match(old, new)
    bore = hole_at(old, 20, 20)
    assert (found.of(bore).state, found.of(bore).new) == ("moved", hole_at(new, 23, 24))
    assert found.of(bore).by == pytest.approx((3, 4, 0))
    assert found.of(bore).distance == pytest.approx(5)
    assert {state.state for state in found.faces if state.old != bore} == {"same"}
    assert not found.added
    assert found.shift == pytest.approx((0, 0, 0))
    states = {feature.id: match.feature_state(found, feature) for feature in old.features}
    assert [name for name, state in states.items() if state[0] != "same"] == [
        feature.id for feature in old.features if bore in feature.faces]


@pytest.mark.parametrize("to", [(62.0, 16.0), (30.0, 15.0)])
def test_a_blind_hole_moves_with_its_bottom(to: tuple[float, float], folder: Path) -> None:
    """By less and by more than its own width."""
    old, new = plate(folder), plate(folder, blind=to)
    found = match.match(old, new)
    moved = [state for state in found.faces if state.state == "moved"]
    assert len(moved) == 2
    assert {old.faces[state.old].kind for state in moved} == {"plane", "cylinder"}
    assert all(state.by == pytest.approx((to[0] - 60, to[1] - 15, 0)) for state in moved)
    assert {state.state for state in found.faces} == {"same", "moved"}


def test_a_filled_pocket_is_lost_and_nothing_else(folder: Path) -> None:
    old, new = plate(folder), plate(folder, pocket=None)
    found = match.match(old, new)
    (pocket,) = models.of_kind(old, "pocket")
    assert sorted(state.old for state in found.faces if state.state == "lost") == sorted(pocket.faces)
    assert not found.added
    assert match.feature_state(found, pocket)[0] == "lost"
    top = next(f.number for f in old.faces if f.normal[2] > 0.9 and abs(f.centroid[2] - 10) < 1e-6)
    assert found.of(top).state == "same"
    assert found.of(top).changed, "the flat has another outline"
    assert match.told(old, found, [top, pocket.faces[0]]) == [f"face {pocket.faces[0]} of plate is lost"]


def test_and_the_other_way_round_its_faces_are_new(folder: Path) -> None:
    old, new = plate(folder, pocket=None), plate(folder)
    found = match.match(old, new)
    assert {state.state for state in found.faces} == {"same"}
    (pocket,) = models.of_kind(new, "pocket")
    assert found.added == tuple(sorted(pocket.faces))


def test_a_deeper_pocket_keeps_its_walls(folder: Path) -> None:
    old, new = plate(folder), plate(folder, deep=6.0)
    found = match.match(old, new)
    moved = [state for state in found.faces if state.state == "moved"]
    assert [old.faces[state.old].normal for state in moved] == [(0, 0, 1)]
    assert moved[0].by == pytest.approx((0, 0, -2))
    assert sum(state.changed for state in found.faces) == 4, "its four walls are taller"


def test_a_wider_bore_is_known_again(folder: Path) -> None:
    old, new = plate(folder), plate(folder, wide=6.5)
    bore = hole_at(old, 20, 20)
    state = match.match(old, new).of(bore)
    assert (state.state, state.new, state.changed, state.distance) == ("moved", hole_at(new, 20, 20), True, 0.0)
    assert match.told(old, match.match(old, new)) == [
        f"face {bore} of plate has changed, and is of another size; it is face {state.new} now"]


def test_a_longer_plate_has_one_moved_end(folder: Path) -> None:
    old, new = plate(folder), plate(folder, length=90.0)
    moved = [state for state in match.match(old, new).faces if state.state != "same"]
    assert [old.faces[state.old].normal for state in moved] == [(1, 0, 0)]
    assert moved[0].by == pytest.approx((10, 0, 0))


def test_another_part_altogether_is_lost_for_the_most_part() -> None:
    found = match.match(models.example("body"), models.example("cap"))
    lost = sum(state.state == "lost" for state in found.faces)
    assert lost > 0.5 * len(found.faces)


def test_numbers_that_were_not_there() -> None:
    with pytest.raises(KeyError):
        match.match(models.example("cap"), models.example("cap")).of(10**6)
