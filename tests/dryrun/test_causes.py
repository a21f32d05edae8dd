from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks._locators import Array
from firstoff.dryrun.causes import FEW, OPEN, SURE, _causes, _explain, _farthest, _Joint, _joint, _keyed_in, explained
from firstoff.dryrun.conforming import reading_of
from firstoff.dryrun.slips import LOOK
from firstoff.errors import RecordError
from firstoff.job.measured import Measured
from firstoff.stack.causes import FAR_SDS, FARS, FARS_WEIGHTS, USUAL, explain
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
    assert correction.leaves == pytest.approx({"width": 0.0, "length": 0.0}, abs=0.008), "what is expected then"
    assert correction.after == {}, "the height is none of the cutter's"


def test_a_pass_once_more_is_told_only_of_what_was_pushed_off() -> None:
    """A wall that was cut too deep has nothing left on it."""
    joint = _joint([case for case in stacked.cases() if case.limit is not None], stacked.belief())
    assert "once more" in _keyed_in(joint, "pushed:side-3:wall", 0.03)
    assert _keyed_in(joint, "pushed:side-3:wall", -0.03) == ""


def test_a_wrong_figure_that_was_keyed_in_is_found_however_far_it_is_off() -> None:
    """A cutter's diameter 0.2 too small in the table, and a zero half a millimetre off: a machine never errs so."""
    said = explained(stacked.cases(), stacked.belief(), read(width=0.2, length=0.2))
    assert said.sure and said.causes[0].text.startswith("the radius of the cutter, off by -0.10")
    said = explained(stacked.cases(), stacked.belief(), read(height=0.5))
    assert said.sure and said.causes[0].text.startswith("setting zero in z in second")


def test_a_size_that_is_out_though_all_is_as_usual_has_its_correction_too() -> None:
    """0.02 too large on both where 0.015 is allowed: the cutter has most of it, and nothing went wrong."""
    cases = stacked.cases(stacked.job("±0.015 mm"))
    said = explained(cases, stacked.belief(), read(width=0.02, length=0.02, height=0.0))
    assert said.sure and said.causes[0].text == "nothing out of the usual"
    (correction,) = said.corrections
    assert "key in the radius of the end mill 6 mm" in correction.text and -0.015 < correction.value < -0.005
    assert explained(cases, stacked.belief(), read(width=0.002, length=0.001, height=0.0)).corrections == ()


def test_a_wrong_zero_shows_in_the_height_alone() -> None:
    said = explained(stacked.cases(), stacked.belief(), read(width=0.0, length=0.0, height=0.09))
    labels = " ".join(cause.text for cause in said.causes[:3])
    assert "setting zero in z" in labels and "radius" not in labels


def test_causes_that_one_reading_cannot_tell_apart_name_the_next_one() -> None:
    said = explained(stacked.cases(), stacked.belief(), read(width=0.05))
    assert not said.told_apart and said.ask == "measure length" and said.corrections == ()


def test_where_no_other_size_would_tell_the_error_itself_is_looked_at() -> None:
    """The width alone is a limit of the job: the cutter may be measured, the axis moved to and fro."""
    cases = [case for case in stacked.cases() if case.limit is None or case.name == "width"]
    said = explained(cases, stacked.belief(), read(width=0.05))
    assert not said.sure and said.ask in LOOK.values()


def test_one_kind_of_error_in_two_places_that_no_reading_tells_apart_is_one_cause() -> None:
    """Either wall may be the one: what is to be done is the same."""
    said = explained(stacked.cases(), stacked.belief(), read(width=0.05))
    repeats = [cause for cause in said.causes if cause.text.startswith("the repeat of the axes")]
    assert [cause.text.split(",")[0] for cause in repeats] == ["the repeat of the axes of side-4 or of side-3"] or [
        cause.text.split(",")[0] for cause in repeats] == ["the repeat of the axes of side-3 or of side-4"]
    assert repeats[0].text.endswith("either way") and repeats[0].chance > 0.25
    chances = [cause.chance for cause in said.causes]
    assert chances == sorted(chances, reverse=True) and sum(chances) < 1.0 + 1e-9


def test_where_the_instrument_itself_may_be_off_a_known_size_would_tell() -> None:
    """The bottom is cut by what is read, so that the micrometer's own error stands in the height."""
    route = stacked.route()
    rough = route.operations["under"].model_copy(update={"number": 55, "leaves": 0.2, "measure": ("height",)})
    stops = route.model_copy(update={"operations": {**route.operations, "rough": rough}})
    cases = stacked.cases(planned=stops)
    told = explained(cases, stacked.belief(), read(height=0.02))
    assert any("the micrometer" in cause.text for cause in told.causes[:2]) and not told.sure
    assert told.ask.startswith("read a known size with the micrometer")


def test_no_cause_is_told_twice() -> None:
    """One that is too rare to be told by itself brings none along that was told already."""
    joint = _joint([case for case in stacked.cases() if case.limit is not None], stacked.belief())
    at = [[case.name for case in joint.cases].index("width")]
    reading = reading_of(joint.cases[at[0]], read(width=0.05)[0])
    found, chance = _explain(joint, at, [reading]), np.zeros(len(joint.groups) + 1)
    walls = [g for g, (label, where) in enumerate(joint.groups)
             if label == "the repeat of the axes" and where in ("side-3", "side-4")]
    chance[walls], chance[-1] = (0.5, FEW / 2.0), 0.5 - FEW / 2.0
    told = _causes(joint, found._replace(chance=chance), at)
    assert [round(cause.chance, 3) for cause in told] == [0.5, round(0.5 - FEW / 2.0, 3)]


def test_two_things_that_are_off_are_told_as_more_than_one() -> None:
    """A radius explains width and length; the height, too, is off by far, and nothing that both share."""
    said = explained(stacked.cases(), stacked.belief(), read(width=0.06, length=0.06, height=0.09))
    assert "height" in said.besides or "width" in said.besides
    assert explained(stacked.cases(), stacked.belief(), read(width=0.06, length=0.06, height=0.0)).besides == ""


def test_all_in_order_is_nothing_out_of_the_usual() -> None:
    said = explained(stacked.cases(), stacked.belief(), read(width=0.003, length=-0.002))
    assert said.causes[0].text == "nothing out of the usual"
    assert {r.decision for r in said.readings} == {"conforms"}


def test_what_cannot_show_in_a_reading_is_nothing_out_of_the_usual() -> None:
    """The height as it should be: what moves width and length alone may be off or not, nothing here tells."""
    said = explained(stacked.cases(), stacked.belief(), read(height=0.002))
    assert said.told_apart and said.ask == "" and said.causes[0].text == "nothing out of the usual"
    assert not any("radius" in cause.text for cause in said.causes) and said.causes[0].chance > 0.8
    assert sum(cause.chance for cause in said.causes) < 1.0 + 1e-9


def test_what_else_the_job_holds_makes_no_cause_less_likely() -> None:
    """The height is made elsewhere and was not measured: with it or without, the width tells the same."""
    cases = stacked.cases()
    whole, less = (explained(held, stacked.belief(), read(width=0.05)) for held in (
        cases, [case for case in cases if case.name != "height"]))
    told = [{cause.text: cause.chance for cause in said.causes
             if not cause.text.startswith("steps lost") and cause.chance > 0.05} for said in (whole, less)]
    assert told[0] == pytest.approx(told[1], abs=0.01) and len(told[0]) >= 4


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


# --- against an oracle that knows the simulator -------------------------------------------------------------------


def ways_of(joint: _Joint, cause: int) -> list[tuple[float, Array, Array]]:
    """How a cause is at work: how likely, shifts in own standard deviations, and how much wider each source is."""
    none, plain = np.zeros(len(joint.names)), np.where(joint.asleep, 0.0, 1.0)
    members, mine, found = np.flatnonzero(joint.group_of == cause), joint.group_of == cause, []
    able = _farthest(joint)[cause] >= FARS
    weights = FARS_WEIGHTS[able] / FARS_WEIGHTS[able].sum()
    for far, wide, weight in zip(FARS[able], FAR_SDS[able], weights, strict=True):
        if joint.asleep[members].any():
            woken = (np.where(np.arange(len(plain)) == k, far, plain) for k in members)
            found += [(weight / len(members), none, wide) for wide in woken]
        elif len(members) > 1:
            found.append((weight, none, np.where(mine, far, plain)))
        else:
            found += [(weight / 2.0, sign * far * mine, np.where(mine, wide, plain)) for sign in (1.0, -1.0)]
    return found


def oracle(joint: _Joint, at: list[int], read: Array, noise: Array) -> Array:
    """Chances of the causes and of none, by the exact density of the readings in every row of the belief."""
    lines, sd = joint.read(at), np.where(joint.lasting[:, None], joint.rows.std(axis=1)[:, None], joint.rows)
    fits = []
    for cause in range(len(joint.groups) + 1):
        plain = [(1.0, np.zeros(len(joint.names)), np.where(joint.asleep, 0.0, 1.0))]
        each = []
        for weight, shift, wide in plain if cause == len(joint.groups) else ways_of(joint, cause):
            spread = wide[:, None] * sd
            fixed = np.where(joint.lasting[:, None], joint.mean[:, None], 0.0)
            mean = (lines @ (fixed + shift[:, None] * sd)).T
            cov = np.einsum("ms,sn,ps->nmp", lines, spread**2, lines) + np.diag(noise**2)
            off = (read - mean)[:, :, None]
            size = np.linalg.slogdet(cov)[1]
            fit = -0.5 * (off.transpose(0, 2, 1) @ np.linalg.solve(cov, off))[:, 0, 0] - 0.5 * size
            each.append(np.logaddexp.reduce(fit) - np.log(len(fit)) + np.log(weight))
        fits.append(np.logaddexp.reduce(each))
    prior = np.append(np.full(len(joint.groups), (1.0 - USUAL) / len(joint.groups)), USUAL)
    chance = np.exp(np.array(fits) + np.log(prior) - max(fits))
    return np.asarray(chance / chance.sum())


def test_chances_of_causes_score_as_an_oracle_that_knows_the_simulator() -> None:
    """Shops drawn by row, one cause in two planted: what we say of the causes against the exact posterior."""
    rng, believed = np.random.default_rng(21), stacked.belief()
    joint = _joint([case for case in stacked.cases() if case.limit is not None], believed)
    at, noise, none = [0, 1, 2], np.full(3, 3e-6), len(joint.groups)
    ours, exact, told, wrong = 0.0, 0.0, 0, 0
    for _ in range(80):
        row, cause = int(rng.integers(believed.rows)), none if rng.random() < USUAL else int(rng.integers(none))
        sd = np.where(joint.lasting, joint.rows.std(axis=1), joint.rows[:, row])
        ways = [] if cause == none else ways_of(joint, cause)
        way = int(rng.choice(len(ways), p=[w for w, _, _ in ways])) if ways else 0
        shift, wide = ways[way][1:] if ways else (np.zeros(len(sd)), np.where(joint.asleep, 0.0, 1.0))
        source = np.where(joint.lasting, joint.mean, 0.0) + (shift + wide * rng.normal(size=len(sd))) * sd
        read = joint.read(at) @ source + rng.normal(0.0, noise)
        found = explain(read, joint.read(at), joint.mean, joint.covariance, noise, joint.group_of,
                        joint.lines(joint.of(k)[0] for k in at), joint.asleep, farthest=_farthest(joint))
        best = oracle(joint, at, read, noise)
        ours, exact = ours - np.log(found.chance[cause]), exact - np.log(best[cause])
        if found.surest < OPEN:
            told += 1
            wrong += bool(best.max() >= SURE)
    assert ours / 80 <= exact / 80 + 0.05, "within a twentieth of a nat of the best that anybody could say"
    assert wrong <= 0.05 * told, "'cannot be told apart' is said where the oracle cannot either"


def test_a_slip_of_the_point_is_refused() -> None:
    with pytest.raises(RecordError, match="from the nominal"):
        explained(stacked.cases(), stacked.belief(), read(width=20.0))
    with pytest.raises(RecordError, match="cannot be followed"):
        explained(stacked.cases(), stacked.belief(), [Measured("nothing", builders.WIDTH, "mic")])
    wide = {**stacked.job().limits, "width": stacked.job().limits["width"].model_copy(update={"size": 3.0})}
    cases = stacked.cases(stacked.job().model_copy(update={"limits": wide}))
    with pytest.raises(RecordError, match="cannot be followed: the model has 40 mm there"):
        explained(cases, stacked.belief(), [Measured("width", builders.WIDTH, "mic")])
