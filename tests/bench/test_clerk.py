"""One long thing at a time; it tells how far it is, can be stopped, and what went wrong is kept for the page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from firstoff.bench import pages
from firstoff.bench.clerk import Busy, Clerk, Doing, Stopped
from firstoff.errors import FirstoffError

TOP = "operations.block-top-rough.cut.depth_of_cut"


def test_a_job_is_checked_and_drawn(block: Path) -> None:
    clerk = Clerk(block)
    book = clerk.check()
    assert clerk.book is book
    assert book.sheets["settings"][0]["drawing"]["svg"].startswith("<svg")
    assert clerk.doing() is None


def test_what_takes_longest_is_written_before_it_is_asked_for(block: Path) -> None:
    book = Clerk(block, network=True).check()
    assert "pair a tablet" in book.card[True]
    assert list(book.standing) == [sheet["name"] for sheet in book.sheets["settings"]]
    assert pages.desk(book, network=True) is book.card[True]
    other = replace(book, result=replace(book.result, remarks=("as it was",)))
    assert "As it was" in pages.desk(other, network=True), "another book is written anew"


def test_a_draft_is_written_nowhere_and_ink_is(block: Path) -> None:
    clerk = Clerk(block)
    before = (block / "route.toml").read_text(encoding="utf-8")
    drafted = clerk.draft(((TOP, "0.123 mm"),))
    assert drafted.route.operations["block-top-rough"].cut.depth_of_cut == pytest.approx(0.123)
    assert (block / "route.toml").read_text(encoding="utf-8") == before
    clerk.ink([(TOP, "0.123 mm")])
    assert '"0.123 mm"' in (block / "route.toml").read_text(encoding="utf-8")
    assert clerk.book is not None
    assert clerk.book.result.route.operations["block-top-rough"].cut.depth_of_cut == pytest.approx(0.123)


@pytest.mark.parametrize("text", ["much", "-1 mm", "3 rpm"])
def test_what_cannot_stand_there_is_not_inked(block: Path, text: str) -> None:
    before = (block / "route.toml").read_text(encoding="utf-8")
    with pytest.raises(FirstoffError):
        Clerk(block).ink([(TOP, text)])
    assert (block / "route.toml").read_text(encoding="utf-8") == before


def test_it_stops_at_its_next_step(block: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    clerk = Clerk(block)
    def impatient(what: str, share: float) -> None:
        clerk.stop()
        Clerk._progress(clerk, what, share)

    monkeypatch.setattr(clerk, "_progress", impatient)
    with pytest.raises(Stopped):
        clerk.check()
    assert clerk.doing() is None
    clerk._quietly()
    assert "Stopped" in clerk.trouble


def test_drawing_tells_how_far_it_is_by_itself(block: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for kept in (block / ".firstoff").glob("part-*.json"):       # another test may have drawn it
        kept.unlink()
    clerk, said = Clerk(block), []

    def heard(what: str, share: float) -> None:
        said.append((what, share))
        Clerk._progress(clerk, what, share)

    monkeypatch.setattr(clerk, "_progress", heard)
    clerk.check()
    shares = [share for what, share in said if what == "drawing"]
    assert shares == sorted(shares) and len(set(shares)) > 1 and 0.0 <= shares[0] < shares[-1] <= 1.0


def test_nobody_waits_for_the_pen(block: Path) -> None:
    clerk = Clerk(block)
    with clerk._alone("something long"):
        doing = clerk.doing()
        assert doing is not None
        assert doing.words() == "something long"
        with pytest.raises(Busy):
            clerk.check()


def test_what_went_wrong_is_kept(block: Path) -> None:
    (block / "route.toml").unlink()
    clerk = Clerk(block)
    clerk._quietly()
    assert "there is no route yet" in clerk.trouble
    clerk.plan()
    assert (clerk.trouble, clerk.book is not None) == ("", True)


def test_the_time_left_is_told_when_it_can_be() -> None:
    assert Doing("drawing", 0.5, 10.0, 10.0).words() == "drawing: about 10 s left"
    assert Doing("drawing", 0.0, 10.0, None).words() == "drawing"


def test_a_sketch_that_takes_long_can_be_stopped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While it is drawn, the person asks to stop; the next sketch is drawn again."""
    from firstoff import actions_start

    clerk = Clerk(tmp_path)

    def slow(lines: str, units: str, progress: Callable[[str, float], None]) -> str:
        progress("drawing", 0.1)
        if lines == "long":
            clerk.stop()
        progress("drawing", 0.2)
        return lines

    monkeypatch.setattr(actions_start, "seen_sketch", slow)
    with pytest.raises(Stopped):
        clerk.read_sketch("long", "mm")
    short: object = clerk.read_sketch("short", "mm")
    assert short == "short"
