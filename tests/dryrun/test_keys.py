"""The key of a case holds all that a check may read of it, and nothing else."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from firstoff.checks.base import Case, Past
from firstoff.dryrun import keys as room
from firstoff.dryrun.keys import case_key, touches
from firstoff.shop.models import Shop
from tests.checks import builders
from tests.dryrun import small

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("what", small.CHANGES)
def test_every_number_of_an_operation_is_in_its_key(what: str) -> None:
    before, after = small.cases()[small.FACE], small.cases(small.route((small.CHANGES[what],)))[small.FACE]
    assert case_key(before, small.belief()) != case_key(after, small.belief())


def test_what_an_operation_does_not_look_at_is_not_in_its_key() -> None:
    """Its number is only order, a later operation comes later, another tool in the rack is not in the spindle."""
    believed, before = small.belief(), case_key(small.cases()[small.FACE], small.belief())
    later = small.route(((f"operations.{small.POCKET}.cut.depth_of_cut", "0.5 mm"),
                         (f"operations.{small.FACE}.number", "5")))
    assert case_key(small.cases(later)[small.FACE], believed) == before
    richer = small.shop(em3=builders.tool(name="end mill 3 mm", diameter="3 mm"))
    assert case_key(small.cases(in_shop=richer)[small.FACE], believed) == before


def test_what_was_cut_before_is_in_the_key() -> None:
    other = small.route(((f"operations.{small.FACE}.leaves", "0.3 mm"),))
    believed = small.belief()
    assert case_key(small.cases(other)[small.POCKET], believed) != case_key(small.cases()[small.POCKET], believed)


def test_a_screw_that_changes_is_in_the_key_of_the_hole_it_goes_through_and_not_of_a_face() -> None:
    def with_screw(case: Case, screw: str) -> Case:
        (name, joint), *_ = case.job.joints.items()
        joints = {**case.job.joints, name: joint.model_copy(update={"screw": screw})}
        return replace(case, job=case.job.model_copy(update={"joints": joints}))

    believed = small.belief()
    for name, same in ((small.DRILL, False), (small.FACE, True)):
        case = small.cases()[name]
        keys = {case_key(with_screw(case, screw), believed) for screw in ("M4 x 12", "M4 x 10")}
        assert (len(keys) == 1) == same


def test_the_units_of_the_words_are_in_the_key() -> None:
    inches = small.cases(wanted=small.job(units="in"))[small.FACE]
    assert case_key(inches, small.belief()) != case_key(small.cases()[small.FACE], small.belief())


def test_rows_and_seed_are_in_the_key() -> None:
    case, believed = small.cases()[small.FACE], small.belief()
    keys = {case_key(case, b) for b in (believed, replace(believed, seed=21), replace(believed, rows=128))}
    assert len(keys) == 3


@pytest.mark.parametrize("edit", [("removes", "0.9 mm"), ("cut.depth_of_cut", "0.9 mm")])
@pytest.mark.parametrize("name", ["height", "screws"])
def test_limits_and_joints_look_at_how_their_parts_are_made(name: str, edit: tuple[str, str]) -> None:
    edited = small.route(((f"operations.{small.FACE}.{edit[0]}", edit[1]),))
    one, other = small.cases()[name], small.cases(edited)[name]
    assert case_key(other, small.belief()) != case_key(one, small.belief())
    apart = case_key(other, small.belief(), cuts=False) != case_key(one, small.belief(), cuts=False)
    assert apart == (edit[0] == "removes"), "a limit says itself which cuts it reads, a joint reads none"


def test_what_blunts_a_tool_is_all_that_its_wear_is_known_by() -> None:
    from firstoff.checks._life import used

    believed = builders.belief()
    past = Past("first", "em6", "carbide", "steel", "dry", False, False, 60.0, 0.0, 1e-6, 40.0, 2e-5, 1e-3, 1.5)
    other = replace(past, setting="second", seconds=90.0, cooling=5.0, volume=2e-6, depth=2e-3, operation="else")
    assert past.blunts == other.blunts
    assert used([past], None, believed) == pytest.approx(used([other], None, believed))
    assert used([past], None, believed) != pytest.approx(used([replace(past, edge_time=80.0)], None, believed))


def test_a_joint_looks_at_both_its_parts_and_a_limit_at_its_own() -> None:
    other = small.route(((f"operations.{small.SINK}.cut.depth_of_cut", "2 mm"),))
    before, after, believed = small.cases(), small.cases(other), small.belief()
    assert case_key(after["screws"], believed) != case_key(before["screws"], believed)
    assert case_key(after["height"], believed) == case_key(before["height"], believed)
    assert touches(before["screws"], "lid") and touches(before["screws"], "block+lid")
    assert not touches(before["height"], "lid")


def test_what_the_shop_calls_close_is_in_the_key_of_a_joint() -> None:
    """The bar of a lever is told how thick it would have to be, by that."""
    strict = small.shop().model_copy(update={"close": 0.02})
    assert (case_key(small.cases(in_shop=strict)["screws"], small.belief())
            != case_key(small.cases()["screws"], small.belief()))


KEYS = """
from tests.dryrun import small
from firstoff.dryrun import keys
keys.sources_digest = lambda: "these sources"
believed = small.belief()
print(*(keys.case_key(case, believed) for case in small.cases().values()), believed.digest)
"""


def test_keys_are_the_same_in_another_process(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sets have another order there; the keys must not."""
    monkeypatch.setattr(room, "sources_digest", lambda: "these sources")
    said = []
    for seed in ("1", "2"):
        env = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join((str(ROOT / "src"), str(ROOT)))}
        said.append(subprocess.run([sys.executable, "-c", KEYS], env=env, cwd=ROOT, capture_output=True, text=True,
                                   check=True).stdout)
    believed = small.belief()
    here = " ".join([*(case_key(case, believed) for case in small.cases().values()), believed.digest])
    assert said[0] == said[1]
    assert said[0].strip() == here


def test_the_sources_of_checks_and_physics_name_a_finding(monkeypatch: pytest.MonkeyPatch) -> None:
    case, believed = small.cases()[small.FACE], small.belief()
    before = case_key(case, believed)
    monkeypatch.setattr(room, "sources_digest", lambda: "other sources")
    assert case_key(case, believed) != before
    assert {"cutting", "holding", "stack", "checks", "removal"} <= set(room.ROOMS)


def test_every_source_that_a_finding_may_stand_on_is_in_the_digest() -> None:
    """What the rooms import of the house: other rooms of the digest, or a file beside them."""
    source = ROOT / "src" / "firstoff"
    texts = [file.read_text(encoding="utf-8") for r in room.ROOMS for file in (source / r).rglob("*.py")]
    asked = {name for text in texts for name in re.findall(r"^\s*from (?:\.\.|firstoff\.)(\w+)", text, re.MULTILINE)}
    assert asked and asked <= {*room.ROOMS, *room.BESIDE}, asked - {*room.ROOMS, *room.BESIDE}


def test_every_field_of_the_machine_is_in_the_key() -> None:
    tiny: Shop = small.shop()
    slower = tiny.machines["mill"].model_copy(update={"setup_time": 900.0})
    other = tiny.model_copy(update={"machines": {**tiny.machines, "mill": slower}})
    believed = small.belief()
    assert case_key(small.cases(in_shop=other)[small.FACE], believed) != case_key(small.cases()[small.FACE], believed)
