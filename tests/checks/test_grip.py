from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from firstoff.checks.base import Case
from firstoff.checks.grip import CHECK, DEEPER, LINE, as_it_comes, bands, held_by, lost, lowest_cut, seats, size_of
from firstoff.job.edits import apply_edits
from firstoff.part.shapes import Face, Feature
from firstoff.shop.models import Shop
from tests.checks.builders import HEIGHT, LENGTH, belief, block, case, chance, fig, found, operation, setting, shop
from tests.checks.test_round import RADIUS, _believed
from tests.checks.test_round import held as round_held

PARALLELS = ("6 mm", "10 mm", "20 mm", "25 mm", "27 mm", "29 mm")


def vise(**changed: Any) -> Shop:
    """The tiny shop with parallels for its vise."""
    this = shop()
    model = type(this.devices["vise"])
    device = model.model_validate({
        "name": "vise", "kind": "vise", "width": "100 mm", "jaw_height": "30 mm", "parallels": PARALLELS,
        "squeeze": {"arm": fig("8000 N"), "fingers": fig("200 N")}, "friction": fig(0.15, 1.2), **changed})
    return this.model_copy(update={"devices": {**this.devices, "vise": device}})


def held(grip: float, tightness: str = "arm", **changed: Any) -> Case:
    """The block with so much of it in the jaws, its top milled."""
    place = setting(holding={"grip_height": f"{grip} mm", "stick_up": f"{HEIGHT - grip} mm", "tightness": tightness,
                             "parallels": f"{30.0 - grip} mm"})
    return case("setting", "first", place=place, ops={"op": operation(removes="1 mm", role="face_rough")},
                in_shop=vise(), **changed)


def test_three_tenths_in_the_jaws_bad_on_purpose() -> None:
    finding = found(CHECK, held(0.3))
    assert finding.p_fail is not None and finding.p_fail > 0.5
    assert "so that nothing is left that holds" in finding.because
    assert "nothing is left" not in found(CHECK, held(3.0)).because
    assert "usual are 3 mm to 5 mm, of stock that is milled off last" in finding.because and finding.unit == "mm"


def test_the_usual_three_are_just_good() -> None:
    assert chance(CHECK, held(3.0)) <= 0.01 < chance(CHECK, held(1.0))


def test_chance_falls_with_height_and_rises_with_squeeze() -> None:
    heights = [chance(CHECK, held(grip)) for grip in (5.0, 2.0, 1.0, 0.5, 0.2)]
    assert heights == sorted(heights) and heights[-1] > 0.9
    assert chance(CHECK, held(1.0, "fingers")) < chance(CHECK, held(1.0))
    assert chance(CHECK, held(1.0), belief(material_steel__yield_strength=40e6)) > chance(CHECK, held(1.0))


def test_height_and_length_are_what_the_jaws_have_of_it() -> None:
    for band in bands(held(5.0)):
        assert size_of(held(5.0), band) == pytest.approx((5.0, LENGTH), rel=0.01)
    rows = lost(held(5.0), belief())
    assert float(np.median(rows)) == pytest.approx(0.4 + 0.02, rel=0.1)


def test_what_was_cut_before_the_setting_is_no_longer_gripped() -> None:
    low = Face(6, 0, "plane", 1.0, (LENGTH / 2, 2.0, 3.0), (0.0, -1.0, 0.0), (0.0, 2.0, 0.0), (LENGTH, 2.0, 6.0))
    roof = Face(7, 0, "plane", 1.0, (LENGTH / 2, 1.0, 6.0), (0.0, 0.0, -1.0), (0.0, 0.0, 6.0), (LENGTH, 2.0, 6.0))
    gone = Feature("step-1", "step", (6, 7), open=True)
    side = Face(2, 0, "plane", 1.0, (LENGTH / 2, 0.0, 13.0), (0.0, -1.0, 0.0), (0.0, 0.0, 6.0), (LENGTH, 0.0, HEIGHT))
    part = block(gone, faces=(low, roof))
    part = replace(part, sha256="2" * 64, faces=tuple(side if face.number == 2 else face for face in part.faces))
    ops = {"op": operation(number=20), "early": operation(number=10, setting="zeroth", features=["step-1"],
                                                         leaves="0 mm")}
    this = case("setting", "first", part=part, ops=ops, settings={"first": setting(), "zeroth": setting()})
    assert as_it_comes(this).state is not None and as_it_comes(this).state.cut == {"step-1"}   # type: ignore[union-attr]
    short = min(size_of(this, band)[0] for band in bands(this))
    assert short == pytest.approx(4.0, abs=0.5)


def test_instead_deeper_on_lower_parallels_as_far_as_the_cut_lets() -> None:
    this = held(1.0)
    assert lowest_cut(this) == pytest.approx(HEIGHT)
    assert [grip for grip, _, _ in seats(this)] == [3.0, 5.0, 10.0]
    assert DEEPER.values(this) == [3.0]
    assert DEEPER.say(this, 3.0) == "3 mm in the jaws, not 1 mm: on parallels of 27 mm"
    assert DEEPER.also is not None
    edits = (("settings.first.holding.grip_height", "3 mm"),
             *((f"settings.first.{path}", text) for path, text in DEEPER.also(this, 3.0)))
    after = apply_edits(this.route, edits).settings["first"].holding
    assert (after.grip_height, after.stick_up, after.parallels) == (3.0, 17.0, 27.0)
    assert chance(CHECK, replace(this, route=apply_edits(this.route, edits))) <= 0.01


def test_a_step_cut_there_keeps_the_jaws_low() -> None:
    wall = Face(6, 0, "plane", 1.0, (LENGTH / 2, 4.0, 12.0), (0.0, -1.0, 0.0), (0.0, 4.0, 4.0), (LENGTH, 4.0, HEIGHT))
    this = held(1.0, part=block(Feature("step-1", "step", (6,), open=True), faces=(wall,)))
    this = replace(this, route=this.route.model_copy(update={"operations": {
        "op": this.route.operations["op"].model_copy(update={"features": ("step-1",)})}}))
    assert [grip for grip, _, _ in seats(this)] == [3.0], "no higher than 4 - 0.5"


def test_a_soft_finished_face_shows_it() -> None:
    soft = vise()
    soft = soft.model_copy(update={"materials": {**soft.materials, "steel": soft.materials["steel"].model_copy(
        update={"group": "N", "name": "brass, half hard"})}})
    shown = found(CHECK, replace(held(3.0), shop=soft))
    assert "shows: card or soft jaws between" in shown.because and "shows" not in found(CHECK, held(3.0)).because
    gentle = soft.model_copy(update={"devices": {**soft.devices, "vise": soft.devices["vise"].model_copy(
        update={"soft": True})}})
    assert "shows" not in found(CHECK, replace(held(3.0), shop=gentle)).because
    assert "shows" not in found(CHECK, replace(held(0.3), shop=soft)).because, "crushed is more than marked"
    raw = held(3.0)
    raw = replace(raw, shop=soft, route=raw.route.model_copy(update={"settings": {
        "first": raw.setting.model_copy(update={"stock_left": {"-Y": 0.5}})}}))
    assert "shows" not in found(CHECK, raw).because


def test_unknown_tightness_cannot_be_told() -> None:
    assert found(CHECK, held(3.0, "a cheater bar")).p_rows is None


def test_a_jaw_that_misses_is_named() -> None:
    this = held(3.0)
    grip = this.setting.holding.model_copy(update={"grip": ("-Y", "+Z")})
    place = this.setting.model_copy(update={"holding": grip})
    finding = found(CHECK, replace(this, route=this.route.model_copy(update={"settings": {"first": place}})))
    assert finding.p_rows is None and "+Z: it does not stand upright" in finding.because


def test_a_bar_in_a_chuck_by_its_length_and_what_its_lines_may_flatten() -> None:
    def placed(kind: str, length: str) -> Case:
        this = round_held(kind, (0.0, 0.0, 1.0), grip_height=length)
        return replace(this, subject="setting", name="first", operation=None, windows=None)

    for kind, wide in (("three_jaw", LINE * 2.0 * RADIUS), ("collet_block", 2.0 * np.pi * RADIUS / 3.0)):
        this = placed(kind, "15 mm")
        assert held_by(this, bands(this)) == pytest.approx((15.0, wide, True))
        good, bad = (found(CHECK, placed(kind, length), _believed(kind)).p_fail for length in ("15 mm", "0.3 mm"))
        assert good is not None and bad is not None and good <= 0.01 and bad > 0.5
