"""The listing with notes: only what matters, with the lines about it."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

from firstoff.dryrun.result import Result
from firstoff.dryrun.run import dry_run
from firstoff.sheets.document import content, typeset
from firstoff.sheets.listings import listings, notes, rows
from tests.dryrun import milled, small
from tests.dryrun.small import POCKET

SLIP = milled.program([*milled.rings(-2.0), "G0 X-10 Y20"])


def checked(folder: Path, text: str) -> Result:
    case = milled.pocket(folder, text)
    return dry_run(case.job, case.shop, case.route, case.parts, small.belief().thinned(np.arange(16)), instead=False)


def test_a_rapid_through_the_work_is_noted_beside_its_line(tmp_path: Path) -> None:
    result = checked(tmp_path, SLIP)
    sheet, = listings(result)
    assert sheet["name"] == f"20 {POCKET}" and sheet["file"] == milled.FILE
    noted = next(row for row in sheet["rows"] if "rapid through the work" in row["note"])
    assert noted["text"] == "G0 X-10 Y20" and noted["line"] == str(SLIP.splitlines().index("G0 X-10 Y20") + 1)
    assert any(row["text"] == "…" for row in sheet["rows"]) and len(sheet["rows"]) < 40


def test_what_cuts_hardest_is_noted_where_it_is_not_good(tmp_path: Path) -> None:
    result = checked(tmp_path, milled.program(["G0 X-5 Y5", "G1 Z-6 F60", "G1 X62 F900"]))
    case = next(case for case in result.cases if case.name == POCKET)
    assert any("cuts hardest" in note for note in notes(case, result).values())


def test_lines_about_a_note_and_gaps_between() -> None:
    told = rows([f"X{n}" for n in range(1, 21)], {2: "a", 10: "b"})
    assert [row["line"] for row in told] == ["1", "2", "3", "4", "", "8", "9", "10", "11", "12"]
    assert rows(["G1\x07" + "X" * 99], {1: "c"})[0]["text"] == "G1 " + "X" * 57


def test_a_file_that_went_away_is_no_error(tmp_path: Path) -> None:
    result = checked(tmp_path, SLIP)
    (tmp_path / milled.FILE).unlink()
    assert listings(result) == []


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext (poppler-utils) is not here")
def test_it_is_printed(tmp_path: Path) -> None:
    from tests.sheets.test_document import read

    result = checked(tmp_path, SLIP)
    pdf, _ = typeset(content(result, {}))
    (tmp_path / "sheets.pdf").write_bytes(pdf)
    assert any("rapid through the work" in page and "G0 X-10 Y20" in page for page in read(tmp_path / "sheets.pdf"))
