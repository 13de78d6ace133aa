"""What a file of a job may be: told by what is in it, never by what it is called; pictures are drawn anew.

A picture that is kept is one that Roofwell wrote itself from the picture that came: what else a file may carry (the place
where it was taken, a hidden second file, broken parts that trip a reader) stays behind. How the camera was held is
applied before it goes.
"""

from __future__ import annotations

import io
import re
import struct
import threading
import unicodedata
import warnings
from dataclasses import dataclass
from typing import Literal

from PIL import Image, ImageOps, UnidentifiedImageError

from roofwell.errors import InputError

Kind = Literal["picture", "text", "paper"]

LARGEST_FILE = 25_000_000  # bytes; a phone's photo has 2 to 8 MB, thirty years of hourly rain 6 MB
MOST_PIXELS = 64_000_000  # phones take 12 to 50 megapixels; four bytes each, this is what one picture may cost of memory
LONGEST_SIDE = 2400  # pixels that are kept; on a Letter page 7 in wide that is 340 to the inch
QUALITY = 85
LONGEST_STEP = 80  # letters of a file name; the copies beside a job must fit every disk
MOST_STEPS = 4

_STEP = re.compile(r"[\w()+'&,#@!-](?:[\w.()+'&,#@! -]*[\w()+'&,#@!-])?")
_DEVICES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\.|$)", re.IGNORECASE)
_ENDINGS: dict[str, str] = {
    "jpg": "JPEG", "jpeg": "JPEG", "png": "PNG", "webp": "WEBP",
    "csv": "text", "toml": "text", "txt": "text", "pdf": "PDF",
}  # fmt: skip
_MEDIA = {
    "JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp",
    "text": "text/plain; charset=utf-8", "PDF": "application/pdf",
}  # fmt: skip
_KINDS: dict[str, Kind] = {"text": "text", "PDF": "paper"}
_PHONE_ONLY = (b"ftyphei", b"ftyphev", b"ftypmif", b"ftypmsf", b"ftypavif", b"ftypavis")
_TAKEN = "pictures (.jpg, .png, .webp), texts (.csv, .toml, .txt) and papers (.pdf)"
_one_picture = threading.Lock()  # a picture takes much memory while it is drawn anew


@dataclass(frozen=True, slots=True)
class Fit:
    """A file as it is kept: its name with one kind of slash, and its bytes."""

    name: str
    content: bytes


def kind_of(name: str) -> Kind:
    """Return what a file is, by its name; the content was held against it when it came."""
    return _KINDS.get(_ENDINGS.get(_ending(name), "text"), "picture")


def media_type(name: str) -> str:
    """Return how a file is sent: never as a page."""
    return _MEDIA[_ENDINGS.get(_ending(name), "text")]


def fit(name: str, content: bytes) -> Fit:
    """Return a file as it is kept.

    Parameters
    ----------
    name
        As a document names it, folders with ``/``.
    content
        As it came, at most ``LARGEST_FILE`` bytes.

    Raises
    ------
    InputError
        ``file-name`` for a name that cannot be used; ``file-large``; ``file-kind`` for what is not kept here, or is another
        thing than its name says; ``file-unreadable`` for a picture or text that cannot be read; ``picture-large``.
    """
    name = _fit_name(name)
    if len(content) > LARGEST_FILE:
        raise InputError(
            f"{name} has {len(content) / 1e6:,.0f} MB; a file may have {LARGEST_FILE // 1_000_000} MB",
            code="file-large",
        )
    said, found = _ENDINGS[_ending(name)], _found(content)
    if found == "phone":
        raise InputError(
            f"{name} is in a phone's own format (HEIC) that is not read here; save it as JPEG, or set the camera to JPEG",
            code="file-kind",
        )
    if not content:
        raise InputError(f"{name} is empty", code="file-unreadable")
    if found != said:
        words = {"text": "a text", "other": "nothing that is kept here"}.get(found, f"a {found}")
        raise InputError(f"{name} is {words}, not what its name says; kept are {_TAKEN}", code="file-kind")
    if said == "text":
        _read_text(name, content)
    elif said != "PDF":
        content = _drawn_anew(name, content, said)
    return Fit(name, content)


def _ending(name: str) -> str:
    return name.rpartition(".")[2].lower()


def _fit_name(name: str) -> str:
    name = unicodedata.normalize("NFC", name)
    shown = "".join(c if c.isprintable() else "?" for c in name[:80])
    steps = name.split("/")
    if len(steps) > MOST_STEPS or any(len(step.encode()) > LONGEST_STEP for step in steps):
        why = "it is too long"
    elif not all(_STEP.fullmatch(step) and not _DEVICES.match(step) for step in steps):
        why = "a name is made of letters, digits, blanks and - _ . ( ), and neither begins nor ends with a dot or a blank"
    elif any("." in step for step in steps[:-1]):
        why = "a folder has no dot in its name"
    elif _ending(name) not in _ENDINGS or "." not in steps[-1]:
        raise InputError(f'"{shown}" is not kept here; kept are {_TAKEN}', code="file-kind")
    else:
        return name
    raise InputError(f'"{shown}" cannot be the name of a file: {why}', code="file-name")


def _found(content: bytes) -> str:
    """Say what a file is by how it begins."""
    if content.startswith(b"\xff\xd8\xff"):
        return "JPEG"
    if content.startswith(b"\x89PNG\r\n\x1a\n"):
        return "PNG"
    if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
        return "WEBP"
    if content.startswith(b"%PDF-"):
        return "PDF"
    if any(content[4:].startswith(mark) for mark in _PHONE_ONLY):
        return "phone"
    return "other" if b"\0" in content else "text"


def _read_text(name: str, content: bytes) -> None:
    try:
        content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(
            f"{name} is not a text in UTF-8; save it as plain text", code="file-unreadable"
        ) from None


def _drawn_anew(name: str, content: bytes, kind: str) -> bytes:
    try:
        with _one_picture, warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # our own limit is lower
            with Image.open(io.BytesIO(content), formats=[kind]) as picture:
                wide, high = picture.size
                if wide * high > MOST_PIXELS:
                    raise _too_large(name)
                picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
                return _written(picture, kind)
    except InputError:
        raise
    except Image.DecompressionBombError:
        raise _too_large(name) from None
    except (
        UnidentifiedImageError, OSError, ValueError, SyntaxError, EOFError, IndexError, KeyError, TypeError,
        OverflowError, MemoryError, struct.error,
    ):  # fmt: skip
        # what a broken picture raises while it is read differs by format; all of it means the same to who sent it
        raise InputError(
            f"{name} cannot be read as a picture; open it and save it anew", code="file-unreadable"
        ) from None


def _too_large(name: str) -> InputError:
    most = MOST_PIXELS // 1_000_000
    return InputError(
        f"{name} has more than {most} megapixels, the most that is opened", code="picture-large"
    )


def _written(picture: Image.Image, kind: str) -> bytes:
    upright: Image.Image = ImageOps.exif_transpose(picture)
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
    seen_through = upright.mode in ("RGBA", "LA", "PA") or "transparency" in upright.info
    drawn = upright.convert("RGBA" if seen_through and kind != "JPEG" else "RGB")
    clean = Image.frombytes(drawn.mode, drawn.size, drawn.tobytes())  # nothing but its pixels
    out = io.BytesIO()
    clean.save(out, kind, **({} if kind == "PNG" else {"quality": QUALITY}))
    return out.getvalue()
