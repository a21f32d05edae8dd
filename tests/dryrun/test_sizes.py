from __future__ import annotations

from dataclasses import replace

import pytest

from firstoff.dryrun.sizes import size_of, sizes_of
from firstoff.dryrun.walk import walk
from tests.checks import builders
from tests.dryrun import stacked


def test_every_limit_is_told_with_what_makes_it() -> None:
    found = {size.name: size for size in sizes_of(stacked.cases(), stacked.belief())}
    assert set(found) == set(stacked.SIZES)
    for size in found.values():
        assert size.p_out is not None and 0.0 <= size.p_out <= 1.0 and size.sd > 0.0
        assert sum(size.shares.values()) == pytest.approx(1.0) and size.worst > 2.0 * size.sd
    assert next(iter(found["width"].shares)) == "the radius of the cutter"
    assert "how the part sits" in found["height"].shares and "how the part sits" not in found["width"].shares


def test_chance_rises_as_the_band_narrows() -> None:
    chances = [sizes_of(stacked.cases(stacked.job(f"±{band} mm")), stacked.belief())[2].p_out
               for band in (0.1, 0.04, 0.02)]
    assert chances == sorted(chances, key=lambda p: p or 0.0) and chances[0] != chances[2]


def test_what_would_cure_most_is_told_first() -> None:
    found = {size.name: size for size in sizes_of(stacked.cases(stacked.job("±0.02 mm")), stacked.belief())}
    cures = found["width"].cures
    assert cures[0].text == "without the radius of the cutter"
    assert found["width"].p_out is not None and cures[0].p_after < 0.8 * found["width"].p_out
    assert [c.p_after for c in cures] == sorted(c.p_after for c in cures)


def test_both_faces_in_one_setting_where_a_tool_gets_at_both() -> None:
    route = stacked.route()
    moved = route.operations["side-4"].model_copy(update={"setting": "second", "number": 70})
    split = route.model_copy(update={"operations": {**route.operations, "side-4": moved}})
    block = builders.block()
    open_ = tuple(f.__class__(f.id, f.kind, f.faces, access=(*f.access, (0.0, 0.0, -1.0))) for f in block.features)


    cases = walk(stacked.job("±0.02 mm"), stacked.SHOP, split, {"block": replace(block, features=open_)})
    width = next(size for size in sizes_of(cases, stacked.belief()) if size.name == "width")
    together = [cure for cure in width.cures if "in setting second with one cutter" in cure.text]
    assert together and width.p_out is not None and together[0].p_after < width.p_out


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
