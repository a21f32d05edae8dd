"""Spoiled files end in a part or in a message: never in a crash of the caller, a hang, or a part that is at odds.

Every case has a worker of its own, forked from a process that has the kernel already; a case that crashes or hangs
is told, as `process` tells it. The longer run is scripts/fuzz_step.py by hand.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.part import worker
from tests.part import models

SCRIPT = models.ROOT / "scripts" / "fuzz_step.py"
WAYS = ("cut", "swap", "ring", "huge", "schema", "deleted", "noise", "words", "twice")
SECONDS = 20.0
MET = {"part", "told", "crash", "hang"}  # a crash and a hang of the worker are told to the caller, who goes on

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="workers are forked here")


def small(folder: Path) -> Path:
    """A block with a hole and a taper: few entities, so that a spoiled one is seldom one that does not matter."""
    shape = models.without(models.box(20, 16, 8), models.bar((6, 8, -1), (0, 0, 1), 5, 20),
                           models.cone((14, 8, -1), (0, 0, 1), 4, 6, 10))
    return models.write(shape, folder / "small.step")


def outcomes(cases: Sequence[tuple[int, str, int]], folder: Path) -> list[dict[str, Any]]:
    """What became of the cases, in a process of their own."""
    listed, report = folder / "cases.json", folder / "report.json"
    listed.write_text(json.dumps(cases))
    report.unlink(missing_ok=True)
    files = [models.PARTS / "sole.step", small(folder)]
    if (models.SHARED / "models" / "labelled.zip").exists():
        files += models.labelled(folder, 1)
    command = [sys.executable, str(SCRIPT), *map(str, files), "--list", str(listed), "--report", str(report),
               "--seconds", str(SECONDS)]
    path = os.pathsep.join((str(models.ROOT / "src"), os.environ.get("PYTHONPATH", "")))
    around = {**os.environ, "PYTHONPATH": path}
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=around)
    assert report.exists(), done.stderr
    found: list[dict[str, Any]] = json.loads(report.read_text())
    assert [row["how"] for row in found] == [how for _, how, _ in cases]
    assert done.returncode == int(any(row["kind"] == "wrong" for row in found))
    return found


@settings(max_examples=2)
@given(st.lists(st.tuples(st.integers(0, 4), st.sampled_from(WAYS), st.integers(0, 10**6)), min_size=9, max_size=12))
def test_a_spoiled_file_gives_a_part_or_a_message(
    tmp_path_factory: pytest.TempPathFactory, cases: list[tuple[int, str, int]]
) -> None:
    for row in outcomes(cases, tmp_path_factory.mktemp("fuzz")):
        assert row["kind"] in MET, row
        assert row["kind"] == "part" or row["words"]


def test_every_way_of_spoiling_is_met_and_most_are_told_or_read(tmp_path: Path) -> None:
    cases = [(k, how, 17 * k) for k, how in enumerate(WAYS * 2)]
    found = outcomes(cases, tmp_path)
    kinds = {row["kind"] for row in found}
    assert kinds <= MET, found
    assert {"part", "told"} <= kinds
    for row in found:
        if row["how"] in ("schema", "twice"):
            assert row["kind"] in ("part", "told")
    assert not list(tmp_path.glob("*.part")), "nothing half-written is left"


def test_a_refusal_is_written_down_with_its_place(tmp_path: Path) -> None:
    path = models.write(models.box(1, 2, 3), tmp_path / "box.step")
    worker.main([str(path), str(tmp_path / "out.json"), json.dumps({"solid": "lid"})])
    error = json.loads((tmp_path / "out.json").read_text())["error"]
    assert (error["kind"], error["where"]) == ("NameUnknown", str(path))


def test_memory_has_an_end() -> None:
    """In a process of its own: more than is allowed is refused, and the process goes on to say so."""
    code = ("from firstoff.part import worker\nworker.limit_memory(2**30)\n"
            "try:\n    bytearray(2**31)\nexcept MemoryError:\n    print('told')\n")
    path = os.pathsep.join((str(models.ROOT / "src"), os.environ.get("PYTHONPATH", "")))
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True,
                          env={**os.environ, "PYTHONPATH": path})
    assert done.stdout.strip() == "told"
