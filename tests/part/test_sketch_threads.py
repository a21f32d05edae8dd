"""Threads by their names: pitch and tap drill."""

from __future__ import annotations

import pytest

from firstoff.cutting import thread
from firstoff.part import sketch_threads
from firstoff.part.sketch import Size, Sketch, SketchError
from firstoff.part.sketch_words import Words


def read(text: str) -> tuple[str, float, Size]:
    """What is read of one word."""
    return sketch_threads.read(Words(text, 1, Sketch()))


@pytest.mark.parametrize("name", thread.COARSE)
def test_tap_drills_are_those_of_the_threads(name: str) -> None:
    """The table of this room beside that of the threads: pitch and drill, in mm and in m."""
    pitch, drill = sketch_threads.COARSE[name]
    assert (pitch * 1e-3, drill * 1e-3) == pytest.approx((thread.COARSE[name].pitch, thread.COARSE[name].tap_drill))


@pytest.mark.parametrize(("text", "said"), [
    ("M16", ("M16", 2.0, 14.0)), ("M20", ("M20", 2.5, 17.5)), ("M10x1", ("M10x1", 1.0, 9.0)),
    ("m5", ("M5", 0.8, 4.2)),
])
def test_a_thread_is_its_pitch_and_drill(text: str, said: tuple[str, float, float]) -> None:
    """Coarse pitches of M16 and M20 are 2 and 2.5 (iso724); a fine thread's drill is diameter less pitch."""
    name, pitch, drill = read(text)
    assert (name, pitch, drill.value) == said


@pytest.mark.parametrize(("text", "says"), [("M7", "not in the table"), ("M4x3", "none for M4")])
def test_what_is_no_thread_is_told(text: str, says: str) -> None:
    with pytest.raises(SketchError, match=says):
        read(text)
