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
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from roofwell import __version__
from roofwell.errors import ConflictError, InputError, RoofwellError
from roofwell.store import Store
from roofwell.web import access, answers, files, first, further, grounds, jobs, papers, storm
from roofwell.web.answering import Answering, Outdated
from roofwell.web.gate import Gate, GateMiddleware
from roofwell.web.shown import Refused

NOT_THERE = frozenset({"job-unknown", "version-unknown", "file-unknown", "paper-unknown", "example-unknown"})
REFUSALS: tuple[int | str, ...] = (400, 401, 403, 404, 405, 408, 409, 413, 422, 429, 507)
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
    app.add_middleware(GateMiddleware, gate=gate)
    for routes in (access, jobs, files, answers, further, storm, first, papers, grounds):
        app.include_router(routes.router)
    app.add_exception_handler(RoofwellError, _told)
    app.add_exception_handler(Outdated, _outdated)
    app.add_exception_handler(RequestValidationError, _not_understood)
    app.add_exception_handler(HTTPException, _by_status)
    folder = static or Path(str(resources.files("roofwell.web") / "static"))
    if (folder / "index.html").is_file():
        app.mount("/", PageFiles(directory=folder, html=True))
    else:
        app.add_api_route("/", lambda: PlainTextResponse(NO_PAGE, status_code=503), include_in_schema=False)
    return app


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
    words = {404: ("not-there", "there is nothing under this address"), 405: ("not-this-way", "not asked so")}
    code, message = words.get(error.status_code, ("request-not-understood", str(error.detail)))
    return JSONResponse(
        {"code": code, "message": message}, status_code=error.status_code, headers=error.headers
    )
