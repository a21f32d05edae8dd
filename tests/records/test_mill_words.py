"""Sentences on what a test changed, and on what its readings tell by themselves."""

from __future__ import annotations

import numpy as np

from firstoff.records.mill_answers import checked
from firstoff.records.mill_words import figure_lines, seen_lines

from .person import MILL, Person, Truth, book, shop

STIFF, TRAM = (f"machine:{MILL}", "stiffness_x"), (f"machine:{MILL}", "tram")


def test_a_figure_is_told_with_what_it_was_and_how_well_it_is_known() -> None:
    by = book()
    after = by.with_moved({("class:light_gantry", "stiffness_x"): np.full(by.rows, 0.0) + 0.1 * by.z(STIFF),
                           STIFF: 0.1 * by.z(STIFF), TRAM: 1.0 + 0.2 * by.z(TRAM)})
    said = figure_lines([STIFF, TRAM, STIFF], by, after, shop())
    assert len(said) == 2, "each once, the class not at all"
    assert "stiffness left to right: 2 N/um, by the book 1.99 N/um (a factor of 2." in said[0]
    assert "now known to 9 %" in said[0]
    assert "error of tram: 0.4 mm/m, by the book 0 mm/m (± 0.4 mm/m); now known to ± 0.08 mm/m" in said[1]


def test_a_figure_that_may_be_nothing_has_no_more_digits_than_its_spread() -> None:
    by = book()
    (said,) = figure_lines([TRAM], by, by.with_moved({TRAM: 0.0031 + 0.2 * by.z(TRAM)}), shop())
    assert "error of tram: 0.001 mm/m, " in said


def test_what_hardly_changed_is_not_told() -> None:
    by = book()
    said = figure_lines([STIFF], by, by.with_moved({STIFF: 0.98 * by.z(STIFF)}), shop())
    assert said[0].startswith("that changed no")


def test_lost_steps_are_told() -> None:
    lost = {"start": "0 mm", "readings": "0.01 mm; 0.06 mm; 0.12 mm"}
    assert "0.12 mm off: steps are lost" in seen_lines(checked("returns", lost, shop(), MILL))[0]
    kept = {"start": "0 mm", "readings": "0 mm; 0 mm; 0 mm"}
    said = seen_lines(checked("returns", kept, shop(), MILL))
    assert "no step was lost" in said[0] and "all readings are the same" in said[1]


def test_a_square_and_a_circle_speak_for_themselves() -> None:
    square = {"x": "50.06 mm", "y": "49.96 mm", "turned": "0 mm"}
    said = seen_lines(checked("square", square, shop(), MILL))
    assert "0.01 mm too large" in said[0] and "differ by 0.1 mm" in said[1]
    circle = {"swing": "150 mm", "left": "0 mm", "right": "0.06 mm", "front": "0 mm", "back": "-0.02 mm"}
    assert "rises 0.06 mm left to right" in seen_lines(checked("circle", circle, shop(), MILL))[0]
    assert "falls 0.02 mm front to back" in seen_lines(checked("circle", circle, shop(), MILL))[1]
    assert seen_lines(checked("pull", Person(Truth()).pull(), shop(), MILL)) == []
