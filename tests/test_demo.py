"""The demo goes once round the loop, and finds what is wrong on purpose."""

from __future__ import annotations

import json
import math
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from firstoff.demo import MADE_HERE, run_demo
from firstoff.errors import FileError
from firstoff.job.reading import load_job, load_route
from firstoff.work import quiet

from .conftest import DemoRun

VERDICTS = {"good", "close", "no good", "can't say"}
CHECK = {"part", "setting", "operation", "kind", "at_risk", "demand", "capacity", "unit", "p_fail", "verdict",
         "because", "settle_by", "instead"}
ANSWER = {"job", "first_to_go", "p_spoil", "p_part_lost", "not_counted", "checks", "rules", "settings", "time_s",
          "samples", "seed"}


@pytest.fixture(scope="module")
def answer(demo_run: DemoRun) -> dict[str, Any]:
    """What `check --json` prints, by way of text."""
    found: dict[str, Any] = json.loads(json.dumps(demo_run.outcome["check"], allow_nan=False))
    return found


def numbers(value: object) -> Iterator[float]:
    """Every number in an answer."""
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        for item in value:
            yield from numbers(item)
    elif isinstance(value, float | int) and not isinstance(value, bool):
        yield float(value)


def of(answer: dict[str, Any], operation: str, kind: str) -> dict[str, Any]:
    """One check of the answer."""
    found = [c for c in answer["checks"] if (c["operation"], c["kind"]) == (operation, kind)]
    assert len(found) == 1, f"{len(found)} checks {kind!r} of {operation!r}"
    one: dict[str, Any] = found[0]
    return one


def test_the_answer_has_the_keys_that_are_promised(answer: dict[str, Any]) -> None:
    assert set(answer) >= ANSWER
    for check in (answer["first_to_go"], *answer["checks"]):
        assert set(check) == CHECK
        assert check["verdict"] in VERDICTS
        assert check["at_risk"] in {"finish", "size", "tool", "part"}
        assert check["because"]
        for spread in (check["demand"], check["capacity"]):
            assert spread is None or set(spread) == {"low", "median", "high"}
        for remedy in check["instead"]:
            assert set(remedy) == {"text", "edits", "p_after", "minutes"}
            assert all(isinstance(value, str) and value for value in remedy["edits"].values())
    for rule in answer["rules"]:
        assert set(rule) >= {"rule", "verdict", "because"}
        assert rule["verdict"] in {"do", "don't start"}


def test_every_number_is_one_and_every_chance_a_chance(answer: dict[str, Any]) -> None:
    assert all(math.isfinite(number) for number in numbers(answer))
    chances = [answer["p_spoil"], answer["p_part_lost"], *(c["p_fail"] for c in answer["checks"]),
               *(r["p_after"] for c in answer["checks"] for r in c["instead"])]
    assert all(p is None or 0.0 <= p <= 1.0 for p in chances)
    known = [c["p_fail"] for c in answer["checks"] if c["p_fail"] is not None]
    assert max(known) <= answer["p_spoil"] + 1e-12
    assert answer["p_part_lost"] <= answer["p_spoil"]
    assert answer["time_s"] > 0 and answer["samples"] == 2048


def test_low_median_and_high_are_in_order(answer: dict[str, Any]) -> None:
    for check in answer["checks"]:
        for spread in (check["demand"], check["capacity"]):
            assert spread is None or spread["low"] <= spread["median"] <= spread["high"]


def test_verdicts_follow_from_the_chances(answer: dict[str, Any]) -> None:
    for check in answer["checks"]:
        p, said = check["p_fail"], check["verdict"]
        assert p is not None or said == "can't say"
        if said in ("good", "close", "no good"):
            assert said == ("good" if p <= 0.01 else "close" if p <= 0.05 else "no good")
        if said == "can't say" and p is not None:
            assert check["settle_by"]


def test_what_is_named_is_in_route_or_job(demo_run: DemoRun, answer: dict[str, Any]) -> None:
    route, job = load_route(demo_run.folder), load_job(demo_run.folder)
    assert route is not None
    subjects = {*route.operations, *route.settings, *job.limits, *job.joints}
    for check in answer["checks"]:
        assert check["operation"] in subjects
        assert check["part"] in {"", *job.parts}
        assert check["setting"] in {"", *route.settings}
    assert [s["setting"] for s in answer["settings"]] == list(route.settings)
    assert sorted(n for s in answer["settings"] for n in s["operations"]) == sorted(route.operations)


def test_first_to_go_is_one_of_the_checks(answer: dict[str, Any]) -> None:
    first = answer["first_to_go"]
    assert first in answer["checks"]
    assert first["verdict"] == "no good"


def test_the_screws_bottom_and_shorter_ones_would_not(answer: dict[str, Any]) -> None:
    found = of(answer, "sole_screws", "screw length")
    assert found["verdict"] == "no good" and found["at_risk"] == "part" and found["p_fail"] > 0.95
    assert {"joints.sole_screws.screw": "M4 x 12"} in [remedy["edits"] for remedy in found["instead"]]


def test_the_thin_cap_yields(answer: dict[str, Any]) -> None:
    found = of(answer, "cap_lever", "lever")
    assert found["verdict"] == "no good" and "yield" in found["because"]


def test_the_chamfer_cutter_runs_into_a_wall(answer: dict[str, Any]) -> None:
    found = [c for c in answer["checks"] if c["kind"] == "chamfer fouls" and c["verdict"] == "no good"]
    assert [c["part"] for c in found] == ["body"]
    assert found[0]["demand"]["median"] > found[0]["capacity"]["median"]


def test_the_first_pass_stays_in_the_scale_and_a_deeper_one_would_not(
    demo_run: DemoRun, answer: dict[str, Any]
) -> None:
    thin = [c for c in answer["checks"] if c["kind"] == "scale" and c["verdict"] == "no good"]
    assert [c["part"] for c in thin] == ["sole"]
    route = load_route(demo_run.folder)
    assert route is not None and route.operations[thin[0]["operation"]].cut.depth_of_cut == 0.15
    assert thin[0]["instead"] and thin[0]["instead"][0]["p_after"] < thin[0]["p_fail"]
    assert any(key.endswith("cut.depth_of_cut") for key in thin[0]["instead"][0]["edits"])


def test_what_is_not_counted_is_told(demo_run: DemoRun, answer: dict[str, Any]) -> None:
    assert [text for text in answer["not_counted"] if text.startswith("not built yet: ")]
    assert demo_run.outcome["not_counted"] == answer["not_counted"]
    unknown = [c for c in answer["checks"] if c["p_fail"] is None]
    for check in unknown:
        assert any(text.startswith(check["operation"]) for text in answer["not_counted"])


def test_three_records_are_kept_and_something_is_learned(demo_run: DemoRun) -> None:
    assert len(demo_run.outcome["records"]) == 3
    assert "sang" in demo_run.outcome["records"][2]
    assert " W (60 W running free)" in demo_run.outcome["records"][1]
    assert "mm with the" in demo_run.outcome["records"][0]
    assert any("by the book" in text for text in demo_run.outcome["learned"])
    assert demo_run.outcome["p_spoil"]["before"] == demo_run.outcome["check"]["p_spoil"]
    assert (demo_run.folder / "shop" / "records.sqlite").is_file()


def test_what_changed_is_said_with_both_verdicts(demo_run: DemoRun) -> None:
    assert demo_run.outcome["changed"]
    for text in demo_run.outcome["changed"]:
        before, now = text.rpartition(", now ")[0], text.rpartition(", now ")[2]
        assert any(f": {word}, now " in text for word in VERDICTS), text
        assert before != now


def test_the_sheets_have_a_page_for_each_setting(demo_run: DemoRun) -> None:
    raw = Path(demo_run.outcome["pdf"]).read_bytes()
    assert raw.startswith(b"%PDF") and raw.rstrip().endswith(b"%%EOF")
    pages = raw.count(b"/Type /Page\n") + raw.count(b"/Type /Page ") + raw.count(b"/Type/Page/")
    assert pages >= demo_run.outcome["settings"]


def test_the_first_screen_tells_what_goes_first_and_what_to_do(demo_run: DemoRun) -> None:
    at = [i for i, line in enumerate(demo_run.lines) if line.startswith("  FIRST TO GO: ")]
    assert len(at) == 2, "before and after learning"
    screen = "\n".join(demo_run.lines[at[0]: at[0] + 12])
    assert "instead: " in screen and "Chance that anything is spoiled" in screen
    for heading in ("1  PLAN", "2  CHECK", "3  SHEETS", "4  LOG", "5  LEARN", "6  CHECK AGAIN"):
        assert sum(line.startswith(heading) for line in demo_run.lines) == 1
    assert all(len(line) <= 110 for line in demo_run.lines if "/" not in line)


def test_it_empties_no_folder_but_its_own(tmp_path: Path) -> None:
    (tmp_path / ".firstoff").mkdir()
    precious = tmp_path / "job.toml"
    precious.write_text("my own job")
    with pytest.raises(FileError, match="holds something else"):
        run_demo(tmp_path, say=lambda _lines: None, progress=quiet)
    assert precious.read_text() == "my own job"


def test_it_marks_its_own_folder(demo_run: DemoRun) -> None:
    assert (demo_run.folder / ".firstoff" / MADE_HERE).is_file()


def test_a_demo_folder_that_was_changed_is_left_alone(demo_run: DemoRun, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(demo_run.folder, tmp_path / "job"))
    route = folder / "route.toml"
    route.write_text(route.read_text(encoding="utf-8") + "\n# mine\n", encoding="utf-8")
    with pytest.raises(FileError, match="was changed since the demo made it"):
        run_demo(folder, say=lambda _lines: None, progress=lambda _what, _share: None)
    assert route.read_text(encoding="utf-8").endswith("# mine\n")
