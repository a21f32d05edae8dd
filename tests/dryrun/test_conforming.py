"""What one measured size says by itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firstoff.checks.base import Case
from firstoff.checks.size import too_coarse
from firstoff.dryrun.causes import explained
from firstoff.dryrun.conforming import WARMTH_READ, reading_of, unproved
from firstoff.errors import RecordError
from firstoff.job.measured import Measured
from firstoff.shop.models import Figure
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


def test_a_band_that_the_instrument_cannot_confirm_is_said_beforehand() -> None:
    """18 +- 0.02 with a caliper of U = 0.03; a finer one that gets there is named."""
    shop = builders.shop()
    mic = shop.instruments["mic"]
    caliper = mic.model_copy(update={"name": "caliper", "kind": "caliper", "uncertainty": Figure(
        value=0.015, factor=1.2, source="measured")})
    by_caliper = stacked.job("±0.02 mm", width={
        "kind": "distance", "part": "block", "between": ["-Y", "+Y"], "size": "40 mm", "tolerance": "±0.02 mm",
        "instrument": "caliper"})
    parts = {"block": builders.block()}
    both = shop.model_copy(update={"instruments": {"mic": mic, "caliper": caliper}})
    (said,) = unproved(by_caliper, both, parts)
    assert said == ("width: a band of 0.04 mm cannot be confirmed with the caliper (U = 0.03 mm): "
                    "with the micrometer it can")
    coarse = mic.model_copy(update={"uncertainty": caliper.uncertainty})
    alone = shop.model_copy(update={"instruments": {"mic": coarse, "caliper": caliper}})
    assert all(text.endswith("it takes one of U = 0.02 mm or less") for text in unproved(by_caliper, alone, parts))
    assert len(list(unproved(by_caliper, alone, parts))) == 3
    assert list(unproved(stacked.job("±0.05 mm"), both, parts)) == []


def test_a_zone_has_one_end_nothing_is_flatter_than_flat() -> None:
    """U = 0.006: up to 0.014 of 0.02 proves it, 0.018 is open; an instrument of U = 0.012 can confirm it, too."""
    flat = {"kind": "flatness", "part": "block", "between": ["-Z"], "tolerance": "+0.02 mm / 0 mm",
            "instrument": "mic"}
    case = next(c for c in stacked.cases(stacked.job("±0.05 mm", flat=flat)) if c.name == "flat")
    said = {size: reading_of(case, Measured("flat", size, "mic")).decision for size in (0.003, 0.013, 0.018, 0.03)}
    assert said == {0.003: "conforms", 0.013: "conforms", 0.018: "cannot tell", 0.03: "does not conform"}
    assert case.limit is not None
    mic = case.shop.instruments["mic"]
    wide = [mic.model_copy(update={"uncertainty": Figure(value=u, factor=1.2, source="measured")})
            for u in (0.006, 0.0101)]
    assert [too_coarse(case.limit, one) for one in wide] == [False, True]


def grows(case: Case, size: float) -> Case:
    """The block's steel, with a figure of how it grows."""
    steel = case.shop.materials["steel"].model_copy(update={
        "expansion": Figure(value=12e-6, factor=1.05, source="measured")})
    assert case.limit is not None
    limit = case.limit.model_copy(update={"size": size})
    return replace(case, limit=limit, shop=case.shop.model_copy(update={"materials": {
        **case.shop.materials, "steel": steel}}))


def test_a_size_that_was_read_warm_is_told_as_it_is_when_cold_and_less_surely() -> None:
    case = grows(next(c for c in stacked.cases() if c.name == "length"), 60.0)
    cold, warm = (reading_of(case, Measured("length", 60.0 + 0.052, "mic", above)) for above in (0.0, 8.0))
    assert cold.decision == "cannot tell" and cold.grown == 0.0
    assert warm.grown == pytest.approx(60.0 * 12e-6 * 8.0) and warm.deviation == pytest.approx(0.052 - warm.grown)
    doubt = 60.0 * np.hypot(12e-6 * WARMTH_READ, 12e-6 * np.log(1.05) * 8.0)
    assert warm.u == pytest.approx(np.hypot(cold.u, doubt))


def test_where_the_warmth_is_most_of_the_doubt_one_waits() -> None:
    case = grows(next(c for c in stacked.cases() if c.name == "length"), 60.0)
    calm = replace(case, shop=case.shop.model_copy(update={"instruments": {
        "mic": case.shop.instruments["mic"].model_copy(update={"uncertainty": Figure(
            value=0.0004, factor=1.2, source="measured")})}}))
    near = reading_of(calm, Measured("length", 60.05 + 60.0 * 12e-6 * 20.0, "mic", 20.0))
    assert near.decision == "cannot tell" and near.settle.startswith("let it get as cold as the shop")


def test_what_nobody_knows_how_it_grows_is_measured_cold() -> None:
    case = next(c for c in stacked.cases() if c.name == "length")
    with pytest.raises(RecordError, match="grows when it is warm"):
        reading_of(case, Measured("length", 60.0, "mic", 8.0))
