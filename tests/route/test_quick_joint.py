from __future__ import annotations

import math
from typing import Any

import pytest

from firstoff.checks._clamped import Wide
from firstoff.errors import InputError
from firstoff.route.asked_joint import ScrewAsked, Tight, joint_asked
from firstoff.route.quick_joint import JointAnswer, metal_of, quick_joint, weighed
from firstoff.shop.library import load_shop

SHOP = load_shop(None)


def answer(what: str = "M4 x 12", more: dict[str, Any] | None = None, **said: Any) -> JointAnswer:
    asked = joint_asked(what, {"into": "al_6082", "through": "s275", **said}, SHOP, **(more or {}))
    assert isinstance(asked, ScrewAsked)
    return quick_joint(SHOP, asked)


def test_what_it_is_tightened_to_is_close_and_no_more() -> None:
    found = answer()
    assert found.turn.torque == found.best
    assert 0.02 < max(way.p for way in found.ways) <= SHOP.close
    assert answer(torque=f"{1.1 * found.best} N m").p > SHOP.close


@pytest.mark.parametrize("size", ["M2", "M3", "M4", "M6", "M8", "M12", "M16", "1/4-20", "#10-32", "M8x1"])
@pytest.mark.parametrize("into", ["al_6082", "brass", "unknown_bar", "acetal", "hardwood", "cast_iron"])
def test_every_size_in_every_metal_has_an_answer_without_a_hole(size: str, into: str) -> None:
    found = answer(size, into=into)
    assert 0.0 < found.kept.low < found.pull.low and found.slips.low > 0.0
    assert found.opens.low > 0.0 and found.best > 0.0 and math.isfinite(found.p)


def test_a_screw_that_is_too_long_clamps_nothing() -> None:
    found = answer("M4 x 16", length="9 mm", thick="5 mm")
    assert "bottoms" in found.first.what and found.slips.middle == 0.0 and found.p > 0.95
    assert found.instead[0].text == "M4 x 12" and found.instead[0].holds > 0.0


def test_a_screw_that_may_bottom_is_not_sure_to() -> None:
    even = answer("M4 x 14", length="9 mm", thick="5 mm")
    assert even.slips.middle > 0.0 and {way.name: way.p for way in even.ways}["bottoms"] == pytest.approx(0.5)


def test_a_head_whose_cone_comes_through_clamps_nothing() -> None:
    assert "cone" in answer("M4 x 12", head="countersunk", thick="2 mm").first.what
    assert "cone" not in answer("M4 x 12", head="countersunk", thick="3 mm").first.what


def test_a_short_thread_strips_first_and_a_longer_one_is_told() -> None:
    found = answer("M6", length="4 mm", thick="6 mm", torque="8 N m")
    assert "strips" in found.first.what
    assert any("of thread engaged" in other.text for other in found.instead)


def test_a_load_is_weighed_against_what_holds_it() -> None:
    across, along = answer(load="200 N"), answer(load="200 N", more={"way": "along"})
    assert across.p_load is not None and along.p_load is not None and along.p_load < across.p_load
    assert any(other.text == "2 screws" and other.p < across.p for other in across.instead)
    assert answer().p_load is None


def test_by_hand_is_less_sure_than_by_a_wrench() -> None:
    hand, wrench = answer(by="key"), answer(torque="2.3 N m")
    assert hand.pull.high / hand.pull.low > wrench.pull.high / wrench.pull.low
    assert answer(more={"lubricated": True}).pull.sd < answer().pull.sd


def test_a_load_test_that_holds_raises_what_is_believed_and_a_slip_pins_it() -> None:
    before = Wide(300.0, 0.3)
    held, slipped = weighed(before, Tight(held=300.0)), weighed(before, Tight(slipped=400.0))
    assert held.low > before.low and held.sd < before.sd
    assert slipped.middle == pytest.approx(400.0, rel=0.05) and slipped.sd < 0.1
    assert weighed(before, Tight()) == before
    # A lognormal reading of a lognormal capacity: the posterior in closed form.
    weight = 0.3**2 / (0.3**2 + 0.08**2)
    assert math.log(slipped.middle / 300.0) == pytest.approx(weight * math.log(400.0 / 300.0), rel=1e-3)


def test_a_mixture_is_as_wide_as_what_it_may_be() -> None:
    known, unknown = (metal_of(answer(into=name).asked.into, SHOP, "--into") for name in ("s275", "unknown_bar"))
    assert unknown.tensile.sd > known.tensile.sd


@pytest.mark.parametrize(("what", "said", "match"), [
    ("M4 x 6", {"thick": "8 mm"}, "does not come through"),
    ("M4 x 6", {"length": "8 mm"}, "nothing is left to clamp"),
    ("M4", {"length": "0.5 mm"}, "less than a turn"),
    ("M4 x 16", {"length": "9 mm", "thick": "5 mm", "held": "5 kg"}, "load test says nothing"),
])
def test_refusals(what: str, said: dict[str, Any], match: str) -> None:
    with pytest.raises(InputError, match=match):
        answer(what, **said)
