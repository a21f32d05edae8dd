"""Where records leave their marks: seen without loading them."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.records.places import LATEST, OWN_FIGURES, kept_here


@pytest.mark.parametrize("name", [LATEST, OWN_FIGURES])
def test_a_mark_is_seen(tmp_path: Path, name: str) -> None:
    assert not kept_here(tmp_path)
    (tmp_path / name).mkdir()
    assert not kept_here(tmp_path)                     # a folder of that name is none
    (tmp_path / name).rmdir()
    (tmp_path / name).write_bytes(b"")
    assert kept_here(tmp_path)
