"""Tools that cannot be are refused with the reason; those that can be are read."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from firstoff.shop.models import Tool
from firstoff.shop.no_tool import no_tool

MILL = {"name": "mill", "kind": "end_mill", "material": "carbide", "diameter": "6 mm", "flutes": 3,
        "flute_length": "12 mm", "overall_length": "57 mm"}


@pytest.mark.parametrize(("changed", "said"), [
    ({"helix": "-30 deg"}, "left-hand"), ({"helix": "85 deg"}, "from 0 to 80 deg"),
    ({"shank": "0 mm"}, "leave it out"), ({"flute_length": "80 mm"}, "flutes of 80 mm on a tool 57 mm long"),
    ({"stickout": "-2 mm"}, "some stays gripped"),
    ({"stickout": "57 mm"}, "some stays gripped"), ({"rated_speed": "0 rpm"}, "not above 0"),
    ({"corner_radius": "4 mm"}, "half the diameter, 3 mm"), ({"corner_radius": "-1 mm"}, "from 0 to half"),
    ({"point_angle": "175 deg"}, "at most 170 deg"), ({"point_angle": "0 deg"}, "the whole angle"),
    ({"kind": "drill", "point_angle": "200 deg"}, "at most 180 deg"), ({"kind": "chamfer"}, "needs its point_angle"),
    ({"tip_diameter": "-1 mm"}, "runs to a point"), ({"point_angle": "20 deg", "tip_diameter": "8 mm"}, "8 mm wide"),
    ({"kind": "ball", "point_angle": "20 deg"}, "as corner_radius"),
])
def test_a_tool_that_cannot_be_is_refused(changed: dict[str, Any], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        Tool.model_validate(MILL | changed)


def test_tools_that_can_be_are_read() -> None:
    for changed in ({}, {"helix": "0 deg"}, {"kind": "ball", "corner_radius": "3 mm"},
                    {"point_angle": "20 deg", "tip_diameter": "2 mm"}, {"kind": "drill", "point_angle": "180 deg"},
                    {"kind": "ball", "point_angle": "10 deg", "corner_radius": "1 mm"}):
        assert Tool.model_validate(MILL | changed).diameter == 6.0


def test_of_several_faults_each_is_told() -> None:
    made = Tool.model_validate(MILL).model_copy(update={"helix": -1.0, "shank": 0.0, "corner_radius": 9.0})
    assert [said.split()[1] for said in no_tool(made)] == ["helix", "shank", "corner"]
