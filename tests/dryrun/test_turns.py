"""Another S word where no feed is good: the table as fast as before, the spindle within its reach."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.checks.base import Case
from firstoff.checks.chatter import CHECK as CHATTER
from firstoff.checks.program_gouge import CHECK as GOUGE
from firstoff.dryrun import turns as turns_room
from firstoff.dryrun.stretches import Stretch, mended
from firstoff.dryrun.turns import better_words, helped, radians_a_second, turned_as, turning, turns
from tests.dryrun import milled, small


def thin() -> Belief:
    return small.belief().thinned(np.arange(32))


def test_the_table_stays_as_fast(tmp_path: Path) -> None:
    case = milled.pocket(tmp_path, milled.SHALLOW)
    slower = turning(case, radians_a_second(6000.0), 0.5)
    assert case.windows is not None and slower.windows is not None
    assert slower.op.cut.spindle_speed == pytest.approx(6000.0 * np.pi / 60.0)
    assert slower.windows.feed_per_tooth == pytest.approx(2.0 * case.windows.feed_per_tooth)
    assert (slower.windows.seconds == case.windows.seconds).all()
    assert helped(CHATTER) and not helped(GOUGE)


def test_only_s_words_that_cut_are_told_and_within_the_spindle(tmp_path: Path) -> None:
    case = milled.pocket(tmp_path, milled.SHALLOW)
    found = turns(case, tmp_path / milled.FILE, thin())
    assert [(s.line, s.feed, s.letter) for s in found] == [(2, 6000.0, "S")]
    spindle = case.machine.spindle
    assert spindle is not None
    assert all(spindle.slowest <= radians_a_second(s.feed) * s.better <= spindle.fastest * 1.001 for s in found)


def fails_above(monkeypatch: pytest.MonkeyPatch, most: float) -> None:
    """As if one check failed above a speed [rad/s], whatever the feed."""
    def risks(case: Case, _thin: Belief, _helps: object) -> dict[str, float]:
        return {"it sings": 1.0 if (case.op.cut.spindle_speed or 0.0) > most else 0.0}

    for room in (turns_room, __import__("firstoff.dryrun.stretches", fromlist=["x"])):
        monkeypatch.setattr(room, "risks_of", risks)


def test_a_speed_is_changed_where_no_feed_helps(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    case = milled.pocket(tmp_path, milled.SHALLOW)
    fails_above(monkeypatch, radians_a_second(5000.0))
    found = better_words(case, tmp_path / milled.FILE, thin())
    spoken = [s for s in found if s.letter == "S"]
    assert [round(s.better, 3) for s in spoken] == [0.8] and spoken[0].good
    assert all(s.good for s in found)
    changed = "\n".join(mended(milled.SHALLOW, found))
    assert changed == milled.SHALLOW.replace("S6000 M3", "S4800 (was S6000) M3")


def test_a_speed_stays_where_it_is_good_or_nothing_helps(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    case = milled.pocket(tmp_path, milled.SHALLOW)
    fails_above(monkeypatch, 1e9)
    assert all(s.letter == "F" for s in better_words(case, tmp_path / milled.FILE, thin()))
    fails_above(monkeypatch, 0.0)
    assert all(s.letter == "F" and not s.good for s in better_words(case, tmp_path / milled.FILE, thin()))


def test_each_window_turns_as_its_s_word(tmp_path: Path) -> None:
    case = milled.pocket(tmp_path, milled.SHALLOW)
    assert case.windows is not None
    middle = int(np.median(case.windows.line))
    two = (Stretch(1, middle, 6000.0, 0.5, True, "S"), Stretch(middle + 1, 1 << 40, 6000.0, 2.0, True, "S"))
    changed = turned_as(case, two).windows
    assert changed is not None
    share = np.divide(changed.feed_per_tooth, case.windows.feed_per_tooth, where=case.windows.feed_per_tooth > 0.0,
                      out=np.ones(len(changed)))
    real = case.windows.feed_per_tooth > 0.0
    assert share[real & (changed.line <= middle)] == pytest.approx(2.0)
    assert share[real & (changed.line > middle)] == pytest.approx(0.5)
    assert replace(changed, feed_per_tooth=case.windows.feed_per_tooth).volume is case.windows.volume
