"""Asks the pages without a network: one request of the interface between server and application."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from starlette.types import ASGIApp, Message

from firstoff.bench.clerk import Clerk
from firstoff.bench.keys import COOKIE, Seal
from firstoff.bench.office import Office
from firstoff.bench.routes import app_of

HOST = "127.0.0.1:8377"
ORIGIN = f"http://{HOST}"


@dataclass(frozen=True)
class Answer:
    """What came back."""

    status: int
    headers: Mapping[str, str]
    body: bytes

    def json(self) -> Any:
        """The object in it."""
        return json.loads(self.body)

    @property
    def text(self) -> str:
        """The page."""
        return self.body.decode()


def ask(app: ASGIApp, method: str, path: str, headers: Mapping[str, str] | None = None, body: bytes = b"") -> Answer:
    """One request; the path is sent as it stands."""
    plain, _, query = path.partition("?")
    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method, "path": plain,
        "raw_path": plain.encode(), "query_string": query.encode(), "scheme": "http", "root_path": "",
        "headers": [(k.lower().encode(), v.encode()) for k, v in (headers or {}).items()],
        "client": ("127.0.0.1", 50000), "server": ("127.0.0.1", 8377),
    }
    sent: list[Message] = []

    async def go() -> None:
        messages = iter([{"type": "http.request", "body": body, "more_body": False}])

        async def receive() -> Message:
            return next(messages, {"type": "http.disconnect"})

        async def send(message: Message) -> None:
            sent.append(message)

        await app(scope, receive, send)

    asyncio.run(go())
    start = next(m for m in sent if m["type"] == "http.response.start")
    found = {k.decode(): v.decode() for k, v in start["headers"]}
    return Answer(start["status"], found, b"".join(m.get("body", b"") for m in sent[1:]))


@dataclass(frozen=True)
class Device:
    """A paired device in front of the pages of a job."""

    office: Office
    app: ASGIApp

    def get(self, path: str, **headers: str) -> Answer:
        """What a page of ours looks at."""
        return ask(self.app, "GET", path, self.headers(**headers))

    def post(self, path: str, value: object, **headers: str) -> Answer:
        """What a page of ours sends."""
        sent = {"origin": ORIGIN, "content-type": "application/json"} | headers
        return ask(self.app, "POST", path, self.headers(**sent), json.dumps(value).encode())

    def put(self, path: str, body: bytes) -> Answer:
        """A file that a page of ours sends."""
        return ask(self.app, "PUT", path, self.headers(origin=ORIGIN, **{"content-length": str(len(body))}), body)

    def headers(self, **more: str) -> dict[str, str]:
        """Those of a paired device."""
        return {"host": HOST, "cookie": f"{COOKIE}={self.office.seal.cookie()}"} | more


def device(folder: Path) -> Device:
    """A paired device of a job that nobody has looked at yet."""
    office = Office(Clerk(folder), Seal(b"k" * 32))
    return Device(office, app_of(office, [HOST, "localhost:8377"]))
