from __future__ import annotations

from dataclasses import replace

from firstoff.checks._makers import cuts_of, is_wall, last_before, maker
from tests.checks.size_cases import BOTH_WALLS, made, op
from tests.checks.test_bores import BORE, PART


def test_the_last_cut_makes_the_face() -> None:
    this, _ = made({"rough": op(10, "stock-6", leaves="0.2 mm"), "done": op(20, "stock-6"),
                    "seen": op(30, "stock-6", role="measure")}, "-Z", "+Z")
    found = maker(this, "block", 5)
    assert found is not None and found.op_name == "done" and not is_wall(found)
    assert maker(this, "block", 4) is None
    assert [m.op_name for m in cuts_of(this, "block", 5)] == ["rough", "done"]


def test_what_a_face_is_before_an_operation() -> None:
    this, _ = made({"rough": op(10, "stock-6", leaves="0.2 mm"), "done": op(20, "stock-6")}, "-Z", "+Z")
    before = last_before(this, "block", 5, 20)
    assert before is not None and before.op_name == "rough"
    assert last_before(this, "block", 5, 10) is None


def test_a_hole_stands_where_it_was_spotted() -> None:
    this, _ = made({"spot": op(10, "stock-3", role="spot"), "drill": op(20, "stock-3", "second", role="drill")},
                   "-Y", "+Y")
    found, before = maker(this, "block", 2), last_before(this, "block", 2, 99)
    assert found is not None and found.op_name == "spot" and found.is_hole and is_wall(found)
    assert before is not None and before.op_name == "spot"


def test_a_hole_that_is_lapped_stands_where_it_was_spotted() -> None:
    this, _ = made({"spot": op(10, "hole-1", role="spot", tool="drill4"),
                    "ream": op(20, "hole-1", role="ream", tool="drill4", leaves="0.02 mm"),
                    "lap": op(30, "hole-1", role="lap", tool=None)}, "hole-1", kind="size")
    held = replace(this, parts={"block": PART})
    found = maker(held, "block", BORE.number)
    assert found is not None and found.op_name == "spot"


def test_a_wall_cut_from_both_sides_is_placed_by_its_first_half_and_a_file_goes_over_it() -> None:
    this, _ = made({"one": op(10, "stock-3", height="10 mm"), "half": op(20, "stock-3", "second", height="10 mm"),
                    "filed": op(30, "stock-3", role="file")}, "-Y", "+Y")
    found = maker(this, "block", 2)
    assert found is not None and found.op_name == "one"


def test_upright_faces_are_walls() -> None:
    this, _ = made(BOTH_WALLS, "-Y", "+Y")
    assert all(is_wall(m) for number in (2, 3) if (m := maker(this, "block", number)))
