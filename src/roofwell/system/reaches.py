"""Which part of a gutter, and of its roof, drains to which downspout: reaches, their arms and their valleys."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from roofwell.job import model
from roofwell.system.scheme import Arm, Valley


@dataclass(frozen=True, slots=True)
class Reach:
    """The roof that one downspout of a gutter drains, m², and the arms that bring its water."""

    area_m2: float
    length_m: float
    arms: tuple[Arm, ...]


def shares(job: model.Job, spouts: Sequence[str]) -> dict[str, float]:
    """Split one gutter between its downspouts: given shares first, the rest in equal parts."""
    given = {id: share.value_si for id in spouts if (share := job.downspouts[id].share) is not None}
    open_ones = [id for id in spouts if id not in given]
    rest = max(0.0, 1 - sum(given.values())) / len(open_ones) if open_ones else 0.0
    return {id: given.get(id, rest) for id in spouts}


def reaches(
    job: model.Job, gutter: model.Gutter, spouts: Sequence[str], area_m2: float, pitch_m_m: float | None
) -> dict[str, Reach]:
    """Return the reach of each downspout of a gutter that takes ``area_m2`` of roof.

    Where every outlet's place along the gutter is given, the divides stand halfway between neighbors, or where
    given shares put them; a valley's roof then goes where the valley stands. Where a place is left out, each
    outlet is taken to stand at one end of its reach (the longest way for the water) and a valley at the end of
    it that costs most.
    """
    length = gutter.length.value_si if gutter.length is not None else 0.0
    places = {id: along.value_si for id in spouts if (along := job.downspouts[id].along) is not None}
    valleys = [
        Valley(
            valley.at.value_si,
            valley.plan_area.value_si,
            valley.pitch.value_si if valley.pitch is not None else pitch_m_m,
            valley.splash_guard.value_si if valley.splash_guard is not None else 0.0,
        )
        for valley in gutter.valleys
    ]
    poured = sum(valley.area_m2 for valley in valleys)
    if poured > area_m2 > 0:  # no valley brings more than the whole roof
        valleys = [
            Valley(v.at_m, v.area_m2 * area_m2 / poured, v.pitch_m_m, v.splash_guard_m) for v in valleys
        ]
        poured = area_m2
    if length > 0 and len(places) == len(spouts):
        return _placed(job, spouts, length, places, area_m2, valleys)
    out = {}
    for id, share in shares(job, spouts).items():
        part = tuple(
            Valley(
                _from_far_end(v.at_m, length, len(spouts)), v.area_m2 * share, v.pitch_m_m, v.splash_guard_m
            )
            for v in valleys
        )
        arm = Arm(length * share, max(0.0, (area_m2 - poured) * share), part)
        out[id] = Reach(area_m2 * share, length * share, (arm,))
    return out


def _from_far_end(at_m: float, length_m: float, spouts: int) -> float:
    """Where a valley pours in, from the far end, while the outlet's own end is not known: the costlier way."""
    return min(at_m, max(0.0, length_m - at_m)) if spouts == 1 else 0.0


def _placed(
    job: model.Job,
    spouts: Sequence[str],
    length: float,
    places: dict[str, float],
    area: float,
    valleys: Sequence[Valley],
) -> dict[str, Reach]:
    order = sorted(spouts, key=lambda id: places[id])
    at = [min(places[id], length) for id in order]
    given = any(job.downspouts[id].share is not None for id in order)
    split = shares(job, order)
    divides = [0.0]
    for i in range(1, len(order)):
        halfway = 0.5 * (at[i - 1] + at[i])
        wanted = sum(split[id] for id in order[:i]) * length if given else halfway
        divides.append(min(max(wanted, at[i - 1]), at[i]))
    divides.append(length)
    poured = sum(valley.area_m2 for valley in valleys)
    out = {}
    for i, id in enumerate(order):
        low, high, here = divides[i], divides[i + 1], at[i]
        last = i + 1 == len(order)
        inside = [v for v in valleys if low <= v.at_m < high or (last and v.at_m >= high)]
        brought = sum(valley.area_m2 for valley in inside)
        even = (area - poured) * (high - low) / length
        if given:
            even = max(0.0, split[id] * area - brought)
        arms = []
        for end, sign in ((low, 1.0), (high, -1.0)):
            reach = abs(here - end)
            part = [v for v in inside if (v.at_m - here) * sign < 0 or (v.at_m == here and sign > 0)]
            if reach < 1e-6 and not part:
                continue
            arms.append(
                Arm(
                    max(reach, 1e-3),
                    even * reach / (high - low) if high > low else 0.0,
                    tuple(
                        Valley(min(abs(v.at_m - end), reach), v.area_m2, v.pitch_m_m, v.splash_guard_m)
                        for v in part
                    ),
                )
            )
        out[id] = Reach(even + brought, high - low, tuple(arms))
    return out
