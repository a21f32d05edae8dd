"""Typing a sketch: every line is answered; undo, list, show and save."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.part import sketch
from firstoff.part.sketch_session import HELP, START, session
from tests.part.test_sketch import WORDS

BEGUN = ("mm", "block 110 x 34 x 24")


def answers(*lines: str) -> list[str]:
    """What is answered to lines, without the greeting."""
    greeting, *out = session(lines)
    assert greeting == START
    return out


def test_each_line_is_answered_as_it_is_understood() -> None:
    assert answers(*BEGUN, "hole M4 9 deep at 10, 7 from right", "flat 0.02 on bottom", "datum A at 5, 5") == [
        "lengths in mm", "  1  block 110 x 34 x 24", "  2  hole M4 deep 9 drilled 11.8 at 10, 7 from right",
        "  3  flat 0.02 on bottom", "  4  datum A at 5, 5"]


def test_an_answer_comes_before_the_next_line_is_asked_for() -> None:
    asked: list[str] = []

    def typed() -> Iterator[str]:
        for line in BEGUN:
            asked.append(line)
            yield line

    talk = session(typed())
    assert (next(talk), asked) == (START, [])
    assert (next(talk), asked) == ("lengths in mm", ["mm"])


def test_a_mistake_is_told_and_forgotten() -> None:
    out = answers(*BEGUN, "hole 4 deep 30 at 10, 7", "hole 4 deep 9 at 10, 7", "")
    assert out[2].startswith("sketch, line 2, at 'deep': the hole is 30 mm deep")
    assert out[3:] == ["  2  hole 4 deep 9 at 10, 7"]


def test_after_a_mistake_the_part_so_far_is_drawn_once() -> None:
    drawn: list[int] = []

    def draw(told: sketch.Sketch) -> list[str]:
        drawn.append(len(told.cuts))
        return [f"{len(told.cuts)} cuts drawn"]

    wrong, right = "hole 4 deep 30 at 10, 7", "hole 4 deep 9 at 10, 7"
    out = list(session([*BEGUN, wrong, wrong, right, wrong], draw))
    assert [line for line in out if line.endswith("drawn")] == ["0 cuts drawn", "1 cuts drawn"]
    assert drawn == [0, 1]
    assert list(session(["mm", wrong], draw))[-1].startswith("sketch, line 1")


def test_undo_and_list() -> None:
    out = answers(*BEGUN, "hole 4 deep 9 at 10, 7", "undo", "list", "undo", "undo", "list", "help")
    assert out[3:6] == ["forgotten: hole 4 deep 9 at 10, 7", "  1  block 110 x 34 x 24",
                        "forgotten: block 110 x 34 x 24"]
    assert out[6:] == ["there is nothing to undo", *HELP]


@pytest.mark.parametrize(("first", "said"), [
    ("in", "lengths in in"), ("inch", "lengths in in"), ('unit = "mm"', "lengths in mm"),
    ("cm", "sketch: 'cm' is no unit (mm or in, before the first line)"),
    ("block 1 x 1 x 1", "sketch: 'block 1 x 1 x 1' is no unit (mm or in, before the first line)"),
])
def test_the_unit_comes_first(first: str, said: str) -> None:
    assert answers(first) == [said]


def test_it_is_saved_and_read_again(tmp_path: Path) -> None:
    path = tmp_path / "foot.toml"
    hole = "hole 4 through at 10, 7"
    out = answers(*BEGUN, f"save {tmp_path / 'foot'}", hole, f"save {path}", "save", "end", "undo")
    assert out[2:] == [f"{path} is written", "  2  hole 4 through at 10, 7", f"{path} is written",
                       "save under which name? save FILE"]
    drawn = sketch.read(path)
    assert (drawn.name, len(drawn.cuts)) == ("foot", 1)
    assert answers(*BEGUN, f"save {path}")[-1] == f"{path} is there already: another name"
    assert "nothing to save" in answers("mm", f"save {tmp_path / 'new'}")[-1]
    assert "No such file" in answers(*BEGUN, f"save {tmp_path / 'none' / 'new'}")[-1]


def test_the_features_are_shown() -> None:
    out = answers(*BEGUN, "hole 4 through at 10, 7", "show")
    assert any(line.startswith("hole 1 through  10 7 24") for line in out)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.one_of(st.lists(st.sampled_from(WORDS), max_size=8).map(" ".join), st.sampled_from(
    ["mm", "undo", "list", "help", "block 60 x 40 x 20", "hole 4 through at 10, 7", "#"])), max_size=8))
def test_whatever_is_typed_is_answered(lines: list[str]) -> None:
    assert all(isinstance(answer, str) for answer in session(lines))
