from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from firstoff.belief import Belief, LogNormal
from firstoff.checks._heat import celsius, celsius_known, heat_into_part, hot, specific_energy, untold
from firstoff.checks._past import past_of
from firstoff.checks.base import Observation
from firstoff.checks.heat import CALLED, CHECK, chips_come_off
from firstoff.cutting.heat import COLOURS
from tests.checks.builders import belief, case, chance, found, job, knobs_say, operation, rises, shop, tool, without

HSS = shop(em6=tool(material="hss"))


def at(rpm: float, in_shop: object = None, **cut: object) -> object:
    return case(op=operation(cut={"spindle_speed": f"{rpm} rpm", **cut}), in_shop=in_shop)  # type: ignore[arg-type]


def test_fast_high_speed_steel_bad_on_purpose() -> None:
    finding = found(CHECK, at(40000, HSS, feed_per_tooth="0.1 mm"))  # type: ignore[arg-type]
    assert finding.p_fail is not None and finding.p_fail > 0.8
    assert finding.unit == "K" and "gives way" in finding.because


def test_slow_high_speed_steel_just_good() -> None:
    assert chance(CHECK, at(1500, HSS)) <= 0.01  # type: ignore[arg-type]


def test_chance_rises_with_speed_and_with_the_chip() -> None:
    rises(CHECK, [at(rpm, HSS) for rpm in (1000, 10000, 40000)])  # type: ignore[misc]
    rises(CHECK, [at(20000, HSS, feed_per_tooth=f"{f} mm") for f in (0.05, 0.2)])  # type: ignore[misc]


def test_carbide_bears_what_burns_steel() -> None:
    fast = {"feed_per_tooth": "0.1 mm"}
    assert chance(CHECK, at(20000, None, **fast)) < chance(CHECK, at(20000, HSS, **fast))  # type: ignore[arg-type]


def test_chips_of_steel_have_a_colour_when_dry() -> None:
    assert "chips come off" in found(CHECK, at(6000)).because  # type: ignore[arg-type]
    assert "chips come off" not in found(CHECK, at(6000, coolant="flood")).because  # type: ignore[arg-type]


def test_how_well_the_heat_is_known_is_told() -> None:
    """By 5 % and 95 % of the rows; a figure that is known to a hair has one colour."""
    said = found(CHECK, at(6000), belief()).because  # type: ignore[arg-type]
    told = re.search(r"about (\d+) C, anywhere from (\d+) to (\d+), where the chip slides", said)
    assert told, said
    rise = hot(past_of(at(6000)), belief()).interface_rise  # type: ignore[arg-type]
    assert [float(t) - 20.0 for t in told.groups()] == pytest.approx(np.percentile(rise, [50, 5, 95]), abs=4.0)
    assert float(told[2]) < float(told[1]) < float(told[3])


def test_a_heat_that_is_hardly_known_leaves_the_colour_open() -> None:
    known = belief().columns
    off = replace(known["discrepancy:heat", "factor"], transform=LogNormal(1.0, 3.0))
    wide = Belief.of([*({**known, ("discrepancy:heat", "factor"): off}).values()], rows=belief().rows)
    assert chips_come_off(at(6000), wide).endswith("though any colour is left open")  # type: ignore[arg-type]
    assert "anywhere from" in chips_come_off(at(6000), belief())  # type: ignore[arg-type]


def test_the_colour_is_the_hotter_the_faster() -> None:
    words = [word for word, _ in COLOURS]
    seen = [chips_come_off(at(speed), belief()) for speed in (1500, 6000, 30000)]  # type: ignore[arg-type]
    places = [words.index(word.partition(",")[0]) for word in seen]
    assert places == sorted(places) and places[0] < places[-1]
    assert chips_come_off(at(6000, coolant="flood"), belief()) == ""  # type: ignore[arg-type]


def test_flood_cools_and_is_offered() -> None:
    dry, wet = (float(np.median(hot(past_of(at(6000, coolant=c)), belief()).interface_rise))  # type: ignore[arg-type]
                for c in ("dry", "flood"))
    assert wet / dry == pytest.approx(1.01 / 1.25, rel=0.02)
    said = knobs_say(CHECK, at(20000, HSS))  # type: ignore[arg-type]
    assert said["cut.coolant"][-1] == "flood, not dry" and said["cut.spindle_speed"]


def test_energy_is_the_force_law_over_the_chip() -> None:
    cut = past_of(case())
    middle = float(np.median(specific_energy(cut, belief())))
    assert middle == pytest.approx(2.0e9 + 15e3 / cut.chip, rel=0.05)


def test_heat_in_the_part_is_a_share_of_the_work() -> None:
    cut = past_of(case())
    rows = heat_into_part(cut, belief())
    whole = specific_energy(cut, belief()) * cut.volume
    assert np.all(rows > 0.0) and np.all(rows < whole)
    assert celsius(np.array([0.0, 82.0, 99.0])) == "100"
    assert celsius_known(np.full(9, 82.0)) == "100 C, anywhere from 100 to 100,"


def test_plastics_are_another_matter() -> None:
    assert not CHECK.applies(case(of_job=job(material="pom")))


def test_the_colour_of_the_chips_tells_how_hot_they_were() -> None:
    dry, by = case(op=operation(cut={"spindle_speed": "6000 rpm"})), belief()
    assert CHECK.loglik is not None
    heat = hot(past_of(dry), by).chip_rise
    hotter = np.argsort(heat)
    told = {word: CHECK.loglik(dry, by, Observation("colour", word=word)) for word in CALLED}
    bright, grey = told["bright"], told["grey"]
    assert bright is not None and grey is not None
    assert np.all(np.diff(bright[hotter]) <= 1e-9) and np.all(np.diff(grey[hotter]) >= -1e-9)
    total = np.sum([np.exp(rows) for rows in told.values() if rows is not None], axis=0)
    assert total == pytest.approx(np.ones(by.rows))


def test_colours_tell_nothing_where_chips_take_none() -> None:
    assert CHECK.loglik is not None
    blue, dry = Observation("colour", word="blue"), case(op=operation())
    wet = case(op=operation(cut={"coolant": "mist"}))
    assert CHECK.loglik(wet, belief(), blue) is None
    assert CHECK.loglik(dry, belief(), Observation("colour", word="melted")) is None
    assert CHECK.loglik(dry, belief(), Observation("watts", value=100.0)) is None


def test_a_metal_of_ones_own_without_a_book_is_not_told() -> None:
    """`cut` in a material with a name and an ISO 513 group alone ended with 'nothing is believed of conductivity'."""
    plain = without("conductivity", "heat_capacity")
    assert untold(case(), belief()) is None
    finding = found(CHECK, case(), plain)
    assert finding.p_rows is None and "conductivity and heat_capacity" in finding.settle_by
    assert chips_come_off(case(), plain) == ""
    assert CHECK.loglik is not None and CHECK.loglik(case(), plain, Observation("colour", "straw")) is None
