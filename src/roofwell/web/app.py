"""The application: routes, gate, the page's own files."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import resources
from pathlib import Path
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, PlainTextResponse, Response
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from roofwell import __version__
from roofwell.errors import ConflictError, InputError, RoofwellError
from roofwell.store import Store
from roofwell.web import (
    access,
    answers,
    body,
    files,
    first,
    further,
    grounds,
    jobs,
    longer,
    moved,
    papers,
    storm,
)
from roofwell.web.answering import Answering
from roofwell.web.body import BodyMiddleware
from roofwell.web.gate import Gate, GateMiddleware
from roofwell.web.questions import Outdated
from roofwell.web.shown import Refused

NOT_THERE = frozenset({"job-unknown", "version-unknown", "file-unknown", "paper-unknown", "example-unknown"})
WORDS = body.WORDS | {
    404: ("not-there", "there is nothing under this address"),
    405: ("not-this-way", "this address is not asked in this way"),
}
REFUSALS: tuple[int | str, ...] = (422, "4XX", 507)
NO_PAGE = (
    "The page was not built. Install Roofwell from its wheel, or run: "
    "npm --prefix page ci && npm --prefix page run build"
)


def make_app(store: Store, gate: Gate, *, static: Path | None = None) -> FastAPI:
    """Return the application that serves the jobs of one store to who the gate lets in."""

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        yield
        app.state.answering.close()
        store.close()

    app = FastAPI(
        title="Roofwell",
        version=__version__,
        lifespan=life,
        docs_url=None,
        redoc_url=None,
        responses={status: {"model": Refused} for status in REFUSALS},
    )
    app.state.store, app.state.gate, app.state.answering = store, gate, Answering(store)
    app.add_middleware(BodyMiddleware)
    app.add_middleware(GateMiddleware, gate=gate)
    for routes in (access, jobs, moved, files, answers, further, longer, storm, first, papers, grounds):
        app.include_router(routes.router)
    app.add_exception_handler(RoofwellError, _told)
    app.add_exception_handler(Outdated, _outdated)
    app.add_exception_handler(RequestValidationError, _not_understood)
    app.add_exception_handler(HTTPException, _by_status)
    app.openapi = lambda: _described(app)  # type: ignore[method-assign]
    folder = static or Path(str(resources.files("roofwell.web") / "static"))
    if (folder / "index.html").is_file():
        # answers stay as they are: on this machine packing takes longer than sending; a phone loads the page but once
        app.mount("/", GZipMiddleware(PageFiles(directory=folder, html=True), minimum_size=2000))
    else:
        app.add_api_route("/", lambda: PlainTextResponse(NO_PAGE, status_code=503), include_in_schema=False)
    return app


def _described(app: FastAPI) -> dict[str, Any]:
    """Return the OpenAPI document: a stream is events, and what refuses it is JSON like all refusals."""
    document: dict[str, Any] = FastAPI.openapi(app)
    for path in document["paths"].values():
        for operation in path.values():
            for status, response in operation["responses"].items():
                content = response.get("content", {})
                if status != "200" and "text/event-stream" in content:
                    content["application/json"] = content.pop("text/event-stream")
    return document


class PageFiles(StaticFiles):
    """The built page: what carries a hash in its name is kept by the browser, all else asked for anew."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """Return one file."""
        response = await super().get_response(path, scope)
        kept = path.startswith("assets/")
        response.headers["Cache-Control"] = "public, max-age=31536000, immutable" if kept else "no-cache"
        return response


def _told(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, RoofwellError)
    status = 500
    if isinstance(error, ConflictError):
        status = 409
    elif isinstance(error, InputError):
        status = 404 if error.code in NOT_THERE else 507 if error.code == "store-full" else 422
    return JSONResponse({"code": error.code, "message": error.message}, status_code=status)


def _outdated(request: Request, error: Exception) -> JSONResponse:
    return JSONResponse({"code": "outdated", "message": "a newer edit took its place"}, status_code=409)


def _not_understood(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, RequestValidationError)
    first: dict[str, Any] = dict(error.errors()[0])
    where = ".".join(str(step) for step in first.get("loc", ()))
    return JSONResponse(
        {"code": "request-not-understood", "message": f"{where}: {first.get('msg', 'not understood')}"},
        status_code=422,
    )


def _by_status(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, HTTPException)
    code, message = WORDS.get(error.status_code, ("request-not-understood", str(error.detail)))
    return JSONResponse(
        {"code": code, "message": message}, status_code=error.status_code, headers=error.headers
    )
