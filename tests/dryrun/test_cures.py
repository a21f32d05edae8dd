from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from firstoff.belief import Belief
from firstoff.checks.base import Case
from firstoff.checks.size import expected
from firstoff.dryrun.cures import Cure, cures_of
from firstoff.dryrun.sizes import Size, sizes_of
from firstoff.dryrun.walk import walk
from firstoff.job.models import Job
from firstoff.job.route import Route
from firstoff.part.shapes import Face, Feature
from tests.checks import builders
from tests.dryrun import small, stacked


def sizes(tolerance: str, **believed: float) -> dict[str, Size]:
    cases = stacked.cases(stacked.job(tolerance))
    return {size.name: size for size in sizes_of(cases, stacked.belief(**believed))}


#: a vise that seats well: what is left is what a reading can mend, not how the part tilts
CALM = {"device_vise__seating": 0.003, "device_vise__jaw_lift": 0.003}


def test_what_would_cure_most_is_told_first() -> None:
    width = sizes("±0.02 mm")["width"]
    texts = [cure.text for cure in width.cures]
    assert "without the radius of the cutter" in texts and width.p_out is not None
    assert all(cure.p_after < 0.8 * width.p_out for cure in width.cures)
    assert [c.p_after for c in width.cures] == sorted(c.p_after for c in width.cures)


def test_stopping_to_measure_is_priced_by_what_it_saves() -> None:
    narrow, wide = (sizes(f"±{band} mm", **CALM)["height"] for band in (0.02, 0.2))
    stop = next(cure for cure in narrow.cures if cure.text.startswith("leave 0.2 mm at under, measure with"))
    assert any(path == "operations.under-first" for path, _ in stop.edits)
    assert stop.saves is not None and stop.saves > 1.0, "a part of some minutes, out once in a few"
    assert not any("leave" in cure.text for cure in wide.cures), "it is right as it is"


def test_both_faces_in_one_setting_where_a_tool_gets_at_both() -> None:
    route = stacked.route()
    moved = route.operations["side-4"].model_copy(update={"setting": "second", "number": 70})
    split = route.model_copy(update={"operations": {**route.operations, "side-4": moved}})
    block = builders.block()
    open_ = tuple(f.__class__(f.id, f.kind, f.faces, access=(*f.access, (0.0, 0.0, -1.0))) for f in block.features)
    no_mic = {"width": {**stacked.job("±0.02 mm").limits["width"].model_dump(exclude_unset=True), "size": "40 mm",
                        "tolerance": "±0.02 mm", "instrument": None}}
    cases = walk(stacked.job("±0.02 mm", **no_mic), stacked.SHOP, split, {"block": replace(block, features=open_)})
    width = next(size for size in sizes_of(cases, stacked.belief()) if size.name == "width")
    together = [cure for cure in width.cures if "in setting second with one cutter" in cure.text]
    assert together and width.p_out is not None and together[0].p_after < width.p_out


def test_one_cutter_for_both_needs_no_second_length() -> None:
    """A step's floor and the top, cut in one setting by two cutters: each finds its length anew."""
    floor = Face(6, 0, "plane", 800.0, (50.0, 20.0, 12.0), (0.0, 0.0, 1.0), (40.0, 0.0, 12.0), (60.0, 40.0, 12.0))
    step = Feature("step-1", "step", (6,), access=((0.0, 0.0, 1.0),))
    part = builders.block(step, faces=(floor,))
    deep = {"kind": "distance", "part": "block", "between": ["+Z", "face 6"], "size": "8 mm", "tolerance": "±0.02 mm"}
    ops = {"top": op(10, "stock-6", "first", role="face_finish"),
           "step": op(20, "step-1", "first", role="pocket_finish", tool="em10")}
    route = Route.model_validate({"settings": {"first": builders.setting(zero={"x": "-X", "y": "-Y", "z": "-Z"})},
                                  "operations": ops})
    cases = walk(builders.job(limits={"deep": deep}), stacked.SHOP, route, {"block": part})
    size = next(s for s in sizes_of(cases, stacked.belief()) if s.name == "deep")
    cure = next(cure for cure in size.cures if "not set anew" in cure.text)
    assert "end mill 10 mm" in cure.text and size.p_out is not None and cure.p_after < 0.8 * size.p_out


# --- two parts on dowels --------------------------------------------------------------------------------

def op(number: int, feature: str, where: str, **changed: Any) -> dict[str, Any]:
    return builders.operation(number=number, features=[feature], setting=where, leaves="0 mm", **changed)


def on_dowels(**changed: Any) -> tuple[Case, ...]:
    """How far the ends of block and lid stand aside, each made in its own setting."""
    ends = {"kind": "chain", "between": ["block.hole-1", "block.-X", "lid.hole-1", "lid.-X"], "gains": [1.0, -1.0],
            "size": "-24 mm", "tolerance": "±0.1 mm"}
    stock = {"size": ["62 mm", "42 mm", "22 mm"]}
    job = Job.model_validate({"name": "box", "limits": {"ends": ends}, "parts": {
        name: {"model": f"{name}.step", "material": "steel", "stock": stock} for name in ("block", "lid")}})
    holes = {"drill": op(20, "hole-1", "a", role="drill", tool="drill4"),
             "lid-drill": op(40, "hole-1", "b", role="drill", tool="drill4")}
    route = Route.model_validate({
        "settings": {"a": builders.setting(workpiece=changed.pop("workpiece", "block")),
                     "b": builders.setting(workpiece="lid")},
        "operations": {"end": op(10, "stock-1", "a", role="side_finish"),
                       "lid-end": op(30, "stock-1", "b", role="side_finish"), **(changed or holes)}})
    return walk(job, small.shop(), route, small.parts())


def ends(*cases: Case, believed: Belief | None = None) -> Size:
    return next(s for s in sizes_of(cases, believed or small.belief()) if s.name == "ends")


def put_together(size: Size, remake: float) -> Cure | None:
    """The cure that puts two parts together, where it pays: parts of so many minutes."""
    found = cures_of(size.case, small.belief(), size.p_out or 0.0, remake)
    return next((cure for cure in found if "put together" in cure.text), None)


def test_a_loose_chain_over_two_holes_is_better_cut_through_both() -> None:
    size = ends(*on_dowels())
    cure = put_together(size, remake=900.0)
    assert cure is not None and "hole-1 with hole-1 drilled through both in one go" in cure.text and cure.edits
    assert size.p_out is not None and cure.p_after < 0.8 * size.p_out
    assert cure.saves is not None and cure.saves > 0.0
    assert put_together(size, remake=1.0) is None, "parts that are soon made again are not worth another setting"


def test_cut_through_both_the_drill_cancels_and_the_laying_stays() -> None:
    through = {"drill": op(35, "hole-1", "a", role="drill", tool="drill4") | {"through": ["lid.hole-1"]}}
    apart = ends(*on_dowels())
    both = ends(*on_dowels(workpiece="block+lid", **through))
    assert apart.came is not None and both.came is not None
    assert both.sd < apart.sd and both.p_out is not None and apart.p_out is not None and both.p_out < apart.p_out
    names = both.came.found.names()
    assert not any(name.startswith(("wander:", "repeat:drill")) for name in names), "one drill went through both"
    assert any(name.startswith("laid:a:lid:x") for name in names)
    assert any(name.startswith("wander:") for name in apart.came.found.names())
    cure = put_together(apart, remake=900.0)
    assert cure is not None and abs(cure.p_after - both.p_out) < 0.1 * apart.p_out, "as it is when it is done so"


def test_what_is_cut_in_the_other_part_stands_in_its_state() -> None:
    through = {"drill": op(35, "hole-1", "a", role="drill", tool="drill4") | {"through": ["lid.hole-1"]},
               "later": op(60, "stock-6", "b", role="face_finish")}
    later = next(case for case in on_dowels(workpiece="block+lid", **through) if case.name == "later")
    assert later.state is not None and {"hole-1", "stock-1"} <= later.state.cut


def test_a_measurement_ends_nothing() -> None:
    found = on_dowels(look=op(15, "stock-1", "a", role="measure", tool=None), done=op(20, "stock-2", "a"))
    assert next(c for c in found if c.name == "done").state == next(c for c in found if c.name == "look").state


def test_a_last_cut_set_by_the_reading_is_as_good_as_the_reading() -> None:
    size = sizes("±0.02 mm", **CALM)["height"]
    stop = next(cure for cure in size.cures if "measure with" in cure.text)
    route = stacked.route()
    rough = route.operations["under"].model_copy(update={"number": 59, "leaves": 0.2, "measure": ("height",)})
    stops = route.model_copy(update={"operations": {**route.operations, "rough": rough}})
    case = next(c for c in stacked.cases(stacked.job("±0.02 mm"), stops) if c.name == "height")
    came = expected(case, stacked.belief(**CALM))
    assert came.found.measured == "rough" and float(np.median(came.sd)) < size.sd * 1e-3
    thorough = next(s for s in sizes_of([case], stacked.belief(**CALM)))
    assert thorough.p_out is not None and abs(thorough.p_out - stop.p_after) < 0.1
