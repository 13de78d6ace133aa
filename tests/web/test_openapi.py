"""The OpenAPI document that the page's types are made from is that of the service; findings come over whole."""

from __future__ import annotations

import dataclasses
import importlib.util
import re
from pathlib import Path

from roofwell.checks import finding
from roofwell.web import shown

ROOT = Path(__file__).parents[2]
TOOL = ROOT / "tools" / "make_openapi.py"
TYPES = ROOT / "page" / "src" / "api-types.d.ts"


def _tool() -> object:
    spec = importlib.util.spec_from_file_location("make_openapi", TOOL)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_document_of_the_page_is_that_of_the_service() -> None:
    """If this fails: python tools/make_openapi.py, then npm ci && npm run make in page/apitypes."""
    tool = _tool()
    assert tool.FILE.read_text(encoding="utf-8") == tool.text()  # type: ignore[attr-defined]


def test_the_types_name_every_path_of_the_document() -> None:
    """The types are made by another program; that they were made anew is seen by their paths and schemas."""
    import json

    document = json.loads(_tool().FILE.read_text(encoding="utf-8"))  # type: ignore[attr-defined]
    types = TYPES.read_text(encoding="utf-8")
    assert set(re.findall(r'^    "(/api[^"]*)": \{', types, re.M)) == set(document["paths"])
    schemas = types[types.index("    schemas: {") :]
    named = set(re.findall(r"^        (\w+): (?:\{|[^;]+;)$", schemas[: schemas.index("\n    };")], re.M))
    assert named == set(document["components"]["schemas"])
    for name, schema in document["components"]["schemas"].items():
        block = re.search(rf"^        {name}: \{{\n(.*?)^        \}}", schemas, re.M | re.S)
        if "properties" in schema:
            assert block is not None
            fields = set(re.findall(r"^            (\w+)\??:", block[1], re.M))
            assert fields == set(schema["properties"]), name


def test_findings_and_answers_come_over_whole() -> None:
    for model, source in ((shown.Finding, finding.Finding), (shown.Answer, finding.Answer)):
        assert list(model.model_fields) == [field.name for field in dataclasses.fields(source)]
