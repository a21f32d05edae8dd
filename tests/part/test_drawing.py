"""Drawings stand as a person in front of the machine sees the part; asked by the worker, kept by contents."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.errors import InputError
from firstoff.part import drawing, process
from firstoff.part.shapes import Vector
from tests.part import models

CAP = models.PARTS / "cap.step"


def test_drawings_are_made_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    wanted = [(name, (0.0, 0.0, 2.0), (1.0, 0.0, 0.0)) for name in drawing.NAMES]
    views = drawing.views(CAP, wanted, tmp_path)
    assert [view.name for view in views] == list(drawing.NAMES)
    assert {view.up for view in views} == {(0.0, 0.0, 1.0)}
    assert all(view.visible for view in views)
    monkeypatch.setattr(process, "_run", lambda *arguments: pytest.fail("asked again"))
    assert drawing.views(CAP, wanted, tmp_path) == views


@pytest.mark.parametrize(("name", "up", "across", "says"), [
    ("below", (0, 0, 1), (1, 0, 0), "no drawing is called 'below'"),
    ("plan", (0, 0, 0), (1, 0, 0), "no direction"),
    ("plan", (0, 0, float("nan")), (1, 0, 0), "no direction"),
    ("plan", (0, 0, 1), (0, 1, 1), "not square"),
])
def test_what_cannot_be_drawn(name: str, up: Vector, across: Vector, says: str) -> None:
    with pytest.raises(InputError, match=says):
        drawing.views(CAP, [(name, up, across)])
