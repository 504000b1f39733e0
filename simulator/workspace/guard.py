"""What no request passes without: the right host, the right origin, a small body.

A page of another site can make a browser send requests to this machine. The host check stops names
that were pointed at this machine, the origin and the JSON content type stop forms and scripts of
other sites, and the content policy keeps the page from asking anything of anyone else.
"""

import json
from collections.abc import Iterable
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

#: Names by which a browser on this machine calls it.
LOCAL_NAMES = ("127.0.0.1", "localhost", "[::1]")

#: Longest body that is read [bytes]: a case file and some air.
LONGEST_BODY = 4_000_000

_WRITES = ("POST", "PUT", "PATCH", "DELETE")

HEADERS = {
    "content-security-policy": "default-src 'self'; img-src 'self' data: blob:; "
    "style-src 'self'; script-src 'self'; connect-src 'self'; object-src 'none'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cache-control": "no-store",
}


class Guard:
    """Refuses a request before anything of its body is read."""

    def __init__(self, app: ASGIApp, *, names: Iterable[str] = LOCAL_NAMES) -> None:
        self._app = app
        self._names = tuple(names)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a refusal, or hand the request on with its body counted."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).update(HEADERS)
            await send(message)

        refusal = self._refusal(scope["method"], Headers(scope=scope))
        if refusal is not None:
            await _answer(with_headers, *refusal)
            return
        await self._app(scope, _Counted(receive), with_headers)

    def _refusal(self, method: str, headers: Headers) -> tuple[int, str] | None:
        """Return status and words of what is wrong with a request, or None."""
        if not self._is_local(headers.get("host", "")):
            return 400, "this desk answers only to its own machine (127.0.0.1)"
        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length) > LONGEST_BODY:
            return 413, f"the body is too long; at most {LONGEST_BODY:,} bytes are read"
        if method not in _WRITES:
            return None
        origin = headers.get("origin")
        if origin is not None and origin != f"http://{headers['host']}":
            return 403, "changes are taken only from the desk's own page"
        if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return 403, "changes are taken only from the desk's own page"
        if headers.get("content-type", "").split(";")[0].strip() != "application/json":
            return 415, "the body must be JSON, sent as application/json"
        return None

    def _is_local(self, host: str) -> bool:
        name, colon, port = host.rpartition(":")
        if not colon or host.endswith("]"):
            name, port = host, "0"
        return name in self._names and port.isdigit()


class _Counted:
    """A request's body that ends with an error once it is too long, whatever its length says."""

    def __init__(self, receive: Receive) -> None:
        self._receive = receive
        self._count = 0

    async def __call__(self) -> Message:
        message = await self._receive()
        if message["type"] == "http.request":
            self._count += len(message.get("body", b""))
            if self._count > LONGEST_BODY:
                raise BodyTooLong
        return message


class BodyTooLong(Exception):
    """The body turned out longer than it may be."""


async def _answer(send: Send, status: int, words: str) -> None:
    body = json.dumps({"error": words}).encode()
    headers: list[Any] = [
        (b"content-type", b"application/json"),
        (b"content-length", str(len(body)).encode()),
        (b"connection", b"close"),
    ]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
