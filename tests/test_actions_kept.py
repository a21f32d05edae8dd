"""Records as a whole: history, out to a file and in from one, asked of a job's folder."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from firstoff import actions, actions_kept
from firstoff.checks.base import Case
from firstoff.errors import RecordError
from firstoff.records.reading import Reading
from firstoff.work import open_job, route_of


def test_out_and_in_and_what_worked(block: Path, tmp_path: Path) -> None:
    assert actions_kept.history(block) == ()
    with pytest.raises(RecordError, match="no records yet"):
        actions_kept.export_records(block, tmp_path / "all.jsonl")
    name = next(iter(route_of(open_job(block)).operations))
    record = actions.log(block, Reading(name, word="ok"))
    (way,) = actions_kept.history(block)
    assert way.words == {"ok": 1} and way.way.material == "al_6082"
    assert actions_kept.export_records(block, tmp_path / "all.csv") == 1
    for file in block.glob("records.*"):
        file.unlink()
    assert actions.records(block) == ()
    assert actions_kept.import_records(block, tmp_path / "all.csv") == (1, 0, 0)
    assert actions.records(block) == (record,)


def test_what_to_do_when_a_drill_has_broken(block: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from firstoff.dryrun import saving

    asked: list[str] = []

    def noted(case: Case, _cases: object) -> tuple[()]:
        asked.append(case.name)
        return ()

    monkeypatch.setattr(saving, "ways_after_break", noted)
    name, op = next(iter(route_of(open_job(block)).operations.items()))
    actions_kept.after_break(block, name)
    actions_kept.after_break(block, str(op.number))
    assert asked == [name, name] and actions_kept.after_break(block, "nothing") == ()


OTHERS = """[limits.width]
kind = "distance"
part = "block"
between = ["-Y", "+Y"]
tolerance = "±0.03 mm"
instrument = "micrometer_50"
[limits.length]
kind = "distance"
part = "block"
between = ["-X", "+X"]
tolerance = "±0.06 mm"
instrument = "caliper"
"""


def test_a_size_that_was_read_is_seen_beside_all_that_were_read_before(block: Path) -> None:
    """Each as it was read last; what makes no sense in the job any more is left out."""
    with (block / "job.toml").open("a", encoding="utf-8") as file:
        file.write(OTHERS)
    checked = actions.check(block, instead=False)
    alone = actions_kept.decided(checked, "width", "40.09 mm", "", block)
    assert alone.explanation is not None and len(alone.explanation.readings) == 1
    for size in ("60.5 mm", "60.09 mm"):
        actions.log(block, Reading("length", size=size))
    actions.log(block, Reading("width", size="40.01 mm"))
    both = actions_kept.decided(checked, "width", "40.09 mm", "", block)
    assert both.explanation is not None
    assert {r.limit: round(r.deviation, 3) for r in both.explanation.readings} == {"width": 0.09, "length": 0.09}
    texts = [{cause.text for cause in one.explanation.causes} for one in (alone, both) if one.explanation is not None]
    assert any("block-left-finish" in text for text in texts[1] - texts[0]), "what the length shows is a cause, too"
    assert both.read.decision == "does not conform" and both.ways
    gone = checked.job.model_copy(update={"limits": {k: v for k, v in checked.job.limits.items() if k != "length"}})
    left = replace(checked, job=gone, cases=tuple(c for c in checked.cases if c.name != "length"))
    less = actions_kept.decided(left, "width", "40.09 mm", "", block)
    assert less.explanation is not None and len(less.explanation.readings) == 1


def test_what_worked_before_is_inked_into_the_route(block: Path) -> None:
    """A cut that went well at half the depth is offered once the route is planned deeper again."""
    name, operation = next((key, op) for key, op in actions.check(block, instead=False).route.operations.items()
                           if op.cut.depth_of_cut and op.role == "face_rough")
    deep = operation.cut.depth_of_cut or 0.0
    actions.change(block, [(f"operations.{name}.cut.depth_of_cut", f"{deep / 4:.3f} mm")])
    actions.log(block, Reading(name, word="ok"))
    actions.change(block, [(f"operations.{name}.cut.depth_of_cut", f"{deep:.3f} mm")])
    found = actions_kept.repeat(block)
    assert name in {item.operation for item in found}
    before = actions.check(block, instead=False).route.operations[name].cut.depth_of_cut
    actions_kept.repeat(block, ink=True)
    after = actions.check(block, instead=False).route.operations[name].cut.depth_of_cut
    assert before == pytest.approx(deep, abs=1e-3) and after is not None and after < 0.3 * deep
