"""A well's store as the kernel takes it after years of sediment: the amounts that reach it, the bed, the curves swapped."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from roofwell.physics import linked, network
from roofwell.physics.well.ageing import AgedCurve, Bed, ThroughFloor, aged_curve, settled_m3
from roofwell.system.debris_facts import Debris, DebrisAmount, Span, total_m3_year
from roofwell.system.scheme import Scheme, SoakageModel, Well
from roofwell.tables.ageing import figure
from roofwell.tables.fabrics import filter_rows

Stores = Sequence[network.Store]
MILD, BEST, HARD = 0, 1, 2


@dataclass(frozen=True, slots=True)
class _Amounts:
    """What comes to lie in a well in a year, m³: what seals, what else does not rot, what rots."""

    silt: Span
    grains: Span
    litter: Span

    @classmethod
    def of(cls, amounts: Iterable[DebrisAmount]) -> _Amounts:
        listed = tuple(amounts)
        return cls(
            total_m3_year(a for a in listed if a.kind == "silt"),
            total_m3_year(a for a in listed if a.mineral and a.kind != "silt"),
            total_m3_year(a for a in listed if not a.mineral),
        )


@dataclass(frozen=True, slots=True)
class Sediment:
    """What a well gets in a year before and after its basin is full, m³, at one end of what is known."""

    silt: tuple[float, float]
    grains: tuple[float, float]
    litter: tuple[float, float]
    full_after_years: float
    decay_a_year: float
    conductivity_m_s: float
    fabric_s: float

    def bed(self, years: float) -> Bed:
        """Return what lies in the well after some years."""

        def lies(pair: tuple[float, float], decay: float = 0.0) -> float:
            return settled_m3(
                yearly_m3=pair[0],
                later_m3=pair[1],
                changes_after_years=self.full_after_years,
                years=years,
                decay_a_year=decay,
            )

        silt = lies(self.silt)
        return Bed(silt + lies(self.grains) + lies(self.litter, self.decay_a_year), silt)


def _sediment(well: Well, first: _Amounts, later: _Amounts, full_after: Span | None, end: int) -> Sediment:
    """At the mild end little comes, rots fast and conducts well, and the basin lasts long; the hard end is the opposite.

    A layer resists as its thickness over its conductivity; a rare end of the one seldom meets that of the other (`Span.by`).
    """

    def at(span: Span) -> float:
        return (span.low, span.best, span.high)[end]

    low, best, high = figure("silt-conductivity")
    comes = later.silt if full_after is not None else first.silt
    resists = comes.by(Span(1.0 / high, 1.0 / best, 1.0 / low))
    conducts = at(comes) / at(resists) if at(resists) > 0.0 else (high, best, low)[end]
    decay = figure("litter-decay")[2 - end]
    fabric_s = 0.0
    if "bottom" in well.geotextile:
        cloth = (
            well.fabric.permittivity_per_s
            if well.fabric is not None
            else filter_rows()[-1].permittivity_per_s
        )
        fabric_s = 1.0 / (cloth * figure("fabric-left")[2 - end])
    years = math.inf
    if full_after is not None:
        years = (full_after.high, full_after.best, full_after.low)[end]
    return Sediment(
        (at(first.silt), at(later.silt)),
        (at(first.grains), at(later.grains)),
        (at(first.litter), at(later.litter)),
        years,
        decay,
        conducts,
        fabric_s,
    )


def through_floor(model: SoakageModel) -> ThroughFloor:
    """Return what of a model's soakage goes through the floor."""
    match model:
        case "three-dimensional":
            return "its share"
        case "sides half, no bottom":
            return "none, walls by height"
        case _:
            return "its own"


def aged_store(
    store: network.Store, well: Well, bed: Bed, sediment: Sediment
) -> tuple[network.Store, AgedCurve]:
    """Return a well over a bed as the kernel takes it, and the curve that it follows; without a bed as it is."""
    below = store.soakage_m3_s if store.soakage_below_m3_s is None else store.soakage_below_m3_s
    curve = aged_curve(
        (store.volume_m3, store.soakage_m3_s, below),
        layers=well.layers,
        bed=bed,
        conductivity_m_s=sediment.conductivity_m_s,
        through_floor=through_floor(well.soakage),
        fabric_s=sediment.fabric_s,
    )
    if curve.lost_m3 <= 0.0:
        return store, curve
    at = curve.volume_m3 + curve.lost_m3
    brings = store.capacity_m3_s
    made = replace(
        store,
        volume_m3=curve.volume_m3,
        soakage_m3_s=curve.above_m3_s,
        soakage_below_m3_s=curve.below_m3_s,
        capacity_m3_s=None if brings is None else np.interp(at, store.volume_m3, brings),
        empty_m3=min(store.empty_m3, 0.5 * float(curve.volume_m3[-1])),
        stage=None if store.stage is None else network.Stage(curve.volume_m3, well.bottom_m + curve.depth_m),
    )
    return made, curve


def _linked_over_beds(stores: Stores) -> tuple[network.Store, ...]:
    """A link that a bed has covered begins at the bed's top."""
    out = list(stores)
    for j, store in enumerate(stores):
        if store.link is None:
            continue
        ends = [store.stage, stores[store.link.to].stage]
        least = max(float(stage.level_m[0]) for stage in ends if stage is not None)
        if least > store.link.invert_m:
            out[j] = replace(store, link=linked.Link(store.link.to, least))
    return tuple(out)


@dataclass(frozen=True, slots=True)
class ByAge:
    """The wells by their age in years, in the order of the Scheme.

    ``draining``: with the fine sediment alone in them, for the time to empty. Grains and wet litter hold water too, which
    has to leave; a well must not seem to empty sooner because it is full of leaves. ``curves``: what they follow.
    """

    stores: Callable[[float], Stores]
    draining: Callable[[float], Stores]
    curves: Callable[[float], Sequence[AgedCurve]]


def aged_stores(scheme: Scheme, stores: Stores, sediments: Mapping[str, Sediment]) -> ByAge:
    """Return the wells by age as sediment leaves them; ``stores`` are the new ones, joined."""

    def made(years: float, *, silt_alone: bool) -> list[tuple[network.Store, AgedCurve]]:
        out = []
        for store, well in zip(stores, scheme.wells, strict=True):
            bed = sediments[well.id].bed(years)
            lies = Bed(bed.silt_m3, bed.silt_m3) if silt_alone else bed
            out.append(aged_store(store, well, lies, sediments[well.id]))
        return out

    @cache
    def whole(years: float) -> tuple[Stores, Sequence[AgedCurve]]:
        found = made(years, silt_alone=False)
        return _linked_over_beds([store for store, _ in found]), [curve for _, curve in found]

    @cache
    def draining(years: float) -> Stores:
        return _linked_over_beds([store for store, _ in made(years, silt_alone=True)])

    return ByAge(lambda years: whole(years)[0], draining, lambda years: whole(years)[1])


def typed_stores(stores: Stores, share_a_year: float) -> ByAge:
    """Return the wells by age with the soakage that a typed share a year has left of."""

    def at(years: float) -> Stores:
        return [scaled(store, (1.0 - share_a_year) ** years) for store in stores]

    return ByAge(at, at, lambda _: ())


def scaled(store: network.Store, factor: float) -> network.Store:
    """Return a store that soaks ``factor`` times as much at every volume."""
    below = store.soakage_below_m3_s
    return replace(
        store,
        soakage_m3_s=store.soakage_m3_s * factor,
        soakage_below_m3_s=None if below is None else below * factor,
    )


def sediments(scheme: Scheme, debris: Debris, *, never: bool, end: int) -> dict[str, Sediment]:
    """Return what each well gets, basins emptied on time or never, at an end (0 mild, 1 best, 2 hard)."""
    out = {}
    for well in scheme.wells:
        gets = debris.well(well.id)
        first, later = _Amounts.of(gets.on_time), _Amounts.of(gets.never)
        full = gets.full_after_years if never else None
        out[well.id] = _sediment(well, first, later, full, end)
    return out
