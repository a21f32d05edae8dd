"""Every file of checks/ is found, and says in a known word what a person would hear or see."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import pytest

import firstoff.checks
from firstoff.checks.base import Subject
from firstoff.dryrun.registry import NOT_BUILT, all_checks, all_rules, checks_about

FOLDER = Path(firstoff.checks.__file__).parent
WORDS = {"": set(), "sang": {"chatter"}, "squealed": {"rubbing"}, "slowed": {"power", "drilling", "axis thrust"},
         "moved": {"holding"}, "broke": {"tool strength", "drilling", "tapping"}}


def exporting(name: str) -> int:
    """How many files of checks/ have this name at the start of a line."""
    files = [f for f in FOLDER.glob("*.py") if not f.name.startswith("_") and f.stem not in ("base", "si")]
    return sum(any(line.startswith(f"{name} =") for line in f.read_text("utf-8").splitlines()) for f in files)


def test_all_are_found() -> None:
    assert len(all_checks()) == exporting("CHECK") > 10
    assert len(all_rules()) == exporting("RULE") > 2


@pytest.mark.parametrize("subject", get_args(Subject))
def test_those_about_a_subject_are_all_that_say_so(subject: Subject) -> None:
    assert checks_about(subject) == tuple(c for c in all_checks() if c.subject == subject)


def test_without_a_program_those_that_read_one_are_left_out() -> None:
    """They begin with the word; none of them applies where nothing was read (test of each)."""
    left = set(checks_about("operation")) - set(checks_about("operation", program=False))
    assert {c.name for c in left} == {c.name for c in all_checks() if c.evaluate.__module__.split(".")[-1].startswith(
        "program_")} and len(left) > 5


def test_names_and_titles_are_one_of_a_kind_and_in_order() -> None:
    for found in ([c.name for c in all_checks()], [r.name for r in all_rules()]):
        assert found == sorted(set(found))
    titles = [c.title for c in all_checks()]
    assert len(set(titles)) == len(titles) and all(titles)


def test_words_are_those_that_people_say_of_it() -> None:
    """sang is chatter, squealed rubbing, slowed the spindle, moved the holding, broke the tool."""
    for check in all_checks():
        assert check.word in WORDS, check.name
        assert not check.word or check.name in WORDS[check.word], check.name
    said = {c.word for c in all_checks()}
    assert {"sang", "squealed", "slowed", "moved", "broke"} <= said


def test_a_size_or_finish_speaks_only_by_measuring() -> None:
    """But for chatter and rubbing, which are heard."""
    for check in all_checks():
        if check.at_risk in ("size", "finish") and check.word:
            assert check.word in ("sang", "squealed"), check.name


def test_what_can_be_turned_is_an_operations_or_a_joints_or_how_a_setting_holds() -> None:
    for check in all_checks():
        assert not check.knobs or check.subject in ("operation", "joint", "setting"), check.name
        if check.subject == "setting":
            assert all(knob.path.startswith("holding.") for knob in check.knobs), check.name
        paths = [knob.path for knob in check.knobs]
        assert len(set(paths)) == len(paths), check.name


def test_what_is_not_built_is_told_once() -> None:
    assert len(set(NOT_BUILT)) == len(NOT_BUILT) > 0
