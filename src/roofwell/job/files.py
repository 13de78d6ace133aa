"""Files that a job names: beside it, there, and the ones that were meant."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path, PurePosixPath, PureWindowsPath

from roofwell import tables
from roofwell.errors import InputError
from roofwell.job.lines import KeyPath
from roofwell.job.model import Job
from roofwell.job.problems import Fault

_SHA256 = re.compile(r"[0-9a-fA-F]{64}")
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


def outside(name: str) -> str | None:
    """Say why a file name may not be used in a job, ``None`` if it may: it stays in the job's folder."""
    windows = PureWindowsPath(name)
    if not name.strip() or "\0" in name:
        return "a file name is needed"
    if PurePosixPath(name).is_absolute() or windows.drive or windows.root:
        return "name the file as seen from the job's own folder, not from the root of the disk"
    if ".." in windows.parts:
        return "the file must lie in the job's own folder or in a folder inside it"
    return None


def beside(name: str, folder: Path) -> Path | None:
    """Return the file called ``name`` inside ``folder``, ``None`` if it is not there or leads out of it."""
    if outside(name) is not None:
        return None
    try:
        path = (folder / PureWindowsPath(name).as_posix()).resolve()
        return path if path.is_relative_to(folder.resolve()) and path.is_file() else None
    except (OSError, ValueError, RuntimeError):
        return None


def read_text(folder: Path | None, name: str) -> str:
    """Return the text of a file that a job names.

    Raises
    ------
    InputError
        ``file-missing`` if there is no such file inside the job's folder; ``file-unreadable`` if it cannot
        be opened; ``not-text`` if it is no UTF-8 text.
    """
    path = beside(name, folder) if folder is not None else None
    if path is None:
        raise InputError(f'there is no file "{name}" beside the job', code="file-missing")
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(f'"{name}" is not a text in UTF-8; save it as plain text', code="not-text") from None
    except OSError as error:
        raise InputError(f'"{name}" cannot be opened: {error.strerror}', code="file-unreadable") from None


def sha256_of(path: Path) -> str:
    """Return the SHA-256 of a file, as hexadecimal digits."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def shipped_rules(name: str) -> Traversable | None:
    """Return the rule file that comes with Roofwell under the id ``name``, ``None`` if there is none."""
    if not _ID.fullmatch(name):
        return None
    file = shipped_rules_folder() / f"{name}.toml"
    return file if file.is_file() else None


def shipped_rules_folder() -> Traversable:
    """Return the folder of the rule files that come with Roofwell."""
    return resources.files(tables) / "rules"


def named_files(job: Job) -> tuple[str, ...]:
    """Return the names of the files beside a job that it names: rules that are not shipped, rain, prices, pictures."""
    rules = job.place.rules
    own_rules = rules if rules is not None and shipped_rules(rules) is None else None
    names = [own_rules, job.rain.table, job.rain.record, job.prices.file]
    names += [attachment.file for attachment in job.attachments.values()]
    return tuple(dict.fromkeys(name for name in names if name is not None and outside(name) is None))


def file_faults(job: Job, folder: Path | None) -> Iterator[Fault]:
    """Find files outside the job's folder, missing (where ``folder`` is known) or not the ones meant."""
    rain = job.rain
    yield from _file(("rain", "table"), rain.table, folder, rain.table_sha256)
    yield from _file(("rain", "record"), rain.record, folder, rain.record_sha256)
    yield from _file(("prices", "file"), job.prices.file, folder)
    if job.place.rules is not None and shipped_rules(job.place.rules) is None:
        yield from _file(("place", "rules"), job.place.rules, folder)
    for label, attachment in job.attachments.items():
        yield from _file(("attachments", label, "file"), attachment.file, folder, attachment.sha256)


def _file(path: KeyPath, name: str | None, folder: Path | None, sha256: str | None = None) -> Iterator[Fault]:
    if name is None:
        return
    sum_path: KeyPath = (*path[:-1], "sha256" if path[0] == "attachments" else f"{path[-1]}_sha256")
    reason = outside(name)
    if reason is not None:
        yield Fault(path, reason, "file-outside", (path,))
        return
    if sha256 is not None and not _SHA256.fullmatch(sha256):
        yield Fault(sum_path, "a SHA-256 has 64 digits, 0 to 9 and a to f", "not-a-checksum", (sum_path,))
        sha256 = None
    if folder is None:
        return
    found = beside(name, folder)
    if found is None:
        yield Fault(path, "there is no such file beside the job", "file-missing", (path,))
        return
    try:
        actual = sha256_of(found) if sha256 is not None else None
    except OSError:
        yield Fault(path, "the file cannot be read", "file-unreadable", (path,))
        return
    if sha256 is not None and actual != sha256.lower():
        message = f"{name} is not the file that was meant: its SHA-256 begins with {str(actual)[:12]}"
        yield Fault(sum_path, message, "file-changed", (path, sum_path))
