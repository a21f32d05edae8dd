from __future__ import annotations

import math
from typing import Any

import pytest

from firstoff.errors import InputError
from firstoff.route.asked_joint import LeverAsked, ScrewAsked, WedgeAsked, joint_asked
from firstoff.shop.library import load_shop

SHOP = load_shop(None)


def asked(what: str, **said: str) -> Any:
    return joint_asked(what, {"into": "al_6082", **said}, SHOP)


@pytest.mark.parametrize(("text", "thread", "length"), [
    ("M4 x 12", "M4", 12.0), ("M4x12", "M4", 12.0), ("m4 × 12 mm", "M4", 12.0), ("M8x1 x 20", "M8x1", 20.0),
    ("M8x1", "M8x1", None), ("M5", "M5", None), ("1/4-20 x 3/4 in", "1/4-20", 19.05),
    ("#10-32 x 12 mm", "#10-32", 12.0),
])
def test_a_screw_as_people_write_it(text: str, thread: str, length: float | None) -> None:
    found = asked(text)
    assert isinstance(found, ScrewAsked)
    assert found.thread.name == thread and found.length == (pytest.approx(length) if length else None)
    assert found.through == found.into and found.grade == "8.8"


def test_a_wedge_and_a_lever() -> None:
    wedge = joint_asked("wedge", {"angle": "7deg", "screw": "M6", "by": "key", "gap": "0.5 mm"}, SHOP)
    assert isinstance(wedge, WedgeAsked) and wedge.angle == pytest.approx(math.radians(7.0)) and wedge.gap == 0.5
    lever = joint_asked("lever", {"arms": "14 mm, 26 mm", "screw": "M5", "by": "fingers"}, SHOP)
    assert isinstance(lever, LeverAsked) and lever.arms == (14.0, 26.0)


def test_a_scale_in_kilograms_is_a_force() -> None:
    assert asked("M4", held="20 kg").tight.held == pytest.approx(196.133)


@pytest.mark.parametrize(("what", "said", "match"), [
    ("M99 x 3", {}, "no thread"), ("M4 x 0", {}, "can't be"), ("M4", {"into": "cheese"}, "no material"),
    ("M4", {"grade": "9"}, "not known here"), ("M4", {"head": "round"}, "not known here"),
    ("M4", {"torque": "-1 N m"}, "can't be"), ("M4", {"torque": "2"}, "no unit"),
    ("M4", {"torque": "2 N m", "by": "key"}, "one or the other"), ("M4", {"by": "wrench"}, "set to a torque"),
    ("M4", {"by": "teeth"}, "not known here"), ("M4", {"angle": "7 deg"}, "says nothing of a screw"),
    ("M4", {"length": "0 mm"}, "can't be"), ("M4", {"load": "1e400 N"}, "too large a number"),
    ("wedge", {"into": "al_6082"}, "says nothing of a wedge"),
])
def test_refusals(what: str, said: dict[str, str], match: str) -> None:
    with pytest.raises(InputError, match=match):
        asked(what, **said)


@pytest.mark.parametrize(("what", "said", "match"), [
    ("M4 x 12", {}, "into which material"), ("wedge", {"screw": "M6"}, "how steep"),
    ("wedge", {"angle": "50 deg", "screw": "M6"}, "50 degrees"), ("wedge", {"angle": "7 deg"}, "which screw"),
    ("lever", {"screw": "M5"}, "two arms"), ("lever", {"screw": "M5", "arms": "3 mm"}, "two arms"),
    ("lever", {"screw": "M5", "arms": "3 mm, 4 mm", "width": "5 mm", "bore": "5 mm"}, "a hole of 5 mm"),
])
def test_refusals_of_what_misses(what: str, said: dict[str, str], match: str) -> None:
    with pytest.raises(InputError, match=match):
        joint_asked(what, said, SHOP)


def test_no_screws_are_no_joint() -> None:
    with pytest.raises(InputError, match="0 screws"):
        joint_asked("M4", {"into": "al_6082"}, SHOP, number=0)
