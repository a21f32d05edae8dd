"""Tapping: the catalogue's cases, what was measured of taps of different kind, and limits."""

from __future__ import annotations

import json

import numpy as np
import pytest

from firstoff.cutting.tap import TAP_FACTOR, tap_torque, turned_and_bent
from firstoff.errors import OutOfRange
from tests.cutting.shared import FOLDER, table
from tests.published import agrees

STEEL = TAP_FACTOR["steel"]


def test_tapping_of_the_catalogue() -> None:
    for case in table("tapping.json"):
        got = tap_torque(case["kc"] * 1e6, case["K"], case["D"] * 1e-3, case["Do"] * 1e-3)
        agrees("threads", f"torque of tapping {case['thread']} in {case['material']}, {case['tap']}", "tapcatalogue",
               case["torque_Nm"], float(got), "N m", within=1e-3)


def test_factors_of_the_catalogue() -> None:
    path = FOLDER.parent / "measured" / "tapping_maker.json"
    if not path.exists():
        pytest.skip("tapping_maker.json is not there: set FIRSTOFF_SHARED to the folder of measured tables")
    given = json.loads(path.read_text(encoding="utf-8"))["K_coarse_steel"]
    names = {"hand tap plug (5P)": "plug", "hand tap bottoming (1.5P)": "bottoming", "spiral fluted": "spiral_flute",
             "spiral pointed": "spiral_point"}
    assert {names[name]: factor for name, factor in given.items()} == STEEL


@pytest.mark.parametrize(("kind", "share", "miss"), [
    ("spiral_point", 0.625, "the catalogue's own factors give 0.70"),
    ("spiral_flute", 0.725, "the catalogue's own factors give 0.85"),
])
def test_taps_of_different_kind_as_measured(kind: str, share: float, miss: str) -> None:
    # M10 in S50C, 8.5 mm hole, oil, torque tester; the hand tap is 1, others 0.60 to 0.65 and 0.70 to 0.75
    agrees("threads", f"torque of a {kind.replace('_', ' ')} tap over a hand tap, M10 in S50C", "tapcatalogue", share,
           STEEL[kind] / STEEL["plug"], "1", within=0.08, measured=True, miss=miss)


def test_a_wider_hole_taps_easier() -> None:
    torque = tap_torque(3.6e9, 1.35, 5e-3, np.array([4.1e-3, 4.2e-3, 4.3e-3, 5e-3]))
    assert np.all(np.diff(torque) < 0)
    assert torque[-1] == pytest.approx(0.0)


def test_bending_adds_at_right_angles() -> None:
    assert turned_and_bent(3.0, np.array([0.0, 4.0])) == pytest.approx([3.0, 5.0])


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="hole diameter is"):
        tap_torque(3.6e9, 1.3, 5e-3, 5.1e-3)
    with pytest.raises(OutOfRange, match="bending moment is -1"):
        turned_and_bent(1.0, -1.0)
