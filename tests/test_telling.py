"""What is said in the terminal: the answer first, chances as people tell them, lines that fit."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from firstoff.dryrun.result import Result, odds
from firstoff.job.route import NoWay
from firstoff.telling import (
    changed_verdicts,
    headline,
    indent,
    on_a_page,
    place,
    result_json,
    result_lines,
    sentence,
    wrapped,
)

from .sheets import made


@pytest.fixture
def result() -> Result:
    return made.result()


@pytest.mark.parametrize(("chance", "said"), [
    (None, "not known"), (0.0, "rarer than 1 in 1000"), (0.0009, "rarer than 1 in 1000"),
    (0.001, "about 1 in 1000"), (0.01, "about 1 in 100"), (0.034, "about 1 in 30"), (0.05, "about 1 in 20"),
    (0.1, "about 1 in 10"), (0.2, "about 1 in 5"), (0.34, "about 1 in 3"), (0.5, "about 5 in 10"),
    (0.9, "about 9 in 10"), (0.96, "nearly certain"), (1.0, "nearly certain"),
])
def test_chances_as_people_tell_them(chance: float | None, said: str) -> None:
    assert odds(chance) == said


def test_greater_chances_are_never_told_as_smaller() -> None:
    def told(chance: float) -> float:
        words = odds(chance).split()
        if words[0] == "nearly":
            return 1.0
        return 0.0 if words[0] == "rarer" else float(words[1]) / float(words[3])

    values = [told(i / 2000.0) for i in range(2001)]
    assert values == sorted(values)


def test_the_first_lines_tell_what_goes_first_and_what_to_do(result: Result) -> None:
    said = "\n".join(headline(result))
    assert said.startswith("block plane: 1 part, 2 settings, 4 operations, about 1.1 hours at the machine.")
    assert "FIRST TO GO: 10 bottom face_rough: tool pushed off, about 1 in 10: tool at risk." in said
    assert "The tool is pushed 0.12 mm off its line." in said
    assert "instead: 0.3 mm deep, not 0.5 mm: then about 1 in 120" in said and "+2 min" in said
    assert "Chance that anything is spoiled: at least about 1 in 8." in said
    assert "you allow 1 in 20" in said and "By book figures only." in said


def test_nothing_likely_is_said(result: Result) -> None:
    quiet = replace(result, first_to_go=None, not_counted=(), p_spoil=0.0, p_part_lost=0.0)
    said = "\n".join(headline(quiet))
    assert "Nothing that is counted is likely to go." in said
    assert "at least" not in said and "rarer than 1 in 1000" in said


def test_the_rest_by_verdict_and_the_rule_first(result: Result) -> None:
    said = "\n".join(result_lines(result))
    assert said.index("DON'T START (1)") < said.index("NO GOOD (2)") < said.index("CLOSE (1")
    assert "By hand only" in said or "held by hand only" in said
    assert "Good: 1 other checks." in said
    assert "Not counted: 2 things" in said


def test_the_changes_that_it_knows_are_listed_with_the_chance_of_the_whole_operation(result: Result) -> None:
    said = "\n".join(result_lines(result))
    assert "CHANGES THAT IT KNOWS (1; write them into route.toml, or tick them: firstoff bench)" in said
    assert "  10 bottom face_rough: 0.3 mm deep, not 0.5 mm" in said
    worse = replace(result.operations["bottom face_rough"], p_spoil=0.34)
    told = replace(result, operations={**result.operations, "bottom face_rough": worse})
    flat = " ".join(" ".join(result_lines(told)).split())
    assert "then about 1 in 120 for this operation, which is about 1 in 3 as it is, +2 min" in flat
    none = replace(result, checks=tuple(replace(c, instead=()) for c in result.checks))
    assert "CHANGES THAT IT KNOWS" not in "\n".join(result_lines(none))


def test_everything_is_listed_when_asked(result: Result) -> None:
    said = list(result_lines(result, everything=True))
    assert "  heat" in said and "  wear of the tool" in said


def test_lines_fit_a_terminal(result: Result) -> None:
    lines = [line for line in result_lines(result, everything=True) if not line.startswith("Chance that")]
    assert all(len(line) <= 100 for line in lines)
    assert all(len(line) <= 100 for line in wrapped("word " * 80, 4, 9))


def test_the_json_has_the_keys_that_are_promised(result: Result) -> None:
    told = json.loads(json.dumps(result_json(result), allow_nan=False))
    assert set(told) >= {"job", "first_to_go", "p_spoil", "p_part_lost", "not_counted", "checks", "rules",
                         "settings", "time_s", "samples", "seed"}
    first = told["first_to_go"]
    assert set(first) == {"part", "setting", "operation", "kind", "at_risk", "demand", "capacity", "unit", "p_fail",
                          "verdict", "because", "settle_by", "instead"}
    assert first["instead"] == [{"text": "0.3 mm deep, not 0.5 mm", "minutes": 1.5, "p_after": 0.008,
                                 "edits": {"operations.bottom face_rough.cut.depth_of_cut": "0.3 mm"}}]
    unknown = [c for c in told["checks"] if c["kind"] == "chatter"]
    assert unknown[0]["p_fail"] is None and unknown[0]["demand"] is None and unknown[0]["verdict"] == "can't say"
    assert {r["verdict"] for r in told["rules"]} == {"do", "don't start"}
    assert (told["samples"], told["seed"], told["time_s"]) == (2048, 20, 3900.0)


def test_verdicts_that_changed_are_told_with_both(result: Result) -> None:
    assert changed_verdicts(result, result) == []
    checks = tuple(replace(c, verdict="good", finding=made.finding("push_off", "operation", c.operation, 0.002, "x"))
                   if c.finding.check == "push_off" else c for c in result.checks)
    (said,) = changed_verdicts(result, replace(result, checks=checks))
    assert said.startswith("10 bottom face_rough: tool pushed off: no good, now good (about 1 in 1")
    assert said.endswith("now about 1 in 500)")
    (old,) = (c for c in result.checks if c.finding.check == "push_off")
    barely = tuple(replace(c, verdict="close") if c is old else c for c in result.checks)
    (said,) = changed_verdicts(result, replace(result, checks=barely))
    assert said.endswith("no good, now close (about 1 in 10, hardly changed)")


def test_a_place_has_the_number_on_the_card(result: Result) -> None:
    assert place(result.checks[0]) == "10 bottom face_rough"
    assert place(result.checks[-1]) == "sole"


@pytest.mark.parametrize(("text", "said"), [("it bends", "It bends."), ("Ready?", "Ready?"), ("", "."),
                                           ("top.nc, line 5: it bends", "top.nc, line 5: it bends.")])
def test_a_sentence(text: str, said: str) -> None:
    assert sentence(text) == said


def test_indented_lines_leave_blank_ones_alone() -> None:
    assert list(indent(["a", "", " b"])) == ["  a", "", "   b"]


def test_a_route_without_a_way_is_told_first(result: Result) -> None:
    route = result.route.model_copy(update={
        "operations": {}, "no_way": (NoWay(part="body", feature="stock-1", because="the shop has no vise for it"),),
    })
    lines = list(headline(replace(result, route=route, first_to_go=None)))
    assert lines[1].startswith("NO WAY FOUND for 1 features")
    assert "There is no operation to check: this says nothing of the job." in lines
    assert not any("is likely to go" in line for line in lines)


def test_a_page_breaks_lines_itself() -> None:
    long = "word " * 60
    with on_a_page():
        assert len(list(wrapped(long))) == 1
    assert len(list(wrapped(long))) > 1
