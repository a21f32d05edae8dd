from __future__ import annotations

from dataclasses import replace
from typing import Any

from firstoff.checks.base import Case
from firstoff.checks.clamp_bottoms import CHECK, SCREW, clamped
from tests.checks.builders import HEIGHT, case, chance, found, setting, shop


def plate(screw: str = "M6 x 30", depth: float | None = 15.0, **holding: Any) -> Case:
    """The block of 20 on a plate with 15 of thread, a screw through it; or edge clamps that move 1."""
    there = shop()
    device = there.devices["clamps"].model_copy(update={"kind": "screws", "name": "plate", "thread_depth": depth,
                                                        "way": 1.0})
    place = setting(holding={"device": "plate", "grip": [], "grip_height": "0 mm", "screw": screw, **holding})
    return case("setting", "first", place=place,
                in_shop=there.model_copy(update={"devices": {**there.devices, "plate": device}}))


def test_a_screw_that_bottoms_bad_on_purpose() -> None:
    finding = found(CHECK, plate("M6 x 40"))
    assert finding.p_fail is not None and finding.p_fail > 0.99
    assert "feels tight and clamps nothing" in finding.because and "M6 x 30 would be right" in finding.because


def test_a_screw_that_reaches_half_way_just_good() -> None:
    assert chance(CHECK, plate("M6 x 30")) <= 0.01


def test_a_short_screw_strips() -> None:
    finding = found(CHECK, plate("M6 x 25", clamped="21 mm"))
    assert finding.p_fail is not None and finding.p_fail > 0.5 and "it strips" in finding.because


def test_longer_is_worse_once_it_nears_the_bottom() -> None:
    assert chance(CHECK, plate("M6 x 35", 15.0)) < chance(CHECK, plate("M6 x 40", 15.0))
    assert chance(CHECK, plate("M6 x 30", 9.0)) > chance(CHECK, plate("M6 x 30", 12.0))


def test_what_is_clamped_is_the_piece_or_what_the_setting_says() -> None:
    assert clamped(plate()) == HEIGHT and clamped(plate(clamped="12 mm")) == 12.0
    spare = plate()
    left = spare.route.settings["first"].model_copy(update={"stock_left": {"-Z": 4.0}})
    assert clamped(replace(spare, route=spare.route.model_copy(update={"settings": {"first": left}}))) == HEIGHT + 4.0


def test_a_jaw_that_meets_its_stop() -> None:
    assert chance(CHECK, plate("", gap="0.3 mm")) <= 0.01
    finding = found(CHECK, plate("", gap="1.2 mm"))
    assert finding.p_fail is not None and finding.p_fail > 0.5 and "meets its stop" in finding.because
    assert not CHECK.applies(plate("")) and CHECK.applies(plate())


def test_a_plate_of_which_nothing_is_known_is_told() -> None:
    finding = found(CHECK, plate(depth=None))
    assert finding.p_rows is None and "how deep the thread" in finding.because
    assert "not a screw that is known" in found(CHECK, plate("wood screw")).because


def test_the_right_length_is_offered_as_an_edit() -> None:
    assert SCREW.path == "holding.screw" and SCREW.values(plate("M6 x 40")) == ["M6 x 30"]
    assert SCREW.say(plate("M6 x 40"), "M6 x 30") == "M6 x 30, not M6 x 40"
    assert SCREW.values(plate("M6 x 30")) == [] and SCREW.values(plate("nonsense")) == []
    assert chance(CHECK, plate(str(SCREW.values(plate("M6 x 40"))[0]))) <= 0.01
