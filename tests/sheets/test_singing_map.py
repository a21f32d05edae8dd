"""The map of what sings: the check itself at each speed, inside its sheet, the cut where it stands."""

from __future__ import annotations

import re
from math import pi
from xml.etree import ElementTree

import numpy as np
import pytest

from firstoff.checks.chatter import CHECK
from firstoff.sheets.singing_map import FOOT, LEFT, RIGHT, TOP, _round_numbers, can_sing, singing_map, sung
from firstoff.shop.models import Spindle
from tests.checks.builders import belief, case, fig, operation, shop

CUT = {"depth_of_cut": "1 mm", "width_of_cut": "6 mm", "direction": "slot"}


def test_it_is_what_the_check_finds_at_that_speed() -> None:
    this, few = case(op=operation(cut=CUT)), belief().thinned(np.arange(64))
    lines = sung(this, few)
    at = float(this.op.cut.spindle_speed or 0.0)
    assert lines.speeds[0] < at < lines.speeds[-1]
    fast = case(op=operation(cut=CUT | {"spindle_speed": f"{lines.speeds[-1] * 30 / pi} rpm"}))
    there = CHECK.evaluate(fast, few).capacity
    assert there is not None
    assert (lines.low[-1], lines.middle[-1], lines.high[-1]) == pytest.approx(tuple(there), rel=1e-6)


def test_a_softer_machine_sings_shallower() -> None:
    this = case(op=operation(cut=CUT))
    soft = belief(machine_mill__stiffness_x=1e6, machine_mill__stiffness_y=1e6, machine_mill__mode_damping=0.015)
    stiff = belief(machine_mill__stiffness_x=1e8, machine_mill__stiffness_y=1e8, machine_mill__mode_damping=0.015)
    assert max(sung(this, soft).middle) < min(sung(this, stiff).middle)
    lines = sung(this, belief())
    assert all(a <= b <= c for a, b, c in zip(lines.low, lines.middle, lines.high, strict=True))


def test_the_cut_stands_at_its_speed_and_depth() -> None:
    this = case(op=operation(cut=CUT))
    lines = sung(this, belief())
    svg = singing_map(this, lines)
    ElementTree.fromstring(svg)
    x, y = map(float, re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)"', svg)[-1])
    speed = this.op.cut.spindle_speed or 0.0
    share = (speed - lines.speeds[0]) / (lines.speeds[-1] - lines.speeds[0])
    assert x == pytest.approx(LEFT + (RIGHT - LEFT) * share, abs=0.01)
    assert TOP < y < FOOT
    numbers = [float(n) for n in re.findall(r"-?\d+\.\d+", " ".join(re.findall(r' d="([^"]+)"', svg)))]
    assert min(numbers) >= 0.0 and max(numbers) <= 190.0


def test_a_belt_has_a_bar_for_each_step() -> None:
    steps = ["2000 rpm", "5000 rpm", "9000 rpm"]
    plain = shop()
    spindle = {"slowest": steps[0], "fastest": steps[-1], "steps": steps, "power": fig("500 W")}
    belt = plain.machines["mill"].model_copy(update={"spindle": Spindle.model_validate(spindle)})
    belted = plain.model_copy(update={"machines": {**plain.machines, "mill": belt}})
    this = case(op=operation(cut=CUT), in_shop=belted)
    lines = sung(this, belief())
    assert lines.steps and len(lines.speeds) == 3
    assert singing_map(this, lines).count('fill="#b9b9b9"') == 3


def test_what_is_not_milled_cannot_sing() -> None:
    assert can_sing(case(op=operation(cut=CUT)))
    assert not can_sing(case(subject="setting", name="s"))


@pytest.mark.parametrize(("low", "high", "wanted"), [
    (0.0, 1.63, [0.0, 0.5, 1.0, 1.5]), (3000.0, 18000.0, [5000.0, 10000.0, 15000.0]), (2.0, 2.0, [2.0]),
])
def test_axes_have_round_numbers(low: float, high: float, wanted: list[float]) -> None:
    assert _round_numbers(low, high) == wanted
