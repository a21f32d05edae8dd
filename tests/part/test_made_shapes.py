"""Every part of `scripts/made_shapes.py` is seen to have the features that it was given, and no others."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from tests.part import models


def made() -> ModuleType:
    """The script, by its path."""
    spec = importlib.util.spec_from_file_location("made_shapes", models.ROOT / "scripts" / "made_shapes.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


MADE = made()


@pytest.mark.parametrize("name", MADE.SHAPES)
def test_a_made_part_has_its_features(name: str, tmp_path: Path) -> None:
    build, wanted = MADE.SHAPES[name]
    assert MADE.missing(models.digest(build(), tmp_path).features, wanted) == []


def test_what_is_missing_is_told(tmp_path: Path) -> None:
    bored = models.without(models.box(20, 20, 9), models.bar((9, 9, -1), (0, 0, 1), 4, 20))
    features = models.digest(bored, tmp_path)
    assert MADE.missing(features.features, [("hole", 1, {"diameter": 4.0, "through": True, "reached": True})]) == []
    told = MADE.missing(features.features, [("hole", 1, {"diameter": 5.0})])
    assert len(told) == 2 and "0 found" in told[0] and "too many" in told[1]
