"""Threads by name: what is meant, what is refused, and the orders of size of every one of them."""

from __future__ import annotations

import pytest

from firstoff.checks._threads import fraction_of, looks_like_thread, names, thread_named
from firstoff.cutting.thread import thread_height_share
from firstoff.errors import NameUnknown


@pytest.mark.parametrize(("text", "name"), [
    ("M5", "M5"), ("m5", "M5"), ("M5x0.8", "M5"), ("M5 × 0,8", "M5"), ("M8x1", "M8x1"), ("M2.5", "M2.5"),
    ("M16x2", "M16"), ("1/4-20", "1/4-20"), ("1/4 - 20 UNC", "1/4-20"), ("#10-32", "#10-32"), ("10-32 UNF", "#10-32"),
])
def test_ways_to_write_a_thread(text: str, name: str) -> None:
    assert looks_like_thread(text)
    assert thread_named(text).name == name


@pytest.mark.parametrize(("text", "right"), [
    ("M7", "M"), ("M5x12", "M5"), ("1/4-21", "1/4-20"), ("#11-32", "#10-32")])
def test_what_is_near_is_named(text: str, right: str) -> None:
    with pytest.raises(NameUnknown) as caught:
        thread_named(text)
    assert right in str(caught.value)


@pytest.mark.parametrize("text", ["10", "10 mm", "1/4 in", "4 H7", "csk M4", ""])
def test_what_is_no_thread(text: str) -> None:
    assert not looks_like_thread(text)


@pytest.mark.parametrize("name", names())
def test_every_thread_is_of_a_piece(name: str) -> None:
    thread = thread_named(name)
    assert thread.name == name
    assert 0.55 <= thread_height_share(thread.nominal, thread.pitch, thread.tap_drill) <= 1.0
    sizes = thread.sizes
    assert sizes.tap_drill < sizes.most_minor * 1.03 < sizes.most_pitch < sizes.nominal
    assert sizes.least_pitch < sizes.most_pitch and sizes.least_major < sizes.nominal
    if thread.clearance:
        assert thread.nominal < thread.clearance[0] < thread.clearance[1] < 1.21 * thread.nominal


@pytest.mark.parametrize(("name", "drill"), [("M5", 4.2), ("M8x1", 7.0), ("M10x1.25", 8.75), ("M12", 10.2)])
def test_tap_drills_of_the_standard(name: str, drill: float) -> None:
    # iso2306
    assert thread_named(name).tap_drill == pytest.approx(drill)


def test_tap_drill_of_a_quarter_inch() -> None:
    thread = thread_named("1/4-20")
    assert thread.tap_drill / 25.4 == pytest.approx(0.2010, rel=1e-3)
    assert thread.drill_name == "No. 7"


def test_fractions_on_drills() -> None:
    assert [fraction_of(size) for size in (0.25, 0.3125, 0.4219, 0.201, 1.0)] == ["1/4", "5/16", "27/64", "", ""]
