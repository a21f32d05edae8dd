"""What a model or sketch says of its sizes is a limit of the job, unless the job says it otherwise."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from firstoff.checks._model_limits import deviations, with_model_limits
from firstoff.job.models import Job
from firstoff.part import sketch_reading
from firstoff.part.shapes import ModelLimit, Part
from firstoff.work import open_job

SKETCH = """unit = "mm"
lines = '''
block 60 x 40 x 20 +0.1/-0.05
step 10 ±0.02 wide deep 5 along left
hole 6 H7 through at 30, 20
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
    found = list(job(tmp_path).limits.values())
    sizes = sorted((limit.size, *limit.tolerance) for limit in found)
    assert sizes[-1] == pytest.approx((20.0, -0.05, 0.1))
    assert all(limit.kind == "distance" and limit.part == "block" for limit in found)
    assert len(found) == sum(limit.kind == "distance" and len(limit.between) == 2 for limit in part.limits)


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
