from __future__ import annotations

import pytest

from firstoff.errors import RecordError
from firstoff.job.nominal import no_slip, nominal_size
from tests.checks import builders
from tests.dryrun import stacked


def test_from_the_job_else_from_the_model() -> None:
    parts = {"block": builders.block()}
    assert nominal_size("width", stacked.job(), parts) == builders.WIDTH
    plain = {"kind": "distance", "part": "block", "between": ["-X", "+X"], "tolerance": "±0.1 mm"}
    assert nominal_size("own", stacked.job(own=plain), parts) == builders.LENGTH
    flat = {"kind": "flatness", "part": "block", "between": ["+Z"], "tolerance": "+0.02 mm / 0 mm"}
    assert nominal_size("flat", stacked.job(flat=flat), parts) == 0.0
    slanted = {"kind": "distance", "part": "block", "between": ["-X", "+Y"], "tolerance": "±0.1 mm"}
    with pytest.raises(RecordError, match="does not say what it should measure"):
        nominal_size("odd", stacked.job(odd=slanted), parts)


def test_a_slip_is_refused() -> None:
    no_slip("40.02 mm", 40.02, 40.0, "width")
    with pytest.raises(RecordError, match="mm or inch"):
        no_slip("1.58 mm", 1.58, 40.0, "width")
    for size in (0.5, 50.0):
        with pytest.raises(RecordError, match="slip of the point"):
            no_slip(f"{size} mm", size, 5.0, "sole")
    no_slip("0.05 mm", 0.05, 0.5, "mouth")        # a mouth may well be nearly shut
