from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from firstoff.checks._chain import Broken, Chain, chain_of, is_wall, maker
from firstoff.checks.base import Case
from firstoff.job.models import Limit
from tests.checks.builders import HEIGHT, WIDTH, belief, case, operation, setting

OVER = setting(up=[0, 0, -1], holding={"rest": "+Z"}, datums=["+Z", "-Y", "-X"])


def made(ops: dict[str, dict[str, Any]], *between: str) -> tuple[Case, Limit]:
    limit = Limit.model_validate({"kind": "distance", "part": "block", "between": list(between),
                                  "tolerance": "±0.05 mm"})
    return case("limit", "l", ops=ops, settings={"first": setting(), "second": OVER}, limit=limit), limit


def op(number: int, feature: str, where: str = "first", **changed: Any) -> dict[str, Any]:
    return operation(number=number, features=[feature], setting=where, **{"leaves": "0 mm", **changed})


BOTH_WALLS = {"front": op(10, "stock-3"), "back": op(20, "stock-4")}
TURNED = {"top": op(10, "stock-6", role="face_finish"), "under": op(20, "stock-5", "second", role="face_finish")}


def test_independent_errors_add_in_squares() -> None:
    chain = Chain(4)
    chain.add("one", 3.0)
    chain.add("other", np.full(4, 4.0))
    chain.move(np.full(4, 2.0))
    assert np.all(chain.variance == 25.0) and np.all(chain.offset == 2.0) and chain.largest == "other"


def test_the_last_cut_makes_the_face() -> None:
    this, _ = made({"rough": op(10, "stock-6", leaves="0.2 mm"), "done": op(20, "stock-6"),
                    "seen": op(30, "stock-6", role="measure")}, "-Z", "+Z")
    found = maker(this, "block", 5)
    assert found is not None and found.op_name == "done" and not is_wall(found)
    assert maker(this, "block", 4) is None


def test_both_walls_of_one_setting_share_the_clamping() -> None:
    names = [name for name, _ in chain_of(*made(BOTH_WALLS, "-Y", "+Y"), belief()).parts]
    assert "how the part sits" not in names and "setting zero" not in names
    assert "the radius of the cutter, on both sides" in names


def test_turned_over_counts_seat_and_zero() -> None:
    names = [name for name, _ in chain_of(*made(TURNED, "-Z", "+Z"), belief()).parts]
    assert {"how the part sits", "setting zero", "lift by the jaw"} <= set(names)


def test_error_of_travel_grows_with_the_distance() -> None:
    believed = belief(machine_mill__axis_scale=0.0)
    scale = believed.value("machine:mill", "axis_scale")
    offsets = {}
    for key, ops, size in (("-Y", BOTH_WALLS, WIDTH), ("-Z", TURNED, HEIGHT)):
        with_scale = chain_of(*made(ops, key, key.replace("-", "+")), believed).offset
        without = chain_of(*made(ops, key, key.replace("-", "+")), belief_without_scale()).offset
        offsets[key] = with_scale - without
        assert np.abs(offsets[key]) == pytest.approx(np.abs(scale) * size * 1e-3)


def belief_without_scale() -> Any:
    from dataclasses import replace

    full = belief()
    return replace(full, columns={key: c for key, c in full.columns.items() if key[1] != "axis_scale"})


def test_the_order_of_the_faces_does_not_matter() -> None:
    one, two = (chain_of(*made(BOTH_WALLS, *pair), belief()) for pair in (("-Y", "+Y"), ("+Y", "-Y")))
    assert np.allclose(one.variance, two.variance) and np.allclose(one.offset, two.offset)


def test_material_left_on_both_sides_makes_an_outer_size_larger() -> None:
    soft, stiff = (chain_of(*made(BOTH_WALLS, "-Y", "+Y"), belief(machine_mill__stiffness_x=k,
                                                                   machine_mill__stiffness_y=k)).offset
                   for k in (1e6, 1e9))
    assert np.median(soft) > np.median(stiff)


def test_what_breaks_a_chain() -> None:
    with pytest.raises(Broken, match="no operation"):
        chain_of(*made(TURNED, "-X", "+X"), belief())
    with pytest.raises(Broken, match="by hand"):
        chain_of(*made({"top": op(10, "stock-6", role="file")}, "-Z", "+Z"), belief())


def test_links_add_with_their_gains() -> None:
    plain, _ = made(BOTH_WALLS, "-Y", "+Y")
    one = Limit.model_validate({"kind": "chain", "part": "block", "between": ["-Y", "+Y"], "gains": [2.0],
                                "tolerance": "±0.05 mm"})
    two = Limit.model_validate({"kind": "chain", "part": "block", "between": ["-Y", "+Y", "-Y", "+Y"],
                                "gains": [2.0, -2.0], "tolerance": "±0.05 mm"})
    single = chain_of(*made(BOTH_WALLS, "-Y", "+Y"), belief())
    once, twice = (chain_of(plain, limit, belief()) for limit in (one, two))
    assert np.allclose(once.variance, 4.0 * single.variance) and np.allclose(once.offset, 2.0 * single.offset)
    assert np.allclose(twice.variance, 8.0 * single.variance) and np.allclose(twice.offset, 0.0)


def test_a_hole_stands_where_it_was_spotted() -> None:
    this, _ = made({"spot": op(10, "stock-3", role="spot"), "drill": op(20, "stock-3", "second", role="drill")},
                   "-Y", "+Y")
    found = maker(this, "block", 2)
    assert found is not None and found.op_name == "spot" and found.is_hole


def test_a_wall_cut_from_both_sides_is_placed_by_its_first_half_and_a_file_goes_over_it() -> None:
    this, _ = made({"one": op(10, "stock-3", height="10 mm"), "half": op(20, "stock-3", "second", height="10 mm"),
                    "filed": op(30, "stock-3", role="file")}, "-Y", "+Y")
    found = maker(this, "block", 2)
    assert found is not None and found.op_name == "one"
