"""Signing in with the access key, where the service is open to the local network; is it there at all."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field

from roofwell import __version__
from roofwell.web.gate import COOKIE, COOKIE_LASTS_S, Gate

router = APIRouter(prefix="/api", tags=["access"])


class Health(BaseModel):
    """The service answers. ``key_needed``: who asks has to type the access key first."""

    version: str
    key_needed: bool


class Key(BaseModel):
    """The access key as typed."""

    key: str = Field(max_length=200)


@router.get("/health")
def health(request: Request) -> Health:
    """Say that the service is there."""
    gate: Gate = request.app.state.gate
    return Health(version=__version__, key_needed=not gate.signed_in(request.cookies.get(COOKIE)))


@router.post("/key")
def give_key(key: Key, request: Request) -> JSONResponse:
    """Take the access key and give a signed cookie for it."""
    gate: Gate = request.app.state.gate
    if not gate.may_try(request.client.host if request.client is not None else ""):
        return JSONResponse(
            {"code": "too-many-tries", "message": "too many tries; wait a minute"}, status_code=429
        )
    if not gate.fits(key.key):
        return JSONResponse({"code": "key-wrong", "message": "that is not the key"}, status_code=403)
    answer = JSONResponse({"ok": True})
    answer.set_cookie(
        COOKIE,
        gate.cookie(),
        max_age=COOKIE_LASTS_S,
        httponly=True,
        samesite="strict",
        secure=gate.secure,
    )
    return answer
