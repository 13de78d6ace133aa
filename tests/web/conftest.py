"""A service over a fresh store, asked as the page asks."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import pytest
import uvicorn
from fastapi import FastAPI
from fastapi.testclient import TestClient

from roofwell.store import open_store
from roofwell.web import Gate, make_app

HOST = "127.0.0.1:8437"


@pytest.fixture
def page(tmp_path: Path) -> Iterator[TestClient]:
    app = make_app(open_store(str(tmp_path / "jobs.sqlite")), Gate(frozenset({HOST})))
    with TestClient(app, base_url=f"http://{HOST}", headers={"X-Roofwell": "page"}) as client:
        yield client


@pytest.fixture
def serve() -> Callable[[FastAPI], AbstractContextManager[int]]:
    """Give the way to serve an app over a real socket."""
    return _served


@contextmanager
def _served(app: FastAPI) -> Iterator[int]:
    """Serve an app over a real socket; yields the port, which the gate then knows."""
    server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="error", lifespan="off"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    port = int(server.servers[0].sockets[0].getsockname()[1])
    app.state.gate.hosts = frozenset({f"127.0.0.1:{port}"})
    try:
        yield port
    finally:
        server.should_exit = True
        thread.join(10)
