"""What a reading says by row: likeliest where it is right, and never less likely than a slip."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from firstoff.records.mill_answers import Answers, checked
from firstoff.records.mill_models import cut_case, tap_case, terms
from firstoff.records.mill_tests import the_test

from .person import MILL, Person, Truth, book, shop

CUT = {"tool": "end_mill_6_2f", "material": "al_6082", "depth": "2 mm", "width": "3 mm", "speed": "12000 rpm",
       "feed": "900 mm/min", "idle": "120 W", "cutting": "230 W"}
TAP = {"tool": "end_mill_6_2f", "axis": "x", "frequency": "300 Hz", "damping": "0.03"}


def best(name: str, texts: dict[str, str], entity: str, parameter: str) -> float:
    """The value of a figure in the rows that the readings like best."""
    found = terms(checked(name, texts, shop(), MILL))
    by = book(2048)
    rows = np.sum([term.rows(by) for term in found], axis=0)
    return float(np.average(by.value(entity, parameter), weights=np.exp(rows - rows.max())))


@pytest.mark.parametrize(("name", "parameter", "true", "within"), [
    ("pull", "stiffness_x", 2e6, 0.15), ("pull", "lost_motion", 0.04, 0.25), ("circle", "tram", 4e-4, 0.25),
    ("touch_off", "touch_off", 0.02, 0.4), ("thrust", "axis_thrust", 450.0, 0.15),
    ("square", "squareness", -5e-4, 0.4), ("returns", "positioning", 0.01, 0.5),
])
def test_each_reading_likes_the_true_machine(name: str, parameter: str, true: float, within: float) -> None:
    texts = getattr(Person(Truth(), seed=4), name)()
    assert best(name, texts, f"machine:{MILL}", parameter) == pytest.approx(true, rel=within)


def test_a_pin_tells_the_runout_of_its_collet() -> None:
    texts = Person(Truth(runout=0.014), seed=4).runout()
    assert best("runout", texts, "collet:collet_6", "runout") == pytest.approx(0.014, rel=0.35)


@pytest.mark.parametrize(("name", "texts"), [*Person(Truth()).all(), ("watts", CUT), ("tap", TAP)])
def test_no_reading_can_say_less_than_a_slip(name: str, texts: Any) -> None:
    for term in terms(checked(name, texts, shop(), MILL)):
        rows = term.rows(book())
        assert np.all(np.isfinite(rows))
        assert np.all(rows >= term.weight * math.log(term.floor) - 1e-9)


def test_more_watts_mean_more_force_over_what_the_drive_loses() -> None:
    figures = {}
    for cutting in ("180 W", "300 W"):
        found = terms(checked("watts", CUT | {"cutting": cutting}, shop(), MILL))[0].rows(book())
        force = book().value("material:al_6082", "tangential")
        share = book().value(f"machine:{MILL}", "efficiency")
        figures[cutting] = float(np.average(np.log(force / share), weights=np.exp(found - found.max())))
    assert figures["300 W"] > figures["180 W"] + 0.2


def test_the_cases_are_those_of_the_test() -> None:
    cut = cut_case(checked("watts", CUT, shop(), MILL))
    assert cut.op.cut.depth_of_cut == pytest.approx(2.0) and cut.op.cut.width_of_cut == pytest.approx(3.0)
    assert cut.op.cut.feed_per_tooth == pytest.approx(900.0 / 12000.0 / 2.0)
    tapped = tap_case(checked("tap", TAP | {"stickout": "25 mm"}, shop(), MILL))
    assert tapped.op.stickout == pytest.approx(25.0)


def test_a_ring_is_liked_where_a_mode_is() -> None:
    from firstoff.checks._tip import tip

    case = tap_case(checked("tap", TAP, shop(), MILL))
    modes = tip(case, book(), (1.0, 0.0, 0.0)).along
    row = 7
    heard = {"frequency": f"{float(np.asarray(modes[1].natural)[row]) / (2.0 * math.pi):.1f} Hz",
             "damping": f"{float(np.asarray(modes[1].damping)[row]):.4f}"}
    rows = terms(checked("tap", TAP | heard, shop(), MILL))[0].rows(book())
    assert rows[row] > np.median(rows) + 1.0


def test_a_log_hears_the_machine_and_not_the_cutter_in_its_collet() -> None:
    """The machine's tone is seldom the loudest: as a log's it is taken for what it is, as a phone's for a slip."""
    texts = TAP | {"frequency": "150 Hz", "damping": "0.03"}
    typed, logged, rung = (terms(Answers(the_test("tap"), texts | {"file": file}, shop(), MILL))[0].rows(book())
                           for file in ("", "log.csv", "ring.wav"))
    slow = np.abs(np.log(book().value(f"machine:{MILL}", "mode_frequency") / (2.0 * math.pi * 150.0))) < 0.1
    assert np.median(logged[slow]) > np.median(typed[slow]) + 0.5
    assert np.ptp(rung) < 0.5 and np.ptp(logged) > 3.0
