"""What `joint` says: words that can be keyed in, JSON without holes."""

from __future__ import annotations

import json

import pytest

from firstoff import actions
from firstoff.telling_joint import joint_json, joint_lines

SCREW = {"into": "al_6082", "through": "s275", "length": "9 mm"}
WEDGE = {"angle": "7 deg", "screw": "M6", "by": "key"}
LEVER = {"arms": "14 mm, 26 mm", "screw": "M5", "by": "fingers"}


def said(what: str, options: dict[str, str], along: bool = False) -> str:
    return " ".join(" ".join(joint_lines(actions.joint(what, options, along=along))).split())


def test_what_a_person_keys_in_comes_first() -> None:
    text = said("M4 x 12", SCREW)
    assert "Tighten to 2.5 N m" in text and "before the parts slip (19 in 20" in text and "Gives way first" in text
    assert "3 mm thick is what it clamps" in text and "safe" not in text.lower()
    for word in ("luggage scale", "Shaking", "Glasses", "lifting"):
        assert word in text


def test_too_tight_is_said_so() -> None:
    assert "more than the" in said("M4 x 12", {**SCREW, "torque": "4 N m"})
    assert "less than the" in said("M4 x 12", {**SCREW, "torque": "1 N m"})
    assert "of nine in ten people between" in said("M4 x 12", {**SCREW, "by": "key"})


def test_what_bottoms_clamps_nothing() -> None:
    text = said("M4 x 16", {**SCREW, "thick": "5 mm"})
    assert "clamps nothing" in text and "Instead" in text and "M4 x 12" in text


def test_a_load_and_a_test_are_told() -> None:
    text = said("M4 x 12", {**SCREW, "load": "200 N", "held": "30 kg"})
    assert "It slips under 200 N" in text and "by your load test" in text
    assert "It opens under 200 N" in said("M4 x 12", {**SCREW, "load": "200 N"}, along=True)


def test_wedge_and_lever() -> None:
    text = said("wedge", {**WEDGE, "load": "500 N", "way": "2 mm", "gap": "1 mm"})
    assert "feels tight and clamps nothing" in text and "slides out by itself" in text
    text = said("lever", {**LEVER, "into": "brass", "width": "25 mm", "thick": "3.5 mm", "load": "150 N"})
    assert "stays bent" in text and "Instead: a bar" in text


@pytest.mark.parametrize(("what", "options"), [
    ("M4 x 12", SCREW), ("M4 x 16", {**SCREW, "thick": "5 mm", "load": "100 N"}), ("wedge", WEDGE), ("lever", LEVER),
    ("1/4-20 x 3/4 in", {"into": "unknown_bar", "head": "hex", "by": "key"}),
])
def test_json_holds_what_outside_programs_rely_on(what: str, options: dict[str, str]) -> None:
    found = json.loads(json.dumps(joint_json(actions.joint(what, options)), allow_nan=False))
    wanted = {"preload_n", "torque_nm", "gives_first", "chances", "instead", "cautions"}
    if found["joint"] == "screw":
        wanted |= {"slips_at_n", "opens_at_n", "strips_at_n", "breaks_at_n"}
    assert wanted <= found.keys()
    assert found["preload_n"]["low"] <= found["preload_n"]["median"] <= found["preload_n"]["high"]
    assert all(0.0 <= p <= 1.0 for p in found["chances"].values())
    assert found["chances"].keys() <= {"stretches", "strips", "crushes", "bottoms", "head_bottoms", "slips", "opens",
                                       "presses_less", "slides_out", "bends"}
