from __future__ import annotations

import numpy as np
import pytest

from firstoff.dryrun.causes import SURE, explained
from firstoff.errors import RecordError
from firstoff.job.measured import Measured
from tests.checks import builders
from tests.dryrun import stacked


def read(**off: float) -> list[Measured]:
    return [Measured(name, stacked.SIZES[name][2] + value, "mic") for name, value in off.items()]


def test_a_cutter_that_is_smaller_than_reckoned_is_found_and_keyed_in() -> None:
    """Both outer sizes 0.06 too large: the one cause that they share."""
    said = explained(stacked.cases(), stacked.belief(), read(width=0.06, length=0.06))
    first = said.causes[0]
    assert said.told_apart and first.text.startswith("the radius of the cutter") and first.chance > SURE
    assert first.value == pytest.approx(-0.03, abs=0.004), "half of what each size is off"
    (correction,) = said.corrections
    assert "end mill 6 mm" in correction.text and "smaller" in correction.text


def test_a_wrong_zero_shows_in_the_height_alone() -> None:
    said = explained(stacked.cases(), stacked.belief(), read(width=0.0, length=0.0, height=0.09))
    labels = " ".join(cause.text for cause in said.causes[:3])
    assert "setting zero in z" in labels and "radius" not in labels


def test_causes_that_one_reading_cannot_tell_apart_name_the_next_one() -> None:
    said = explained(stacked.cases(), stacked.belief(), read(width=0.06))
    assert not said.told_apart and said.ask == "measure length" and said.corrections == ()


def test_all_in_order_is_nothing_out_of_the_usual() -> None:
    said = explained(stacked.cases(), stacked.belief(), read(width=0.003, length=-0.002))
    assert said.causes[0].text == "nothing out of the usual"
    assert {r.decision for r in said.readings} == {"conforms"}


def test_sizes_not_measured_follow_what_they_share() -> None:
    """The radius that made the width too large makes the length too large as well."""
    said = explained(stacked.cases(), stacked.belief(), read(width=0.06))
    length = next(f for f in said.forecasts if f.limit == "length")
    assert 0.01 < length.mean < 0.06 and length.p_out > length.p_before


def test_one_who_measures_more_knows_more() -> None:
    few = explained(stacked.cases(), stacked.belief(), read(width=0.02))
    more = explained(stacked.cases(), stacked.belief(), read(width=0.02, length=0.02))
    height = [next(f for f in said.forecasts if f.limit == "height").sd for said in (few, more)]
    assert height[1] <= height[0] * 1.05


def test_decisions_leave_room_for_the_instrument() -> None:
    said = explained(stacked.cases(), stacked.belief(), read(width=0.049, length=0.07, height=0.0))
    assert {r.limit: r.decision for r in said.readings} == {
        "width": "cannot tell", "length": "does not conform", "height": "conforms"}


def test_planted_causes_are_found_as_often_as_it_says() -> None:
    """Shops drawn with one cause far off: where it says it is sure, it is right at least as often."""
    rng, sure, right = np.random.default_rng(8), 0, 0
    cases, believed = stacked.cases(), stacked.belief()
    for _ in range(24):
        planted = rng.choice(["radius", "zero"])
        size = rng.choice([-1.0, 1.0]) * rng.uniform(3.5, 6.0)
        off = {name: rng.normal(0.0, 0.008) for name in stacked.SIZES}
        if planted == "radius":
            off = {name: value - 2.0 * 0.006 * size * (name != "height") for name, value in off.items()}
        else:
            off["height"] += 0.01 * size
        said = explained(cases, believed, read(**off))
        if said.told_apart and said.causes[0].text != "nothing out of the usual":
            sure += 1
            right += said.causes[0].text.startswith("the radius" if planted == "radius" else "setting zero in z")
    assert sure >= 6 and right / sure > SURE


def test_steps_lost_between_two_cuts_stand_apart_from_a_wrong_zero() -> None:
    """side-1 (-X) is cut before the loss, side-2 (+X) after it: the length alone is off, the radius is not."""
    said = explained(stacked.cases(), stacked.belief(), read(width=0.001, length=0.09, height=0.002))
    first = said.causes[0]
    assert first.text.startswith("steps lost in x in first") and first.value is not None
    assert abs(first.value) == pytest.approx(0.09, abs=0.02)
    (correction,) = said.corrections
    assert "find zero of first again in X" in correction.text and "before side-" in correction.text


def test_a_part_measured_warm_reads_more_in_proportion_to_its_length() -> None:
    """Twelve degrees over the shop, of a plastic that grows as plastics do: nothing is to be keyed in."""
    plastic = stacked.belief(material_steel__expansion=100e-6)
    warm = {name: 12.0 * 100e-6 * nominal for name, (_, _, nominal) in stacked.SIZES.items()}
    said = explained(stacked.cases(), plastic, read(**warm))
    assert said.causes[0].text == "a part measured warm of block" and said.told_apart
    (correction,) = said.corrections
    assert "as cold as the shop" in correction.text and correction.value == 0.0


def test_readings_of_one_size_that_differ_contradict_each_other() -> None:
    twice = [*read(width=0.0), *read(width=0.06)]
    said = explained(stacked.cases(), stacked.belief(), twice)
    assert "width was read 2 times and not alike" in said.contradicts and said.corrections == ()
    assert not said.told_apart and said.ask == ""
    assert explained(stacked.cases(), stacked.belief(), read(width=0.0, length=0.001)).contradicts == ""


def test_a_slip_of_the_point_is_refused() -> None:
    with pytest.raises(RecordError, match="from the nominal"):
        explained(stacked.cases(), stacked.belief(), read(width=20.0))
    with pytest.raises(RecordError, match="cannot be followed"):
        explained(stacked.cases(), stacked.belief(), [Measured("nothing", builders.WIDTH, "mic")])
