"""Look the pinned packages up among known weaknesses: Python's with pip-audit (OSV), the page's with npm.

Exit 1: a weakness that nobody has accepted in tools/audit-accepted.toml. A service that does not answer is told and is no
failure, so that CI passes on a machine without it; with --must it is one (exit 2).
"""

from __future__ import annotations

import argparse
import datetime
import json
import re
import subprocess
import sys
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
SHIPPED = "requirements.lock"
TESTS = "requirements-test.lock"  # holds all of the other: one question for both
LONGEST_S = 300


@dataclass(frozen=True)
class Weakness:
    """One known weakness of one package; `names` are all that it goes by."""

    package: str
    version: str
    names: tuple[str, ...]
    says: str
    mended_in: str
    shipped: bool


class NotLookedUp(Exception):
    """The service that would know did not answer."""


@dataclass(frozen=True)
class Looked:
    packages: int
    found: tuple[Weakness, ...]


def _said_by(command: list[str], folder: Path) -> dict[str, Any]:
    """Run a command that prints one JSON object, whatever it exits with."""
    try:
        ran = subprocess.run(
            command, cwd=folder, capture_output=True, text=True, timeout=LONGEST_S, check=False
        )
    except FileNotFoundError:
        raise NotLookedUp(f"{command[0]} is not installed") from None
    except subprocess.TimeoutExpired:
        raise NotLookedUp(f"no answer in {LONGEST_S} s") from None
    try:
        said = json.loads(ran.stdout)
    except json.JSONDecodeError:
        lines = [line for line in ran.stderr.splitlines() if line.strip()]
        raise NotLookedUp(lines[-1][:200] if lines else f"exit {ran.returncode}, and nothing said") from None
    if not isinstance(said, dict):
        raise NotLookedUp("the answer is no table")
    return said


def python_packages(osv: str | None = None, root: Path = ROOT) -> Looked:
    """Look up every package of the locks; those of the shipped one are marked."""
    own = [sys.executable, "-m", "pip_audit", "--disable-pip", "--require-hashes", "-r", TESTS]
    how = [
        "--vulnerability-service",
        "osv",
        "--format",
        "json",
        "--progress-spinner",
        "off",
        "--timeout",
        "15",
    ]
    said = _said_by(own + how + (["--osv-url", osv] if osv else []), root)
    text = (root / SHIPPED).read_text(encoding="utf-8")
    shipped = {name.lower() for name in re.findall(r"(?m)^([A-Za-z0-9._-]+)==", text)}
    packages = said["dependencies"]
    return Looked(
        len(packages),
        tuple(
            Weakness(
                package["name"],
                package.get("version", ""),
                (known["id"], *known.get("aliases", ())),
                known.get("description") or "",
                ", ".join(known.get("fix_versions", ())),
                package["name"].lower() in shipped,
            )
            for package in packages
            for known in package.get("vulns", ())
        ),
    )


def page_packages(folder: str, registry: str | None = None, root: Path = ROOT) -> Looked:
    """Look up every package of a folder's npm lock; those that only build and test the page are marked."""
    here = root / folder
    said = _said_by(["npm", "audit", "--json", *(["--registry", registry] if registry else [])], here)
    if "vulnerabilities" not in said:
        raise NotLookedUp(str(said.get("message") or said.get("error") or "no list in the answer")[:200])
    locked = json.loads((here / "package-lock.json").read_text(encoding="utf-8"))["packages"]
    return Looked(sum(1 for name in locked if name), tuple(_of_npm(said["vulnerabilities"], locked)))


def _of_npm(told: Mapping[str, Any], locked: Mapping[str, Any]) -> Iterator[Weakness]:
    for name, of_package in told.items():
        for known in of_package["via"]:
            if isinstance(known, str):
                continue  # by a package that it needs, which is told by itself
            for node in of_package.get("nodes", ()):
                package = locked.get(node, {})
                yield Weakness(
                    name,
                    package.get("version", ""),
                    (known["url"].rstrip("/").rsplit("/", 1)[-1],),
                    known["title"],
                    f"a version outside {known['range']}",
                    not package.get("dev", False),
                )


def accepted(file: Path, today: datetime.date) -> dict[str, str]:
    """Read what was looked at and let stand: a table by a weakness's name, each with `why` and `until`, a date."""
    rows = tomllib.loads(file.read_text(encoding="utf-8")) if file.exists() else {}
    for name, row in rows.items():
        if not row.get("why") or not isinstance(row.get("until"), datetime.date):
            raise SystemExit(f"{file.name}: [{name}] takes `why`, in words, and `until`, a date")
    return {name: row["why"] for name, row in rows.items() if row["until"] >= today}


def main(arguments: list[str] | None = None) -> int:
    """Print what is known of each lock; return the exit code."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--must", action="store_true", help="a service that does not answer is a failure")
    parser.add_argument("--osv", help="address to ask of Python's packages, instead of pip-audit's own")
    parser.add_argument("--npm-registry", help="address to ask of the page's packages, instead of npm's own")
    parser.add_argument("--accepted", type=Path, default=ROOT / "tools" / "audit-accepted.toml")
    asked = parser.parse_args(arguments)
    let_stand = accepted(asked.accepted, datetime.date.today())
    questions: dict[str, Callable[[], Looked]] = {
        TESTS: partial(python_packages, asked.osv),
        "page/package-lock.json": partial(page_packages, "page", asked.npm_registry),
        "page/apitypes/package-lock.json": partial(page_packages, "page/apitypes", asked.npm_registry),
    }
    bad = missing = False
    for lock, ask in questions.items():
        try:
            looked = ask()
        except NotLookedUp as reason:
            missing = True
            print(f"{lock}: NOT LOOKED UP: {reason}")
            continue
        print(
            f"{lock}: {looked.packages} packages looked up; known weaknesses: {len(looked.found) or 'none'}"
        )
        for one in looked.found:
            why = next((let_stand[name] for name in one.names if name in let_stand), "")
            bad = bad or not why
            where = "shipped" if one.shipped else "build and tests only"
            says = one.says.strip().splitlines()[0][:160] if one.says.strip() else ""
            mended = f"; mended in {one.mended_in}" if one.mended_in else ""
            print(f"  {one.package} {one.version} ({where}): {', '.join(one.names)}: {says}{mended}")
            if why:
                print(f"    let stand: {why}")
    return 1 if bad else 2 if missing and asked.must else 0


if __name__ == "__main__":
    raise SystemExit(main())
