"""What a model or sketch says of its sizes is a limit of the job, unless the job says it otherwise."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from firstoff.checks._model_limits import deviations, with_model_limits
from firstoff.job.models import Job, Limit
from firstoff.part import sketch_reading
from firstoff.part.shapes import ModelDatum, ModelLimit, Part
from firstoff.work import open_job

SKETCH = """unit = "mm"
lines = '''
block 60 x 40 x 20 +0.1/-0.05
step 10 ±0.02 wide deep 5 along left
hole 6 H7 through at 30, 22 ±0.05
'''
"""
JOB = """name = "block"
units = "mm"
{limits}
[parts.block]
model = "block.toml"
material = "al_6082"

[parts.block.stock]
size = ["62 mm", "42 mm", "22 mm"]
"""


@pytest.fixture(scope="module")
def part(tmp_path_factory: pytest.TempPathFactory) -> Part:
    """The part of the sketch."""
    path = tmp_path_factory.mktemp("sketch") / "block.toml"
    path.write_text(SKETCH, encoding="utf-8")
    return sketch_reading.read(path)


def job(folder: Path, limits: str = "") -> Job:
    """A job of that part, read as any job is."""
    (folder / "block.toml").write_text(SKETCH, encoding="utf-8")
    (folder / "job.toml").write_text(JOB.format(limits=limits), encoding="utf-8")
    return open_job(folder).job


def test_distances_between_flats_become_limits(part: Part, tmp_path: Path) -> None:
    every = list(job(tmp_path).limits.values())
    found = [limit for limit in every if limit.kind == "distance"]
    sizes = sorted((limit.size, *limit.tolerance) for limit in found)
    assert sizes[-2] == pytest.approx((20.0, -0.05, 0.1)) and sizes[-1][0] == 22.0
    assert all(limit.part == "block" for limit in every)
    assert len(found) == sum(limit.kind == "distance" and len(limit.between) == 2 for limit in part.limits)


def test_a_hole_placed_from_a_face_is_a_limit_with_the_instrument_that_proves_it(part: Part, tmp_path: Path) -> None:
    wanted = job(tmp_path)
    (place,) = [x for x in wanted.limits.values() if x.kind == "distance" and x.size == pytest.approx(22.0)]
    kinds = {part.faces[int(end.rpartition(" ")[2])].kind for end in place.between}
    assert kinds == {"plane", "cylinder"} and place.instrument == "height_gauge"
    bare = with_model_limits(wanted.model_copy(update={"limits": {}}), {"block": part})
    assert all(limit.instrument is None for limit in bare.limits.values()), "without a shop there is none"


def test_holes_flatness_and_faces_to_a_datum_become_limits(part: Part, tmp_path: Path) -> None:
    (hole,) = [limit for limit in job(tmp_path).limits.values() if limit.kind == "size"]
    assert hole.size == 6.0 and hole.tolerance == pytest.approx((0.0, 0.012)), "6 H7"
    top = next(face.number for face in part.faces if face.kind == "plane" and face.normal[2] > 0.9)
    low = next(face.number for face in part.faces if face.kind == "plane" and face.normal[2] < -0.9)
    side = next(face.number for face in part.faces if face.kind == "plane" and face.normal[0] > 0.9)
    given = replace(part, datums=(ModelDatum("A", (low,)),), limits=(
        ModelLimit("flatness", (low,), 0.02), ModelLimit("parallelism", (top,), 0.03, datums=("A",)),
        ModelLimit("perpendicularity", (side,), 0.04, datums=("A",)), ModelLimit("position", (side,), 0.1),
        ModelLimit("parallelism", (top,), 0.03, datums=("A", "B"))))
    wanted = job(tmp_path).model_copy(update={"limits": {}})
    found = [(limit.kind, len(limit.between), limit.tolerance[1])
             for limit in with_model_limits(wanted, {"block": given}).limits.values()]
    assert found == [("flatness", 1, 0.02), ("parallelism", 2, 0.03), ("squareness", 2, 0.04)]
    bore = next(face.number for face in part.faces if face.kind == "cylinder" and face.hollow)
    back = next(face.number for face in part.faces if face.kind == "plane" and face.normal[1] > 0.9)
    datums = (ModelDatum("A", (low,)), ModelDatum("B", (side,)), ModelDatum("C", (back,)))
    placed = replace(part, datums=datums, limits=(ModelLimit("position", (bore,), 0.1, datums=("A", "B", "C")),
                                                  ModelLimit("position", (bore,), 0.1, datums=("A", "B"))))
    (position,) = with_model_limits(wanted, {"block": placed}).limits.values()
    assert position.between == tuple(f"block.face {n}" for n in (bore, side, back))
    assert position.tolerance == (0.0, 0.1)
    own = Limit.model_validate({"kind": "flatness", "part": "block", "between": ["-Z"],
                                "tolerance": "+0.01 mm / 0 mm"})
    kept = with_model_limits(wanted.model_copy(update={"limits": {"flat": own}}), {"block": given}).limits
    assert sum(limit.kind == "flatness" for limit in kept.values()) == 1, "what the job says wins"


def test_what_the_job_says_of_the_same_faces_wins(tmp_path: Path) -> None:
    own = """[limits.height]
kind = "distance"
between = ["block.+Z", "block.-Z"]
size = "20 mm"
tolerance = "±0.01 mm"
"""
    found = job(tmp_path, own).limits
    heights = {name: limit for name, limit in found.items() if limit.size == 20.0}
    assert list(heights) == ["height"]
    assert heights["height"].tolerance == pytest.approx((-0.01, 0.01))


def test_a_fit_is_its_numbers() -> None:
    hole = ModelLimit("diameter", (1,), 6.0, text="H7")
    assert deviations(hole) == pytest.approx((0.0, 0.012)), "IT7 over 3 to 6 mm is 12 um (iso286)"
    assert deviations(replace(hole, value=20.0, text="g6")) == pytest.approx((-0.020, -0.007))
    assert deviations(replace(hole, text="Q3")) is None
    assert deviations(replace(hole, text="")) is None
    assert deviations(replace(hole, upper=6.1, lower=5.9)) == pytest.approx((-0.1, 0.1))


def test_a_part_without_limits_leaves_the_job_as_it_was(part: Part, tmp_path: Path) -> None:
    one = job(tmp_path).model_copy(update={"limits": {}})
    assert with_model_limits(one, {"block": replace(part, limits=())}).limits == {}
