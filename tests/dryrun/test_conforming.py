"""What one measured size says by itself."""

from __future__ import annotations

from dataclasses import replace

from firstoff.dryrun.causes import explained
from firstoff.dryrun.conforming import reading_of
from tests.checks import builders
from tests.dryrun import stacked
from tests.dryrun.test_causes import read


def test_decisions_leave_room_for_the_instrument() -> None:
    said = explained(stacked.cases(), stacked.belief(), read(width=0.049, length=0.07, height=0.0))
    assert {r.limit: r.decision for r in said.readings} == {
        "width": "cannot tell", "length": "does not conform", "height": "conforms"}


def test_what_cannot_be_told_names_the_instrument_that_would_settle_it() -> None:
    calm = builders.shop()
    mic = calm.instruments["mic"]
    calm.instruments["fine"] = mic.model_copy(update={
        "name": "fine micrometer", "uncertainty": mic.uncertainty.model_copy(update={"value": 0.0004})})
    case = next(replace(c, shop=calm) for c in stacked.cases() if c.name == "width")
    near = reading_of(case, read(width=0.049)[0])
    assert near.decision == "cannot tell" and near.settle == "the fine micrometer would settle it"
    edge = reading_of(case, read(width=0.0499)[0])
    assert edge.settle.startswith("so near the limit no instrument settles it")
    none = next(c for c in stacked.cases() if c.name == "width")
    assert "one of U below 0.002 mm would" in reading_of(none, read(width=0.048)[0]).settle
    assert reading_of(case, read(width=0.0)[0]).settle == ""
