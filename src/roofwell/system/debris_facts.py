"""What comes off the roof, what basins keep and what reaches the stone: frozen values; the step stands in ``debris``."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Span:
    """A figure with its range."""

    low: float
    best: float
    high: float

    def __add__(self, other: Span) -> Span:
        return Span(self.low + other.low, self.best + other.best, self.high + other.high)

    def by(self, *others: Span) -> Span:
        """Return the product with others that know nothing of each other: a rare end of one seldom meets that of another.

        The ends lie off the product by the root of the sum of squares of each one's own logarithmic width; where an
        end is 0, it stays 0; where the best is 0, the high end takes the best of the others.
        """
        spans = (self, *others)
        best = math.prod(span.best for span in spans)
        if best <= 0.0:
            return Span(0.0, 0.0, math.prod(s.best if s.best > 0 else s.high for s in spans))
        up = math.sqrt(sum(math.log(span.high / span.best) ** 2 for span in spans))
        if any(span.low <= 0.0 for span in spans):
            return Span(0.0, best, best * math.exp(up))
        down = math.sqrt(sum(math.log(span.best / span.low) ** 2 for span in spans))
        return Span(best * math.exp(-down), best, best * math.exp(up))

    def times(self, factor: float) -> Span:
        """Return the span with each end multiplied; ``factor`` zero or more."""
        return Span(factor * self.low, factor * self.best, factor * self.high)


NOTHING = Span(0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class DebrisAmount:
    """One kind of debris in a year: dry mass, and the room that it takes as it lies, wet.

    ``mineral`` never rots: granules, sand, silt. ``floats``: at first.
    """

    kind: str
    mineral: bool
    floats: bool
    mass_kg_year: Span
    volume_m3_year: Span


def total_kg_year(amounts: Iterable[DebrisAmount]) -> Span:
    """Return the mass of several kinds together."""
    return sum((amount.mass_kg_year for amount in amounts), NOTHING)


def total_m3_year(amounts: Iterable[DebrisAmount]) -> Span:
    """Return the room that several kinds take together."""
    return sum((amount.volume_m3_year for amount in amounts), NOTHING)


@dataclass(frozen=True, slots=True)
class WellDebris:
    """What reaches the stone of one well in a year.

    ``beside_m2``: roof whose water passes no basin. ``from_roof``: what comes down the downspouts, gutter guards counted.
    ``on_time``: what reaches the stone with every basin emptied on time; ``never``: once a basin that nobody empties is
    full, which it is ``full_after_years`` from new (None: no basin on the way).
    """

    well: str
    roof_area_m2: float
    beside_m2: float
    from_roof: tuple[DebrisAmount, ...]
    on_time: tuple[DebrisAmount, ...]
    never: tuple[DebrisAmount, ...]
    full_after_years: Span | None

    def mineral_m3_year(self) -> Span:
        """Return the room that granules, sand and silt take in the stone while basins are emptied on time, m³ a year."""
        return total_m3_year(amount for amount in self.on_time if amount.mineral)


@dataclass(frozen=True, slots=True)
class InRain:
    """A basin in steady rain. ``grain_m``: the smallest that an ideal basin keeps whole; ``kept``: share of each kind that
    this one keeps, as many stirred tanks as it counts for, its jet included. ``jet_m_s`` over the deposit of a sump
    that is due to be emptied; ``rests_m``: smallest grain that it leaves lying, None where it lifts every one."""

    intensity_m_s: float
    flow_m3_s: float
    overflow_rate_m_s: float
    grain_m: float
    kept: tuple[tuple[str, float], ...]
    jet_m_s: float
    rests_m: float | None


@dataclass(frozen=True, slots=True)
class BasinVariant:
    """A basin as it is (``key`` "as it is"), or with one cheap part more; same water, same debris.

    ``floating_kept``: share of the leaves, needles and seeds that it keeps, by room. ``months_to_half``: until half of
    the sump is full; ``sump_m``: its depth below the outlet.
    """

    key: str
    sump_m: float
    keeps: tuple[DebrisAmount, ...]
    past: tuple[DebrisAmount, ...]
    mineral_kept: Span
    floating_kept: Span
    months_to_half: Span


@dataclass(frozen=True, slots=True)
class BasinDebris:
    """What one basin is brought and keeps. ``comes``: after the basins above it; ``others``: what would mend it."""

    basin: str
    comes: tuple[DebrisAmount, ...]
    as_is: BasinVariant
    others: tuple[BasinVariant, ...]
    rains: tuple[InRain, ...]
    half_sump_m3: float
    below_another: str | None = None


@dataclass(frozen=True, slots=True)
class Debris:
    """Debris of the whole system. ``record`` names the gauge record, None where steady rain had to stand in for it;
    ``step_s`` is its step and ``burst`` how much faster than its mean the rain of a step may fall."""

    wells: tuple[WellDebris, ...]
    basins: tuple[BasinDebris, ...]
    record: str | None
    step_s: float
    burst: float
    trees_known: bool

    def well(self, id: str) -> WellDebris:
        """Return the debris of one well."""
        return next(well for well in self.wells if well.well == id)

    def basin(self, id: str) -> BasinDebris | None:
        """Return the debris of one basin, None where no roof leads to it."""
        return next((basin for basin in self.basins if basin.basin == id), None)
