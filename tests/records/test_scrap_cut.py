"""The test cut: read back by our own reader, gentle first, inside the travel, never straight down into scrap."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from firstoff.errors import RecordError
from firstoff.program.reading import Reading
from firstoff.program.tape import open_tape
from firstoff.records.scrap_cut import CLEAR, GROWS, SHARE, TestCut, program
from firstoff.removal.moves import Kind, Moves

CUT = TestCut("end mill 6 mm", "aluminium (6082)", 6.0, 16.0, 3.0, False, 900.0, 12.0, 0.1, 1.2, 250.0)


def read(cut: TestCut, folder: Path) -> tuple[list[Moves], Reading]:
    file = folder / "test.nc"
    file.write_text(program(cut), encoding="ascii")
    reading = Reading(open_tape(file))
    return list(reading.chunks()), reading


def lines(cut: TestCut, folder: Path) -> list[tuple[int, np.ndarray, np.ndarray, float, float]]:
    """Kind, start, end [mm], feed [mm/s] and spindle [rad/s] of each move."""
    chunks, _ = read(cut, folder)
    return [(int(m.kind[i]), np.asarray(m.start[i]), np.asarray(m.end[i]), float(m.feed[i]), float(m.spindle[i]))
            for m in chunks for i in range(len(m.kind)) if m.kind[i] != Kind.STAND]


@pytest.mark.parametrize("cut", [CUT, replace(CUT, climb=True), replace(CUT, width=6.0)], ids=["up", "climb", "slot"])
def test_it_is_read_back_without_a_remark(cut: TestCut, tmp_path: Path) -> None:
    _, reading = read(cut, tmp_path)
    assert reading.unit == "mm"
    assert reading.told == ()


@pytest.mark.parametrize("cut", [CUT, replace(CUT, climb=True)], ids=["up", "climb"])
def test_each_depth_is_cut_along_its_length_and_none_in_rapid(cut: TestCut, tmp_path: Path) -> None:
    moves = lines(cut, tmp_path)
    level = [end[2] for kind, start, end, *_ in moves if kind != Kind.RAPID and start[2] == end[2]]
    assert sorted({round(-z, 3) for z in level}) == pytest.approx([round(d, 3) for d in cut.depths], abs=1e-3)
    for kind, start, end, feed, spindle in moves:
        if kind == Kind.RAPID:
            assert min(start[2], end[2]) >= 0.0 or start[0] == end[0], "up, and only outside or straight"
        else:
            assert feed <= cut.feed * 1.001 + 0.01 and spindle == pytest.approx(cut.speed, rel=1e-3)
        straight_down = end[2] < min(start[2], 0.0) and start[0] == end[0]
        outside = start[0] < -cut.diameter / 2.0 or start[0] > cut.length + cut.diameter / 2.0
        assert not straight_down or outside
    assert moves[-1][2][2] > 5.0, "it ends above the scrap"


@pytest.mark.parametrize(("climb", "way"), [(False, 1.0), (True, -1.0)])
def test_the_way_round_is_the_one_asked_for(climb: bool, way: float, tmp_path: Path) -> None:
    """Scrap behind the cutter (+Y), spindle clockwise: going right it is conventional, going left it climbs."""
    moves = lines(replace(CUT, climb=climb), tmp_path)
    along = [end[0] - start[0] for kind, start, end, *_ in moves if kind != Kind.RAPID and start[2] == end[2]]
    assert all(np.sign(dx) == way for dx in along)
    assert {round(float(end[1]), 3) for _, _, end, *_ in moves[1:]} == {CUT.width - CUT.diameter / 2.0}


def test_it_begins_gently_and_grows_by_steps() -> None:
    depths = CUT.depths
    assert depths[0] <= CUT.gentle + 1e-9 and depths[-1] <= CUT.deepest + 1e-9
    ratios = np.divide(depths[1:], depths[:-1])
    assert np.all(ratios > 1.0) and np.all(ratios <= GROWS + 1e-9)


@pytest.mark.parametrize("travel", [80.0, 120.0, 400.0])
def test_it_stays_within_the_travel(travel: float, tmp_path: Path) -> None:
    cut = replace(CUT, travel=travel)
    x = [float(p[0]) for _, start, end, *_ in lines(cut, tmp_path)[1:] for p in (start, end)]
    assert max(x) - min(x) <= SHARE * travel + 2.0 * CLEAR


def test_no_room_is_said() -> None:
    with pytest.raises(RecordError, match="no room"):
        program(replace(CUT, travel=40.0))


def test_cautions_stand_in_comments_that_every_control_reads_past() -> None:
    text = program(replace(CUT, tool="fräser (6 mm) 100 %; M3"))
    comments = [line for line in text.splitlines() if line.startswith("(")]
    assert all(line.count("(") == line.count(")") == 1 and line.endswith(")") for line in comments)
    assert any("FEED HOLD AS SOON AS IT SINGS" in line for line in comments)
    assert any("MANUAL OF THE MACHINE" in line for line in comments) and text.isascii()
    assert "SAFE" not in text
