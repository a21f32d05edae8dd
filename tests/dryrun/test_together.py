from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from firstoff.checks._chance import discrepancy
from firstoff.checks.base import Case, Finding
from firstoff.checks.size import bounds
from firstoff.dryrun.findings import Findings
from firstoff.dryrun.result import Result
from firstoff.dryrun.run import dry_run
from firstoff.dryrun.sizes import Size, sizes_of
from firstoff.dryrun.together import any_out, counted_once, kept_once
from firstoff.dryrun.totals import chance_spoiled, log_survival
from tests.checks import builders
from tests.dryrun import stacked


def sizes(tolerance: str) -> tuple[Size, ...]:
    return sizes_of(stacked.cases(stacked.job(tolerance)), stacked.belief(), cures=False)


def drawn(found: tuple[Size, ...], times: int = 40) -> float:
    """The same chance by drawing every error of every row: an independent way, at the middles of the faces."""
    rng, believed = np.random.default_rng(5), stacked.belief()
    scale, out = discrepancy(believed, "size"), np.zeros((times, believed.rows), dtype=bool)
    names = dict.fromkeys(n for s in found if s.came for n in s.came.found.names())
    errors = {}
    for name in names:
        source = next(s.came.found.sources[name] for s in found if s.came and name in s.came.found.names())
        rows = source.rows(believed)
        errors[name] = rows[None] if source.lasting else rng.normal(size=(times, believed.rows)) * rows * scale
    for size in found:
        assert size.came is not None and size.case.limit is not None
        low, high = bounds(size.case.limit)
        for line in size.came.found.corners:
            total = sum(coefficient * errors[n] for n, coefficient in line.items() if n in errors)
            out |= (total < low) | (total > high)
    return float(out.mean())


@pytest.mark.parametrize("tolerance", ["±0.03 mm", "±0.015 mm"])
def test_as_often_as_when_every_error_is_drawn(tolerance: str) -> None:
    found = sizes(tolerance)
    p = any_out(found, stacked.belief())["size:block"]
    assert float(p.mean()) == pytest.approx(drawn(found), rel=0.08, abs=0.01)


def test_between_the_likeliest_and_the_sum() -> None:
    found = sizes("±0.02 mm")
    p = float(any_out(found, stacked.belief())["size:block"].mean())
    each = [size.p_out or 0.0 for size in found]
    assert max(each) < p < sum(each)
    # width and length share the cutter's radius, so that together they are out less often than apart
    width_and_length = [size for size in found if size.name != "height"]
    both = float(any_out(width_and_length, stacked.belief())["size:block"].mean())
    apart = 1.0 - np.prod([1.0 - (size.p_out or 0.0) for size in width_and_length])
    assert both < apart


def test_one_limit_is_itself() -> None:
    (height,) = [size for size in sizes("±0.02 mm") if size.name == "height"]
    p = any_out([height], stacked.belief())["size:block"]
    assert float(p.mean()) == pytest.approx(height.p_out or 0.0, rel=0.05)


def test_what_cannot_be_followed_is_left_out() -> None:
    route = stacked.route()
    none = route.model_copy(update={"operations": {}})
    assert any_out(sizes_of(stacked.cases(planned=none), stacked.belief()), stacked.belief()) == {}


def test_sums_take_it_in_place_of_the_likeliest() -> None:
    from firstoff.dryrun.quick import found_now

    believed = stacked.belief()
    cases = [case for case in stacked.cases(stacked.job("±0.02 mm")) if case.limit is not None]
    findings = [f for case in cases for f in found_now(case, believed) if f.check == "size"]
    together = any_out(sizes("±0.02 mm"), believed)
    assert chance_spoiled(findings, believed.rows, together) > chance_spoiled(findings, believed.rows)
    alone = log_survival(findings, believed.rows, together)
    assert np.all(alone <= log_survival(findings, believed.rows) + 1e-12)


def findings(store: Findings, tolerance: str = "±0.02 mm") -> list[tuple[Finding, Case]]:
    cases = [case for case in stacked.cases(stacked.job(tolerance)) if case.limit is not None]
    return [(kept.finding, case) for case in cases for kept in store.of(case)]


def test_findings_of_a_check_come_to_what_the_sizes_do() -> None:
    store = Findings(stacked.belief())
    once = counted_once(findings(store), stacked.belief())
    assert once["size:block"] == pytest.approx(any_out(sizes("±0.02 mm"), stacked.belief())["size:block"])
    assert counted_once([], stacked.belief()) == {}


def test_what_was_found_once_is_read_again_and_never_of_another_belief(tmp_path: Path) -> None:
    store = Findings(stacked.belief())
    first = kept_once(findings(store), store, tmp_path)
    (file,) = tmp_path.iterdir()
    stamp = file.stat().st_mtime_ns
    again = kept_once(findings(store), store, tmp_path)
    assert np.array_equal(first["size:block"], again["size:block"]) and file.stat().st_mtime_ns == stamp
    other = Findings(stacked.belief(machine_mill__touch_off=0.03))
    wider = kept_once(findings(other), other, tmp_path)
    assert wider["size:block"].mean() > first["size:block"].mean() and len(list(tmp_path.iterdir())) == 2
    kept_once(findings(store, "±0.03 mm"), store, tmp_path)
    assert len(list(tmp_path.iterdir())) == 3, "other limits, another file"
    file.write_bytes(b"half a file")
    mended = kept_once(findings(store), store, tmp_path)
    assert np.array_equal(mended["size:block"], first["size:block"])


def test_few_rows_tell_what_all_would() -> None:
    """The same weighed in every row by itself."""
    from firstoff.dryrun import together as room

    store = Findings(stacked.belief())
    few = counted_once(findings(store), stacked.belief())["size:block"]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(room, "ALIKE", 1)
        patch.setattr(room, "POINTS", 128)
        whole = counted_once(findings(store), stacked.belief())["size:block"]
    assert few.mean() == pytest.approx(whole.mean(), rel=0.02)
    assert np.abs(few - whole).mean() < 0.03


def test_a_whole_check_counts_every_size(tmp_path: Path) -> None:
    def run() -> Result:
        return dry_run(stacked.job("±0.02 mm"), stacked.SHOP, stacked.route(), {"block": builders.block()},
                       stacked.belief(), cache=tmp_path, instead=False)

    result = run()
    likeliest = chance_spoiled([c.finding for c in result.checks], stacked.belief().rows)
    assert result.p_spoil > likeliest + 1e-4 and run().p_spoil == result.p_spoil
