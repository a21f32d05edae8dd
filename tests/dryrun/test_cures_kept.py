"""What would help is checked in full once, and told again as long as nothing changed that it stands on."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from firstoff.dryrun import cures_kept
from firstoff.dryrun.cures import Cure
from firstoff.dryrun.cures_kept import FOLDER, sizes_in_full
from firstoff.dryrun.findings import Findings
from firstoff.dryrun.rechecked import in_full
from firstoff.dryrun.sizes import sizes_of
from tests.dryrun import stacked

CASES = stacked.cases(stacked.job("±0.02 mm"))


def told(folder: Path | None, **changed: float) -> tuple[tuple[str, float | None, tuple[Cure, ...]], ...]:
    sizes = sizes_in_full(CASES, Findings(stacked.belief(**changed)), folder, lambda _what, _share: None)
    return tuple((size.name, size.p_out, size.cures) for size in sizes)


def test_the_second_time_it_is_told_without_a_check(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = told(tmp_path)
    plain = sizes_of(CASES, stacked.belief())
    assert first == tuple((full.name, full.p_out, full.cures) for full in (
        in_full(size, CASES, Findings(stacked.belief()), lambda _what, _share: None) for size in plain))
    assert any(cure.edits for _, _, cures in first for cure in cures)
    monkeypatch.setattr(cures_kept, "in_full", lambda *_: pytest.fail("checked again"))
    assert told(tmp_path) == first


def test_how_far_it_is_is_told() -> None:
    heard: list[float] = []
    sizes_in_full(CASES, Findings(stacked.belief()), None, lambda _what, share: heard.append(share))
    assert heard == sorted(heard) and len(set(heard)) > 1 and heard[-1] < 1.0


def test_what_is_believed_otherwise_is_checked_again_and_the_newest_alone_is_kept(tmp_path: Path) -> None:
    first, second = told(tmp_path), told(tmp_path, machine_mill__positioning=0.02)
    assert first != second and len(list((tmp_path / FOLDER).glob("*.json"))) == 1
    assert told(tmp_path) == first


def test_another_price_of_an_hour_is_another_answer() -> None:
    dear = CASES[0].shop.model_copy(update={"rates": CASES[0].shop.rates.model_copy(update={"hour": 500.0})})
    findings = Findings(stacked.belief())
    cases = tuple(replace(case, shop=dear) for case in CASES)
    assert cures_kept._key(CASES, findings) != cures_kept._key(cases, findings)


def test_half_a_file_is_as_none(tmp_path: Path) -> None:
    first = told(tmp_path)
    (file,) = (tmp_path / FOLDER).glob("*.json")
    file.write_bytes(file.read_bytes()[:-7])
    assert told(tmp_path) == first and told(None) == first
