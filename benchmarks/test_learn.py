"""How long learning takes: fifty records of a shop, nearly all of them 'ok'; wanted below 10 s.

Of few operations, and of fifty cuts of which none is like another: what is dear is asked for each of them then.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from firstoff.belief import Belief
from firstoff.records.learn import learn_from
from firstoff.records.reading import Reading
from firstoff.records.store import open_store
from firstoff.work import quiet
from tests.checks import builders
from tests.records import made


def test_learning_from_fifty_records(benchmark: Any, tmp_path: Path) -> None:
    words = ["ok"] * 8 + ["sang", "ok"]
    said = [Reading(name, word=words[i % 10]) for i, name in enumerate([made.ROUGH, made.FINISH, made.OTHER] * 14)]
    said += [Reading(made.ROUGH, watts=f"{120 + 5 * i} W", idle="60 W") for i in range(4)]
    said += [Reading("height", size=f"20.0{i} mm") for i in range(4)]
    book = Belief.of(builders.columns())
    with open_store(tmp_path) as store:
        made.place().log(store, *said)
        learned = benchmark.pedantic(lambda: learn_from(store, book, made.place().shop, quiet), rounds=2)
    assert learned.records == 50


def test_learning_from_fifty_different_cuts(benchmark: Any, tmp_path: Path) -> None:
    words = ["ok"] * 8 + ["sang", "ok"]
    book = Belief.of(builders.columns())
    with open_store(tmp_path) as store:
        for i in range(50):
            made.place(f"{0.1 + 0.02 * i:.2f} mm").log(store, Reading(made.ROUGH, word=words[i % 10]))
        learned = benchmark.pedantic(lambda: learn_from(store, book, made.place().shop, quiet), rounds=2)
    assert learned.records == 50
