"""At the door of every route: which host is asked, which page asks, and whether the device is paired."""

from __future__ import annotations

from collections.abc import Iterable
from http.cookies import CookieError, SimpleCookie
from typing import Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from .keys import COOKIE, Seal

#: what only looks; all else must say that it comes from one of our own pages
LOOKS: Final = frozenset({"GET", "HEAD"})
POLICY: Final = {
    "content-security-policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
                               "connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'",
    "x-content-type-options": "nosniff", "referrer-policy": "same-origin", "cache-control": "no-store",
    "cross-origin-opener-policy": "same-origin", "cross-origin-resource-policy": "same-origin",
}


class Guard:
    """Lets through what one of our own pages asks on a paired device; all else gets nothing."""

    def __init__(self, app: ASGIApp, seal: Seal, hosts: Iterable[str], doors: Iterable[str], below: str) -> None:
        """Args: doors and what is below one path are open to devices that are not paired yet."""
        self._app, self._seal = app, seal
        self._hosts, self._doors, self._below = frozenset(hosts), frozenset(doors), below

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or pass on, one request."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        headers = Headers(scope=scope)
        if not self._ours(scope["method"], headers):
            await Response(status_code=403)(scope, receive, _with_policy(send))
        elif self._is_door(scope["path"]) or self._paired(headers):
            await self._app(scope, receive, _with_policy(send))
        elif scope["path"] == "/" and scope["method"] in LOOKS:
            await RedirectResponse("/pair", status_code=303)(scope, receive, _with_policy(send))
        else:
            await Response(status_code=403)(scope, receive, _with_policy(send))

    def _is_door(self, path: str) -> bool:
        return path in self._doors or path.startswith(self._below)

    def _ours(self, method: str, headers: Headers) -> bool:
        """Whether the host is one that we serve, and the asking page one of ours."""
        host, origin = headers.getlist("host"), headers.get("origin")
        if len(host) != 1 or host[0].lower() not in self._hosts:
            return False
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin"):
            return False
        if origin is None:
            return method in LOOKS
        return origin.lower() == f"http://{host[0].lower()}"

    def _paired(self, headers: Headers) -> bool:
        try:
            kept = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
        except CookieError:
            return False
        return kept is not None and self._seal.holds(kept.value)


def _with_policy(send: Send) -> Send:
    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in POLICY.items():
                headers.setdefault(name, value)
        await send(message)

    return sent
