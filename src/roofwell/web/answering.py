"""Nine answers for a document as it stands on the page: read, designed; a newer edit stops the older.

One thread designs; what a page asks for while it is busy replaces what that page asked for before. What was designed last
is kept for a while: the storm, what lies beyond and the papers of the same document need no second search.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
import threading
from collections import OrderedDict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Generic, TypeVar

from roofwell.design import AtOnce, Design, Standing, at_once, look_further, stand
from roofwell.design.drawn_together import drawn_together
from roofwell.design.further import Part
from roofwell.design.mend_words import MendRow, Tried
from roofwell.design.mends import mends
from roofwell.errors import InputError
from roofwell.job import Reading
from roofwell.job.lines import Lines
from roofwell.job.model import Job
from roofwell.job.problems import Problem
from roofwell.job.reading import read, read_text
from roofwell.job.recover import recover
from roofwell.papers import Paper
from roofwell.store import Store
from roofwell.web.questions import Look, Questions

KEPT = 4  # designs; one holds some megabytes of rain
T = TypeVar("T")
_RAIN: dict[str, Any] = {"table": None, "record": None, "depths": ()}


@dataclass(frozen=True, slots=True)
class Stood:
    """A document designed; ``problems``: rain files that it names and that cannot be used, beside what reading found."""

    standing: Standing | None
    problems: tuple[Problem, ...] = ()


class _Kept(Generic[T]):
    """What was made last, by its mark."""

    def __init__(self) -> None:
        self._values: OrderedDict[str, T] = OrderedDict()
        self._lock = threading.Lock()

    def recall(self, key: str) -> T | None:
        with self._lock:
            if key in self._values:
                self._values.move_to_end(key)
            return self._values.get(key)

    def remember(self, key: str, value: T) -> None:
        with self._lock:
            self._values[key] = value
            while len(self._values) > KEPT:
                self._values.popitem(last=False)


@dataclass(slots=True)
class Answering:
    """Designs documents one at a time. ``store`` has the files that a job names."""

    store: Store
    _folders: dict[tuple[str, ...], Path] = field(default_factory=dict)
    _busy: threading.Lock = field(default_factory=threading.Lock)
    _laying: threading.Lock = field(default_factory=threading.Lock)
    questions: Questions = field(default_factory=Questions)
    _root: Path = field(default_factory=lambda: Path(tempfile.mkdtemp(prefix="roofwell-files-")))
    _stood: _Kept[Stood] = field(default_factory=_Kept)
    _before: _Kept[Standing] = field(default_factory=_Kept)  # by page and job
    _whole: _Kept[Design] = field(default_factory=_Kept)
    _drawn: _Kept[Design] = field(default_factory=_Kept)
    _papers: _Kept[bytes] = field(default_factory=_Kept)
    _versions: _Kept[str] = field(default_factory=_Kept)

    def document(self, job: str, number: int) -> str:
        """Return the text of a version; a version never changes, so the one that a page edits is read once."""
        key = f"{job} {number}"
        text = self._versions.recall(key)
        if text is None:
            text = self.store.version(job, number).document
            self._versions.remember(key, text)
        return text

    def reading(self, job: str, document: str, number: int | None = None) -> Reading:
        """Read the text of a document beside the files of its job; with ``number``, as they stood with that version.

        A text that is no TOML is read as far as it can be.
        """
        found = recover(document)
        if found is None or not found.problems:
            return read_text(document, folder=self.folder(job, number))
        reading = read_text(found.text, folder=self.folder(job, number))
        return replace(reading, problems=(*found.problems, *reading.problems))

    def read(self, job: str, document: Mapping[str, Any], lines: Lines) -> Reading:
        """Read a document that was parsed already, beside the files of its job."""
        return read(document, lines=lines, folder=self.folder(job))

    def stand(self, reading: Reading, *, page: str, progress: Look | None = None, turn: int = 0) -> Stood:
        """Design what could be read, without what lies beyond the design storm.

        A rain file that cannot be used is told among the problems and counts as missing. ``turn``: the page's own count of
        its questions.

        Raises
        ------
        Outdated
            If the same page asks again before this is done.
        InputError
            If another file that the job names cannot be used.
        """
        return self._standing(reading, self.questions.asking(page, key_of(reading), progress, turn=turn))

    def live(
        self,
        reading: Reading,
        *,
        page: str,
        moving: bool = False,
        progress: Look | None = None,
        turn: int = 0,
    ) -> Iterator[AtOnce | Stood]:
        """Yield the answer to an edit at once, with the sizes of before it, where there are any; then the whole answer.

        ``moving``: something is still being dragged; the whole answer is left out. Raises as ``stand``.
        """
        look = self.questions.asking(page, key_of(reading), progress, turn=turn)
        known = self._stood.recall(key_of(reading)) is not None
        mine = f"{page} {reading.folder}"  # of this job, with the files it has
        before = self._before.recall(mine)
        if reading.job is not None and before is not None and (moving or not known):
            with self._busy:
                look("")
                try:
                    once = at_once(reading.job, before, folder=reading.folder, document=reading.document)
                except InputError:  # told with the whole answer, which leaves out what cannot be used
                    once = None
            look("")
            if once is not None:
                yield once
        if not moving:
            stood = self._standing(reading, look)
            if stood.standing is not None:
                self._before.remember(mine, stood.standing)
            yield stood

    def _standing(self, reading: Reading, look: Look) -> Stood:
        if reading.job is None:
            return Stood(None)
        key = key_of(reading)
        with self._busy:
            look("")
            kept = self._stood.recall(key)
            if kept is None:
                kept = _stand(reading, look)
                self._stood.remember(key, kept)
            return kept

    def design(self, reading: Reading, *, page: str, beyond: bool = True, turn: int = 0) -> Design | None:
        """Design what could be read; None where nothing could. ``beyond``: with what lies beyond the design storm."""
        standing = self.stand(reading, page=page, turn=turn).standing
        if standing is None or not beyond:
            return standing.design if standing is not None else None
        *_, (_, whole) = self.further(reading, page=page)
        return whole

    def further(
        self, reading: Reading, *, page: str, progress: Look | None = None
    ) -> Iterator[tuple[Part, Design]]:
        """Yield the Design with each part that lies beyond; all of it at once where it is known.

        Raises
        ------
        Outdated
            If the page asks for answers, or for this again, meanwhile.
        """
        key, look = key_of(reading), self.questions.looking(page, "beyond", progress)
        if reading.job is None:
            return
        whole = self._whole.recall(key)
        if whole is not None:
            yield "years", whole
            yield "beyond", whole
            return
        stood = self._stood.recall(key) or self.stand(reading, page=f"{page} stands", progress=look)
        assert stood.standing is not None
        for part, design in look_further(stood.standing, look):
            look("")
            if part == "beyond":
                self._whole.remember(key, design)
            yield part, design

    def chance(self, reading: Reading, *, page: str, progress: Look | None = None) -> Design | None:
        """Return the whole Design with its chance drawn with all unknowns together; None where nothing could be read.

        It is kept by itself: a paper is the same whether or not somebody drew.

        Raises
        ------
        Outdated
            If the page asks for another document's answers, or for this again, meanwhile; it stops within a sample.
        """
        key, look = key_of(reading), self.questions.longer(page, "chance", key_of(reading), progress)
        if reading.job is None:
            return None
        drawn = self._drawn.recall(key)
        if drawn is None:
            *_, (_, whole) = self.further(reading, page=f"{page} to draw", progress=look)
            drawn = drawn_together(whole, progress=look)
            self._drawn.remember(key, drawn)
        return drawn

    def mends(
        self, reading: Reading, question: int, *, page: str, progress: Look | None = None
    ) -> Iterator[MendRow | Tried]:
        """Yield what would mend one answer, each as it is found, and last how much was tried.

        Raises
        ------
        Outdated
            As for ``chance``; a change that is being tried is given up.
        """
        look = self.questions.longer(page, "mends", key_of(reading), progress)
        if reading.job is None:
            return
        standing = self.stand(reading, page=f"{page} to mend", progress=look).standing
        assert standing is not None

        def again(changed: Reading) -> Design | None:
            found = _stand(changed, lambda _: look("")).standing if changed.job is not None else None
            return found.design if found is not None else None

        yield from mends(reading, standing.design, question, again, progress=look)

    def paper(self, reading: Reading, paper: Paper, design: Design) -> bytes:
        """Return a paper of a document with its whole Design; made once while it is fresh."""
        key = f"{paper.name} {key_of(reading)}"
        content = self._papers.recall(key)
        if content is None:
            content = paper.make(design)
            self._papers.remember(key, content)
        return content

    def folder(self, job: str, number: int | None = None) -> Path:
        """Return a folder that holds the files of a job: as they are, or as they stood last with a version."""
        files = self.store.files(job, number)
        state = (job, *(f"{file.name}:{file.sha256}" for file in files))
        with self._laying:
            folder = self._folders.get(state)
            if folder is None:
                folder = Path(tempfile.mkdtemp(dir=self._root))
                for file in files:
                    self._lay(job, file.sha256, folder / file.name.replace("\\", "/"))
                self._folders[state] = folder
            return folder

    def _lay(self, job: str, sha256: str, path: Path) -> None:
        """Put a file where a design looks for it; the bytes of one content are written once."""
        once = self._root / sha256
        if not once.exists():
            once.write_bytes(self.store.content(job, sha256))
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            os.link(once, path)
        except OSError:  # a disk that knows no links
            shutil.copyfile(once, path)

    def close(self) -> None:
        """Take the copies of the files away."""
        shutil.rmtree(self._root, ignore_errors=True)


def _stand(reading: Reading, look: Look) -> Stood:
    """Design what could be read; a rain file that turns out to be none is left out of it."""
    job, problems = reading.job, list[Problem]()
    assert job is not None
    while True:
        try:
            standing = stand(job, folder=reading.folder, document=reading.document, progress=look)
        except InputError as error:
            leaf, left = _without_rain(job, error)
            if left is None:
                raise
            job = left
            problems.append(leaf)
        else:
            return Stood(standing, tuple(problems))


def _without_rain(job: Job, error: InputError) -> tuple[Problem, Job | None]:
    """Return what is wrong with the rain that a refusal names (``rain.record: gauge.csv: ...``), and the job without it."""
    path, _, rest = error.message.partition(": ")
    read, _, message = rest.partition(": ")
    problem = Problem(path, None, read, message or rest, error.code)
    section, _, leaf = path.partition(".")
    if section != "rain" or leaf not in _RAIN or getattr(job.rain, leaf) == _RAIN[leaf]:
        return problem, None
    return problem, job.model_copy(update={"rain": job.rain.model_copy(update={leaf: _RAIN[leaf]})})


def key_of(reading: Reading) -> str:
    """Return a mark of what is designed: the document with the files beside it."""
    return hashlib.sha256(f"{reading.folder}\n{reading.document!r}".encode()).hexdigest()
