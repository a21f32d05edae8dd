from __future__ import annotations

from dataclasses import replace

import pytest

from firstoff.checks.crushed import CHECK, bands
from tests.checks.builders import LENGTH, belief, chance, found
from tests.checks.test_contacts_left import along_the_fixed_jaw, drill_after, milled


def test_a_grip_milled_down_to_a_lip_bad_on_purpose() -> None:
    finding = found(CHECK, milled(along_the_fixed_jaw(0.6)))
    assert finding.p_fail is not None and finding.p_fail > 0.5
    assert "the fixed jaw presses on" in finding.because and "from line" in finding.because
    assert "the rest is crushed" in finding.because


def test_half_a_grip_just_good() -> None:
    this = milled(along_the_fixed_jaw(5.0))
    assert chance(CHECK, this) <= 0.01
    last = bands(this)[-1]
    assert last.name == "fixed jaw" and last.share == pytest.approx(0.5, abs=0.05)
    assert last.tall == pytest.approx(5.0, abs=0.5) and last.wide == pytest.approx(LENGTH, rel=0.05)


def test_what_stands_is_borne_by_its_height_and_length() -> None:
    """A jaw that has lost its one end bears on less of its length, not of its height."""
    this = milled(along_the_fixed_jaw(-1.0, 7))
    last = bands(this)[-1]
    assert last.tall == pytest.approx(10.0, abs=0.5) and last.wide == pytest.approx(LENGTH - 45.0, abs=3.0)


def test_chance_rises_as_the_program_goes_deeper() -> None:
    chances = [chance(CHECK, milled(along_the_fixed_jaw(height))) for height in (5.0, 1.5, 1.0, 0.6)]
    assert chances == sorted(chances) and chances[-1] > chances[0]


def test_a_harder_squeeze_crushes_more() -> None:
    this = milled(along_the_fixed_jaw(1.2))
    assert chance(CHECK, this, belief(device_vise__squeeze_arm=30000.0)) > chance(CHECK, this)


def test_nothing_is_left() -> None:
    finding = found(CHECK, milled(along_the_fixed_jaw(-1.0, 11)))
    assert finding.p_fail == pytest.approx(1.0) and "nothing is left for the fixed jaw to press on" in finding.because


def test_above_the_jaws_nothing_is_crushed() -> None:
    this = milled(along_the_fixed_jaw(12.0))
    assert chance(CHECK, this) == 0.0 and bands(this) == ()
    assert not CHECK.applies(replace(this, run=None)), "without a program the check of the grip tells it"


def test_a_tap_after_it_stands_in_what_the_program_left() -> None:
    this = drill_after(along_the_fixed_jaw(0.6))
    assert CHECK.applies(this) and chance(CHECK, this) > 0.0 and "when it begins" in found(CHECK, this).because
    assert not CHECK.applies(drill_after(along_the_fixed_jaw(12.0)))
    assert bands(this)[0].line == 0


def test_what_is_not_known_cannot_be_told() -> None:
    assert found(CHECK, milled(along_the_fixed_jaw(0.6), tightness="a cheater bar")).p_rows is None
