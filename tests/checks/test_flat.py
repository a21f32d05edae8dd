from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from firstoff.checks._flat import flat
from firstoff.checks._makers import Broken
from firstoff.checks._sizes import spreads
from firstoff.checks.size import CHECK
from tests.checks.builders import HEIGHT, LENGTH, belief, chance, rises
from tests.checks.size_cases import made, op

ZONE = {"tolerance": "+0.02 mm / 0 mm"}


def top(**changed: Any) -> dict[str, dict[str, Any]]:
    return {"top": op(10, "stock-6", role="face_finish", removes="1 mm", **changed)}


def each(ops: dict[str, dict[str, Any]], face: str = "+Z", **believed: float) -> dict[str, float]:
    this, limit = made(ops, face, kind="flatness", **ZONE)
    about = belief(**believed)
    found = flat(this, limit, about)
    return {name.split(":")[0]: float(np.median(source.rows(about))) for name, source in found.sources.items()}


def test_skin_cut_in_the_same_clamping_springs_as_the_published_form_says() -> None:
    """Thin layer: 3 s t L^2 / (4 E h^2), h the thickness that is left."""
    found = each(top(), material_steel__skin_stress=50e6, material_steel__young=210e9)["flat_spring"]
    layer, left, long = 1e-3, HEIGHT * 1e-3, LENGTH * 1e-3
    assert found == pytest.approx(3 * 50e6 * layer * (left + layer) * long**2 / (4 * 210e9 * left**3), rel=0.02)


def test_skin_that_came_off_in_an_earlier_setting_has_sprung_before() -> None:
    ops = {"rough": op(10, "stock-6", role="face_rough", removes="1 mm", leaves="0.2 mm"),
           "top": op(20, "stock-6", "second", role="face_finish", removes="0.2 mm")}
    assert each(ops)["flat_spring"] == 0.0


def test_the_other_sides_skin_bends_it_later() -> None:
    ops = {"rough": op(10, "stock-6", role="face_rough", removes="1 mm", leaves="0.2 mm"),
           "top": op(20, "stock-6", "second", role="face_finish", removes="0.2 mm"),
           "under": op(30, "stock-5", "second", role="face_finish", removes="1 mm")}
    assert each(ops)["flat_spring"] > 0.0


def test_a_spindle_out_of_tram_leaves_steps_of_its_tilt_over_the_row() -> None:
    this, limit = made(top(cut={"width_of_cut": "4 mm"}), "+Z", kind="flatness", **ZONE)
    about = belief()
    rows = flat(this, limit, about).sources["flat_tram:top"].rows(about)
    assert rows == pytest.approx(np.abs(about.value("machine:mill", "tram")) * 4e-3)


def test_all_is_added_up() -> None:
    this, limit = made(top(), "+Z", kind="flatness", **ZONE)
    about = belief()
    found = flat(this, limit, about)
    lasting = sum(source.rows(about) for source in found.sources.values() if source.lasting)
    assert spreads(found, about, (found.middle,)).offset[:, 0] == pytest.approx(lasting)


def test_tight_is_bad_on_purpose_and_wide_just_good() -> None:
    cases = [made(top(), "+Z", kind="flatness", tolerance=f"+{t} mm / 0 mm")[0] for t in (0.1, 0.02, 0.005)]
    rises(CHECK, cases)
    assert chance(CHECK, cases[0]) <= 0.01 and chance(CHECK, cases[2]) > 0.2


def test_what_is_not_flat_or_not_made() -> None:
    with pytest.raises(Broken, match="no operation"):
        each(top(), "-Z")
    with pytest.raises(Broken, match="by hand"):
        each({"top": op(10, "stock-6", role="file")})
