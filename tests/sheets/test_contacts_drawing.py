"""What touches a part, drawn: every arrow points into the part, and nothing leaves the sheet."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from firstoff.sheets import contacts_drawing
from firstoff.sheets.contacts_drawing import Touch, touches
from firstoff.sheets.pen import Pen
from tests.checks.builders import belief, case
from tests.dryrun.test_placing import placed
from tests.sheets import made

FIXED = Touch("fixed jaw at +Y", (0.0, -1.0, 0.0), ((20.0, 34.0, 6.0), (90.0, 34.0, 6.0)))
MOVING = Touch("moving jaw at -Y, about 8000 N", (0.0, 1.0, 0.0), ((20.0, 0.0, 6.0), (90.0, 0.0, 6.0)))
REST = Touch("rest at -Z", (0.0, 0.0, 1.0), ((20.0, 5.0, 0.0), (90.0, 30.0, 0.0)))
STOP = Touch("stop at -X, held", (1.0, 0.0, 0.0), ((0.0, 17.0, 6.0),))


def drawn(found: list[Touch], monkeypatch: pytest.MonkeyPatch) -> tuple[str, Pen]:
    pens: list[Pen] = []

    def pen(width: float, height: float) -> Pen:
        pens.append(Pen(width, height))
        return pens[-1]

    monkeypatch.setattr(contacts_drawing, "Pen", pen)
    there = placed("body-1")
    views = {view.name: view for view in made.views(there.setting.up, there.setting.across, there.part)}
    return contacts_drawing.contacts_drawing(there, views, found, "what touches it"), pens[-1]


def test_each_thing_is_named_where_its_arrow_lies_in_the_paper(monkeypatch: pytest.MonkeyPatch) -> None:
    svg, pen = drawn([FIXED, MOVING, REST, STOP], monkeypatch)
    texts = [e.text or "" for e in ElementTree.fromstring(svg).iter() if e.tag.endswith("text")]
    assert [texts.count(name) for name in (FIXED.name, MOVING.name, REST.name)] == [1, 1, 1]
    assert texts.count("stop at -X") == 2                                   # in plan and from the front
    x0, y0, x1, y1 = pen.reach
    assert x0 >= 0.0 and y0 >= 0.0 and x1 <= pen.width and y1 <= pen.height


def test_a_thing_seen_end_on_is_a_ring(monkeypatch: pytest.MonkeyPatch) -> None:
    rings = drawn([REST], monkeypatch)[0]
    assert rings.count('fill="white" stroke="black"') == 2                  # in plan
    assert rings.count('r="1.100" fill="black"') == 2                       # from the front


def test_glue_and_hands_have_no_points() -> None:
    this = case()
    kind = this.shop.devices[this.setting.holding.device].kind
    found = touches(this, belief())
    assert kind == "vise"
    assert {touch.name.partition(" at ")[0] for touch in found} >= {"fixed jaw", "moving jaw", "rest"}
    assert len({touch.name for touch in found}) == len(found)
    glued = this.shop.devices[this.setting.holding.device].model_copy(update={"kind": "carrier"})
    devices = {**this.shop.devices, this.setting.holding.device: glued}
    assert touches(case(in_shop=this.shop.model_copy(update={"devices": devices})), belief()) == ()
