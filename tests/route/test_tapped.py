"""A thread without a job: what its tap takes, from which length the screw breaks first."""

from __future__ import annotations

import pytest

from firstoff.checks._threads import thread_named
from firstoff.route.hole_bench import Bench
from firstoff.route.tapped import LONGEST, Tapped, long, p_strips, tapped_of, thread_risks, with_drill
from firstoff.shop.library import load_shop
from firstoff.shop.models import Material

SHOP = load_shop(None)


def bench(material: str | Material = "s275_hot_rolled") -> Bench:
    metal = SHOP.materials[material] if isinstance(material, str) else material
    return Bench(SHOP, SHOP.machines["drill_press"], metal)


def tapped(name: str, material: str | Material = "s275_hot_rolled", length: float | None = None,
           drill: float | None = None) -> Tapped:
    thread = thread_named(name)
    return tapped_of(with_drill(thread, drill) if drill else thread, bench(material), length)


@pytest.mark.parametrize("material", ["s275_hot_rolled", "al_6082", "brass_cz121", "cast_iron_gg25", "unknown_bar",
                                      "unknown_aluminium"])
@pytest.mark.parametrize("name", ["M3", "M5", "M16", "1/4-20"])
def test_at_the_length_that_is_told_it_strips_one_time_in_twenty(name: str, material: str) -> None:
    """16 mm of M16 in mild steel: 'from 14.2 mm the screw breaks first', and 1 in 15 at 16 mm, 'instead 14.2 mm'."""
    found = tapped(name, material)
    assert found.sure_length is not None and found.full_length is not None
    assert p_strips(found.thread, bench(material), found.sure_length) == pytest.approx(SHOP.close, rel=1e-3)
    assert found.sure_length > found.full_length


@pytest.mark.parametrize("length", [3.0, 4.6, 5.0, 6.0, 9.0])
def test_what_is_told_instead_is_longer_than_what_was_asked(length: float) -> None:
    found = tapped("M5", length=length)
    strips = next(risk for risk in thread_risks(found, bench(), length) if "strip" in risk.what)
    assert strips.p is not None and found.sure_length is not None
    assert bool(strips.instead) == (strips.p > SHOP.close) == (length < found.sure_length)
    assert not strips.instead or f"make it {long(found.sure_length, bench())}" in strips.instead


def test_a_longer_thread_strips_less_often() -> None:
    chances = [p_strips(thread_named("M5"), bench(), length) for length in (1.0, 3.0, 4.0, 5.0, 8.0)]
    assert chances == sorted(chances, reverse=True) and chances[0] > 0.99


def test_a_drill_of_ones_own_is_told_on_the_same_base() -> None:
    """M5 with 4.3: (5 - 4.3) / (2 x 0.433) = 81 % of H1; less torque, and a longer thread is wanted."""
    usual, own = tapped("M5"), tapped("M5", drill=4.3)
    assert own.share == pytest.approx((5.0 - 4.3) / (2.0 * 0.54127 * 0.8), abs=1e-3)
    assert own.drill == 4.3 and own.thread.drill_name == ""
    assert own.torque is not None and usual.torque is not None and own.torque < usual.torque
    wide = tapped("M5", drill=4.6)
    assert wide.full_length is not None and usual.full_length is not None and wide.full_length >= usual.full_length


def test_a_drill_narrower_than_the_core_is_told() -> None:
    found = tapped("M5", drill=4.0)
    assert found.share > 1.0
    assert any("narrower than the core" in risk.what for risk in thread_risks(found, bench(), None))
    assert not any("narrower" in risk.what for risk in thread_risks(tapped("M5"), bench(), None))


def test_a_metal_that_nobody_tapped_still_has_its_drill_and_its_length() -> None:
    """M6 in a metal of one's own was refused whole: 'no figure for tapping'."""
    own = SHOP.materials["s275_cold_drawn"].model_copy(update={"tapping_force": None, "name": "titanium"})
    found = tapped("M6", own, 8.0)
    assert found.torque is None and found.p_breaks == {}
    assert found.full_length is not None and found.p_strips is not None
    told = next(risk for risk in thread_risks(found, bench(own), 8.0) if "tap breaks" in risk.what)
    assert told.p is None and "tapping_force" in told.instead


def test_a_plastic_never_holds_a_screw_of_steel() -> None:
    found = tapped("M5", "acetal", 10.0)
    assert not found.long_enough
    assert found.full_length is not None and found.full_length > LONGEST * 5.0
    told = next(risk for risk in thread_risks(found, bench("acetal"), 10.0) if "strip" in risk.what)
    assert "insert" in told.instead


def test_lengths_are_rounded_up() -> None:
    assert long(5.31, bench()) == "5.4 mm" and long(5.3, bench()) == "5.3 mm"
    inches = Bench(SHOP.model_copy(update={"units": "in"}), bench().machine, bench().material)
    assert long(4.6, inches) == "0.19 in"


def test_through_thin_metal_no_longer_thread_is_asked_for() -> None:
    found = tapped("M5", length=2.0)
    told = next(risk for risk in thread_risks(found, bench(), 2.0, through=True) if "strip" in risk.what)
    assert "a nut behind it" in told.instead and "make it" not in told.instead
