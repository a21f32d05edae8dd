"""The way of a limit as a drawing."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from firstoff.dryrun.sizes import sizes_of
from firstoff.dryrun.way import way_of
from firstoff.sheets.chain_drawing import WIDTH, ChainDrawing, chain_drawing
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


def test_nothing_leaves_the_sheet() -> None:
    for name in stacked.SIZES:
        drawn = of(name)
        root = ElementTree.fromstring(drawn.svg)
        numbers = [float(n) for element in root.iter() if element.tag.endswith("path")
                   for n in re.findall(r"-?\d+\.\d+", element.get("d", ""))]
        assert min(numbers) >= 0.0 and max(numbers) <= WIDTH and f'height="{drawn.height:g}mm"' in drawn.svg
