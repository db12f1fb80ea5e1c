"""Who may come in: the room's token, the right host name, and no other page's requests. Stands in front of everything."""

from __future__ import annotations

import hmac
import json
import secrets
from html import escape
from http.cookies import CookieError, SimpleCookie
from time import monotonic
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from shotcrit.room.passes import Pass

SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
BIGGEST_BODY = 64 * 2**20
"""Bytes of one request; a drawing of 2,000 long strokes stays below."""
POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self' 'unsafe-inline'",
        "img-src 'self' blob: data:",
        "media-src 'self' blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "worker-src 'self' blob:",
        "manifest-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
REFUSED_SOCKET = 4403
"""WebSocket close code from the range left to applications (RFC 6455, 7.4.2)."""
_WELCOME = (
    b'<!doctype html><html lang="en"><meta charset="utf-8"><title>Shotcrit</title><link rel="icon" href="data:,">'
    b'<meta http-equiv="refresh" content="0;url=/"><p><a href="/">Open the room</a></p></html>'
)
"""A page that goes on by itself, not a redirect: after a redirect from another site's link the Strict cookie would not be sent."""

_REFUSAL = (
    '<!doctype html><html lang="en"><meta charset="utf-8"><title>Shotcrit</title><link rel="icon" href="data:,">'
    '<body style="background:#666;color:#f6eee1;font:18px/1.5 sans-serif;margin:20vh auto;max-width:32em;padding:0 1em">'
    "<p>{says}.</p><p>It stands in the window where the room was opened. What you wrote is kept in the crit.</p></html>"
)
TICKET_BYTES = 24
"""192 random bits."""
TICKET_S = 120.0
"""Seconds in which a browser that is being started has to come (guess: a cold start on a slow disk takes half a minute)."""


class Guard:
    """ASGI middleware.

    token : the secret that stands in the printed address; hosts : names under which the room may be asked for, without port
    cookie : what a browser is given that came in by the address, and comes in by from then on
    """

    def __init__(self, app: ASGIApp, *, token: str, hosts: frozenset[str], cookie: Pass) -> None:
        self._app = app
        self._token = token
        self._hosts = hosts
        self._cookie = cookie
        self._tickets: dict[str, float] = {}

    def ticket(self) -> str:
        """What lets one browser in once, soon: other users of the computer see the address that a browser is started with."""
        made = secrets.token_urlsafe(TICKET_BYTES)
        self._tickets[made] = monotonic() + TICKET_S
        return made

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refusal = self._refusal(scope, headers)
        if scope["type"] == "websocket":
            await (self._app(scope, receive, send) if refusal is None else _refuse_socket(receive, send))
            return
        guarded = _with_headers(send)
        if refusal is not None:
            await _answer(guarded, *refusal, as_page=_wants_page(scope, headers))
        elif scope["path"] == "/" and _query(scope).keys() & {"token", "ticket"}:
            await self._welcome(guarded)
        else:
            await self._app(scope, receive, guarded)

    def _refusal(self, scope: Scope, headers: Headers) -> tuple[int, str] | None:
        if _host_name(headers.get("host", "")) not in self._hosts:
            return 403, "this room is not asked for under that name; use the address that it printed"
        bearer = self._fits(headers.get("authorization", "").removeprefix("Bearer "))
        if not (bearer or self._in_address(scope) or _same(_cookie(headers, self._cookie.name), self._cookie.value)):
            return 403, "the token is missing or wrong; open the address that the room printed"
        unsafe = scope["type"] == "websocket" or scope["method"] not in SAFE
        if unsafe and not _same_origin(headers, needed=not bearer):
            return 403, "this request comes from another page; use the room itself"
        return None if scope["type"] == "websocket" else _too_big(headers)

    def _in_address(self, scope: Scope) -> bool:
        """By the printed address, or by a ticket, which is then spent."""
        if scope["path"] != "/" or scope["type"] != "http":
            return False
        query = _query(scope)
        spent = self._tickets.pop(query.get("ticket", [""])[0], 0.0)
        return spent > monotonic() or self._fits(query.get("token", [""])[0])

    def _fits(self, given: str) -> bool:
        return _same(given, self._token)

    async def _welcome(self, send: Send) -> None:
        cookie = f"{self._cookie.name}={self._cookie.value}; HttpOnly; SameSite=Strict; Path=/"
        headers = [(b"content-type", b"text/html; charset=utf-8"), (b"cache-control", b"no-store"), (b"set-cookie", cookie.encode())]
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        await send({"type": "http.response.body", "body": _WELCOME})


def _same(given: str, wanted: str) -> bool:
    return hmac.compare_digest(given.encode("utf-8", "replace"), wanted.encode())


def _wants_page(scope: Scope, headers: Headers) -> bool:
    """Whether a person looks at the answer: the address bar asks for HTML, the page's own requests do not."""
    return scope["method"] == "GET" and "text/html" in headers.get("accept", "")


def _too_big(headers: Headers) -> tuple[int, str] | None:
    length = headers.get("content-length", "0")
    if not length.isdigit() or int(length) > BIGGEST_BODY:
        return 413, f"this is more than the {BIGGEST_BODY >> 20} MB that one request may bring"
    if "chunked" in headers.get("transfer-encoding", ""):
        return 411, "a request has to say its length"
    return None


def _query(scope: Scope) -> dict[str, list[str]]:
    return parse_qs(scope.get("query_string", b"").decode("latin-1"))


def _host_name(host: str) -> str:
    """The name without the port; brackets of IPv6 stay."""
    name, _, port = host.rpartition(":")
    return (name if name and port.isdigit() else host).lower()


def _cookie(headers: Headers, name: str) -> str:
    try:
        found = SimpleCookie(headers.get("cookie", "")).get(name)
    except CookieError:
        return ""
    return found.value if found else ""


def _same_origin(headers: Headers, *, needed: bool) -> bool:
    origin = headers.get("origin")
    if origin is None:
        return not needed
    return origin.partition("://")[2].lower() == headers.get("host", "").lower()


def _with_headers(send: Send) -> Send:
    async def guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            own = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                own[name] = value
            if "cache-control" not in own:
                own["cache-control"] = "no-store"
        await send(message)

    return guarded


async def _answer(send: Send, status: int, says: str, *, as_page: bool) -> None:
    kind, body = b"application/json", json.dumps({"says": says, "kind": None, "current": None})
    if as_page:
        kind, body = b"text/html; charset=utf-8", _REFUSAL.format(says=escape(says[:1].upper() + says[1:]))
    await send({"type": "http.response.start", "status": status, "headers": [(b"content-type", kind)]})
    await send({"type": "http.response.body", "body": body.encode()})


async def _refuse_socket(receive: Receive, send: Send) -> None:
    await receive()
    await send({"type": "websocket.close", "code": REFUSED_SOCKET})
