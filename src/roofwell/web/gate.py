"""Who may ask: this machine alone, from our own page alone, unless the owner opened it to the local network.

Three things are looked at on every request before anything else:

* the host that was asked for must be one that the service was started for, so that a foreign page cannot reach it by a
  name of its own that leads here;
* what changes anything must come from our own page (its ``Origin``), in a form that a foreign page cannot send unasked;
* opened to the network, a signed cookie is needed, given for the access key.
"""

from __future__ import annotations

import hashlib
import hmac
import logging
import secrets
import time
from collections import deque
from dataclasses import dataclass, field

from itsdangerous import BadSignature, TimestampSigner
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

COOKIE = "roofwell"
COOKIE_LASTS_S = 60 * 60 * 24 * 30
TRIES, TRIES_OF_ALL, TRIES_IN_S = (
    5,
    60,
    60.0,
)  # of one address, of all: one that tries on locks nobody else out
CHANGING = frozenset({"POST", "PUT", "PATCH", "DELETE"})
OWN_SITE = frozenset(
    {"same-origin", "none"}
)  # "none": typed by the person, or an old browser that says nothing
OPEN_TO_ALL = frozenset({"/api/key", "/api/health"})

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'self'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
        "connect-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}


@dataclass(slots=True)
class Gate:
    """What is let in.

    ``hosts``: names with port by which the service may be asked for. ``key``: the access key where the service is
    open to the network, else None. ``secure``: the page comes over HTTPS.
    """

    hosts: frozenset[str]
    key: str | None = None
    secure: bool = False
    _signer: TimestampSigner = field(
        default_factory=lambda: TimestampSigner(secrets.token_bytes(32), digest_method=hashlib.sha256)
    )
    _tries: deque[tuple[float, str]] = field(default_factory=deque)

    def knows_host(self, host: str) -> bool:
        """Say whether the service may be asked for by this name and port."""
        return host.lower() in self.hosts

    def own_origin(self, origin: str | None, host: str) -> bool:
        """Say whether a request that changes something comes from our own page; no Origin at all is no page."""
        if origin is None:
            return True
        return origin.lower() == f"{'https' if self.secure else 'http'}://{host.lower()}"

    def signed_in(self, cookie: str | None) -> bool:
        """Say whether the cookie was given by us, for the key, not too long ago."""
        if self.key is None:
            return True
        try:
            self._signer.unsign(cookie or "", max_age=COOKIE_LASTS_S)
        except BadSignature:
            return False
        return True

    def may_try(self, address: str) -> bool:
        """Count a try of the key from an address; False where it, or all together, tried too often in the last minute."""
        now = time.monotonic()
        while self._tries and now - self._tries[0][0] > TRIES_IN_S:
            self._tries.popleft()
        if len(self._tries) >= TRIES_OF_ALL or sum(who == address for _, who in self._tries) >= TRIES:
            return False
        self._tries.append((now, address))
        return True

    def fits(self, key: str) -> bool:
        """Compare a key in constant time."""
        return self.key is not None and hmac.compare_digest(key.strip().encode(), self.key.encode())

    def cookie(self) -> str:
        """Return the value of a fresh cookie."""
        return self._signer.sign(secrets.token_hex(8)).decode()


class GateMiddleware:
    """Turns away what the gate does not let in, and puts the headers on every answer."""

    def __init__(self, app: ASGIApp, gate: Gate) -> None:
        self._app = app
        self._gate = gate

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Look at one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        started = False

        async def with_headers(message: dict[str, object]) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                headers = list(message.get("headers", []))  # type: ignore[call-overload]
                own = {name for name, _ in headers}
                policy = [(k.lower().encode(), v.encode()) for k, v in HEADERS.items()]
                headers += [header for header in policy if header[0] not in own]
                message = {**message, "headers": headers}
            await send(message)

        refused = self._refused(Request(scope))
        try:
            await (refused or self._app)(scope, receive, with_headers)  # type: ignore[arg-type]
        except (
            Exception
        ):  # our own fault: told in words, with the headers that every answer has, and written down
            logging.getLogger(__name__).exception("%s %s", scope["method"], scope["path"])
            if not started:
                fault = _no(
                    500, "fault", "something went wrong inside Roofwell; what was kept is there still"
                )
                await fault(scope, receive, with_headers)  # type: ignore[arg-type]

    def _refused(self, request: Request) -> Response | None:
        host = request.headers.get("host", "")
        if not self._gate.knows_host(host):
            return _no(400, "host-unknown", "Roofwell does not answer under this name")
        path = request.url.path
        if path.startswith("/api/") and request.headers.get("sec-fetch-site", "none") not in OWN_SITE:
            return _no(403, "origin-foreign", "only Roofwell's own page may ask for a job")
        if request.method in CHANGING:
            if not self._gate.own_origin(request.headers.get("origin"), host):
                return _no(403, "origin-foreign", "only Roofwell's own page may change a job")
            if request.headers.get("x-roofwell") != "page":
                return _no(403, "not-the-page", "a change needs the header X-Roofwell: page")
        if (
            path.startswith("/api/")
            and path not in OPEN_TO_ALL
            and not self._gate.signed_in(request.cookies.get(COOKIE))
        ):
            return _no(401, "key-needed", "type the access key that Roofwell printed when it was started")
        return None


def _no(status: int, code: str, message: str) -> JSONResponse:
    return JSONResponse({"code": code, "message": message}, status_code=status)
