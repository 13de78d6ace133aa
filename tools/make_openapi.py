"""Write the OpenAPI document of the service, from which the page's types are made (page/apitypes)."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path

from roofwell.store import open_store
from roofwell.web import Gate, make_app

FILE = Path(__file__).parents[1] / "page" / "apitypes" / "openapi.json"


def text() -> str:
    """Return the document as the file holds it."""
    with tempfile.TemporaryDirectory() as folder:
        app = make_app(open_store(str(Path(folder) / "jobs.sqlite")), Gate(frozenset()))
        document = app.openapi()
        app.state.answering.close()
        app.state.store.close()
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    FILE.write_text(text(), encoding="utf-8")
    print(f"{FILE}: now run npm ci && npm run make in page/apitypes")
