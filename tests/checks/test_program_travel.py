"""Further than the slides."""

from __future__ import annotations

from pathlib import Path

from firstoff.checks.program_travel import CHECK
from firstoff.shop.models import Shop
from tests.checks.builders import chance, found
from tests.dryrun import milled, small


def _shop() -> Shop:
    full = small.shop()
    short = full.machines["mill"].model_copy(update={"travel": (200.0, 150.0, 80.0)})
    return full.model_copy(update={"machines": {**full.machines, "mill": short}})


def test_a_way_out_beyond_the_slides_bad_on_purpose(tmp_path: Path) -> None:
    out = milled.program([*milled.rings(-2.0), "G0 Z5", "G0 X-175"])
    finding = found(CHECK, milled.pocket(tmp_path, out, shop=_shop()))
    assert finding.p_fail == 1.0 and "along X" in finding.because and "200 mm" in finding.because


def test_just_as_far_as_there_is_just_good(tmp_path: Path) -> None:
    out = milled.program([*milled.rings(-2.0), "G0 Z5", "G0 X-155"])
    assert chance(CHECK, milled.pocket(tmp_path, out, shop=_shop())) == 0.0
    assert not CHECK.applies(milled.pocket(tmp_path, out))
