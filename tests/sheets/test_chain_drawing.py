"""The way of a limit as a drawing."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from firstoff.dryrun.sizes import size_of, sizes_of
from firstoff.dryrun.way import Hop, Way, way_of
from firstoff.sheets.chain_drawing import SMALL, WIDTH, ChainDrawing, chain_drawing, lanes
from firstoff.sheets.pen import LETTER, text_width
from tests.checks.test_lapped import lapped
from tests.dryrun import stacked


def of(name: str) -> ChainDrawing:
    size = next(size for size in sizes_of(stacked.cases(), stacked.belief()) if size.name == name)
    way = way_of(size, stacked.belief())
    assert way is not None
    return chain_drawing(size, way)


def test_surfaces_settings_and_shares_stand_on_it() -> None:
    drawn = of("height")
    root = ElementTree.fromstring(drawn.svg)
    texts = [element.text or "" for element in root.iter() if element.tag.endswith("text")]
    assert {"-Z", "+Z", "first", "second"} <= set(texts)
    assert texts[0].startswith("height: -0.05 mm to 0.05 mm, out ")
    shares = [int(text.rstrip("%")) for text in texts if re.fullmatch(r"\d+%", text)]
    rest = [int(m[1]) for text in texts if (m := re.search(r"in all settings: (\d+)%", text))]
    assert abs(sum(shares) + sum(rest) - 100) <= 2


def test_of_several_steps_in_a_setting_each_has_what_it_adds_and_no_label_lies_on_another() -> None:
    root = ElementTree.fromstring(of("width").svg)
    texts = [element for element in root.iter() if element.tag.endswith("text")]
    small = [element for element in texts if element.get("font-size") == f"{SMALL:g}" and "%" in (element.text or "")]
    assert len(small) == 2

    def box(element: ElementTree.Element) -> tuple[float, float, float, float]:
        size, text = float(element.get("font-size", LETTER)), element.text or ""
        wide = text_width(text, size)
        x = float(element.get("x", 0)) - {"middle": wide / 2.0, "end": wide}.get(element.get("text-anchor", ""), 0.0)
        return x, float(element.get("y", 0)) - 0.7 * size, x + wide, float(element.get("y", 0))

    boxes = [box(element) for element in texts]
    for k, one in enumerate(boxes):
        for other in boxes[:k]:
            assert one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]


def test_nothing_leaves_the_sheet() -> None:
    for name in stacked.SIZES:
        drawn = of(name)
        root = ElementTree.fromstring(drawn.svg)
        numbers = [float(n) for element in root.iter() if element.tag.endswith("path")
                   for n in re.findall(r"-?\d+\.\d+", element.get("d", ""))]
        assert min(numbers) >= 0.0 and max(numbers) <= WIDTH and f'height="{drawn.height:g}mm"' in drawn.svg


def test_steps_of_one_setting_do_not_lie_on_each_other() -> None:
    """Two that share a row stand side by side; those apart, and those of other settings, in the middle."""
    a, b, c, d, e = (("part", number) for number in range(5))
    hops = (Hop("one", a, b), Hop("one", c, b), Hop("one", d, e), Hop("two", a, e))
    way = Way("limit", (a, b), (a, b, c, d, e), tuple("abcde"), ("one", "two"), hops, {})
    found = lanes(way)
    assert found == {hops[0]: -0.5, hops[1]: 0.5, hops[2]: -0.5, hops[3]: 0.0}


def test_a_last_cut_set_by_a_reading_is_said_on_it() -> None:
    route = stacked.route()
    rough = route.operations["under"].model_copy(update={"number": 55, "leaves": 0.2, "measure": ("height",)})
    cases = stacked.cases(planned=route.model_copy(update={"operations": {**route.operations, "rough": rough}}))
    size = next(one for one in sizes_of(cases, stacked.belief(), cures=False) if one.name == "height")
    way = way_of(size, stacked.belief())
    assert way is not None and "the last cut set by what is read after rough" in chain_drawing(size, way).svg
    assert "read after" not in of("height").svg


def test_what_is_lapped_until_it_reads_right_says_so() -> None:
    size = size_of(lapped(), stacked.belief(), cures=False)
    way = way_of(size, stacked.belief())
    assert way is not None and "lapped at lap until it reads right" in chain_drawing(size, way).svg
