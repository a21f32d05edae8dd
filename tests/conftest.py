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
    from firstoff.actions import quiet
    from firstoff.demo import run_demo

    folder = tmp_path_factory.mktemp("demo") / "plane"
    lines: list[str] = []
    outcome = run_demo(folder, say=lines.extend, progress=quiet)
    return DemoRun(folder, tuple(lines), outcome)


@pytest.fixture
def own_copy(demo_run: DemoRun, tmp_path: Path) -> Path:
    """The planned example with its caches, to be changed at will."""
    return Path(shutil.copytree(demo_run.folder, tmp_path / "plane"))
