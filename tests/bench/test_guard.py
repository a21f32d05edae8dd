"""The door, by itself: what passes, and that a refusal says nothing."""

from __future__ import annotations

import asyncio

import pytest
from starlette.responses import PlainTextResponse
from starlette.types import Message

from firstoff.bench.guard import Guard
from firstoff.bench.keys import COOKIE, Seal

from .asking import HOST, ORIGIN, Answer, ask

SEAL = Seal(b"k" * 32)
GUARD = Guard(PlainTextResponse("inside"), SEAL, [HOST], ["/pair"], "/pair/")
PAIRED = {"host": HOST, "cookie": f"{COOKIE}={SEAL.cookie()}"}


def at_door(method: str = "GET", path: str = "/bench", **headers: str) -> Answer:
    return ask(GUARD, method, path, {k.replace("_", "-"): v for k, v in headers.items()})


def test_a_paired_page_of_ours_passes() -> None:
    assert at_door(**PAIRED).text == "inside"
    assert at_door("POST", **PAIRED, origin=ORIGIN).text == "inside"


@pytest.mark.parametrize("headers", [
    {"host": "elsewhere.example"}, {"host": ""}, {"host": HOST + "0"}, {"host": "127.0.0.1"},
    {"origin": "http://elsewhere.example"}, {"origin": "null"}, {"origin": f"https://{HOST}"},
    {"sec_fetch_site": "cross-site"}, {"sec_fetch_site": "same-site"},
    {"cookie": ""}, {"cookie": f"{COOKIE}=1.2.3"}, {"cookie": "a=b; ;;=="},
])
@pytest.mark.parametrize("method", ["GET", "POST", "PUT"])
def test_all_else_gets_nothing(method: str, headers: dict[str, str]) -> None:
    answer = at_door(method, **(PAIRED | {"origin": ORIGIN} | headers))
    assert (answer.status, answer.body) == (403, b"")


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS"])
def test_a_write_that_does_not_say_whence_gets_nothing(method: str) -> None:
    assert at_door(method, **PAIRED).status == 403


def test_one_host_named_twice_is_none() -> None:
    scope_headers = [(b"host", HOST.encode()), (b"host", b"elsewhere.example"),
                     (b"cookie", PAIRED["cookie"].encode())]
    sent: list[Message] = []

    async def go() -> None:
        async def receive() -> Message:
            return {"type": "http.request", "body": b""}

        async def send(message: Message) -> None:
            sent.append(message)

        await GUARD({"type": "http", "method": "GET", "path": "/", "headers": scope_headers}, receive, send)

    asyncio.run(go())
    assert sent[0]["status"] == 403


def test_an_unpaired_device_is_led_to_the_door() -> None:
    answer = at_door(path="/", host=HOST)
    assert (answer.status, answer.headers["location"]) == (303, "/pair")
    assert at_door(path="/pair", host=HOST).text == "inside"
    assert at_door(path="/pairs", host=HOST).status == 403


@pytest.mark.parametrize("path", ["/bench", "/pair"])
def test_every_answer_tells_the_browser_to_be_strict(path: str) -> None:
    headers = at_door(path=path, **PAIRED).headers
    assert "default-src 'none'" in headers["content-security-policy"]
    assert "unsafe" not in headers["content-security-policy"]
    assert (headers["x-content-type-options"], headers["cache-control"]) == ("nosniff", "no-store")


def test_a_socket_is_closed() -> None:
    sent: list[Message] = []

    async def go() -> None:
        async def receive() -> Message:
            return {"type": "websocket.connect"}

        async def send(message: Message) -> None:
            sent.append(message)

        await GUARD({"type": "websocket", "path": "/", "headers": []}, receive, send)

    asyncio.run(go())
    assert sent == [{"type": "websocket.close", "code": 1008}]
