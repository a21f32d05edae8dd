"""Settling the cuts of a route: what is bad is mended, what is good or locked stays, what was chosen is kept."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.dryrun.choosing import Chooser
from firstoff.dryrun.run import dry_run
from firstoff.job.route import Cut, Route
from firstoff.route import choose as room
from firstoff.route.choose import settle_cuts
from tests.checks import builders
from tests.dryrun import small
from tests.dryrun.small import DRILL, FACE, POCKET, SINK

BOLD = tuple((f"operations.{FACE}.cut.{key}", text) for key, text in (("width_of_cut", "5 mm"),
                                                                     ("feed_per_tooth", "0.05 mm")))
CALM = tuple((f"operations.{name}.cut.{key}", text) for name in (FACE, POCKET)
             for key, text in (("depth_of_cut", "0.07 mm"), ("width_of_cut", "0.6 mm")))


@cache
def believed() -> Belief:
    """A stiff mill without power to spare; few rows."""
    return small.belief(machine_mill__power=100.0, machine_mill__stiffness_x=6e7,
                        machine_mill__stiffness_y=6e7, discrepancy_wear__factor=0.1).thinned(np.arange(0, 256, 8))


def settle(route: Route, cache: Path | None = None, belief: Belief | None = None) -> Route:
    return settle_cuts(small.job(), small.shop(), route, small.parts(), belief or believed(), cache=cache,
                       progress=lambda what, share: None)


def cut(route: Route, name: str) -> Cut:
    return route.operations[name].cut


@cache
def bold() -> Route:
    """A route with one cut that stalls the spindle."""
    return small.route((*CALM, *BOLD, (f"operations.{FACE}.cut.depth_of_cut", "1 mm")))


@cache
def settled() -> Route:
    return settle(bold())


def spoiled(route: Route) -> dict[str, float]:
    result = dry_run(small.job(), small.shop(), route, small.parts(), believed(), instead=False)
    return {name: time.p_spoil for name, time in result.operations.items()}


def test_a_bad_cut_is_settled() -> None:
    before, after = spoiled(bold()), spoiled(settled())
    assert before[FACE] > 0.9
    assert after[FACE] < 0.1
    assert cut(settled(), FACE) != cut(bold(), FACE)


def test_a_good_cut_and_what_has_no_numbers_to_choose_stay() -> None:
    assert spoiled(bold())[POCKET] <= small.shop().close
    for name in (POCKET, DRILL, SINK):
        assert settled().operations[name] == bold().operations[name], name


def test_only_cuts_are_changed() -> None:
    old, new = bold(), settled()
    assert new.model_copy(update={"operations": old.operations}) == old
    face = new.operations[FACE]
    assert face.model_copy(update={"cut": cut(old, FACE)}) == old.operations[FACE]
    assert list(new.operations) == list(old.operations)


def test_where_all_are_good_nothing_is_touched() -> None:
    calm = small.route(CALM)
    assert max(spoiled(calm)[name] for name in (FACE, POCKET)) <= small.shop().close
    assert settle(calm) == calm


def test_a_locked_cut_stays_however_bad() -> None:
    locked = small.route(((f"operations.{FACE}.locked", "true"), *CALM, *BOLD))
    assert settle(locked) == locked


def test_a_route_without_operations_has_nothing_to_settle() -> None:
    empty = Route.model_validate({"settings": {"block-1": builders.setting()}})
    assert settle(empty) == empty


class Never(Chooser):
    def best(self, enough: float) -> Any:
        raise AssertionError("it was chosen before")


def test_what_was_chosen_is_kept_on_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = settle(bold(), tmp_path)
    assert first == settled() and any((tmp_path / "cuts").iterdir())
    monkeypatch.setattr(room, "Chooser", Never)
    assert settle(bold(), tmp_path) == first


def test_other_figures_are_chosen_for_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    settle(bold(), tmp_path)
    monkeypatch.setattr(room, "Chooser", Never)
    stronger = small.belief(machine_mill__power=900.0).thinned(np.arange(0, 256, 8))
    with pytest.raises(AssertionError, match="chosen before"):
        settle(bold(), tmp_path, stronger)
    with pytest.raises(AssertionError, match="chosen before"):
        settle(small.route((*CALM, *BOLD, (f"operations.{FACE}.cut.depth_of_cut", "0.9 mm"))), tmp_path)


@pytest.mark.parametrize("text", [b"", b"7", b"[1]", b'{"depth": 1}', b'{"depth_of_cut": "deep"}', b"\xe9\xff"])
def test_a_damaged_memory_is_only_a_missing_one(text: bytes, tmp_path: Path) -> None:
    file = tmp_path / "cut"
    file.write_bytes(text)
    assert room._read_cut(file) is None
    assert room._read_cut(tmp_path / "gone") is None and room._read_cut(None) is None


def test_every_file_damaged_the_same_is_chosen_again(tmp_path: Path) -> None:
    settle(bold(), tmp_path)
    for file in (tmp_path / "cuts").iterdir():
        file.write_bytes(b"{")
    assert settle(bold(), tmp_path) == settled()


def test_progress_names_each_operation_that_is_chosen_for() -> None:
    told: list[tuple[str, float]] = []
    settle_cuts(small.job(), small.shop(), small.route(CALM), small.parts(), believed(),
                progress=lambda what, share: told.append((what, share)))
    assert told[:2] == [(f"choosing speed, feed and depth: {FACE}", 0.0),
                        (f"choosing speed, feed and depth: {POCKET}", 0.5)]


def test_the_budget_is_shared_out_until_all_operations_keep_to_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of 5 % each may take a fifth at first; who took too much of it, and only they, must do with less.

    The face takes three times what it is told to: 3 % and the pocket's 2.4 % are 5.3 %; then 0.6 % and 2.4 %.
    """
    asked: list[tuple[str, float]] = []

    class Greedy(Chooser):
        def best(self, enough: float) -> Any:
            asked.append((self.case.name, round(enough, 6)))
            lost = 3.0 * enough if self.case.name == FACE else 0.024
            return SimpleNamespace(case=self.case, p_lost=lost)

    monkeypatch.setattr(room, "Chooser", Greedy)
    assert settle(bold()) == bold()
    assert asked == [(FACE, 0.01), (POCKET, 0.01), (FACE, 0.002)]
