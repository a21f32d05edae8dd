from __future__ import annotations

import pytest

from firstoff.errors import InputError
from firstoff.route.asked_joint import joint_asked
from firstoff.route.quick_press import PressAnswer, quick_press
from firstoff.shop.library import load_shop

SHOP = load_shop(None)
CAP = {"arms": "14 mm, 26 mm", "screw": "M5", "by": "fingers", "into": "brass", "width": "25 mm", "bore": "5.5 mm"}


def wedge(**said: str) -> PressAnswer:
    return quick_press(SHOP, joint_asked("wedge", {"angle": "7 deg", "screw": "M6", "by": "key", **said}, SHOP))


def lever(**said: str | None) -> PressAnswer:
    return quick_press(SHOP, joint_asked("lever", {k: v for k, v in (CAP | said).items() if v is not None}, SHOP))


def test_a_wedge_says_all_it_does() -> None:
    found = wedge(load="5000 N", way="5 mm", gap="0.4 mm")
    assert found.p_slides is not None and found.p_slides < 0.01
    assert found.efficiency is not None and 0.0 < found.efficiency < 0.2
    assert found.rise == pytest.approx(0.614, abs=1e-3) and not found.short
    assert found.p_less is not None and found.p_less < 0.05


def test_a_way_that_is_too_short_clamps_nothing() -> None:
    found = wedge(load="100 N", way="5 mm", gap="0.7 mm")
    assert found.short and found.out.middle == 0.0 and found.p_less == 1.0


def test_a_thin_bar_bends_and_the_thick_one_that_is_told_does_not() -> None:
    found = lever(thick="3.5 mm", load="150 N")
    assert found.p_bends is not None and found.p_bends > 0.3
    text = next(text for text, _, _ in found.instead if text.startswith("a bar"))
    assert text.endswith("mm thick")
    cured = lever(thick=text.removeprefix("a bar ").removesuffix(" thick"), load="150 N")
    assert cured.p_bends is not None and cured.p_bends <= SHOP.close and cured.instead == ()


def test_harder_is_told_only_where_it_is_wanted_and_borne() -> None:
    assert lever(load="20 N").instead == ()
    texts = [text for text, _, _ in lever(load="700 N").instead]
    assert "by thumbscrew" in texts and "grease it" in texts
    assert [text for text, _, _ in lever(load="700 N", thick="3.5 mm").instead] == [
        "a bar 5 mm thick", "by a torque screwdriver"]


def test_a_bar_that_bends_is_told_the_torque_that_it_bears() -> None:
    found = lever(thick="3.5 mm", load="150 N", held="20 kg")
    torque = next(torque for text, torque, _ in found.instead if text == "by a torque screwdriver")
    assert torque < found.turn.torque
    cured = lever(thick="3.5 mm", load="150 N", torque=f"{torque} N m", by=None)
    assert cured.p_bends is not None and cured.p_bends <= SHOP.close
    more = lever(thick="3.5 mm", load="150 N", torque=f"{1.2 * torque} N m", by=None)
    assert more.p_bends is not None and more.p_bends > SHOP.close


def test_a_load_test_narrows_it() -> None:
    assert wedge(slipped="600 kg").out.sd < wedge().out.sd


def test_nobody_says_how_it_is_tightened() -> None:
    with pytest.raises(InputError, match="how it is tightened"):
        quick_press(SHOP, joint_asked("wedge", {"angle": "7 deg", "screw": "M6"}, SHOP))
