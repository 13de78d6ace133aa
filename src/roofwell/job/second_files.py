"""Reading the files that a job leans on (rule file, price book) through the same sieve as the job."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import lru_cache
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import TypeVar

from roofwell.job.fields import Table
from roofwell.job.lines import KeyPath
from roofwell.job.problems import Fault, Problem, Sieve, plain, problem
from roofwell.job.toml_text import file_text, parse_toml

T = TypeVar("T", bound=Table)
VERSION = 1


def read_second(
    model: type[T],
    file: Path | Traversable,
    *,
    name: str,
    version_key: str,
    faults: Callable[[T], Iterable[Fault]],
) -> tuple[T | None, tuple[Problem, ...]]:
    """Read one file; the paths of its problems begin with ``name``. Never raises for its content."""
    if isinstance(file, Path):
        text, broken = file_text(file)
    else:
        text, broken = file.read_text(encoding="utf-8"), None
    value, problems = (None, (broken,)) if broken is not None else read_text(model, text, version_key, faults)
    return value, tuple(replace(found, path=f"{name}: {found.path}") for found in problems)


@lru_cache(maxsize=32)
def read_text(
    model: type[T], text: str, version_key: str, faults: Callable[[T], Iterable[Fault]]
) -> tuple[T | None, tuple[Problem, ...]]:
    """Read the text of a file whose first line is ``version_key = 1``; kept by the text, for every edit reads it again."""
    document, lines, broken = parse_toml(text)
    if broken is not None:
        return None, (broken,)
    data = plain(document)
    version = data.get(version_key)
    if isinstance(version, bool) or version != VERSION:
        path: KeyPath = (version_key,)
        newer = isinstance(version, (int, float)) and version > VERSION
        message = f'the first line of the file is "{version_key} = {VERSION}"; it says how to read the rest'
        if newer:
            message = f"a newer Roofwell wrote this; this one reads version {VERSION}"
        return None, (problem(data, lines, path, message, f"{version_key}-version"),)
    sieve = Sieve(model, data, lines=lines)
    if sieve.value is not None:
        sieve.refuse(list(faults(sieve.value)))
    return sieve.value, sieve.problems
