"""What `firstoff stack` says, in words and as one object."""

from __future__ import annotations

import json
from dataclasses import replace

from firstoff.actions import Stacked
from firstoff.dryrun.causes import explained
from firstoff.dryrun.cures import Cure
from firstoff.dryrun.saving import ways
from firstoff.dryrun.sizes import sizes_of
from firstoff.job.measured import Measured
from firstoff.telling_sizes import stack_json, stack_lines
from tests.checks.test_lapped import lapped
from tests.dryrun import stacked

CASES, BELIEVED = stacked.cases(stacked.job("±0.05 mm")), stacked.belief()
SIZES = sizes_of(CASES, BELIEVED)


def measured(**off: float) -> Stacked:
    said = explained(CASES, BELIEVED, [Measured(n, stacked.SIZES[n][2] + v, "mic") for n, v in off.items()])
    named = {size.name: size for size in SIZES}
    saved = {r.limit: ways(r, named[r.limit], CASES, BELIEVED) for r in said.readings if r.decision != "conforms"}
    return Stacked(stacked.job(), SIZES, said, saved)


def test_sizes_in_words_the_likeliest_out_first() -> None:
    lines = list(stack_lines(Stacked(stacked.job(), SIZES)))
    heads = [line.split(",")[0] for line in lines if "wanted" in line]
    chances = {size.name: size.p_out or 0.0 for size in SIZES}
    assert heads == sorted(heads, key=lambda name: -chances[name]) and len(heads) == 3
    text = "\n".join(lines)
    assert "height, 20 mm: wanted -0.05 mm to +0.05 mm: out" in text and "The radius of the cutter" in text
    assert "nan" not in text
    assert "The radius of the cutter" in text


def test_one_object() -> None:
    found = stack_json(measured(width=0.06, length=0.06))
    json.dumps(found, allow_nan=False)
    assert {"limit", "mean", "sd", "p_out", "shares", "worst_case"} <= set(found["limits"][0])
    assert found["causes"][0]["value"] < 0 and found["told_apart"] is True and found["sure"]
    assert [m["decision"] for m in found["measured"]] == ["does not conform"] * 2
    assert [p["limit"] for p in found["predictions"]] == ["height"]
    assert set(found["ways"]) == {"width", "length"} and found["corrections"]
    assert "causes" not in stack_json(Stacked(stacked.job(), SIZES))


def test_what_measured_ones_mean_in_words() -> None:
    text = "\n".join(stack_lines(measured(width=0.049)))
    assert "CANNOT BE TOLD APART" in text and "What would tell: measure length." in text
    assert "NOW WHAT: width" in text and "make the block anew" in text
    best = "\n".join(stack_lines(measured(width=0.06)))
    assert "WHAT EXPLAINS IT BEST, BUT NOT FOR SURE" in best and "What would tell: measure length." in best
    assert "To correct" not in best
    sure = "\n".join(stack_lines(measured(width=0.06, length=0.06)))
    assert "WHAT EXPLAINS IT" in sure and "key in the radius of the end mill 6 mm" in sure
    assert "cut again so: width " in " ".join(sure.split()) and "then out" not in sure


def test_in_inches_nothing_of_a_few_micrometres_is_told_as_none() -> None:
    found = measured(width=0.06, length=0.06)
    text = " ".join(" ".join(stack_lines(replace(found, job=found.job.model_copy(update={"units": "in"})))).split())
    assert "U = 0.0002 in" in text and "width: 1.5772 in, +0.0024 in off" in text
    assert "U = 0 in" not in text and "± 0 in" not in text


def test_a_limit_of_the_model_is_told_with_its_faces() -> None:
    """It has no name of a person's: 'block-model-1' says nothing."""
    size = SIZES[0]
    ours = replace(size, case=replace(size.case, name="block-model-1"))
    assert "block-model-1, 40 mm, -Y to +Y: wanted" in " ".join(stack_lines(Stacked(stacked.job(), (ours,))))


def test_an_instrument_too_coarse_is_named() -> None:
    narrow = stacked.cases(stacked.job("±0.004 mm"))
    text = " ".join(" ".join(stack_lines(Stacked(stacked.job(), sizes_of(narrow, BELIEVED, cures=False)))).split())
    assert "Too coarse to confirm it: the micrometer." in text


def test_a_job_without_limits_says_what_to_write() -> None:
    assert "[limits]" in " ".join(stack_lines(Stacked(stacked.job(), ())))


def test_a_lapped_size_says_where_and_a_cure_what_it_breaks() -> None:
    cases = [lapped()]
    size = sizes_of(cases, BELIEVED, cures=False)[0]
    assert "Lapped at lap until it reads right all over." in "\n".join(stack_lines(Stacked(stacked.job(), (size,))))
    cure = Cure("leave some", 0.01, 12.0, (("operations.a.leaves", "0.1 mm"),), 3.0, "a: it breaks")
    told = Stacked(stacked.job(), (replace(size, cures=(cure,)),))
    text = " ".join(" ".join(stack_lines(told)).split())
    assert "leave some: about 1 in 100; saves 12 min; but then a: it breaks" in text
    (instead,) = stack_json(told)["limits"][0]["instead"]
    assert instead == {"text": "leave some", "p_out": 0.01, "saves_minutes": 12.0, "minutes": 3.0,
                       "edits": {"operations.a.leaves": "0.1 mm"}, "breaks": "a: it breaks"}
