"""Every address: what it answers to a paired page of ours, and that nobody else gets anything from it."""

from __future__ import annotations

import asyncio
import json
from pathlib import Path
from typing import Any

import pytest
from starlette.applications import Starlette
from starlette.routing import Route
from starlette.types import Message

from firstoff import actions
from firstoff.bench.guard import Guard
from firstoff.bench.keys import COOKIE
from firstoff.bench.looking import MOST
from firstoff.bench.office import MOST_TEXT
from firstoff.errors import FirstoffError
from firstoff.job.reading import load_job
from firstoff.records.reading import Reading

from .asking import HOST, ORIGIN, Device, ask, device
from .test_looking import wav

TOP = "block-top-rough"
ID = "0123456789abcdef" * 2


@pytest.fixture
def paired(block: Path) -> Device:
    """A paired device; the block is not looked at yet."""
    return device(block)


def every_route() -> list[tuple[str, str]]:
    """Method and address of every route, with something in its blanks."""
    app = device(Path()).app
    assert isinstance(app, Guard)
    assert isinstance(app._app, Starlette)
    blanks = {"part": "block", "name": "paper.css", "code": "abcdefgh", "subject": TOP, "what": "hole",
              "kind": "size", "test": "pull", "id": ID, "operation": TOP}
    return [(method, route.path.format(**blanks)) for route in app._app.routes if isinstance(route, Route)
            for method in sorted(route.methods or ()) if method != "HEAD"]


DOORS = {("GET", "/pair"), ("POST", "/pair"), ("GET", "/pair/abcdefgh")}


def test_the_list_of_routes_is_whole() -> None:
    assert len(every_route()) >= 31
    assert set(every_route()) > DOORS


@pytest.mark.parametrize(("method", "path"), every_route())
@pytest.mark.parametrize("headers", [
    {"host": "elsewhere.example"}, {"host": "elsewhere.example:8377", "origin": "http://elsewhere.example:8377"},
    {"origin": "http://elsewhere.example"}, {"origin": "null"}, {"sec-fetch-site": "cross-site"},
    {"sec-fetch-site": "same-site"},
])
def test_other_hosts_and_other_pages_get_nothing(
    method: str, path: str, headers: dict[str, str], tmp_path: Path
) -> None:
    one = device(tmp_path)
    answer = ask(one.app, method, path, one.headers(origin=ORIGIN) | headers, b"{}")
    assert (answer.status, answer.body) == (403, b"")


@pytest.mark.parametrize(("method", "path"), [route for route in every_route() if route not in DOORS])
@pytest.mark.parametrize("cookie", ["", f"{COOKIE}=", f"{COOKIE}=1.2.3"])
def test_an_unpaired_device_gets_nothing(method: str, path: str, cookie: str, tmp_path: Path) -> None:
    answer = ask(device(tmp_path).app, method, path, {"host": HOST, "origin": ORIGIN, "cookie": cookie}, b"{}")
    assert (answer.status, answer.body) == (303 if path == "/" else 403, b"")


@pytest.mark.parametrize("path", [
    "/static/../routes.py", "/static/..%2froutes.py", "/static/%2e%2e/routes.py", "/static//etc/passwd",
    "/static/....//job.toml", "/static/paper.css%00.js", "/static/routes.py", "/../job.toml", "/job.toml",
    "/turn/../../job.toml", "/.firstoff/pages.key", "/record-files/x.wav", "/nowhere",
])
def test_no_path_leaves_what_is_served(path: str, paired: Device) -> None:
    answer = paired.get(path)
    assert answer.status == 404
    assert b"[" not in answer.body


def test_an_address_of_nothing_gets_a_page_with_a_way_back(paired: Device) -> None:
    for path in ("/nowhere", "/bench/nothing", "/turn/elephant", "/static/nothing.js", "/check"):
        answer = paired.get(path, accept="text/html,*/*")
        assert answer.status == 404
        assert "This cannot be shown" in answer.text and 'href="/"' in answer.text and 'href="/bench"' in answer.text
        assert paired.get(path, accept="application/json").json()["wrong"]


def test_a_fault_of_ours_is_told_without_its_inside(paired: Device, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object) -> str:
        raise ZeroDivisionError("inside")

    monkeypatch.setattr("firstoff.bench.pages.ask", fails)
    sent: list[Message] = []

    async def receive() -> Message:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Message) -> None:
        sent.append(message)

    headers = [(k.encode(), v.encode()) for k, v in paired.headers(accept="text/html").items()]
    scope = {"type": "http", "method": "GET", "path": "/ask", "query_string": b"", "headers": headers,
             "scheme": "http", "server": ("127.0.0.1", 8377), "root_path": ""}
    async def asked() -> None:
        await paired.app(scope, receive, send)

    with pytest.raises(ZeroDivisionError):            # told in the terminal by the server
        asyncio.run(asked())
    page = b"".join(m.get("body", b"") for m in sent).decode()
    assert sent[0]["status"] == 500 and "the program itself failed" in page.lower() and "inside" not in page


def test_a_code_pairs_once_and_the_cookie_opens(paired: Device) -> None:
    code = paired.office.codes.new()
    answer = ask(paired.app, "GET", f"/pair/{code}", {"host": HOST})
    cookie = answer.headers["set-cookie"]
    assert answer.status == 303
    assert "HttpOnly" in cookie
    assert "samesite=strict" in cookie.lower()
    kept = cookie.partition(";")[0]
    assert ask(paired.app, "GET", "/state", {"host": HOST, "cookie": kept}).status == 200
    assert ask(paired.app, "GET", f"/pair/{code}", {"host": HOST}).status == 403


def test_a_code_may_be_typed(paired: Device) -> None:
    code = paired.office.codes.new()
    assert "code" in ask(paired.app, "GET", "/pair", {"host": HOST}).text
    body = f"code={code}".encode()
    assert ask(paired.app, "POST", "/pair", {"host": HOST, "origin": ORIGIN}, b"code=wrong").status == 403
    assert ask(paired.app, "POST", "/pair", {"host": HOST, "origin": ORIGIN}, body).status == 303


def tap(number: str = ID, **said: str) -> dict[str, str]:
    """A tap as the bench sends it."""
    return {"id": number, "subject": TOP, "when": "2026-01-05T10:00:00Z"} | said


def test_a_tap_sent_twice_is_kept_once(paired: Device, block: Path) -> None:
    for _ in range(2):
        answer = paired.post("/records", {"taps": [tap(word="sang")]}).json()
        assert "sang" in answer["answers"][ID]["kept"]
    kept = actions.records(block)
    assert [(r.id, r.reading["word"], r.when.hour) for r in kept] == [(ID, "sang", 10)]


def test_undo_is_a_record_that_replaces(paired: Device, block: Path) -> None:
    other = ID[::-1]
    paired.post("/records", {"taps": [tap(word="ok"), tap(other, note="undone", replaces=ID)]})
    kept = actions.records(block)
    assert [(r.kind, r.replaces) for r in kept if r.id == other] == [("note", ID)]
    assert len(kept) == 2


def test_one_refused_tap_does_not_hold_up_the_others(paired: Device) -> None:
    wrong = tap("f" * 32, word="exploded")
    answers = paired.post("/records", {"taps": [wrong, tap(word="ok")]}).json()["answers"]
    assert "exploded" in answers["f" * 32]["refused"]
    assert "kept" in answers[ID]


WHOLE = {"word": "sang", "chip_colour": "blue", "chip_form": "long", "burr": "heavy", "finish": "waves",
         "feed": "80 %", "depth": "0.1 mm", "scrap": "yes", "note": "second pass"}


def test_all_that_log_takes_of_a_cut_is_kept_from_a_tap(paired: Device, block: Path) -> None:
    others = ({"watts": "310 W", "idle": "190 W", "depth": "0.1 mm"}, {"word": "moved", "pull": "12 kg"},
              {"lift": "0.02 mm"}, {"parallels": "loose"})
    taps = [tap(**WHOLE), *(tap(f"{k:032x}", **said) for k, said in enumerate(others))]
    answers = paired.post("/records", {"taps": taps}).json()["answers"]
    assert all("kept" in answer for answer in answers.values()), answers
    kept = {record.id: record for record in actions.records(block)}
    one = kept[ID]
    assert one.reading == {key: WHOLE[key] for key in ("word", "chip_colour", "chip_form", "burr", "finish")}
    assert {key: one.conditions[key] for key in ("feed", "depth", "scrap", "note")} == {
        key: WHOLE[key] for key in ("feed", "depth", "scrap", "note")}
    assert "at 80 % of the feed, 0.1 mm deep, in scrap" in answers[ID]["kept"]
    assert [kept[f"{k:032x}"].kind for k in range(len(others))] == ["watts", "pull", "lift", "lift"]


@pytest.mark.parametrize("wrong", [
    {"chip_colour": "pink"}, {"chip_form": "rings"}, {"burr": "some"}, {"word": "ok", "feed": "500 %"},
    {"feed": "80 %"}, {"word": "ok", "depth": "400 mm"}, {"word": "ok", "depth": "0.5"},
    {"scrap": "yes", "note": "x"}, {"word": "ok", "watts": "310 W", "idle": "190 W"},
])
def test_a_tap_is_refused_in_the_words_of_the_shell(wrong: dict[str, str], paired: Device, block: Path) -> None:
    said: dict[str, Any] = wrong | {"scrap": "scrap" in wrong}
    with pytest.raises(FirstoffError) as shell:
        actions.log(block, Reading(TOP, **said))
    answers = paired.post("/records", {"taps": [tap(**wrong)]}).json()["answers"]
    assert answers == {ID: {"refused": str(shell.value)}}
    assert actions.records(block) == ()


def test_no_path_and_no_guess_is_taken_from_a_tap(paired: Device, block: Path, tmp_path: Path) -> None:
    (tmp_path / "mine.wav").write_bytes(wav())
    taps = [tap(word="ok", file=str(tmp_path / "mine.wav")), tap("f" * 32, word="ok", scrap="perhaps")]
    answers = paired.post("/records", {"taps": taps}).json()["answers"]
    assert "perhaps" in answers["f" * 32]["refused"]
    assert [record.reading for record in actions.records(block)] == [{"word": "ok"}]


def test_a_clock_that_runs_ahead_is_not_believed(paired: Device, block: Path) -> None:
    paired.post("/records", {"taps": [tap(word="ok") | {"when": "2999-01-01T00:00:00Z"}]})
    assert actions.records(block)[0].when.year < 2999


def test_a_size_is_decided_and_a_slip_is_told(paired: Device) -> None:
    assert paired.post("/decide", {"limit": "height", "size": "20 mm"}).status == 409
    paired.office.clerk.check()
    said = paired.post("/decide", {"limit": "height", "size": "20.3 mm"}).json()
    assert said["decision"] == "does not conform"
    wrong = paired.post("/decide", {"limit": "height", "size": "203 mm"})
    assert wrong.status == 422
    assert wrong.json()["wrong"]


def test_a_recording_is_kept_beside_the_records(paired: Device, block: Path) -> None:
    answer = paired.put(f"/files/{TOP}?id={ID}", wav()).json()
    assert "kept" in answer
    name = actions.records(block)[0].reading["file"]
    assert [file.read_bytes() for file in block.rglob(name)] == [wav()]


@pytest.mark.parametrize(("path", "body", "status"), [
    (f"/files/{TOP}?id=../../x", wav(), 400), (f"/files/{TOP}", wav(), 400),
    (f"/files/{TOP}?id={ID}", b"#!/bin/sh", 422),
])
def test_what_is_no_recording_is_not_kept(path: str, body: bytes, status: int, paired: Device, block: Path) -> None:
    assert paired.put(path, body).status == status
    assert actions.records(block) == ()


def test_a_recording_of_nothing_known_is_refused_and_not_kept(paired: Device, block: Path) -> None:
    assert "refused" in paired.put(f"/files/elephant?id={ID}", wav()).json()
    assert list(block.rglob("*.wav")) == []


def test_what_is_too_long_is_refused(paired: Device) -> None:
    headers = paired.headers(origin=ORIGIN) | {"content-length": str(MOST["record"] + 1)}
    answer = ask(paired.app, "PUT", f"/files/{TOP}?id={ID}", headers, b"")
    assert (answer.status, answer.json()["wrong"], answer.json()["right"]) == (413, "it is too big", "at most 40 MB")
    assert paired.post("/records", {"taps": ["x" * MOST_TEXT]}).status == 413


@pytest.mark.parametrize("body", [b"", b"{", b"[]", b'{"taps": 3}', b'{"taps": [3]}', b'{"taps": [{"id": 3}]}'])
def test_a_broken_request_is_no_traceback(body: bytes, paired: Device) -> None:
    headers = paired.headers(origin=ORIGIN) | {"content-type": "application/json"}
    assert ask(paired.app, "POST", "/records", headers, body).status == 400
    assert ask(paired.app, "POST", "/records", paired.headers(origin=ORIGIN), body).status == 415


def test_a_draft_is_checked_and_ink_is_written(paired: Device, block: Path) -> None:
    paired.office.clerk.check()
    edits = {f"operations.{TOP}.cut.depth_of_cut": "0.111 mm"}
    before = (block / "route.toml").read_text(encoding="utf-8")
    assert "spoiled" in paired.post("/try", {"edits": edits}).json()
    assert (block / "route.toml").read_text(encoding="utf-8") == before
    assert paired.post("/ink", {"edits": edits}).json() == {"inked": 1}
    assert "0.111 mm" in (block / "route.toml").read_text(encoding="utf-8")
    wrong = paired.post("/try", {"edits": {f"operations.{TOP}.cut.depth_of_cut": "much"}})
    assert wrong.status == 422
    assert "much" in json.dumps(wrong.json())


def test_what_is_wanted_is_drafted_and_inked_into_the_job(paired: Device, block: Path) -> None:
    clerk = paired.office.clerk
    before = clerk.check().result
    edits = {"job.budget": "1 in 50", "job.parts.block.stock.size.0": "63 mm",
             f"operations.{TOP}.cut.depth_of_cut": "0.111 mm"}
    answer = paired.post("/try", {"edits": edits}).json()
    assert answer["written"]["job.budget"] == "about 1 in 50"
    assert load_job(block).budget == before.job.budget, "a draft is written nowhere"
    wrong = paired.post("/try", {"edits": {"job.budget": "often"}})
    assert wrong.status == 422 and wrong.json()["where"].endswith(", job.budget")
    assert paired.post("/ink", {"edits": {**edits, "job.model": "x"}}).status == 422
    assert "0.111 mm" not in (block / "route.toml").read_text(encoding="utf-8"), "all or nothing"
    assert paired.post("/ink", {"edits": edits}).json() == {"inked": 3}
    job = load_job(block)
    assert (job.budget, job.parts["block"].stock.size[0]) == (0.02, 63.0)
    assert "0.111 mm" in (block / "route.toml").read_text(encoding="utf-8")


def test_the_pages_are_there(paired: Device) -> None:
    assert "Reading the job" in paired.get("/bench").text
    paired.office.clerk.check()
    assert "First to go" in paired.get("/").text
    assert 'data-number="10"' in paired.get("/bench").text
    assert "A quick look" in paired.get("/ask").text
    assert len(paired.get("/turn/block").json()["faces"]) == 6
    assert paired.post("/ask/hole", {"size": "M5", "material": "al_6082"}).json()["lines"]
    assert paired.get("/static/paper.css").headers["content-type"].startswith("text/css")
    assert paired.get("/state").json()["ready"] is True


def test_only_the_first_page_begins_a_check_by_asking(paired: Device, monkeypatch: pytest.MonkeyPatch) -> None:
    begun: list[str] = []
    monkeypatch.setattr(type(paired.office.clerk), "open", lambda _clerk: begun.append("begun"))
    assert paired.get("/state").json()["ready"] is False
    assert begun == []                           # a page that waits for what it asked for does not get in its own way
    paired.get("/state?begin=yes")
    assert begun == ["begun"]


def test_a_new_code_is_given_to_a_paired_device(paired: Device) -> None:
    code = paired.post("/code", {}).json()["code"]
    assert paired.office.codes.use(code)
    assert paired.post("/stop", {}).json() == {"stopping": True}


def test_a_job_without_a_route_is_planned_from_the_page(paired: Device, block: Path) -> None:
    (block / "route.toml").unlink()
    assert paired.post("/check", {}).status == 422
    assert paired.post("/plan", {}).json() == {"planned": True}
    assert paired.post("/check", {}).json() == {"checked": True}
