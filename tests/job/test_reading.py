"""A job is read whole, or told what is wrong in it and where."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from firstoff.errors import FileError, FirstoffError, NameUnknown, TomlError, UnitError
from firstoff.job.faces import feature_named, locate
from firstoff.job.models import LeverJoint, ScrewJoint
from firstoff.job.reading import ThreadWanted, load_job, load_route, thread_wanted
from firstoff.part.reading import read
from firstoff.shop.library import find_shop, load_shop

EXAMPLE = Path(__file__).resolve().parents[2] / "src" / "firstoff" / "example" / "block_plane"

JOB = '''name = "bracket"
[parts.plate]
model = "plate.step"
material = "c45"
[parts.plate.stock]
size = ["10 mm", "10 mm", "10 mm"]
[parts.plate.threads]
hole-1 = "M4 x 9 deep"
[parts.lid]
model = "lid.step"
material = "c45"
[parts.lid.stock]
size = ["10 mm", "10 mm", "3 mm"]
[limits.height]
kind = "distance"
part = "plate"
between = ["-Z", "+Z"]
tolerance = "±0.1 mm"
[joints.lid]
kind = "screw"
screw = "M4 x 12"
through = "lid.hole-1"
into = "plate.hole-1"
'''
ROUTE = '''[settings.one]
workpiece = "plate"
up = [0, 0, 1]
across = [1, 0, 0]
machine = "mill"
datums = ["-Z"]
holding = { device = "vise_100", rest = "-Z" }
zero = { x = "-X", y = "-Y", z = "+Z" }
[operations.hole-1-drill]
number = 10
setting = "one"
features = ["hole-1"]
role = "drill"
'''


def folder(path: Path, job: str = JOB, route: str | None = None) -> Path:
    (path / "job.toml").write_text(job, encoding="utf-8")
    if route is not None:
        (path / "route.toml").write_text(route, encoding="utf-8")
    return path


@pytest.mark.parametrize(("text", "wanted"), [
    ("M4 x 9 deep", ThreadWanted("M4", 9.0)),
    ("M4 x 9 mm deep", ThreadWanted("M4", 9.0)),
    ("M4 x 1/2 in deep", ThreadWanted("M4", 12.7)),
    ("M4x9,5 deep", ThreadWanted("M4", 9.5)),
    ("M5", ThreadWanted("M5", None)),
    ("M2.5 x 6 deep", ThreadWanted("M2.5", 6.0)),
    ("M10 x 1.0", ThreadWanted("M10x1.0", None)),
])
def test_threads_as_a_drawing_words_them(text: str, wanted: ThreadWanted) -> None:
    assert thread_wanted(text) == wanted


@pytest.mark.parametrize("text", [
    "", "4 mm", "M", "M4 x 9", "M4 deep", "M4 x nine deep", "M4 x 9 N deep", "tapped M4",
])
def test_what_is_no_thread_is_refused(text: str) -> None:
    with pytest.raises(UnitError):
        thread_wanted(text)


def test_a_job_is_read(tmp_path: Path) -> None:
    job = load_job(folder(tmp_path))
    assert job == load_job(tmp_path / "job.toml")
    assert job.file == str(tmp_path / "job.toml")
    assert list(job.parts) == ["plate", "lid"]


@pytest.mark.parametrize(("old", "new", "error", "place", "said"), [
    ('part = "plate"', 'part = "plat"', NameUnknown, "line 16, limits.height.part", "did you mean 'plate'?"),
    ('between = ["-Z", "+Z"]', 'between = ["-Z", "lit.+Z"]', NameUnknown, "line 17, limits.height.between", "'lid'"),
    ('part = "plate"\n', "", TomlError, "line 16, limits.height.between", "write it like plate.-Z"),
    ('"M4 x 9 deep"', '"M4 x 9"', TomlError, "line 8, parts.plate.threads.hole-1", "M4 x 9 deep"),
    ('"M4 x 12"', '"four of them"', TomlError, "line 21, joints.lid.screw", "M4 x 12"),
    ('"lid.hole-1"', '"hole-1"', TomlError, "line 22, joints.lid.through", "plate.hole-1"),
    ('"plate.hole-1"', '"plates.hole-1"', NameUnknown, "line 23, joints.lid.into", "'plate'"),
    ('name = "bracket"', 'name = "bracket"\npart_value = { lit = 3 }', NameUnknown, "line 2, part_value", "'lid'"),
    ('material = "c45"\n[parts.plate.stock]', "[parts.plate.stock]", TomlError, "line 2, parts.plate.material",
     "missing"),
    ('"10 mm", "10 mm", "10 mm"', '"10 mm", "10 mm"', TomlError, "line 6, parts.plate.stock.size", ""),
    ('"10 mm", "10 mm", "3 mm"', '"10 mm", "10 mm", 3', TomlError, "line 13, parts.lid.stock.size", "unit"),
])
def test_what_is_wrong_in_a_job_is_told(
    tmp_path: Path, old: str, new: str, error: type[FirstoffError], place: str, said: str,
) -> None:
    assert old in JOB
    with pytest.raises(error) as caught:
        load_job(folder(tmp_path, JOB.replace(old, new, 1)))
    assert str(caught.value).startswith(f"{tmp_path / 'job.toml'}, {place}")
    assert said in str(caught.value)


def test_a_tolerance_without_unit_is_told(tmp_path: Path) -> None:
    with pytest.raises(TomlError) as caught:
        load_job(folder(tmp_path, JOB.replace("±0.1 mm", "±0.1")))
    assert str(caught.value).startswith(str(tmp_path / "job.toml"))
    assert "'0.1' has no unit" in str(caught.value)


def test_a_job_that_is_not_there_or_empty(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no job here"):
        load_job(tmp_path)
    with pytest.raises(TomlError, match="no parts"):
        load_job(folder(tmp_path, 'name = "bracket"\nparts = {}\n'))


def test_a_route_is_read_where_there_is_one(tmp_path: Path) -> None:
    assert load_route(folder(tmp_path)) is None
    route = load_route(folder(tmp_path, route=ROUTE))
    assert route is not None and route.file == str(tmp_path / "route.toml")
    assert [key for key, _ in route.in_order()] == ["hole-1-drill"]
    with pytest.raises(NameUnknown, match="no setting 'two'") as caught:
        load_route(folder(tmp_path, route=ROUTE.replace('setting = "one"', 'setting = "two"')))
    assert "line 11, operations.hole-1-drill.setting" in str(caught.value)


def test_every_name_of_the_example_is_there() -> None:
    job = load_job(EXAMPLE)
    parts = {name: read(EXAMPLE / wanted.model) for name, wanted in job.parts.items()}
    shop = load_shop(find_shop(EXAMPLE, job.shop, None))
    for name, wanted in job.parts.items():
        assert wanted.material in shop.materials
        for hole in (*wanted.threads, *wanted.ream):
            assert feature_named(hole, parts[name], wanted.names).kind == "hole"
        for feature in (*wanted.names, *wanted.last, *wanted.by_hand):
            assert feature_named(feature, parts[name], wanted.names)
        for low, high, stock in zip(parts[name].low, parts[name].high, wanted.stock.size, strict=True):
            assert high - low <= stock + 1e-6, f"{name} does not fit in its stock"
    for limit in job.limits.values():
        assert all(locate(face, job, parts, limit.part).faces for face in limit.between)
        assert limit.instrument in shop.instruments
    for joint in job.joints.values():
        named = (joint.through, joint.into) if isinstance(joint, ScrewJoint) else getattr(joint, "thickness", ())
        assert all(locate(face, job, parts).faces for face in named)


def test_the_sizes_of_the_example_are_those_of_its_models() -> None:
    job = load_job(EXAMPLE)
    parts = {name: read(EXAMPLE / wanted.model) for name, wanted in job.parts.items()}
    for name, limit in job.limits.items():
        if limit.kind != "distance":
            continue
        first, second = (parts[locate(face, job, parts, limit.part).part].faces[
            locate(face, job, parts, limit.part).faces[0]] for face in limit.between)
        away = sum((b - a) * n for a, b, n in zip(first.centroid, second.centroid, first.normal, strict=True))
        assert limit.size == pytest.approx(abs(away), abs=1e-6), name


def test_the_mouth_opens_as_the_bed_slopes() -> None:
    job = load_job(EXAMPLE)
    bed = read(EXAMPLE / job.parts["body"].model)
    normal = bed.faces[locate("body.bed", job, {"body": bed}).faces[0]].normal
    sole, bed_square, *_ = job.limits["mouth_opening"].gains
    assert -sole == pytest.approx(normal[2] / normal[0], abs=1e-3)
    assert -bed_square == pytest.approx(1.0 / normal[0], abs=1e-3)
    behind, lip = job.limits["mouth_opening"].gains[2:]
    assert (behind, lip) == (1.0, -1.0), "the dowel stands in front of the lip: the farther behind it, the narrower"


def test_what_is_wrong_on_purpose_is_wrong() -> None:
    job = load_job(EXAMPLE)
    screws, lever = job.joints["sole_screws"], job.joints["cap_lever"]
    assert isinstance(screws, ScrewJoint) and isinstance(lever, LeverJoint) and screws.below is not None
    reach = float(re.sub(r".*x ", "", screws.screw))
    deep = thread_wanted(job.parts["body"].threads["screw_front_left"]).depth
    sole = job.limits["sole_thickness"].size
    assert deep is not None and sole is not None
    assert reach - (sole - screws.below[0]) > deep + 1.0, "the screw bottoms"
    assert 12.0 - (sole - screws.below[0]) < deep, "one of 12 does not"
    cap = read(EXAMPLE / job.parts["cap"].model)
    assert cap.high[2] - cap.low[2] == pytest.approx(3.5)
