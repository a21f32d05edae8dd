"""Chances as people say them."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.checks.base import Finding, Remedy, Spread
from firstoff.dryrun.result import Checked, check_json, odds, spread_json


@pytest.mark.parametrize(
    ("chance", "said"),
    [(None, "not known"), (0.0, "rarer than 1 in 1000"), (0.0009, "rarer than 1 in 1000"), (0.002, "about 1 in 500"),
     (0.01, "about 1 in 100"), (1 / 30, "about 1 in 30"), (0.05, "about 1 in 20"), (0.33, "about 1 in 3"),
     (0.5, "about 5 in 10"), (0.9, "about 9 in 10"), (1.0, "nearly certain")],
)
def test_words(chance: float | None, said: str) -> None:
    assert odds(chance) == said


@given(st.floats(0, 1))
def test_never_six_decimals(chance: float) -> None:
    assert "." not in odds(chance)


@given(st.floats(0.001, 0.35))
def test_one_in_n_is_within_a_fifth(chance: float) -> None:
    n = int(odds(chance).removeprefix("about 1 in "))
    assert n == pytest.approx(1 / chance, rel=0.2)


def checked(p: float | None) -> Checked:
    rows = None if p is None else np.full(4, p)
    spread = None if p is None else Spread(1.0, 2.0, 3.0)
    finding = Finding("power", "operation", "op", "tool", rows, spread, spread, "N m", "too deep", "read the watts")
    remedy = Remedy("0.6 mm deep, not 1 mm", (("operations.op.cut.depth_of_cut", "0.6 mm"),), 0.02, 1.5, 0.5, "next")
    return Checked(finding, "spindle slows", "block", "block-1", "op", 10, "no good", (remedy,))


def test_a_check_as_the_interface_promises_it() -> None:
    """Keys and meaning that outside programs rely on."""
    spread = {"low": 1.0, "median": 2.0, "high": 3.0}
    assert check_json(checked(0.25)) == {
        "part": "block", "setting": "block-1", "operation": "op", "kind": "power", "at_risk": "tool",
        "demand": spread, "capacity": spread, "unit": "N m", "p_fail": 0.25, "verdict": "no good",
        "because": "too deep", "settle_by": "read the watts",
        "instead": [{"text": "0.6 mm deep, not 1 mm", "edits": {"operations.op.cut.depth_of_cut": "0.6 mm"},
                     "p_after": 0.02, "minutes": 1.5}],
    }


def test_what_cannot_be_computed_is_null_and_all_of_it_is_json() -> None:
    told = json.loads(json.dumps(check_json(checked(None))))
    assert (told["p_fail"], told["demand"], told["capacity"]) == (None, None, None)
    assert spread_json(None) is None
