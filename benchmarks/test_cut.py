"""A quick cut: chosen in this process, from the shell, and beside the plain way that looks at every cut of the grid.

Wanted (one core of a small computer, warm): chosen over 2048 rows, chatter included, under 0.5 s; from the shell
under 0.6 s. Both for each form that is asked: a step, a slot, steel, a raw face, a ball, a ramp, own numbers. From
the shell the time of the processor is told too, as others may be at work. Run with `make benchmark`; nothing here
fails on time.
"""

from __future__ import annotations

import math
import os
import statistics
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import pytest

from benchmarks.peers.choosing import cheapest_of_all
from firstoff.belief import ROWS, Belief
from firstoff.checks import _forces, _tip, chatter
from firstoff.cutting import _integrals
from firstoff.cutting import chatter as limits
from firstoff.dryrun.choosing import Chooser, Search, thinned
from firstoff.route import quick_cut as room
from firstoff.route.asked_cut import Bench, Wanted, bench_of
from firstoff.shop.columns import columns_of
from firstoff.shop.library import load_shop

COMMAND = str(Path(sys.executable).with_name("firstoff"))
ASKED = Wanted("light_gantry", "end_mill_6_2f", "al_6082")
#: what a person asks: as it is handed over, and as it is written
FORMS: Final[dict[str, tuple[Wanted, tuple[str, ...]]]] = {
    "step": (ASKED, ()),
    "slot": (replace(ASKED, width=6.0), ("--width", "6 mm")),
    "steel": (replace(ASKED, tool="end_mill_6_3f", material="s275_cold_drawn"), ()),
    "raw": (replace(ASKED, tool="end_mill_6_3f", material="s275_hot_rolled", bow=0.3), ("--raw", "0.3 mm")),
    "ball": (replace(ASKED, tool="ball_6", roughness=1.6e-3), ("--finish", "1.6 um")),
    "ramp": (replace(ASKED, down=math.radians(3.0)), ("--down", "3 deg")),
    "own": (replace(ASKED, depth=1.0, width=3.0), ("--depth", "1 mm", "--width", "3 mm")),
}
TIMES = 7           #: that each form is asked from the shell
NEAR = 1.3      #: the walk may end at most so much dearer than the best of the whole grid


@pytest.fixture(scope="module")
def asked() -> tuple[Bench, Belief]:
    """The bench and what is believed of it, on all rows."""
    bench = bench_of(load_shop(None), ASKED)
    return bench, Belief.of(columns_of(bench.shop))


def forget() -> None:
    """All that is kept of cuts that were looked at: each round finds everything anew."""
    for kept in (_forces._recent, _forces._bitten, _tip._recent, chatter._recent, limits._swept):
        kept.clear()
    _integrals.tables.cache_clear()
    _forces._sliced.cache_clear()


@pytest.mark.parametrize("form", FORMS)
def test_a_cut_is_chosen(benchmark: Any, form: str) -> None:
    wanted = FORMS[form][0]

    def anew() -> tuple[tuple[Bench, Wanted, Belief], dict[str, Any]]:
        forget()
        bench = bench_of(load_shop(None), wanted)
        return (bench, wanted, Belief.of(columns_of(bench.shop), ROWS)), {}

    answer = benchmark.pedantic(room.quick_cut, setup=anew, rounds=5, warmup_rounds=1)
    assert answer.p_spoil < 1.0


@pytest.mark.parametrize("form", FORMS)
def test_from_the_shell(benchmark: Any, form: str) -> None:
    wanted, said = FORMS[form]
    words = [COMMAND, "cut", "--machine", wanted.machine, "--tool", wanted.tool, "--material", wanted.material, *said]
    spent = []

    def ask() -> subprocess.CompletedProcess[bytes]:
        before = os.times()
        done = subprocess.run(words, capture_output=True, check=False)
        after = os.times()
        spent.append(after.children_user + after.children_system - before.children_user - before.children_system)
        return done

    done = benchmark.pedantic(ask, rounds=TIMES, warmup_rounds=1)
    assert done.returncode == 0, done.stderr
    benchmark.extra_info |= {"processor, least": round(min(spent[1:]), 3),
                             "processor, median": round(statistics.median(spent[1:]), 3)}
    print(form, benchmark.extra_info)  # noqa: T201


@pytest.mark.parametrize("way", ["walk", "every cut"])
def test_beside_the_whole_grid(benchmark: Any, asked: tuple[Bench, Belief], way: str) -> None:
    bench, belief = asked
    start = room._start(bench, ASKED)
    search = Search(deepest=bench.tool.diameter, widest=bench.tool.diameter / 2.0)
    chooser = Chooser(start, thinned(belief), search)
    found = benchmark.pedantic(
        (lambda: chooser._descend(0.0)) if way == "walk" else (lambda: cheapest_of_all(chooser)), rounds=1)
    if way == "walk":
        assert found.cost(0.0) <= NEAR * cheapest_of_all(chooser).cost(0.0)
