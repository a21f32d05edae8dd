"""`firstoff mill-test`: card, file of readings, questions; wrong input is one clear message."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from firstoff import actions_mill
from firstoff.cli import app
from firstoff.errors import InputError
from firstoff.records.next_test import Candidate, Worth

EXAMPLE = Path(__file__).parent.parent / "src" / "firstoff" / "example" / "block_plane" / "shop" / "shop.toml"
THRUST = '[thrust]\nstall = ["50 kg", "52 kg", "51 kg"]\n'


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    shutil.copyfile(EXAMPLE, tmp_path / "shop.toml")
    return tmp_path


def run(*words: str, typed: str = "") -> str:
    done = CliRunner().invoke(app, ["mill-test", *words], input=typed, catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.output


def test_a_file_at_once(shop: Path) -> None:
    file = shop / "r.toml"
    file.write_text(THRUST, encoding="utf-8")
    told = json.loads(run("--shop", str(shop), "--readings", str(file), "--json"))
    assert told["tests"] == ["thrust"] and told["settled"]
    assert "axis thrust" in told["changed"][0]
    assert (shop / "own-figures.npz").is_file()


def test_the_questions(shop: Path) -> None:
    said = run("--shop", str(shop), typed="skip\nskip\nskip\nskip\n\n50 kg; 51 kg\nstop\n")
    assert "5. Stall an axis" in said and "now known to" in said and "That is all." in said


def test_the_card(shop: Path) -> None:
    assert "card.pdf is written" in run("--shop", str(shop), "--card", str(shop / "card.pdf"))
    assert (shop / "card.pdf").read_bytes().startswith(b"%PDF")


def test_without_a_shop_nothing_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputError, match="no shop of your own"):
        run()
    assert list(tmp_path.iterdir()) == []


def test_json_is_not_for_questions(shop: Path) -> None:
    done = CliRunner().invoke(app, ["mill-test", "--shop", str(shop), "--json"])
    assert done.exit_code == 2 and "--readings" in done.output


def test_what_would_help_a_job_most(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    found = [Worth(Candidate("tap the cutter", "do it", 4.0, np.zeros((4, 1))), 25.0, 0.0)]
    asked: list[tuple[Path, Path | None]] = []

    def next_tests(job: Path, program: Path | None, **_more: object) -> list[Worth]:
        asked.append((job, program))
        return found

    monkeypatch.setattr(actions_mill, "next_tests", next_tests)
    assert "1. tap the cutter: takes 4 min, saves about 25" in run(str(shop), "--program", "x.nc")
    assert json.loads(run(str(shop), "--json"))["tests"][0]["saves_min"] == 25.0
    assert asked == [(shop, Path("x.nc")), (shop, None)]
    done = CliRunner().invoke(app, ["mill-test", "--program", "x.nc"])
    assert done.exit_code == 2 and "JOB" in done.output
