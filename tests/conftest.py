"""What all tests share: hypothesis without a clock, and the same examples on every run.

Warnings are errors by pyproject.toml.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile(
    "house", deadline=None, derandomize=True, database=None, max_examples=60,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("house")


@dataclass(frozen=True)
class DemoRun:
    """The demo, gone through once: its folder, what it printed, and what it returned."""

    folder: Path
    lines: tuple[str, ...]
    outcome: dict[str, Any]


@pytest.fixture(scope="session")
def demo_run(tmp_path_factory: pytest.TempPathFactory) -> DemoRun:
    """The whole loop on the example job, run once for all tests that look at it; nobody writes in its folder."""
    from firstoff.demo import run_demo
    from firstoff.work import quiet

    folder = tmp_path_factory.mktemp("demo") / "plane"
    lines: list[str] = []
    outcome = run_demo(folder, say=lines.extend, progress=quiet)
    return DemoRun(folder, tuple(lines), outcome)


BLOCK = """name = "one block"
[parts.block]
model = "block.step"
material = "al_6082"
stock = { size = ["62 mm", "42 mm", "22 mm"], condition = "extruded" }
[limits.height]
kind = "distance"
part = "block"
between = ["-Z", "+Z"]
tolerance = "±0.05 mm"
instrument = "micrometer_25"
"""


@pytest.fixture(scope="session")
def planned_block(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A plain block for the starter shop, planned and checked: small enough to go round the loop with."""
    from firstoff import actions

    from .part import models

    folder = tmp_path_factory.mktemp("block") / "job"
    folder.mkdir()
    models.write(models.box(60.0, 40.0, 20.0), folder / "block.step")
    (folder / "job.toml").write_text(BLOCK, encoding="utf-8")
    actions.plan(folder)
    actions.check(folder)
    return folder


@pytest.fixture
def block(planned_block: Path, tmp_path: Path) -> Path:
    """The planned block with its caches, to be changed at will."""
    return Path(shutil.copytree(planned_block, tmp_path / "job"))
