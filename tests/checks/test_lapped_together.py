"""A face that is lapped with the parts together: the chain reads right, and what else ends there follows."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks._lapped_together import grows, to_a_chain
from firstoff.checks._makers import Broken, maker
from firstoff.checks._sizes import links_of
from firstoff.checks._surfaces import surfaces_of
from firstoff.checks.base import Case
from firstoff.checks.size import expected
from firstoff.dryrun.walk import walk
from firstoff.job.by_hand import by_hand
from firstoff.job.models import Limit
from firstoff.job.route import Operation
from tests.dryrun import small
from tests.dryrun.test_assembled import ends, milled_last

LONG = {"kind": "distance", "part": "lid", "between": ["-X", "+X"], "size": "60 mm", "tolerance": "±0.1 mm"}


def lapped(measure: tuple[str, ...] = ("ends",), tolerance: tuple[float, float] = (-0.1, 0.1)) -> tuple[Case, ...]:
    """The lid's end is lapped when both parts are put together; its length ends there, too."""
    case = milled_last()
    bench = by_hand(case.shop, case.route.settings["b"], "lid+block", "", "")
    assert bench is not None
    end = case.route.operations["lid-end"].model_copy(update={"leaves": 0.05})
    far = end.model_copy(update={"number": 31, "features": ("stock-2",), "leaves": 0.0})
    lap = Operation.model_validate({"number": 70, "setting": "bench", "features": ("stock-1",), "role": "lap",
                                    "removes": "0.05 mm", "measure": measure})
    route = case.route.model_copy(update={
        "settings": {**case.route.settings, "bench": bench},
        "operations": {**case.route.operations, "lid-end": end, "lid-far": far, "lap": lap}})
    wanted = case.job.limits["ends"].model_copy(update={"tolerance": tolerance, "instrument": "mic"})
    limits = {"ends": wanted, "long": Limit.model_validate(LONG)}
    return walk(case.job.model_copy(update={"limits": limits}), case.shop, route, case.parts)


def of(name: str, cases: tuple[Case, ...]) -> Case:
    return next(case for case in cases if case.name == name and case.subject == "limit")


def test_the_chain_is_out_by_the_reading_and_the_lap_alone() -> None:
    came, plain = expected(ends(*lapped()), small.belief()), expected(milled_last(), small.belief())
    labels = {came.found.sources[name].label for name in came.found.names()}
    assert came.found.lapped and labels == {"the micrometer", "how true it is lapped"}
    assert np.median(came.sd) < 0.2 * np.median(plain.sd)


def test_what_else_ends_there_takes_up_what_the_chain_was_off() -> None:
    """The lid is as much too long as the holes and ends stood aside: all that is in the chain moves its length."""
    long = expected(of("long", lapped()), small.belief())
    plain = expected(of("long", lapped(measure=())), small.belief())
    names = long.found.names()
    assert any(name.startswith("wander:") for name in names), "the drill's wander is in the lid's length now"
    assert not any(name.startswith("wander:") for name in plain.found.names())
    assert np.median(long.sd) > 2.0 * np.median(plain.sd)


def test_as_reckoned_by_surfaces_the_chain_comes_to_the_reading() -> None:
    """The form of the lapped face, put into the chain in its place, leaves the reading and nothing else."""
    case = ends(*lapped())
    assert case.limit is not None
    where, made = surfaces_of(case, small.belief()), maker(case, "lid", 0)
    assert made is not None and made.op_name == "lap"
    links = links_of(case, case.limit)
    form = to_a_chain(where, made, case.limit)
    (lap,) = where.named([form[:, 3:] @ np.array(made.face.normal)])      # how far it is shifted
    assert grows(links, made) == pytest.approx(-1.0)
    assert lap["reading:mic"] == pytest.approx(-1.0)


def test_lapped_for_the_middle_of_limits_that_are_not_even() -> None:
    """The chain is made for 0.05 over; the longer the lid, the less it is."""
    case = lapped(tolerance=(0.0, 0.1))
    chain, long = (expected(of(name, case), small.belief()) for name in ("ends", "long"))
    assert np.median(chain.offset) == pytest.approx(50e-6, abs=1e-9)
    even = expected(of("long", lapped()), small.belief())
    assert np.median(long.offset - even.offset) == pytest.approx(-50e-6, abs=1e-9)


def test_a_face_that_is_none_of_the_chain_is_told() -> None:
    case = ends(*lapped())
    made = maker(case, "lid", 1)
    assert made is not None and case.limit is not None
    with pytest.raises(Broken, match="no face of what it is lapped to"):
        to_a_chain(surfaces_of(case, small.belief()), made, case.limit)
