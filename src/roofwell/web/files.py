"""The files of a job: photos, rain records, rule files, price books. They come as bytes and go as bytes, never as a page."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import Response

from roofwell.store import PutFile, Store, StoredFile
from roofwell.store.contents import kind_of, media_type

router = APIRouter(prefix="/api/jobs/{id}/files", tags=["files"])

# A file that came from somebody else opens in a corner of its own: nothing in it runs, nothing in it reaches Roofwell.
ALONE = "sandbox; default-src 'none'"
BYTES = {"requestBody": {"required": True, "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}}}  # fmt: skip  # noqa: E501


async def _body(request: Request) -> bytes:
    return await request.body()


def _store(request: Request) -> Store:
    store: Store = request.app.state.store
    return store


@router.get("")
def list_files(id: str, request: Request) -> list[StoredFile]:
    """Return the files of a job by name."""
    return list(_store(request).files(id))


@router.put("/{name:path}", openapi_extra=BYTES)
def put_file(
    id: str,
    name: str,
    request: Request,
    content: Annotated[bytes, Depends(_body)],
    who: str = Query(default="", max_length=80),
    operation: str | None = Query(default=None, max_length=64),
    replace: bool = False,
) -> PutFile:
    """Keep a file under the name that the document uses. Sent again under the same ``operation`` it counts once.

    409 ``file-there`` where another file has the name and ``replace`` is not said.
    """
    return _store(request).put_file(id, name, content, who=who, operation=operation, replace=replace)


@router.get(
    "/{name:path}",
    response_class=Response,
    responses={200: {"content": {"application/octet-stream": {}}}, 304: {"description": "not changed"}},
)
def get_file(id: str, name: str, request: Request, number: int | None = None) -> Response:
    """Return a file as it is kept, or as it stood last while version ``number`` was the newest."""
    store = _store(request)
    mark = f'"{store.stored_file(id, name, number).sha256}"'
    headers = {
        "Content-Disposition": f"{_shown(name)}; filename*=UTF-8''{quote(name.rpartition('/')[2], safe='')}",
        "Content-Security-Policy": ALONE,
        "Cache-Control": "private, no-cache",
        "ETag": mark,
    }
    if request.headers.get("if-none-match") == mark:
        return Response(status_code=304, headers=headers)
    return Response(store.file(id, name, number), media_type=media_type(name), headers=headers)


@router.delete("/{name:path}", status_code=204)
def take_file_away(id: str, name: str, request: Request) -> None:
    """Let the job have the file no more; it stays for the versions of before."""
    _store(request).take_file_away(id, name)


def _shown(name: str) -> str:
    return "inline" if kind_of(name) == "picture" else "attachment"
