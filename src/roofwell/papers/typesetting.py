"""Typesetting: a template of ours and a paper's finished strings to PDF bytes. The one importer of typst.

Only the shipped fonts are used and the date is the job's, so the same paper has the same bytes on every
machine. All words of a person reach the template as data and are never read as markup.
"""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Mapping
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from roofwell.errors import InternalError


def typeset(template: Traversable, data: Mapping[str, Any]) -> bytes:
    """Return the PDF of a template with its data.

    Raises
    ------
    InternalError
        ``paper-warning`` if the typesetter warns, ``paper-failed`` if it cannot set the paper.
    """
    import typst

    fonts = resources.files("roofwell.papers") / "fonts"
    text = json.dumps(data, ensure_ascii=False, allow_nan=False)
    with resources.as_file(fonts) as folder, resources.as_file(template) as path:
        try:
            pdf, warnings = typst.compile_with_warnings(
                path,
                sys_inputs={"data": text},
                ignore_system_fonts=True,
                font_paths=[folder],
                format="pdf",
            )
        except typst.TypstError as error:
            raise InternalError(f"a paper could not be set: {error}", code="paper-failed") from error
    if warnings:
        words = "; ".join(str(getattr(warning, "message", warning)) for warning in warnings)
        raise InternalError(f"the typesetter warned: {words}", code="paper-warning")
    if not isinstance(pdf, bytes):
        raise InternalError("the typesetter returned no single document", code="paper-failed")
    return pdf


def measure(template: Traversable, data: Mapping[str, Any], label: str) -> list[float]:
    """Return the figures that a template notes under a label once it is laid out, in the order of the pages.

    Raises
    ------
    InternalError
        ``paper-failed`` if the paper cannot be laid out.
    """
    import typst

    fonts = resources.files("roofwell.papers") / "fonts"
    text = json.dumps(data, ensure_ascii=False, allow_nan=False)
    with resources.as_file(fonts) as folder, resources.as_file(template) as path:
        try:
            found = typst.query(
                path,
                f"<{label}>",
                field="value",
                sys_inputs={"data": text},
                ignore_system_fonts=True,
                font_paths=[folder],
            )
        except typst.TypstError as error:
            raise InternalError(f"a paper could not be laid out: {error}", code="paper-failed") from error
    return [float(value) for value in json.loads(found)]


def write_whole(path: Path, content: bytes) -> None:
    """Write a file whole or not at all: a reader never sees half of one."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(name, 0o644)
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
