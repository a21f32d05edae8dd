"""What all commands share: a line of progress only where a person waits and looks; JSON without NaN."""

from __future__ import annotations

import io
import sys
import time

import pytest

from firstoff import cli_words


class Terminal(io.StringIO):
    """A screen that a person looks at."""

    def isatty(self) -> bool:
        return True


def test_progress_is_shown_after_a_while_and_wiped(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = [0.0]
    monkeypatch.setattr(time, "monotonic", lambda: clock[0])
    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    line = cli_words.Progress()
    line("too soon", 0.1)
    assert screen.getvalue() == ""
    clock[0] = 2.0
    line("reading", 0.5)
    assert "50%  reading" in screen.getvalue()
    line.done()
    assert line.length == 0 and screen.getvalue().endswith("\r")


def test_what_was_told_too_soon_is_shown_when_it_lasts(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = [0.0]
    monkeypatch.setattr(time, "monotonic", lambda: clock[0])
    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    line = cli_words.Progress()
    line("preparing to cut stock", 0.0)
    assert screen.getvalue() == ""
    clock[0] = 2.0
    line.tick()
    assert screen.getvalue().endswith("0%  preparing to cut stock")
    clock[0] = 9.0
    line.tick()
    assert screen.getvalue().rstrip().endswith("preparing to cut stock, 9 s")
    line("preparing to cut stock", 0.5)
    clock[0] = 10.0
    line("checking", 0.6)
    assert "checking, " not in screen.getvalue()
    line.done()
    clock[0] = 20.0
    line.tick()
    assert screen.getvalue().endswith("\r")


def test_nothing_is_shown_where_nobody_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = io.StringIO()
    monkeypatch.setattr(sys, "stderr", screen)
    line = cli_words.Progress()
    line.began -= 10.0
    line("reading", 0.5)
    line.done()
    assert screen.getvalue() == ""


def test_json_is_one_object_and_never_nan(capsys: pytest.CaptureFixture[str]) -> None:
    cli_words.say_json({"size": "Ø4"})
    assert capsys.readouterr().out == '{"size": "Ø4"}\n'
    with pytest.raises(ValueError, match="JSON"):
        cli_words.say_json({"p": float("nan")})


def test_lines(capsys: pytest.CaptureFixture[str]) -> None:
    cli_words.say(["one", "two"])
    assert capsys.readouterr().out == "one\ntwo\n"
