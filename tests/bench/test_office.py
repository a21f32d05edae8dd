"""How a request is read: an object of texts, short enough, or nothing; what went wrong is told in words."""

from __future__ import annotations

import asyncio
import json

import pytest
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import Message

from firstoff.bench.clerk import Busy, Stopped
from firstoff.bench.office import MOST_TEXT, body_of, sent, texts, told
from firstoff.errors import InputError


def request(body: bytes, kind: str = "application/json") -> Request:
    messages = iter([{"type": "http.request", "body": body[:10], "more_body": True},
                     {"type": "http.request", "body": body[10:], "more_body": False}])

    async def receive() -> Message:
        return next(messages)

    return Request({"type": "http", "method": "POST", "headers": [(b"content-type", kind.encode())]}, receive)


def test_an_object_in_pieces_is_read() -> None:
    assert asyncio.run(sent(request(b'{"a": "a long text"}'))) == {"a": "a long text"}


@pytest.mark.parametrize(("body", "kind", "status"), [
    (b"[1]", "application/json", 400), (b"{", "application/json", 400), (b"{}", "text/plain", 415),
    (b"x" * (MOST_TEXT + 1), "application/json", 413), (b"\xff\xfe{}", "application/json", 400),
])
def test_all_else_is_refused(body: bytes, kind: str, status: int) -> None:
    with pytest.raises(HTTPException) as caught:
        asyncio.run(sent(request(body, kind)))
    assert caught.value.status_code == status


def test_a_body_may_be_as_long_as_it_may_be() -> None:
    assert len(asyncio.run(body_of(request(b"x" * 20), 20))) == 20
    with pytest.raises(HTTPException):
        asyncio.run(body_of(request(b"x" * 21), 20))


@pytest.mark.parametrize("value", [None, [], {"a": 1}, {"a": "x" * 5000}, {"a": None}])
def test_only_texts_are_texts(value: object) -> None:
    assert texts({"a": "b"}) == {"a": "b"}
    with pytest.raises(HTTPException):
        texts(value)


@pytest.mark.parametrize(("error", "status", "word"), [
    (InputError("no such thing", where="x", right="y"), 422, "no such thing"), (Busy(), 409, "under way"),
    (Stopped(), 409, "stopped"),
])
def test_what_went_wrong_is_told(error: Exception, status: int, word: str) -> None:
    async def fails(_request: Request) -> Response:
        raise error

    async def asked() -> Response:
        return await told(fails)(request(b"{}"))

    answer = asyncio.run(asked())
    assert answer.status_code == status
    assert word in json.loads(bytes(answer.body))["wrong"]
    assert "in a moment" in json.loads(bytes(answer.body)).get("right", "") or not isinstance(error, Busy)
