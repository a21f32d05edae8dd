"""What is wanted written anew: a draft of the job, and ink in its file with every comment where it was."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.errors import FirstoffError
from firstoff.job.reading import load_job
from firstoff.job.wanted_edits import applied, chance, of_job, of_route, write

TEXT = """# a lid
name = "lid"
budget = 0.05     # one in twenty

[parts.lid]
model = "lid.step"
material = "steel"

[parts.lid.stock]    # what was in the rack
size = ["62 mm", "42 mm", "8 mm"]   # sawn

[limits.thick]
kind = "distance"
part = "lid"
between = ["-Z", "+Z"]
size = "6 mm"     # after lapping
tolerance = "±0.05 mm"
"""
EDITS = (("job.budget", "2 %"), ("job.limits.thick.size", "5.5 mm"), ("job.limits.thick.tolerance", "+0.1 mm / 0 mm"),
         ("job.parts.lid.stock.size.2", "1/4 in"))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "job.toml").write_text(TEXT, encoding="utf-8")
    return tmp_path


def test_a_draft_is_read_and_written_nowhere(folder: Path) -> None:
    job = load_job(folder, EDITS)
    assert (job.budget, job.limits["thick"].size) == (0.02, 5.5)
    assert job.limits["thick"].tolerance == (0.0, 0.1) and job.parts["lid"].stock.size == (62.0, 42.0, 6.35)
    assert (folder / "job.toml").read_text(encoding="utf-8") == TEXT


def test_ink_says_the_same_as_the_draft_and_keeps_comments(folder: Path) -> None:
    drafted = load_job(folder, EDITS)
    write(folder / "job.toml", EDITS)
    assert load_job(folder) == drafted
    text = (folder / "job.toml").read_text(encoding="utf-8")
    assert all(said in text for said in ("# a lid", "# one in twenty", "# what was in the rack", "# sawn",
                                         "# after lapping", '"1/4 in"'))
    assert [path.name for path in folder.iterdir()] == ["job.toml"]


def test_a_size_that_is_rubbed_out_is_that_of_the_model(folder: Path) -> None:
    write(folder / "job.toml", [("job.limits.thick.size", ""), ("job.budget", "")])
    job = load_job(folder)
    assert job.limits["thick"].size is None and job.budget == 0.05


@pytest.mark.parametrize(("dotted", "text", "said"), [
    ("job.budget", "often", "no chance"), ("job.budget", "200 %", "less than"),
    ("job.limits.thick.size", "6", "unit"),
    ("job.limits.thick.tolerance", "+0.1 mm / +0.2 mm", "not below"), ("job.limits.thin.size", "6 mm", "there is no"),
    ("job.parts.lid.stock.size.3", "6 mm", "there is no"), ("job.parts.lid.model", "../x.step", "there is no"),
    ("job.parts.lid.stock.size.0", "", ""), ("job.name", "x", "there is no"), ("job", "x", "there is no"),
    ("job.limits.thick.tolerance", "", "tolerance")])
def test_what_cannot_stand_there_is_told_by_its_key(folder: Path, dotted: str, text: str, said: str) -> None:
    with pytest.raises(FirstoffError) as wrong:
        load_job(folder, [(dotted, text)])
    assert said in f"{wrong.value.what} {wrong.value.right}" and wrong.value.where == f"job.toml, {dotted}"


def test_chances_as_people_write_them() -> None:
    assert [chance(text, "") for text in ("1 in 20", "about 1 in 20", "5 %", "5%", "0.05", "0,05", "2.5 in 50")] == (
        pytest.approx([0.05] * 7))


def test_edits_of_the_job_and_of_the_route_are_told_apart() -> None:
    edits = [("job.budget", "5 %"), ("operations.a.tool", "x"), ("joints.j.torque", "2 N m")]
    assert of_job(edits) == (edits[0],) and of_route(edits) == (edits[1], edits[2])


def test_the_table_that_was_read_is_not_changed() -> None:
    table = {"limits": {"thick": {"size": "6 mm"}}}
    assert applied(table, "job.limits.thick.size", "7 mm")["limits"]["thick"]["size"] == "7 mm"
    assert table["limits"]["thick"]["size"] == "6 mm"
