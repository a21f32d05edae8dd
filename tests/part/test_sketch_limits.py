"""Limits stand on the right faces; threads and fits come back worded as a job words them."""

from __future__ import annotations

import pytest

from firstoff.job.reading import thread_wanted
from firstoff.part import sketch_limits
from firstoff.part.shapes import ModelLimit, Part
from tests.part import models, sketches


def of(part: Part, kind: str) -> list[ModelLimit]:
    """The part's limits of a kind."""
    return [limit for limit in part.limits if limit.kind == kind]


def apart(part: Part, limit: ModelLimit) -> float:
    """How far the two ends of a limit are apart along the first end's normal, by the middles of the faces [mm]."""
    one = part.faces[limit.between[0][0]]
    others = [part.faces[n] for n in limit.between[1]]
    places = [face.axis_point if face.kind == "cylinder" and face.axis_point else face.centroid for face in others]
    gaps = [sum((a - b) * n for a, b, n in zip(one.centroid, p, one.normal, strict=True)) for p in places]
    return abs(sum(gaps) / len(gaps))


def test_the_limits_of_the_sole() -> None:
    part = sketches.made(sketches.told(sketches.SOLE))
    thickness, mouth = of(part, "distance")
    assert (thickness.value, thickness.lower, thickness.upper) == pytest.approx((5, 4.97, 5.03))
    assert (mouth.value, mouth.lower, mouth.upper) == pytest.approx((26.4, 26.3, 26.5))
    assert [abs(part.faces[n].normal[1]) for n in mouth.faces] == pytest.approx([1, 1])
    for limit in (thickness, mouth):
        assert apart(part, limit) == pytest.approx(limit.value)
    fits = of(part, "diameter")
    assert [(limit.text, limit.upper) for limit in fits] == [("H7", None)] * 2
    assert [part.faces[limit.faces[0]].radius for limit in fits] == pytest.approx([2.0, 2.0])


def test_every_distance_is_what_it_says() -> None:
    part = sketches.made(sketches.told(sketches.MANY))
    pairs = [limit for limit in part.limits if limit.between]
    assert len(pairs) == 7
    for limit in pairs:
        assert all(limit.between), "both ends have faces"
        assert apart(part, limit) == pytest.approx(limit.value), limit
        assert set(limit.faces) == {n for end in limit.between for n in end}
    (flat,) = of(part, "flatness")
    assert flat.value == 0.02
    assert [part.faces[n].normal[2] for n in flat.faces] == pytest.approx([-1] * len(flat.faces))
    assert flat.faces


def test_limits_of_sizes() -> None:
    part = sketches.made(sketches.told("""
block 60 x 40 x 20
step 10 +0.1/-0 wide deep 5 ±0.02 along right
chamfer 1 ±0.1 on top front edge
fillet 3 ±0.2 on left front edge
pocket 12 x 9 deep 4 ±0.05 corner 2 ±0.5 at 25 ±0.1, 20 from left
hole 4 deep 9 ±0.1 at 10 ±0.1, 0 from centre on bottom
"""))
    assert [(limit.kind, limit.value, limit.text) for limit in part.limits] == [
        ("depth", 5, ""), ("distance", 10, ""), ("width", 1, "chamfer"), ("radius", 3, ""), ("depth", 4, ""),
        ("distance", 25, ""), ("radius", 2, ""), ("depth", 9, ""),
        ("position", pytest.approx(0.2), "from the datum of the sketch")]
    assert all(limit.faces for limit in part.limits)
    assert len(part.limits[6].faces) == 4, "all four corners"


def test_wishes_are_worded_as_a_job_words_them() -> None:
    part = sketches.made(sketches.told(sketches.MANY + "hole 5 H7 through at 100, 30\nhole M3 through at 110, 30\n"))
    wishes = sketch_limits.wishes(part)
    assert sorted(wishes.threads.values()) == ["M3", "M4 x 9 deep", "M4 x 9 deep", "M5x0.5"]
    assert {thread_wanted(text).depth for text in wishes.threads.values()} == {9.0, None}
    assert list(wishes.ream.values()) == ["H7"]
    for hole, text in {**wishes.threads, **wishes.ream}.items():
        drill = {"M3": 2.5, "M4 x 9 deep": 3.3, "M5x0.5": 4.5, "H7": 5.0}[text]
        assert part.feature(hole).size["diameter"] == pytest.approx(drill)


def test_a_model_without_limits_wishes_nothing() -> None:
    assert sketch_limits.wishes(models.example("body")) == ({}, {})
