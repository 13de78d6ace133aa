"""Server-sent events of work that takes its time: how far it is, then each part as it is done; stops when nobody listens."""

from __future__ import annotations

import asyncio
import json
import logging
import threading
from collections.abc import AsyncIterator, Callable, Iterator
from typing import Any

from fastapi.responses import StreamingResponse
from pydantic import BaseModel

from roofwell.errors import RoofwellError
from roofwell.web.questions import Look, Outdated

Event = tuple[str, dict[str, Any] | BaseModel]
Work = Callable[[Look], Iterator[Event]]
ALIVE_S = 5.0  # a comment at least so often, so that a line that was cut is noticed


class EventStream(StreamingResponse):
    """Events; the OpenAPI document tells the form of their data."""

    media_type = "text/event-stream"


def stream(work: Work) -> EventStream:
    """Run work in a thread of its own and send what it yields, with its progress in words between.

    Events: ``progress`` (words), those of the work, and last ``done``, ``outdated`` or ``failed`` (code, message).
    """
    return EventStream(_events(work), headers={"Cache-Control": "no-store"})


async def _events(work: Work) -> AsyncIterator[str]:
    loop = asyncio.get_running_loop()
    ready: asyncio.Queue[str | None] = asyncio.Queue()
    left = threading.Event()

    def put(event: Event | None) -> None:
        if not left.is_set():
            loop.call_soon_threadsafe(ready.put_nowait, _text(*event) if event is not None else None)

    def look(words: str) -> None:
        if left.is_set():
            raise Outdated
        if words:
            put(("progress", {"words": words}))

    running = loop.run_in_executor(None, _run, work, look, put)
    try:
        while True:
            try:
                event = await asyncio.wait_for(ready.get(), ALIVE_S)
            except TimeoutError:
                yield ": still at it\n\n"
                continue
            if event is None:
                return
            yield event
    finally:
        left.set()
        running.cancel()


def _text(name: str, data: dict[str, Any] | BaseModel) -> str:
    """Write an event; made in the thread of the work, so that a large one does not hold the others up."""
    text = data.model_dump_json() if isinstance(data, BaseModel) else json.dumps(data, allow_nan=False)
    return f"event: {name}\ndata: {text}\n\n"


def _run(work: Work, look: Look, put: Callable[[Event | None], None]) -> None:
    try:
        for event in work(look):
            look("")
            put(event)
        put(("done", {}))
    except Outdated:
        put(("outdated", {}))
    except RoofwellError as error:
        put(("failed", {"code": error.code, "message": error.message}))
    except Exception:
        logging.getLogger(__name__).exception("work behind a stream")
        put(("failed", {"code": "fault", "message": "something went wrong inside Roofwell"}))
    finally:
        put(None)
