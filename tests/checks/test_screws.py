from __future__ import annotations

import pytest

from firstoff.checks._screws import hole_of, projection, screw_of, sits, size_of, thread_depth
from firstoff.errors import NameUnknown
from firstoff.job.models import ScrewJoint
from firstoff.part.shapes import Feature
from tests.checks.builders import block, case, job

PART = block(Feature("hole-1", "hole", (6,), through=True, size={"diameter": 4.5, "depth": 5.0,
                                                                   "counterbore_depth": 2.0}),
             Feature("hole-2", "hole", (7,), size={"diameter": 3.3, "depth": 12.0}))


def joint(**changed: object) -> ScrewJoint:
    return ScrewJoint.model_validate({"screw": "M4 x 12", "through": "block.lid", "into": "block.hole-2", **changed})


def test_texts_of_screws() -> None:
    assert screw_of("M4 x 16")[:2] == ("M4", 16.0) and screw_of("M2.5×6 mm").length == 6.0
    assert size_of("M5") == "M5" and size_of("M5 x 12") == "M5"
    for wrong in ("M4", "M7 x 10", "1/4 x 1"):
        with pytest.raises(NameUnknown):
            screw_of(wrong)
    with pytest.raises(NameUnknown):
        size_of("M7")


@pytest.mark.parametrize(("names", "key"), [({}, "hole-2"), ({"seat": "hole-2"}, "seat")])
def test_the_thread_is_found_by_any_name_of_its_hole(names: dict[str, str], key: str) -> None:
    this = case("joint", "j", of_job=job(threads={key: "M4 x 9 deep"}, names=names), part=PART)
    assert thread_depth(this, hole_of(this, "block.hole-2")) == 9.0


def test_a_thread_without_a_depth_is_as_deep_as_its_hole() -> None:
    this = case("joint", "j", of_job=job(threads={"hole-2": "M4"}), part=PART)
    assert thread_depth(this, hole_of(this, "block.hole-2")) == 12.0
    assert thread_depth(case("joint", "j", part=PART), hole_of(this, "block.hole-2")) is None


def test_where_the_length_counts_from() -> None:
    this = case("joint", "j", of_job=job(names={"lid": "hole-1"}), part=PART)
    lid = hole_of(this, "block.lid")
    assert sits(joint(), lid) == 2.0 and projection(joint(), lid, 12.0) == 9.0
    sunk = joint(head="countersunk", below="+0.4 mm / 0.2 mm")
    assert sits(sunk, lid) == pytest.approx(0.3) and projection(sunk, lid, 12.0) == pytest.approx(7.3)


def test_a_hole_of_no_part() -> None:
    with pytest.raises(NameUnknown, match="which part"):
        hole_of(case(part=PART), "hole-1")
