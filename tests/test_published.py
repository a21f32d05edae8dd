"""The keeper of published values keeps what it is told, and fails where it must."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.published import agrees, predicted


def test_keeps_hits_and_misses(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "kept.jsonl"
    monkeypatch.setenv("FIRSTOFF_VALIDATION", str(file))
    agrees("force", "a case", "own", 100.0, 101.0, "N", within=0.02)
    agrees("force", "a miss", "own", 100.0, 150.0, "N", within=0.02, miss="no runout is stated")
    assert predicted("wear", "a run", "own", (1.0, 2.0, 3.0), 2.5, "mm")
    assert not predicted("wear", "another", "own", (1.0, 2.0, 3.0), 4.0, "mm")
    rows = [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]
    assert [(row["kind"], row["what"]) for row in rows] == [
        ("agrees", "a case"), ("agrees", "a miss"), ("predicted", "a run"), ("predicted", "another")]
    assert [row.get("inside") for row in rows] == [None, None, True, False]


def test_fails_where_it_must(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("FIRSTOFF_VALIDATION", raising=False)
    with pytest.raises(AssertionError, match="published 100"):
        agrees("force", "a case", "own", 100.0, 103.0, "N", within=0.02)
    with pytest.raises(AssertionError, match="no longer missed"):
        agrees("force", "a case", "own", 100.0, 101.0, "N", within=0.02, miss="once")
    with pytest.raises(AssertionError, match="bibliography"):
        agrees("force", "a case", "nobody", 1.0, 1.0, "N", within=0.02)
    with pytest.raises(AssertionError, match="in order"):
        predicted("force", "a case", "own", (2.0, 1.0, 3.0), 1.0, "N")
