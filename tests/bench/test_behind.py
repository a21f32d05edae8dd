"""The sheets behind the card: each is there for what has it, and a name that is not there is nowhere."""

from __future__ import annotations

from pathlib import Path

import pytest

from .asking import Device, device

TOP = "block-top-rough"


@pytest.fixture(scope="module")
def paired(planned_block: Path) -> Device:
    """A paired device before the checked block."""
    one = device(planned_block)
    one.office.clerk.check()
    return one


@pytest.mark.parametrize(("path", "there"), [
    ("size/height", "Where height comes from"), ("setting/block-1", "moving jaw"), (f"operation/{TOP}", "speed, rpm"),
])
def test_a_sheet_is_drawn_and_leads_back(paired: Device, path: str, there: str) -> None:
    page = paired.get(f"/behind/{path}").text
    assert there in page and "<svg" in page and "back to the card" in page


@pytest.mark.parametrize("path", ["size/elephant", "setting/elephant", "operation/elephant", "elephant/height",
                                  "size/..%2f..", "setting/<script>"])
def test_what_is_not_there_is_nowhere(paired: Device, path: str) -> None:
    assert paired.get(f"/behind/{path}").status == 404


def test_it_waits_for_the_job(planned_block: Path) -> None:
    assert "Reading the job" in device(planned_block).get("/behind/size/height").text


def test_the_card_leads_to_its_sheets(paired: Device) -> None:
    page = paired.get("/").text
    for path in ("size/height", "setting/block-1", f"operation/{TOP}"):
        assert f'href="/behind/{path}"' in page


def test_notes_on_a_program_stand_beside_its_lines(block: Path) -> None:
    (block / "programs").mkdir()
    (block / "programs" / "top.nc").write_text("G21 G90\nS4000 M3\nG0 X-20 Y-20 Z5\nG0 Z-3\nG0 X80 Y60\nM30\n",
                                               encoding="ascii")
    one = device(block)
    one.office.clerk.ink([(f"operations.{TOP}.program", "programs/top.nc")])
    page = one.get(f"/behind/operation/{TOP}").text
    assert "Program programs/top.nc" in page
    assert "rapid through the work" in page
    assert "program <b>programs/top.nc</b>" in one.get("/bench").text
