from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks._chance import discrepancy
from firstoff.checks.size import bounds, chance_by_row
from firstoff.dryrun.sizes import size_of, sizes_of
from tests.dryrun import stacked


def test_every_limit_is_told_with_what_makes_it() -> None:
    found = {size.name: size for size in sizes_of(stacked.cases(), stacked.belief())}
    assert set(found) == set(stacked.SIZES)
    for size in found.values():
        assert size.p_out is not None and 0.0 <= size.p_out <= 1.0 and size.sd > 0.0
        assert sum(size.shares.values()) == pytest.approx(1.0) and size.worst > 2.0 * size.sd
    assert next(iter(found["width"].shares)) == "the radius of the cutter"
    assert "how the part sits" in found["height"].shares and "how the part sits" not in found["width"].shares


def test_at_worst_is_never_less_than_nineteen_in_twenty() -> None:
    """A flatness of one error: what it comes to alone is all that it can be."""
    wanted = stacked.job(flat={"kind": "flatness", "part": "block", "between": ["+Z"],
                               "tolerance": "+0.02 mm / 0 mm", "instrument": "mic"})
    sizes = sizes_of(stacked.cases(wanted), stacked.belief(), cures=False)
    flat = next(size for size in sizes if size.name == "flat")
    assert next(iter(flat.shares.values())) > 0.8 and flat.worst > 1.9 * flat.sd > 0.0


def test_chance_rises_as_the_band_narrows() -> None:
    chances = [sizes_of(stacked.cases(stacked.job(f"±{band} mm")), stacked.belief())[2].p_out
               for band in (0.1, 0.04, 0.02)]
    assert chances == sorted(chances, key=lambda p: p or 0.0) and chances[0] != chances[2]


def test_what_cannot_be_followed_says_why() -> None:
    wanted = stacked.job(slant={"kind": "flatness", "part": "block", "between": ["+Z"],
                                "tolerance": "+0.02 mm / 0 mm", "instrument": "mic"})
    route = stacked.route()
    less = route.model_copy(update={"operations": {k: o for k, o in route.operations.items() if k != "under"}})
    found = {c.name: size_of(c, stacked.belief()) for c in stacked.cases(wanted, less) if c.limit is not None}
    assert found["height"].p_out is None and "no operation of the route finishes face 4" in found["height"].because


def test_an_instrument_too_coarse_is_told_while_planning() -> None:
    narrow, wide = (sizes_of(stacked.cases(stacked.job(f"±{t} mm")), stacked.belief())[0] for t in (0.004, 0.05))
    assert narrow.too_coarse and not wide.too_coarse


def test_stopping_to_measure_is_told_beside_not_stopping() -> None:
    route = stacked.route()
    rough = route.operations["under"].model_copy(update={"number": 55, "leaves": 0.2, "measure": ("height",)})
    stops = route.model_copy(update={"operations": {**route.operations, "under-rough": rough}})
    height = next(s for s in sizes_of(stacked.cases(planned=stops), stacked.belief()) if s.name == "height")
    assert height.came is not None and height.came.found.measured == "under-rough"
    assert height.p_out is not None and height.p_unmeasured is not None and height.p_out < height.p_unmeasured
    plain = next(s for s in sizes_of(stacked.cases(), stacked.belief()) if s.name == "height")
    assert plain.p_unmeasured is None


def test_chances_come_true_in_ten_bins_of_simulated_shops() -> None:
    """Every row is a shop, forty parts in each: the chance that it is given against how many of them are out."""
    rng, believed, parts = np.random.default_rng(3), stacked.belief(), 40
    scale, foretold, came_out = discrepancy(believed, "size"), [], []
    for band in (0.01, 0.015, 0.02, 0.03, 0.04, 0.06):
        for size in sizes_of(stacked.cases(stacked.job(f"±{band} mm")), believed, cures=False):
            assert size.came is not None and size.case.limit is not None
            low, high = bounds(size.case.limit)
            foretold.append(chance_by_row(size.came, believed, low, high))
            errors = {}
            for name in sorted(size.came.found.names()):
                source = size.came.found.sources[name]
                each = rng.normal(size=(parts, believed.rows)) * scale
                errors[name] = source.rows(believed) * (1.0 if source.lasting else each)
            sums = np.array([sum(k * errors[n] for n, k in line.items() if n in errors)
                             for line in size.came.found.corners])
            came_out.append(((sums < low) | (sums > high)).any(axis=0).mean(axis=0))
    p, out = np.concatenate(foretold), np.concatenate(came_out)
    off = np.array([(out[bin_] - p[bin_]).sum() / np.sqrt(max((p[bin_] * (1.0 - p[bin_])).sum() / parts, 1e-9))
                    for bin_ in np.array_split(np.argsort(p), 10)])
    # within two standard errors; of ten bins one may miss that by luck once in three
    assert (np.abs(off) > 2.0).sum() <= 1 and np.abs(off).max() < 3.0, np.round(off, 2)
