"""Whatever is sent, no route breaks: no 5xx, answers as the OpenAPI document promises, the gate's headers on each.

Requests are drawn by hypothesis from the service's own OpenAPI document, now and then with something else in a place;
answers are held against its schemas by the jsonschema library. Jobs and key paths are often those that are there, so that
what is drawn gets past the door.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import jsonschema
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from roofwell.papers import PAPERS
from roofwell.store import open_store
from roofwell.web import Gate, make_app
from roofwell.web.gate import HEADERS
from roofwell.web.jobs import example as shipped

HOST = "127.0.0.1:8437"
SLOW = ("/answers", "/beyond", "/chance", "/mends", "/storm", "/moved", "/papers/{name}", "/make", "/first")
Schema = dict[str, Any]

JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text()
    | st.just("\ud800"),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)  # fmt: skip
TRADE = st.sampled_from(
    ["4 in", "12' 6\"", "0.6 in/h", "-3 ft", "1e9 ft", "0", 0, -1, 10**12, 1e-9, "ask the office", "10 years", [], {}]
) | st.sampled_from([[[0, 0]], "R1", True, "\0", "\ud800", [None], {"": 1}, 2**70])  # fmt: skip
PATHS = [
    "job.name", "job.units", "soil.safety_factor", "roofs.R1.pitch", "roofs.R1.outline", "wells.W1.bodies", "wells.W1.at",
    "runs.P1.to", "runs.P1.path", "runs.P1.nominal", "downspouts.D1.at", "survey.readings[0].rod", "targets.storm",
    "site.grade", "place.latitude", "rain.record", "place.rules", "features", "gutters.G1", "document", "basins.B1.width",
    "overflows.O1.kind", "soil.high_water", "attachments.F1", "settings.pipe", "prices.file", "utilities",
]  # fmt: skip


@pytest.fixture(scope="module")
def there(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, FastAPI, dict[str, str]]]:
    store = open_store(str(tmp_path_factory.mktemp("jobs") / "jobs.sqlite"))
    text, files = shipped("bungalow")
    jobs = {"bungalow": store.create(text, who="", files=files).job}
    jobs["broken"] = store.create("document = 1\n[job\n", who="").job
    store.put_file(jobs["bungalow"], "note.txt", b"text\n")
    app = make_app(store, Gate(frozenset({HOST})))
    with TestClient(app, base_url=f"http://{HOST}", headers={"X-Roofwell": "page"}) as client:
        yield client, app, jobs


def _drawn(schema: Schema, document: Schema) -> st.SearchStrategy[Any]:
    """Return what a schema describes; and, one time in ten or so, anything."""
    if "$ref" in schema:
        schema = document["components"]["schemas"][schema["$ref"].rpartition("/")[2]]
    if "anyOf" in schema:
        return st.one_of([_drawn(each, document) for each in schema["anyOf"]])
    if "enum" in schema:
        return st.sampled_from(schema["enum"])
    kind = schema.get("type")
    if kind == "object" and "properties" in schema:
        fields = {name: _field(name, inner, document) for name, inner in schema["properties"].items()}
        needed = {name: fields.pop(name) for name in schema.get("required", [])}
        return st.fixed_dictionaries(needed, optional=fields)
    if kind == "object":
        inner = schema.get("additionalProperties")
        values = _drawn(inner, document) if isinstance(inner, dict) else JSON
        return st.dictionaries(st.text(max_size=10), values, max_size=3)
    if kind == "array":
        return st.lists(_drawn(schema["items"], document), max_size=min(4, schema.get("maxItems", 4)))
    if kind == "string":
        return st.text(max_size=min(60, schema.get("maxLength", 60)))
    if kind == "integer":
        return st.integers(-3, 3) | st.integers() | st.just(2**70)
    if kind == "number":
        return st.floats(schema.get("minimum", -1e6), schema.get("maximum", 1e6))
    return {"boolean": st.booleans(), "null": st.none()}.get(str(kind), JSON)


def _field(name: str, schema: Schema, document: Schema) -> st.SearchStrategy[Any]:
    if name == "base":
        return st.just(1) | st.integers(-1, 3) | st.just(2**70)
    if name == "path":
        return st.sampled_from(PATHS) | st.text(max_size=30)
    if name == "value":
        return TRADE | JSON
    good = _drawn(schema, document)
    return st.integers(0, 9).flatmap(lambda n: JSON if n == 0 else good)


def _requests(document: Schema, path: str, operation: Schema, jobs: dict[str, str]) -> st.SearchStrategy[Any]:
    def parameter(one: Schema) -> st.SearchStrategy[Any]:
        if one["name"] == "id":
            return st.sampled_from([*jobs.values(), jobs["bungalow"]]) | st.text(min_size=1, max_size=40)
        if one["name"] == "name":
            return st.sampled_from(["note.txt", "a/b.csv", *PAPERS]) | st.text(min_size=1, max_size=40)
        if one["name"] in ("number", "older", "newer"):
            return st.sampled_from([None, 0, 1, 2, 2**70]) | st.integers()
        return _drawn(one["schema"], document)

    drawn = {one["name"]: parameter(one) for one in operation.get("parameters", [])}
    content = operation.get("requestBody", {}).get("content", {})
    body: st.SearchStrategy[Any] = st.none()
    if "application/json" in content:
        body = _drawn(content["application/json"]["schema"], document) | JSON
    elif content:
        body = st.binary(max_size=200) | st.sampled_from(
            [b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff\xe0", b"text\n"]
        )
    return st.tuples(st.fixed_dictionaries(drawn), body)


def _send(
    client: TestClient, method: str, path: str, operation: Schema, drawn: tuple[dict[str, Any], Any]
) -> Any:
    values, body = drawn
    query = {}
    for one in operation.get("parameters", []):
        value = values[one["name"]]
        if one["in"] == "path":
            path = path.replace(
                f"{{{one['name']}}}", quote(str(value).encode("utf-8", "surrogatepass"), safe="")
            )
        elif value is not None:
            query[one["name"]] = str(value).encode("utf-8", "replace").decode()
    if isinstance(body, bytes):
        return client.request(method, path, params=query, content=body)
    text = None if body is None and "requestBody" not in operation else json.dumps(body).encode()
    return client.request(
        method, path, params=query, content=text, headers={"Content-Type": "application/json"}
    )


def _held(document: Schema, operation: Schema, answer: Any) -> None:
    assert answer.status_code < 500, answer.text[:300]
    for name, value in HEADERS.items():
        assert answer.headers[name] == value or name == "Content-Security-Policy"
    assert "default-src" in answer.headers["content-security-policy"]
    if answer.status_code in (204, 304):
        assert answer.content == b""
        return
    responses = operation["responses"]
    told = responses.get(str(answer.status_code)) or responses[f"{answer.status_code // 100}XX"]
    media = answer.headers["content-type"].partition(";")[0]
    content = told.get("content", {})
    if answer.status_code >= 400:
        assert media == "application/json"
        assert set(answer.json()) == {"code", "message"}
    if media == "application/json" and "schema" in content.get(media, {}):
        root = {"$ref": "#/s", "s": content[media]["schema"], "components": document["components"]}
        jsonschema.validate(answer.json(), root, cls=jsonschema.Draft202012Validator)
    elif media == "text/event-stream":
        assert media in content
        assert 'event: failed\ndata: {"code": "fault"' not in answer.text


def _operations() -> list[tuple[str, str]]:
    document = json.loads(
        (Path(__file__).parents[2] / "page" / "apitypes" / "openapi.json").read_text("utf-8")
    )
    return [(method, path) for path, methods in document["paths"].items() for method in methods]


@pytest.mark.parametrize(("method", "path"), _operations())
def test_no_request_breaks_a_route(
    there: tuple[TestClient, FastAPI, dict[str, str]], method: str, path: str
) -> None:
    client, app, jobs = there
    document = app.openapi()
    operation = document["paths"][path][method]
    most = 4 if "papers" in path else 6 if path.endswith(SLOW) else 20

    @settings(
        max_examples=most,
        deadline=None,
        database=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
    )
    @given(_requests(document, path, operation, jobs))
    def breaks_nothing(drawn: tuple[dict[str, Any], Any]) -> None:
        _held(document, operation, _send(client, method, path, operation, drawn))

    breaks_nothing()
    app.state.gate._tries.clear()


@settings(
    max_examples=8, deadline=None, database=None, derandomize=True, suppress_health_check=list(HealthCheck)
)
@given(st.lists(st.tuples(st.sampled_from(PATHS), TRADE | JSON), min_size=1, max_size=3))
@example([("roofs.R1.outline", [[0, 0]])])
@example([("wells.W1.bodies", 10**12)])
def test_no_edit_breaks_the_answers(
    there: tuple[TestClient, FastAPI, dict[str, str]], edits: list[tuple[str, Any]]
) -> None:
    """Any value at any key path of a whole job: answered, or refused in words."""
    client, app, jobs = there
    operation = app.openapi()["paths"]["/api/jobs/{id}/answers"]["post"]
    body = {"base": 1, "page": "p", "edits": [{"path": path, "value": value} for path, value in edits]}
    answer = _send(client, "post", "/api/jobs/{id}/answers", operation, ({"id": jobs["bungalow"]}, body))
    _held(app.openapi(), operation, answer)
