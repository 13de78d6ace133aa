"""A service over a fresh store, asked as the page asks."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from roofwell.store import open_store
from roofwell.web import Gate, make_app

HOST = "127.0.0.1:8437"


@pytest.fixture
def page(tmp_path: Path) -> Iterator[TestClient]:
    app = make_app(open_store(str(tmp_path / "jobs.sqlite")), Gate(frozenset({HOST})))
    with TestClient(app, base_url=f"http://{HOST}", headers={"X-Roofwell": "page"}) as client:
        yield client
