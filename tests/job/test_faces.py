"""Names of faces, resolved in a brick with one hole, made by hand so that every answer is known."""

from __future__ import annotations

import pytest

from firstoff.errors import NameUnknown
from firstoff.job.faces import DIRECTIONS, Place, dot, feature_named, locate, outermost, resolve, signature
from firstoff.job.models import Job
from firstoff.part.shapes import Face, Feature, Part, Vector

LOW, HIGH = (0.0, 0.0, 0.0), (40.0, 20.0, 10.0)


def flat(number: int, normal: Vector, centroid: Vector, area: float = 100.0) -> Face:
    return Face(number, 0, "plane", area, centroid, normal, LOW, HIGH, neighbours=(0, 1))


def brick() -> Part:
    middle = tuple((a + b) / 2.0 for a, b in zip(LOW, HIGH, strict=True))
    faces = []
    for number, way in enumerate(DIRECTIONS.values()):
        side = HIGH if sum(way) > 0.0 else LOW
        x, y, z = (s if w else m for s, w, m in zip(side, way, middle, strict=True))
        faces.append(flat(number, way, (x, y, z)))
    faces.append(flat(6, (0.0, 0.0, 1.0), (20.0, 10.0, 4.0), area=900.0))          # the floor of a pocket, larger
    faces.append(flat(7, (0.0, 0.0, 1.0), (35.0, 10.0, 10.0), area=200.0))         # a second face of the top
    faces.append(Face(8, 0, "cylinder", 60.0, (5.0, 5.0, 5.0), (1.0, 0.0, 0.0), LOW, HIGH, radius=2.0, hollow=True))
    features = (
        Feature("hole-1", "hole", (8,)), Feature("pocket-1", "pocket", (6,)), Feature("stock-1", "stock", (4, 7)),
    )
    return Part("plate", "plate.step", "", "mm", 1, LOW, HIGH, 8000.0, tuple(faces), (), features)


def job() -> Job:
    return Job.model_validate({"name": "bracket", "parts": {"plate": {
        "model": "plate.step", "material": "c45", "stock": {"size": ["40 mm", "20 mm", "10 mm"]},
        "names": {"seat": "pocket-1", "rest": "seat"}}}})


@pytest.mark.parametrize(("name", "number"), [(name, i) for i, name in enumerate(DIRECTIONS) if name != "+Z"])
def test_a_side_is_the_outermost_flat_that_looks_that_way(name: str, number: int) -> None:
    part = brick()
    assert [face.number for face in outermost(part, DIRECTIONS[name])] == [number]
    assert resolve(name, part) == (number,)


def test_flats_in_one_plane_belong_together_the_largest_first() -> None:
    assert [face.number for face in outermost(brick(), DIRECTIONS["+Z"])] == [7, 4]


def test_a_side_without_a_flat_is_nothing() -> None:
    assert outermost(brick(), (0.6, 0.8, 0.0)) == ()


@pytest.mark.parametrize(("name", "faces"), [
    ("hole-1", (8,)), ("seat", (6,)), ("rest", (6,)), ("face 6", (6,)), ("face-6", (6,)), ("face6", (6,)),
])
def test_other_names_of_faces(name: str, faces: tuple[int, ...]) -> None:
    assert resolve(name, brick(), job().parts["plate"].names) == faces


@pytest.mark.parametrize("name", ["face 99", "hole-2", "top", "+W", ""])
def test_an_unknown_name_lists_what_there_is(name: str) -> None:
    with pytest.raises(NameUnknown) as caught:
        resolve(name, brick(), {"seat": "pocket-1"}, "job.toml, line 3")
    assert str(caught.value).startswith("job.toml, line 3: ")
    for known in ("+Z", "seat", "hole-1", "face 8"):
        assert known in caught.value.right


def test_names_that_stand_for_each_other_end() -> None:
    with pytest.raises(NameUnknown):
        resolve("a", brick(), {"a": "b", "b": "a"})


@pytest.mark.parametrize(("name", "feature"), [
    ("hole-1", "hole-1"), ("rest", "pocket-1"), ("+Z", "stock-1"), ("face 6", "pocket-1"),
])
def test_a_feature_by_its_id_its_name_or_its_face(name: str, feature: str) -> None:
    assert feature_named(name, brick(), job().parts["plate"].names).id == feature


def test_a_face_without_a_feature_is_told() -> None:
    with pytest.raises(NameUnknown, match="belongs to no feature"):
        feature_named("+X", brick())


def test_a_face_with_its_part() -> None:
    parts = {"plate": brick()}
    assert locate("plate.seat", job(), parts) == Place("plate", (6,))
    assert locate("seat", job(), parts, "plate") == Place("plate", (6,))
    with pytest.raises(NameUnknown, match="does not say of which part"):
        locate("seat", job(), parts)


def test_a_face_is_known_again_by_what_it_is_not_by_its_number() -> None:
    part = brick()
    assert signature(part.faces[6]) == signature(flat(99, (0.0, 0.0, 1.0), (20.0, 10.0, 4.0), area=900.0))
    assert len({signature(face) for face in part.faces}) == len(part.faces)


def test_dot() -> None:
    assert dot((1.0, 2.0, 3.0), (4.0, -5.0, 6.0)) == 12.0
