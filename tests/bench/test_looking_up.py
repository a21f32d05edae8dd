"""Sentences with blanks say what the commands say."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.bench.looking_up import answer, blanks
from firstoff.errors import InputError, NameUnknown


def test_the_blanks_offer_what_the_shop_has(planned_block: Path) -> None:
    found = blanks(planned_block, None)
    assert set(found["mills"]) < set(found["machines"])
    assert found["tools"]
    assert "al_6082" in found["materials"]


def test_own_drills_and_speed_of_a_hole_are_checked(planned_block: Path) -> None:
    said = "\n".join(answer("hole", {"size": "M5", "material": "al_6082", "drills": "4.3 mm", "speed": "900 rpm"},
                            planned_block, None))
    assert "Your own drills, speed, as given" in said and "drill Ø4.3 mm" in said


def test_a_hole_is_told_as_by_the_command(planned_block: Path) -> None:
    said = "\n".join(answer("hole", {"size": "M5", "material": "al_6082", "depth": "9 mm", "through": ""},
                            planned_block, None))
    assert "4.2 mm" in said
    assert "900 rpm" in said or "rpm" in said


def test_a_cut_is_chosen_where_it_is_left_open(planned_block: Path) -> None:
    found = blanks(planned_block, None)
    said = {"machine": next(iter(found["mills"])), "tool": next(iter(found["tools"])), "material": "al_6082"}
    assert any("rpm" in line for line in answer("cut", said | {"depth": "", "width": " "}, planned_block, None))


def test_whatever_the_command_takes_of_a_cut_is_asked(planned_block: Path) -> None:
    found = blanks(planned_block, None)
    said = {"machine": next(iter(found["mills"])), "tool": "end_mill_6_2f", "material": "al_6082"}
    more = {"down": "3 deg", "coolant": "flood", "stickout": "20 mm"}
    told = "\n".join(answer("cut", said | more, planned_block, None))
    assert "down at 3 deg" in told and "flood" in told and "20 mm out" in told
    assert {"flood", "dry"} < set(found["coolants"]) and "chamfer_6" in found["tools"]
    with pytest.raises(InputError) as error:
        answer("cut", said | {"feed": "9000 mm/min"}, planned_block, None)
    assert error.value.where == "--feed"


def test_no_option_of_the_shell_is_named(planned_block: Path) -> None:
    found = blanks(planned_block, None)
    said = {"machine": next(iter(found["mills"])), "tool": "end_mill_6_3f", "material": "s275_hot_rolled"}
    told = "\n".join(answer("cut", said, planned_block, None))
    assert "--" not in told and "'raw'" in told


@pytest.mark.parametrize(("what", "said", "where"), [
    ("cut", {"tool": "x"}, "machine"), ("hole", {"material": "al_6082"}, "size"),
    ("joint", {"into": "al_6082"}, "screw"),
])
def test_a_blank_that_must_be_filled_is_named(
    what: str, said: dict[str, str], where: str, planned_block: Path
) -> None:
    with pytest.raises(InputError) as error:
        answer(what, said, planned_block, None)
    assert error.value.where == where


def test_a_joint_is_told_as_by_the_command(planned_block: Path) -> None:
    said = answer("joint", {"screw": "M4 x 12", "into": "al_6082", "through": "", "by": "", "load": "200 N"},
                  planned_block, None)
    assert any("Tighten" in line for line in said)
    assert not any("--" in line for line in said)


def test_nothing_else_is_asked(planned_block: Path) -> None:
    with pytest.raises(NameUnknown, match="elephant"):
        answer("elephant", {}, planned_block, None)
