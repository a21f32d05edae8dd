"""A view on the sheet: its lines fall where the model's points fall."""

from __future__ import annotations

import pytest

from firstoff.sheets.pane import Pane, Window
from firstoff.sheets.pen import Pen
from tests.dryrun.test_placing import placed
from tests.sheets import made


def pane(name: str, setting: str = "body-2", scale: float = 2.0) -> Pane:
    there = placed(setting)
    view = {v.name: v for v in made.views(there.setting.up, there.setting.across, there.part)}[name]
    return Pane(Pen(400.0, 400.0), there, view, scale, (100.0, 200.0), 5.0)


@pytest.mark.parametrize("name", ["plan", "front", "side", "pictorial"])
def test_lines_of_a_view_span_the_part_as_its_points_do(name: str) -> None:
    there = pane(name)
    drawn = Window.of(p for line in there.lines((*there.view.visible, *there.view.hidden)) for p in line)
    wanted = Window.of(there.paper(p) for edge in there.placed.part.edges for p in edge.points)
    assert (drawn.x0, drawn.y0, drawn.x1, drawn.y1) == pytest.approx((wanted.x0, wanted.y0, wanted.x1, wanted.y1))


def test_plan_looks_down_and_front_looks_in() -> None:
    assert pane("plan").viewer == pytest.approx((0.0, 0.0, 1.0))
    assert pane("front").viewer == pytest.approx((0.0, -1.0, 0.0))
    assert pane("side").viewer == pytest.approx((1.0, 0.0, 0.0))


def test_frame_holds_work_and_bed() -> None:
    there = pane("front")
    work, frame = there.work(), there.frame()
    assert frame.x0 <= work.x0 and frame.y0 <= work.y0 and frame.x1 >= work.x1
    assert frame.y1 == pytest.approx(work.y1 + 2.0 * 10.0)       # parallels of 10 mm at 2 : 1
