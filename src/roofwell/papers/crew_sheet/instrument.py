"""The set-up of the instrument: its height as a sum on the benchmark, from the command line or the survey."""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofwell import tables, units
from roofwell.design.result import Design
from roofwell.errors import InputError
from roofwell.papers.crew_sheet.readings import ReadingStyle
from roofwell.papers.texts import Say


@dataclass(frozen=True, slots=True)
class CrewOptions:
    """What the command line asks of the crew sheets; at most one of the two heights is given, m."""

    instrument_m: float | None = None
    backsight_m: float | None = None
    readings: ReadingStyle | None = None


@dataclass(frozen=True, slots=True)
class Benchmark:
    """The point on which the instrument is set up, and its elevation, m."""

    name: str
    elevation_m: float


@dataclass(frozen=True, slots=True)
class SetUp:
    """One set-up: ``height_m`` is the height of the instrument, None while nobody has shot the benchmark.

    ``origin`` says in words where the height comes from, or what is missing.
    """

    height_m: float | None
    benchmark: Benchmark | None
    origin: str

    @property
    def rod_m(self) -> float | None:
        """What the rod on the benchmark reads, m."""
        if self.height_m is None or self.benchmark is None:
            return None
        return self.height_m - self.benchmark.elevation_m


def benchmark(design: Design) -> Benchmark | None:
    """Return the job's benchmark; None where none is named or its elevation is not known."""
    survey = design.job.survey
    name = survey.benchmark or (survey.readings[0].point if survey.readings else None)
    if name is None:
        return None
    book = design.survey.level_book
    known = {shot.id: shot.elevation_m for shot in design.survey.shots}
    if book is not None:
        known |= book.elevation_m
    given = survey.benchmark_elevation
    level = known.get(name, given.value_si if given is not None else None)
    return None if level is None or not math.isfinite(level) else Benchmark(name, level)


def set_up(design: Design, options: CrewOptions, levels_m: tuple[float, ...]) -> SetUp:
    """Return the set-up that the sheets are made for.

    Parameters
    ----------
    levels_m
        Every level that is to be shot; one that a rod cannot reach from the instrument makes it useless.

    Raises
    ------
    InputError
        ``crew-no-benchmark`` for a backsight without a benchmark; ``crew-instrument-low`` or
        ``crew-instrument-high`` where a given height lets no rod read every level.
    """
    mark = benchmark(design)
    if options.backsight_m is not None:
        if mark is None:
            raise InputError(
                "a rod reading on the benchmark needs one: write survey.benchmark and"
                " survey.benchmark_elevation, or give the height of the instrument with --instrument",
                code="crew-no-benchmark",
            )
        height = mark.elevation_m + options.backsight_m
        _within_reach(height, levels_m, design)
        return SetUp(height, mark, "as read on site")
    if options.instrument_m is not None:
        _within_reach(options.instrument_m, levels_m, design)
        return SetUp(options.instrument_m, mark, "as given")
    return _of_the_survey(design, mark, levels_m)


def _of_the_survey(design: Design, mark: Benchmark | None, levels_m: tuple[float, ...]) -> SetUp:
    book = design.survey.level_book
    if mark is None:
        return SetUp(None, None, "No benchmark is named: choose one that cannot move, and write it down.")
    if book is None or not book.height_of_instrument_m:
        return SetUp(None, mark, f"No instrument was set up yet: shoot {mark.name} and fill in the sum.")
    name, height = list(book.height_of_instrument_m.items())[-1]
    if any(height <= level for level in levels_m):
        return SetUp(
            None, mark, f"Set-up {name} of the survey stands too low for this work: shoot {mark.name} anew."
        )
    return SetUp(height, mark, f"set-up {name} of the survey")


def _within_reach(height_m: float, levels_m: tuple[float, ...], design: Design) -> None:
    if not levels_m:
        return
    say = Say(design.survey.style)
    high, low = max(levels_m), min(levels_m)
    rod = tables.limit("rod-longest", design.survey.style)
    if height_m <= high:
        raise InputError(
            f"the instrument at {say.elevation(height_m)} stands below {say.elevation(high)}, which is to be"
            " shot; --instrument is its elevation, --backsight the rod reading on the benchmark",
            code="crew-instrument-low",
        )
    if height_m - low > rod.value_si:
        raise InputError(
            f"the instrument at {say.elevation(height_m)} stands {say.distance(height_m - low)} over"
            f" {say.elevation(low)}, the lowest level to be shot; no rod is longer than {rod.text}",
            code="crew-instrument-high",
        )


def read_height(text: str, option: str) -> float:
    """Return a typed height in m; raises ``InputError`` where it is no length."""
    try:
        value = units.parse(text, units.Dimension.LENGTH).value_si
    except InputError as error:
        raise InputError(f"{option}: {error.message}", code=error.code) from None
    if value <= 0:
        raise InputError(f"{option}: {text} is not above zero", code="crew-height")
    return value
