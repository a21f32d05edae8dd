"""The drawing of a setting: well formed, inside its sheet, whatever the size of the work."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.sheets import drawing
from firstoff.sheets.drawing import TALLEST, WIDTH, scale_name, setting_drawing
from firstoff.sheets.pen import Pen
from firstoff.shop.library import load_shop
from tests.dryrun.test_placing import placed
from tests.sheets import made

NUMBERS = {"hole-1": (30, 40), "hole-2": (30, 40), "step-1": (20,), "-X": (50,), "nothing": (60,)}
sizes = st.tuples(st.floats(12.0, 400.0), st.floats(8.0, 150.0), st.floats(14.0, 80.0))


@pytest.fixture
def pens(monkeypatch: pytest.MonkeyPatch) -> list[Pen]:
    made_pens: list[Pen] = []

    def pen(width: float, height: float) -> Pen:
        made_pens.append(Pen(width, height))
        return made_pens[-1]

    monkeypatch.setattr(drawing, "Pen", pen)
    return made_pens


def inside(pen: Pen) -> bool:
    x0, y0, x1, y1 = pen.reach
    return x0 >= 0.0 and y0 >= 0.0 and x1 <= pen.width and y1 <= pen.height


@pytest.mark.parametrize("setting", ["body-1", "body-2"])
def test_all_of_it_is_inside_its_sheet(setting: str, pens: list[Pen]) -> None:
    there = placed(setting)
    drawn = setting_drawing(there, made.views(there.setting.up, there.setting.across, there.part), NUMBERS)
    ElementTree.fromstring(drawn.svg)
    assert inside(pens[-1]) and drawn.width == WIDTH and drawn.height <= TALLEST
    assert drawn.left_out == ()
    for text in ("2× 30 40", "20", "plan, 1 : 1.5", "front", "from the right", "stop"):
        assert f">{text}</text>" in drawn.svg


@given(sizes)
def test_any_size_of_work_fits(size: tuple[float, float, float]) -> None:
    there = placed("body-2")
    part = made.part(size=size)
    there = replace(there, part=replace(part, features=part.features[:1]))
    pens: list[Pen] = []

    def pen(width: float, height: float) -> Pen:
        pens.append(Pen(width, height))
        return pens[-1]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(drawing, "Pen", pen)
        drawn = setting_drawing(there, made.views((0, 0, 1), (1, 0, 0), there.part), {"step-1": (20,)})
    assert inside(pens[-1]), (pens[-1].reach, drawn.scale)


def test_front_stands_under_plan() -> None:
    there = placed("body-2")
    named = {v.name: v for v in made.views((0, 0, 1), (1, 0, 0), there.part)}
    at = drawing._layout(there, named, NUMBERS, drawing.TALLEST, drawing.WIDTH).at
    assert at["plan"][0] == at["front"][0] and at["front"][1] == at["side"][1] > at["plan"][1]


def test_on_narrow_paper_it_is_drawn_smaller_and_stays_on_it(pens: list[Pen]) -> None:
    there = placed("body-2")
    named = made.views((0, 0, 1), (1, 0, 0), there.part)
    wide, narrow = (setting_drawing(there, named, NUMBERS, width=width) for width in (WIDTH, 120.0))
    assert [pen.width for pen in pens] == [wide.width, narrow.width] == [WIDTH, 120.0]
    names = [scale_name(scale) for scale in drawing.SCALES]
    assert names.index(narrow.scale) > names.index(wide.scale)
    assert all(map(inside, pens))


def test_without_views_it_says_so() -> None:
    assert "no drawing" in setting_drawing(placed("body-2"), (), {}).svg


def test_zero_that_cannot_be_drawn_is_told() -> None:
    there = placed("body-2")
    zero = there.setting.zero.model_copy(update={"x": "hole-1"})
    drawn = setting_drawing(placed("body-2", zero=zero), made.views((0, 0, 1), (1, 0, 0), there.part), {})
    assert drawn.left_out and "Zero is not drawn" in drawn.left_out[0]


def test_scales_read_as_on_drawings() -> None:
    assert (scale_name(2.0), scale_name(1.0), scale_name(1 / 1.5)) == ("2 : 1", "1 : 1", "1 : 1.5")


def test_work_on_clamps_stands_on_two_parallels_at_its_ends(pens: list[Pen], monkeypatch: pytest.MonkeyPatch) -> None:
    boxes: list[tuple[float, float]] = []

    def box(self: Pen, low: tuple[float, float], high: tuple[float, float], line: str = "", **also: object) -> None:
        boxes.append((low[0], high[0]))

    there = placed("body-2")
    holding = there.setting.holding.model_copy(update={"grip": (), "grip_height": 0.0, "stick_up": 0.0,
                                                       "parallels": 10.0})
    there = replace(there, setting=there.setting.model_copy(update={"holding": holding}))
    monkeypatch.setattr(Pen, "box", box)
    setting_drawing(there, made.views((0, 0, 1), (1, 0, 0), there.part), {})
    wide = sorted({round(high - low, 3) for low, high in boxes})
    narrow = [pair for pair in boxes if round(pair[1] - pair[0], 3) == wide[0]]
    assert len(narrow) == 2 and narrow[1][0] - narrow[0][0] > 5.0 * wide[0]


def test_zero_of_a_tilted_setting_is_told_as_the_corner_it_is() -> None:
    there = placed("body-2", up=(0.6, 0.0, 0.8), across=(0.8, 0.0, -0.6))
    drawn = setting_drawing(there, made.views((0, 0, 1), (1, 0, 0), there.part), {})
    assert drawn.left_out == ("Zero is the corner in which -X, +Y and -Z meet",)
    assert setting_drawing(placed("body-2"), made.views((0, 0, 1), (1, 0, 0), there.part), {}).left_out == ()


def test_under_a_tilted_work_the_block_is_named_and_its_stop_leans_with_it() -> None:
    up, across = (0.6, 0.0, 0.8), (0.8, 0.0, -0.6)
    there = placed("body-2", up=up, across=across)
    device = next(d for d in load_shop(None).devices.values() if d.kind == "angle_block")
    holding = there.setting.holding.model_copy(update={"stop": "-X", "rest": "-Z"})
    foot = there.face("-Z")
    assert foot is not None
    (x, y, z), (far, _, _) = there.part.low, there.part.high
    rests = replace(foot, outlines=(((x, y, z), (far, y, z), (x, y, z)),))
    part = replace(there.part, faces=tuple(rests if f.number == foot.number else f for f in there.part.faces))
    setting = there.setting.model_copy(update={"holding": holding})
    there = replace(there, part=part, device=device, setting=setting)
    svg = setting_drawing(there, made.views(up, across, there.part), {}).svg
    assert ">block</text>" in svg
    assert ">stop</text>" in svg
    level = setting_drawing(placed("body-2"), made.views((0, 0, 1), (1, 0, 0), there.part), {}).svg
    assert ">block</text>" not in level
