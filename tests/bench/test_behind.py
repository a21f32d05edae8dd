"""The sheets behind the card: each is there for what has it, and a name that is not there is nowhere."""

from __future__ import annotations

import re
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


@pytest.mark.parametrize(("path", "title", "there"), [
    ("size/height", "Where height comes from", "ring: the surface"),
    ("setting/block-1", "What touches the part", "moving jaw"),
    (f"operation/{TOP}", "Behind operation", "speed, rpm"),
])
def test_a_sheet_is_there_at_once_and_its_drawing_after_it(
    paired: Device, path: str, title: str, there: str
) -> None:
    page = paired.get(f"/behind/{path}").text
    assert title in page and "back to the card" in page and "<svg" not in page
    way = re.findall(r'data-from="([^"]+)"', page)[0]
    drawn = paired.get(way).json()
    assert drawn["svg"].startswith("<svg")
    assert there in (drawn["svg"] + " ".join(drawn["said"])).lower()
    assert drawn["said"] and all(text.endswith(".") for text in drawn["said"])


@pytest.mark.parametrize("path", ["size/elephant", "setting/elephant", "operation/elephant", "elephant/height",
                                  "size/..%2f..", "setting/<script>"])
def test_what_is_not_there_is_nowhere(paired: Device, path: str) -> None:
    assert paired.get(f"/behind/{path}").status == 404
    assert paired.get(f"/behind/{path}/drawing").status == 404


def test_it_waits_for_the_job(planned_block: Path) -> None:
    assert "Reading the job" in device(planned_block).get("/behind/size/height").text
    assert device(planned_block).get("/behind/size/height/drawing").status == 409


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
