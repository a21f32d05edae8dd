"""One function for each thing a user can ask: what it needs, what it returns, what it refuses."""

from __future__ import annotations

import json
import math
import shutil
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

import pytest

from firstoff import actions
from firstoff.dryrun.registry import all_checks
from firstoff.errors import FileError, NameUnknown, RecordError
from firstoff.job.reading import load_job
from firstoff.records.reading import Reading
from firstoff.route.writing import read_route
from firstoff.shop.columns import columns_of
from firstoff.shop.library import load_shop
from firstoff.work import PLANNED_PARTS, open_job

from .part import models

TOP = "block-top-rough"


def test_a_new_job_lacks_its_model_and_says_so(tmp_path: Path) -> None:
    asked = actions.new("job", tmp_path / "x")
    assert all(text.startswith("job.toml, line ") for text in asked)
    with pytest.raises(FileError) as caught:
        actions.check(tmp_path / "x")
    assert str(caught.value).startswith(f"{tmp_path / 'x' / 'job.toml'}, line ")
    assert "parts.bracket.model: there is no model 'bracket.step'" in str(caught.value)
    assert sorted(f.name for f in (tmp_path / "x").iterdir()) == ["job.toml"]
    (tmp_path / "x" / "brackett.toml").write_text("", encoding="utf-8")
    with pytest.raises(FileError, match=r"in the folder there is brackett\.toml"):
        actions.plan(tmp_path / "x")


def test_a_new_job_filled_in_is_a_job(tmp_path: Path) -> None:
    """The template as it stands: only the model is missing; with it, it opens."""
    actions.new("job", tmp_path)
    job = load_job(tmp_path)
    size = [stock - 1.0 for stock in job.parts["bracket"].stock.size]
    models.write(models.box(size[0], size[1], size[2]), tmp_path / "bracket.step")
    work = open_job(tmp_path)
    assert list(work.parts) == ["bracket"] and work.figures_note == "book figures only"
    assert work.cache == tmp_path / ".firstoff"


def test_what_the_template_leaves_as_a_remark_is_right_when_written_in(tmp_path: Path) -> None:
    actions.new("job", tmp_path)
    lines = (tmp_path / "job.toml").read_text(encoding="utf-8").splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith("# [limits"))
    written = [*lines[:start], *(line.removeprefix("# ") for line in lines[start:])]
    (tmp_path / "job.toml").write_text("\n".join(written), encoding="utf-8")
    assert load_job(tmp_path).limits


def test_a_new_shop_loads_and_is_believed(tmp_path: Path) -> None:
    asked = actions.new("shop", tmp_path / "shop")
    assert all(text.startswith("shop.toml, line ") for text in asked)
    shop = load_shop(tmp_path / "shop")
    assert shop.machines and shop.materials
    assert len({column.key for column in columns_of(shop)}) == len(columns_of(shop))


def test_a_new_shop_has_the_tools_of_the_library(tmp_path: Path) -> None:
    actions.new("shop", tmp_path)
    shop = load_shop(tmp_path)
    assert shop.tools and shop.collets and shop.devices and shop.instruments


@pytest.mark.parametrize("kind", ["job", "shop"])
def test_nothing_is_overwritten(tmp_path: Path, kind: Literal["job", "shop"]) -> None:
    (tmp_path / f"{kind}.toml").write_text("mine", encoding="utf-8")
    with pytest.raises(FileError, match="nothing was changed"):
        actions.new(kind, tmp_path)
    assert (tmp_path / f"{kind}.toml").read_text(encoding="utf-8") == "mine"


def test_what_to_fill_in_names_line_and_key(tmp_path: Path) -> None:
    for text in actions.new("job", tmp_path):
        number, _, rest = text.removeprefix("job.toml, line ").partition(": ")
        line = (tmp_path / "job.toml").read_text(encoding="utf-8").splitlines()[int(number) - 1]
        assert "#!" in line and rest.partition(":")[0] in line and rest


def test_a_material_that_the_shop_lacks(block: Path) -> None:
    file = block / "job.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("al_6082", "gold"), encoding="utf-8")
    with pytest.raises(NameUnknown, match="gold") as caught:
        open_job(block)
    assert caught.value.where == f"{file}, line 4, parts.block.material"
    assert "al_6082" in caught.value.right


def test_progress_is_told(block: Path) -> None:
    shutil.rmtree(block / ".firstoff")
    heard: list[tuple[str, float]] = []
    open_job(block, progress=lambda what, share: heard.append((what, share)))
    assert heard == [("reading block.step", 0.0)]


def test_a_check_needs_a_route(block: Path) -> None:
    (block / "route.toml").unlink()
    for action in (actions.check, actions.sheets):
        with pytest.raises(FileError, match="no route yet") as caught:
            action(block)
        assert "firstoff plan" in caught.value.right


def test_naming_the_file_is_as_good_as_its_folder(block: Path) -> None:
    by_folder = actions.check(block, instead=False)
    by_file = actions.check(block / "job.toml", instead=False)
    assert by_file.p_spoil == by_folder.p_spoil and by_file.figures == by_folder.figures
    record = actions.log(block / "job.toml", Reading(TOP, word="ok"))
    assert actions.records(block) == actions.records(block / "job.toml") == (record,)


def test_a_change_keeps_what_is_around_it(block: Path) -> None:
    route = block / "route.toml"
    before = route.read_text(encoding="utf-8")
    actions.change(block, [(f"operations.{TOP}.cut.depth_of_cut", "0.11 mm")])
    after = route.read_text(encoding="utf-8")
    different = [(a, b) for a, b in zip(before.splitlines(), after.splitlines(), strict=True) if a != b]
    assert [b for _, b in different] == ['depth_of_cut = "0.11 mm"']


def test_the_feed_that_a_person_keys_in_is_inked_as_the_route_has_it(block: Path) -> None:
    actions.change(block, [(f"operations.{TOP}.feed", "300 mm/min")])
    draft = actions.check(block, instead=False, edits=[(f"operations.{TOP}.feed", "300 mm/min")])
    route = read_route(block)
    assert draft.route.operations[TOP].cut == route.operations[TOP].cut
    cut, tool = route.operations[TOP].cut, draft.shop.tools[str(route.operations[TOP].tool)]
    assert cut.feed_per_tooth is not None and cut.spindle_speed is not None
    fed = cut.feed_per_tooth * tool.flutes * cut.spindle_speed / (2.0 * math.pi) * 60.0
    assert fed == pytest.approx(300.0, rel=1e-3)


def test_one_changed_number_changes_only_its_own_checks(block: Path) -> None:
    def chances() -> dict[tuple[str, str], float | None]:
        found = actions.check(block, instead=False)
        return {(c.operation, c.finding.check): c.finding.p_fail for c in found.checks}

    before = chances()
    actions.change(block, [(f"operations.{TOP}.cut.spindle_speed", "700 rpm")])
    after = chances()
    changed = {where for where in before if before[where] != after[where]}
    others = {check for operation, check in changed if operation != TOP}
    felt = {check.name for check in all_checks() if check.feels_wear} | {"wear"}
    assert others <= felt and (TOP, "rubbing") not in changed, "a cutter wears over all it does, and is felt to"
    assert any(operation == TOP for operation, _ in changed)


def test_learning_moves_verdicts_and_says_by_whose_figures(block: Path) -> None:
    with pytest.raises(RecordError, match="no records"):
        actions.learn(block)
    book = actions.check(block, instead=False)
    when = datetime(2026, 3, 1, tzinfo=UTC)
    record = actions.log(block, Reading(TOP, word="sang"), when=when)
    assert record.when == when
    assert open_job(block).figures_note == "book figures only; there are records: run firstoff learn"
    learned = actions.learn(block)
    own = actions.check(block, instead=False)
    assert learned.records == 1 and own.figures != book.figures
    assert own.figures_note.startswith("own figures from 1 records")
    was, now = ({(c.operation, c.finding.check): c.finding.p_fail for c in r.checks} for r in (book, own))
    sang = TOP, "chatter"
    assert (now[sang] or 0.0) > (was[sang] or 0.0)
    reach = TOP, "reach"
    assert now[reach] == was[reach], "no figure that was learned bears on it"


def test_each_setting_is_drawn_from_four_sides(block: Path) -> None:
    result = actions.check(block, instead=False)
    drawn = actions.draw(result, block)
    assert set(drawn) == set(result.route.settings)
    for views in drawn.values():
        assert [view.name for view in views] == ["plan", "front", "side", "pictorial"]
        assert all(view.visible for view in views)


def test_a_part_alone(block: Path, tmp_path: Path) -> None:
    found = actions.part(block / "block.step")
    assert [b - a for a, b in zip(found.low, found.high, strict=True)] == pytest.approx([60.0, 40.0, 20.0])


def revised(block: Path, **changes: object) -> None:
    """Make it look as if the model had been another when the route was planned."""
    file = block / ".firstoff" / PLANNED_PARTS
    table = json.loads(file.read_text(encoding="utf-8"))
    (part,) = table["parts"].values()
    part["sha256"] = "0" * 64
    for face in part["faces"]:
        face.update(changes)
    file.write_text(json.dumps(table), encoding="utf-8")


def test_a_revised_model_that_changes_nothing_used_is_said(block: Path) -> None:
    actions.plan(block)
    revised(block)
    result = actions.check(block, instead=False)
    assert len(result.remarks) == 1
    assert "in nothing that the route works on" in result.remarks[0]


def test_a_face_that_the_revised_model_lost_is_not_counted(block: Path) -> None:
    actions.plan(block)
    revised(block, kind="torus", radius=99.0)
    result = actions.check(block, instead=False)
    assert "plan again" in result.remarks[0]
    assert any(line.endswith("is lost") for line in result.remarks)
    assert set(result.remarks) <= set(result.not_counted)


def test_what_a_sketch_says_of_its_holes_the_job_need_not_repeat(block: Path) -> None:
    job = (block / "job.toml").read_text(encoding="utf-8")
    lines = "block 60 x 40 x 12\nhole M4 deep 8 at 10, 10 on top\nhole 4 H7 through at 30, 20 on top"
    (block / "sketch.toml").write_text(f"unit = \"mm\"\nlines = '''\n{lines}\n'''\n", encoding="utf-8")
    model = next(line for line in job.splitlines() if line.startswith("model"))
    head = job[: job.index("[parts")]
    part = f'[parts.plate]\n{model.split("=")[0]}= "sketch.toml"\nmaterial = "al_6082"\n'
    stock = '[parts.plate.stock]\nsize = ["62 mm", "42 mm", "13 mm"]\n'
    (block / "job.toml").write_text(head + part + stock, encoding="utf-8")
    wanted = open_job(block).job.parts["plate"]
    assert list(wanted.threads.values()) == ["M4 x 8 deep"]
    assert list(wanted.ream.values()) == ["H7"]
