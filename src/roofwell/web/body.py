"""How much may be sent, how slowly: a body that is too large or never ends is turned away, whatever it says of itself."""

from __future__ import annotations

import asyncio
import time

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from roofwell.store.contents import LARGEST_FILE

LARGEST = (
    10_000_000  # bytes of a change; the longest document, every letter written as an escape, stays below
)
LARGEST_UPLOAD = LARGEST_FILE
PATIENCE_S = 20.0  # for the next piece; a phone at the edge of its network pauses for some seconds
LONGEST_S = 180.0  # for the whole; 25 MB at 1.2 Mbit/s
WORDS = {
    408: ("too-slow", "it did not come in time; send it again"),
    413: ("too-large", "that is more than Roofwell takes at once"),
}


def largest(scope: Scope) -> int:
    """Return how many bytes a request may carry."""
    upload = scope["method"] == "PUT" and "/files/" in scope["path"]
    return LARGEST_UPLOAD if upload else LARGEST


class BodyMiddleware:
    """Counts what comes in, and watches the clock."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Look after one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        most = largest(scope)
        said = Request(scope).headers.get("content-length", "0")
        if not said.isascii() or not said.isdigit() or int(said[:20]) > most:
            code, message = WORDS[413]
            await JSONResponse({"code": code, "message": message}, status_code=413)(scope, receive, send)
            return
        began, count, whole = time.monotonic(), 0, False

        async def counted() -> Message:
            nonlocal count, whole
            if whole:  # what follows is the end of the connection, which may take as long as the answer
                return await receive()
            left = began + LONGEST_S - time.monotonic()
            try:
                message = await asyncio.wait_for(receive(), max(0.0, min(PATIENCE_S, left)))
            except TimeoutError:
                raise HTTPException(408) from None
            if message["type"] == "http.request":
                count += len(message.get("body", b""))
                whole = not message.get("more_body", False)
                if count > most:
                    raise HTTPException(413)
            return message

        await self._app(scope, counted, send)
