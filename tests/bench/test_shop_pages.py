"""The shop and the mill's hour as pages: strips on one scale, a test kept, a slip told beside its blank."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from firstoff import actions
from firstoff.actions_shop import Figure
from firstoff.bench.shop_pages import RECORDINGS_KEPT, _share, _strips, _tally

from ..records.test_ringing import ring, write
from .asking import Device, device

SHOP = 'name = "mine"\n[machines.m]\nname = "my mill"\nlike = "light_gantry"\n' \
       'collets = ["collet_6"]\n[machines.m.spindle]\nslowest = "3000 rpm"\nfastest = "18000 rpm"\n' \
       'power = { value = "400 W", factor = 1.5, source = "measured", note = "nameplate" }\n'
RUNOUT = {"machine": "m", "collet": "collet_6", "high": "0.02 mm", "low": "-0.01 mm"}


@pytest.fixture
def paired(block: Path) -> Device:
    """A paired device before a job that is made in a shop of the person's own."""
    (block / "shop.toml").write_text(SHOP, encoding="utf-8")
    return device(block)


def test_all_that_stands_in_the_shop_is_there(paired: Device) -> None:
    page = paired.get("/shop").text
    for word in ("mine", "my mill", "end mill 6 mm", "micrometer", "stiffness left to right", "Nothing was recorded"):
        assert word in page
    assert "own " not in page.partition("Machines")[2].partition("Collets")[0]
    assert "starter shop" not in page


def test_the_starter_shop_says_that_it_is_nobodys(block: Path) -> None:
    one = device(block)
    assert "nothing in it was measured by you" in one.get("/shop").text
    assert "no shop of your own" in one.get("/hour").text


def test_a_test_of_the_mill_becomes_an_own_figure(paired: Device, block: Path) -> None:
    assert "Pull 100 N on the collet nut" in paired.get("/hour").text
    page = paired.get("/hour/runout").text
    assert "isolated" in page and 'name="high"' in page and "collet_6" in page
    answer = paired.post("/hour/runout", RUNOUT).json()
    assert answer["doubts"] == [] and any("runout" in text for text in answer["lines"])
    assert [record.kind for record in actions.records(block)] == ["mill_test"]
    assert "<b>own 0.0" in paired.get("/shop").text
    assert paired.office.clerk.book is None                       # the job is checked anew by what was learned


@pytest.mark.parametrize(("slip", "word"), [
    ({"high": "0.02"}, "unit"), ({"low": "40 mm"}, "cannot be"), ({"collet": "elephant"}, "no collet"),
    ({"low": "0.05 mm"}, "lower than"), ({"nonsense": "1 mm"}, "nothing called"), ({"machine": "x"}, "no mill"),
])
def test_a_slip_is_told_and_nothing_is_kept(paired: Device, block: Path, slip: dict[str, str], word: str) -> None:
    answer = paired.post("/hour/runout", RUNOUT | slip)
    assert answer.status == 422
    assert word in answer.json()["wrong"] + answer.json()["right"]
    assert actions.records(block) == ()


def test_what_is_strange_is_asked_about_first(paired: Device, block: Path) -> None:
    strange = RUNOUT | {"high": "0.9 mm", "low": "-0.9 mm"}
    assert paired.post("/hour/runout", strange).json()["doubts"]
    assert actions.records(block) == ()
    assert paired.post("/hour/runout", strange | {"keep": "yes"}).json()["doubts"] == []
    assert len(actions.records(block)) == 1


def test_no_path_is_taken_from_a_page(paired: Device, block: Path) -> None:
    said = {"machine": "m", "tool": "end_mill_6_3f", "axis": "x", "file": str(block / "job.toml")}
    assert paired.post("/hour/tap", said).status == 400
    assert paired.get("/hour/elephant").status == 404


TAP = {"machine": "m", "tool": "end_mill_6_3f", "axis": "x"}
ID = "0123456789abcdef" * 2


def test_a_recording_of_the_tap_is_listened_to_and_goes_with_its_test(
    paired: Device, block: Path, tmp_path: Path
) -> None:
    body = write(tmp_path / "t.wav", ring(1200.0, 0.02, 44100.0), 2).read_bytes()
    assert 'type="file"' in paired.get("/hour/tap").text
    assert paired.put(f"/recordings/{ID}?name=../../my%20tap.wav", body).json()["kind"] == "wav"
    assert [file.name for file in (block / ".firstoff" / f"recording-{ID}").iterdir()] == ["my_tap.wav"]
    answer = paired.post("/hour/tap", TAP | {"recording": ID, "keep": "yes"}).json()
    assert answer["doubts"] == [] and len(answer["lines"]) > 1
    assert answer["lines"][0].startswith("heard: 12") and "Hz" in answer["lines"][0]
    (record,) = actions.records(block)
    assert record.reading["recording"] == "my_tap.wav"
    assert record.reading["frequency"].startswith("12")
    assert list((block / ".firstoff").glob("recording-*")) == []
    gone = paired.post("/hour/tap", TAP | {"recording": ID})
    assert (gone.status, gone.json()["where"]) == (422, "tap.file")
    assert paired.post("/hour/tap", TAP | {"recording": "../x"}).status == 400


@pytest.mark.parametrize("body", [b"", b"#!/bin/sh", b"RIFF1234WAVE", b"t,a\n" * 50, b"\xff\xd8\xff"])
def test_what_cannot_be_listened_to_is_not_kept(paired: Device, block: Path, body: bytes) -> None:
    assert paired.put(f"/recordings/{ID}?name=tap.wav", body).status == 422
    assert list((block / ".firstoff").glob("recording-*")) == []


def test_a_recording_in_which_nothing_rings_is_told_beside_it(paired: Device, block: Path, tmp_path: Path) -> None:
    hum = write(tmp_path / "t.wav", np.zeros(44100), 2).read_bytes()
    assert paired.put(f"/recordings/{ID}?name=tap.wav", hum).status == 200
    answer = paired.post("/hour/tap", TAP | {"recording": ID})
    assert (answer.status, answer.json()["where"]) == (422, "tap.file")
    assert actions.records(block) == ()


def test_recordings_that_no_test_took_go(paired: Device, block: Path, tmp_path: Path) -> None:
    body = write(tmp_path / "t.wav", ring(1200.0, 0.02, 44100.0), 2).read_bytes()
    for k in range(RECORDINGS_KEPT + 2):
        assert paired.put(f"/recordings/{k:032x}?name=tap.wav", body).status == 200
    assert len(list((block / ".firstoff").glob("recording-*"))) == RECORDINGS_KEPT


def test_learning_and_the_score_without_records_are_told(paired: Device) -> None:
    for path in ("/learn", "/score"):
        answer = paired.post(path, {})
        assert answer.status == 422
        assert "record" in answer.json()["wrong"]


def test_strips_of_book_and_own_are_on_one_scale() -> None:
    same = _strips(Figure("x", (1.0, 2.0, 3.0), (1.0, 2.0, 3.0), "2", "2"))
    assert same["own"] == same["book"]
    wide = _strips(Figure("x", (1.0, 10.0, 100.0), (9.0, 10.0, 11.0), "10", "10"))
    assert wide["own"]["middle"] == wide["book"]["middle"] == pytest.approx(50.0)
    signed = _strips(Figure("x", (-1.0, 0.0, 1.0), None, "0", ""))
    assert signed["own"] is None and 0.0 <= signed["book"]["low"] < signed["book"]["high"] <= 100.0


def test_every_fifth_stroke_goes_across() -> None:
    strokes = _tally(7)
    assert len(strokes) == 7
    assert [foot == head for foot, head in strokes] == [True, True, True, True, False, True, True]
    assert len(_tally(10**6)) == 60


@pytest.mark.parametrize(("part", "said"), [(0.0, "nothing"), (0.004, "under 1 %"), (0.286, "about 29 %")])
def test_a_share_of_life_in_words(part: float, said: str) -> None:
    assert _share(part) == said
