"""The feed by stretch, and a copy in which only F words differ."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.checks.power import CHECK as POWER
from firstoff.checks.program_gouge import CHECK as GOUGE
from firstoff.checks.rubbing import CHECK as RUBBING
from firstoff.dryrun.remedies import knobs_of
from firstoff.dryrun.run import dry_run
from firstoff.dryrun.stretches import (
    Stretch,
    feeds,
    hardest_line,
    mended,
    stretches,
    too_hard,
    words_of,
    write_mended,
)
from firstoff.errors import FileError
from tests.dryrun import milled, small

TEXT = "G1 X1 F400 (F9)\r\n(F100 of old) X2\r\nf 60;F3\r\nX3\r\nF#1\r\nX4 F.5"
CUT = ["G0 X-5 Y5", "G1 Z-1.5 F60", "G1 X20 F360", "X40 F3000", "X62 F360"]


def thin(power: float) -> Belief:
    return small.belief(machine_mill__power=power, machine_mill__stiffness_x=6e7,
                        machine_mill__stiffness_y=6e7).thinned(np.arange(64))


def test_f_words_outside_remarks() -> None:
    assert words_of(TEXT.split("\n")) == [(1, 400.0), (3, 60.0), (6, 0.5)]


def test_only_f_words_change_and_each_is_marked() -> None:
    changes = [Stretch(1, 2, 400.0, 0.55, True), Stretch(3, 5, 60.0, 1.0, True), Stretch(6, 9, 0.5, 0.7, False)]
    changed = "\n".join(mended(TEXT, changes))
    assert changed == TEXT.replace("F400", "F220 (was F400)").replace("F.5", "F0.35 (was F.5)")
    assert "\n".join(mended(TEXT, ())) == TEXT


def test_a_program_is_never_changed_in_place(tmp_path: Path) -> None:
    file = tmp_path / "a.nc"
    file.write_text(TEXT)
    with pytest.raises(FileError, match="never changed in place"):
        write_mended(file, file, ())
    write_mended(file, tmp_path / "b.nc", ())
    assert (tmp_path / "b.nc").read_bytes() == file.read_bytes()


def test_the_stretch_that_is_too_fast_is_found_and_slowed(tmp_path: Path) -> None:
    text = milled.program(CUT)
    case = milled.pocket(tmp_path, text)
    found = {s.line: s for s in stretches(case, tmp_path / milled.FILE, thin(600.0))}
    fast = text.splitlines().index("X40 F3000") + 1
    assert found[fast].better < 1.0
    assert all(s.better >= found[fast].better for s in found.values())
    assert found[fast - 1].feed == 360.0 and found[fast - 1].last == fast - 1


def test_of_a_program_the_override_is_turned_and_only_where_it_helps(tmp_path: Path) -> None:
    case = milled.pocket(tmp_path, milled.SHALLOW)
    assert feeds(POWER) and not feeds(GOUGE)
    assert too_hard(POWER) and not too_hard(RUBBING) and feeds(RUBBING)      # what rubs is not where it cuts hardest
    assert [knob.path for knob in knobs_of(POWER, case)] == ["program_feed"]
    assert knobs_of(GOUGE, case) == ()
    knob = knobs_of(POWER, case)[0]
    assert knob.values(case)[0] == 0.9 and knob.say(case, 0.9) == "feed override at 90%, not 100%"


def test_the_hardest_line_is_told_where_a_cut_is_not_good(tmp_path: Path) -> None:
    text = milled.program(CUT)
    case = milled.pocket(tmp_path, text)
    fast = text.splitlines().index("X40 F3000") + 1
    assert hardest_line(case) == fast
    result = dry_run(case.job, case.shop, case.route, case.parts, thin(60.0), instead=False)
    power = next(c for c in result.checks if c.operation == case.name and c.finding.check == "power")
    assert power.verdict == "no good" and power.finding.because.endswith(f"; hardest in line {fast} of pocket.nc")
