"""A job from the page: an empty folder says what to do next, what is sent is looked at, no path gets out."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.bench.looking import MOST
from firstoff.bench.starting import MODELS_KEPT, inside
from firstoff.errors import FileError, FirstoffError
from firstoff.job.reading import load_job
from tests.test_actions_start import PART, SHOP
from tests.test_actions_wanted import HEIGHT

from .asking import ORIGIN, Device, ask, device

ID = "0123456789abcdef" * 2
TOP = "block-top-rough"
PROGRAM = b"%\nG21 G90\nM3 S4000\nG0 X0 Y0 Z5\nG1 Z-1 F100\nM30\n%\n"


@pytest.fixture
def empty(tmp_path: Path) -> Device:
    """A paired device before an empty folder."""
    return device(tmp_path)


def test_an_empty_folder_says_what_to_do_next(empty: Device) -> None:
    for path in ("/", "/bench"):
        answer = empty.get(path)
        assert (answer.status, answer.headers["location"]) == (303, "/start")
    page = empty.get("/start").text
    for words in ("There is no job in this folder yet", "starter shop", "Drop a STEP file", "when there is a part"):
        assert words in page
    assert "A quick look" in empty.get("/ask").text                    # needs no job
    assert "starter shop" in empty.get("/shop").text


def test_the_first_page_of_an_empty_folder_waits_for_nothing(empty: Device, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("firstoff.bench.starting.is_loaded", lambda: False)
    page = empty.get("/")
    assert page.status == 200 and "Opening the shop" in page.text
    assert empty.get("/state?begin=yes").json() == {"ready": False, "trouble": "", "job": False, "doing": None}
    assert empty.office.clerk.doing() is None, "there is nothing to check"


def test_a_job_is_made_from_a_sketch(empty: Device, tmp_path: Path) -> None:
    assert empty.post("/start/shop", SHOP).json() == {"shop": "my shop"}
    assert empty.post("/sketch", {"lines": PART["lines"], "units": "mm"}).json()["stock"][0] == "62 mm"
    assert empty.post("/start/part", PART).json() == {"part": "bracket"}
    assert load_job(tmp_path).shop == "shop"
    page = empty.get("/start").text
    assert "Parts so far: bracket" in page and "my shop is used" in page and "plan a route" in page


def test_sizes_and_joints_are_written_by_form(empty: Device, tmp_path: Path) -> None:
    assert empty.post("/start/wanted/limits", HEIGHT).status == 422           # no part yet
    empty.post("/start/part", PART | {"part": "body"})
    page = empty.get("/start").text
    for words in ("What must come right", "a size that must come right", 'list="faces"', '<option value="+Z">'):
        assert words in page
    assert empty.post("/start/wanted/limits", HEIGHT).json() == {"limits": "height"}
    page = empty.get("/start").text
    assert "<b>height</b> distance body -Z and +Z 12 mm -0.05 mm to 0.05 mm" in page
    assert empty.get("/drawing/body").json()["svg"].startswith("<svg")
    assert empty.get("/drawing/roof").status == 404
    wrong = empty.post("/start/wanted/limits", HEIGHT | {"name": "b", "between": "-Z, roof"})
    assert (wrong.status, wrong.json()["where"]) == (422, "between")
    assert empty.post("/start/wanted/limits", {"out": "height"}).json() == {"limits": "height"}
    assert load_job(tmp_path).limits == {}
    assert empty.post("/start/wanted/parts", {"out": "body"}).status == 404


def test_a_dropped_model_is_read_and_kept(empty: Device, tmp_path: Path, planned_block: Path) -> None:
    body = (planned_block / "block.step").read_bytes()
    seen = empty.put(f"/models/{ID}?units=mm", body).json()
    assert seen["svg"].startswith("<svg") and seen["stock"] == ["62 mm", "42 mm", "22 mm"]
    assert empty.post("/start/part", PART | {"lines": "", "model": ID}).json() == {"part": "bracket"}
    assert (tmp_path / "bracket.step").read_bytes() == body
    assert list((tmp_path / ".firstoff").glob("*.step")) == []


@pytest.mark.parametrize(("path", "body", "status"), [
    ("/models/../../x", b"ISO-10303-21;", 404), ("/models/x", b"ISO-10303-21;", 400), (f"/models/{ID}", b"", 422),
    (f"/models/{ID}", b"#!/bin/sh", 422), (f"/models/{ID}", b"ISO-10303-21;\nHEADER;", 422),
    (f"/models/{ID}", b"ISO-10303-21;\n\0\nEND-ISO-10303-21;", 422), (f"/models/{ID}?units=furlong", b"x", 400),
    (f"/models/{ID}", b"ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\nENDSEC;\nEND-ISO-10303-21;\n", 422),
])
def test_what_is_no_model_is_not_kept(empty: Device, tmp_path: Path, path: str, body: bytes, status: int) -> None:
    assert empty.put(path, body).status == status
    assert [file for file in tmp_path.rglob("*") if file.is_file()] == []


def test_a_model_that_is_too_long_or_does_not_say_is_refused(empty: Device) -> None:
    for length in (str(MOST["model"] + 1), "", "much", "-1"):
        headers = empty.headers(origin=ORIGIN) | {"content-length": length}
        assert ask(empty.app, "PUT", f"/models/{ID}", headers, b"").status == 413


def test_models_that_no_part_took_go(empty: Device, tmp_path: Path, planned_block: Path) -> None:
    (tmp_path / ".firstoff").mkdir()
    for k in range(MODELS_KEPT + 3):
        (tmp_path / ".firstoff" / f"model-{k:032x}.step").write_bytes(b"old")
    empty.put(f"/models/{ID}", (planned_block / "block.step").read_bytes())
    assert len(list((tmp_path / ".firstoff").glob("model-*.step"))) == MODELS_KEPT


@pytest.mark.parametrize(("slip", "status", "where"), [
    ({"part": "../../etc"}, 422, "part"), ({"x": "wide"}, 422, "x"), ({"model": "../x"}, 400, ""),
    ({"model": ID[::-1]}, 422, "model"), ({"material": "cheese"}, 422, "material"),
])
def test_a_slip_is_told_beside_its_blank(
    empty: Device, tmp_path: Path, slip: dict[str, str], status: int, where: str
) -> None:
    answer = empty.post("/start/part", PART | slip)
    assert answer.status == status
    if status == 422:
        assert answer.json()["where"] == where
    assert not (tmp_path / "job.toml").exists()


def test_a_program_is_put_to_an_operation(block: Path) -> None:
    one = device(block)
    assert one.put(f"/programs/{TOP}?name=top.nc", PROGRAM).status == 404          # nothing is checked yet
    one.office.clerk.check()
    assert one.put(f"/programs/{TOP}?name=top.nc", PROGRAM).json() == {"program": "programs/top.nc"}
    assert one.put(f"/programs/{TOP}?name=top.nc", PROGRAM).status == 200
    assert "another program" in one.put(f"/programs/{TOP}?name=top.nc", PROGRAM + b"M2\n").json()["wrong"]
    assert (block / "programs" / "top.nc").read_bytes() == PROGRAM
    for name in ("../x.nc", "", ".hidden", "a/b", "x" * 80):
        assert one.put(f"/programs/{TOP}?name={name}", PROGRAM).status == 422
    for body in (b"", b"hello", b"G1 X1\0", b"\x7fELF"):
        assert one.put(f"/programs/{TOP}?name=y.nc", body).status == 422
    assert [file.name for file in (block / "programs").iterdir()] == ["top.nc"]


@pytest.mark.parametrize("path", ["../../secret.nc", "/etc/hostname", "programs/../../x"])
def test_no_program_outside_the_job_is_read(block: Path, path: str) -> None:
    one = device(block)
    one.office.clerk.check()
    before = (block / "route.toml").read_bytes()
    for key in (f"operations.{TOP}.program", "settings.block-1.program"):
        for address in ("/try", "/ink"):
            answer = one.post(address, {"edits": {key: path}})
            assert answer.status == 422
            assert "not in the job's folder" in answer.json()["wrong"]
    assert (block / "route.toml").read_bytes() == before


def test_a_broken_job_is_told(empty: Device, tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text("name = 3", encoding="utf-8")
    answer = empty.get("/start")
    assert answer.status == 422
    assert "string" in answer.json()["wrong"]
    page = empty.get("/start", accept="text/html,*/*")
    assert page.status == 422
    assert "This cannot be shown" in page.text and "line 1" in page.text
    with pytest.raises(FirstoffError):
        empty.office.clerk.check()


@pytest.mark.parametrize("path", ["../../secret.nc", "/etc/hostname"])
def test_no_whole_operation_brings_a_program_from_outside(tmp_path: Path, path: str) -> None:
    with pytest.raises(FileError, match="not in the job's folder"):
        inside({"operations.new": f'{{ number = 5, program = "{path}" }}'}, tmp_path)
    inside({"operations.new": '{ number = 5, program = "programs/a.nc" }', "operations.old": "",
            "operations.old.measure": '["width"]'}, tmp_path)
