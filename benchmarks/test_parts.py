"""How long it takes to understand a model, after imports: a STEP file of about 100 faces in under 0.5 s.

The part is a plate with holes, pockets and slots, made here. Run with `make benchmark`; nothing fails on time.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest


@pytest.fixture(scope="module")
def plate(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A plate of a hundred faces and more, as a STEP file."""
    from tests.part import models

    tools = [models.bar((10 + 12 * k, 10, 3), (0, 0, 1), 5, 30) for k in range(12)]
    tools += [models.bar((10 + 12 * k, 90, -5), (0, 0, 1), 6, 40) for k in range(12)]
    tools += [models.box(10, 14, 30, (8 + 15 * k, 30, 10)) for k in range(9)]
    tools += [models.box(200, 5, 30, (-10, y, 14)) for y in (55.0, 65.0, 75.0)]
    shape = models.without(models.box(160, 100, 20), *tools)
    return models.write(shape, tmp_path_factory.mktemp("plate") / "plate.step")


def test_step_to_features(benchmark: Any, plate: Path) -> None:
    from firstoff.part import build

    part = benchmark.pedantic(build.digest, args=(plate,), rounds=5, warmup_rounds=1)
    assert 95 <= len(part.faces) <= 130
    assert sum(feature.kind == "hole" for feature in part.features) == 24
