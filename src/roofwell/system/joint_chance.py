"""All unknowns at once through the long record: a Latin hypercube with a fixed seed. Loaded only when asked for."""

from __future__ import annotations

import math
import os
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import replace
from functools import partial
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri
from scipy.stats import qmc, rankdata

from roofwell.physics.shares import first_order_shares
from roofwell.system.behaviour import Behaviour, FloatArray
from roofwell.system.beyond_facts import Chance, Joint, Share
from roofwell.system.chance import CHANCES
from roofwell.system.facts import Survey
from roofwell.system.pausing import Pause
from roofwell.system.sampled_years import Sample, SampledYears, sampled_years
from roofwell.system.scheme import Scheme
from roofwell.system.survey import measurement
from roofwell.tables.trials import trial

GROUNDWATER = "soil.seasonal_high_water"
_AT_ONCE = 20
_DIMENSIONS = (
    4  # soil, voids, roof loss, groundwater: always drawn, so that measuring one leaves the others' draws
)
_MOST_THREADS = 8
_LOOK_S = 0.1  # so often who asked is looked at, whether he still waits
T = TypeVar("T")


def with_joint(
    chance: Chance,
    scheme: Scheme,
    survey: Survey,
    behaviour: Behaviour,
    *,
    progress: Callable[[str], None] | None = None,
    year: float = 0.0,
) -> Chance:
    """Return the chance with all unknowns drawn together; the same one where the soil is not tested.

    The soil is lognormal as in ``Chance``; voids and roof loss are even over their ranges, and stay where the job
    measured them; the groundwater is normal about its seasonal high, by how that is known, and left out where it is not;
    the years of the record are drawn again for each sample.

    Parameters
    ----------
    progress
        Called with a few words now and then, and without any ten times a second; where it raises, the work stops within
        one sample. What was being made ready (the first time on a machine it is compiled, for seconds) is left to end by
        itself.
    year
        Age of the well, years, 0 or more: its soakage is less by the share that the job says is lost each year.
    """
    if chance.log_spread is None:
        return chance
    names = {swing.what for swing in chance.swings}
    count, seed = round(trial("joint-samples")), round(trial("joint-seed"))
    rng = np.random.default_rng(seed)
    drawn = qmc.LatinHypercube(d=_DIMENSIONS, rng=rng).random(count)
    water, deviation = survey.soil.high_water_m, None
    if water is not None and GROUNDWATER not in survey.missing:
        deviation = water_deviation_m(survey.soil.high_water_basis)
    samples, columns = drawn_samples(
        drawn,
        log_spread=chance.log_spread,
        names=names,
        share_left=(1.0 - survey.soil.silting_year) ** year,
        water_m=water,
        deviation_m=deviation,
    )
    factors = [sample.factor for sample in samples]
    levels = [sample.water_m for sample in samples if sample.water_m is not None]

    def pause() -> None:
        if progress is not None:
            progress("")

    if progress is not None:
        progress("All unknowns at once: the record made ready")
    make = partial(
        sampled_years,
        scheme,
        survey,
        behaviour,
        slowest=min(factors),
        fastest=max(factors),
        highest_water_m=max(levels, default=None),
    )
    (ready,) = _finished([make], pause, threading.Event(), workers=1, leave=True)
    if ready is None:
        return chance
    again = rng.integers(0, ready.span_years.size, size=(count, ready.span_years.size))
    means, spills = _run(ready, samples, again, progress)
    ordered = np.sort(spills)
    # the smallest number of spills that at least this share of the samples keeps to
    quantiles = tuple((kept, float(ordered[math.ceil(kept * count - 1e-9) - 1])) for kept in CHANCES)
    shares = _shares(columns, means, spills, scheme, survey)
    return replace(
        chance,
        joint=Joint(
            samples=count,
            seed=seed,
            quantiles=quantiles,
            chance_held=float(np.mean(spills <= chance.limit_year)),
            shares=shares,
            together=max(0.0, 1.0 - sum(share.share for share in shares))
            if any(s.share for s in shares)
            else 0.0,
            how=ready.how,
            water_spread_m=deviation,
            year=year,
        ),
    )


def water_deviation_m(known_by: str | None) -> float:
    """Return how far the seasonal high water may be off, as a deviation, by how it is known, m."""
    return trial(f"high-water-{(known_by or 'not said').replace(' ', '-')}")


def drawn_samples(
    drawn: FloatArray,
    *,
    log_spread: float,
    names: set[str],
    share_left: float,
    water_m: float | None,
    deviation_m: float | None,
) -> tuple[list[Sample], dict[str, FloatArray]]:
    """Turn a hypercube, shape (n, 4), into samples, and the columns of those unknowns that are drawn, by name."""
    inside = np.clip(drawn, 1e-9, 1.0 - 1e-9)
    soil = share_left * np.exp(ndtri(inside[:, 0]) * log_spread)
    columns = {"soil": soil}
    ends = {"voids": ("voids-low", "voids-high"), "roof loss": ("roof-loss-low", "roof-loss-high")}
    for place, (name, (low, high)) in enumerate(ends.items(), 1):
        if name in names:
            columns[name] = trial(low) + inside[:, place] * (trial(high) - trial(low))
    if water_m is not None and deviation_m is not None:
        columns["groundwater"] = water_m + deviation_m * ndtri(inside[:, 3])

    def value(name: str, k: int) -> float | None:
        return float(columns[name][k]) if name in columns else None

    return [
        Sample(float(soil[k]), value("voids", k), value("roof loss", k), value("groundwater", k))
        for k in range(len(drawn))
    ], columns


def _run(
    ready: SampledYears,
    samples: Sequence[Sample],
    again: NDArray[np.int64],
    progress: Callable[[str], None] | None,
) -> tuple[FloatArray, FloatArray]:
    """Spills a year of each sample, over the years of the record and over those years drawn again."""
    spans, count = ready.span_years, len(samples)
    means, spills = np.zeros((2, count))
    stopped = threading.Event()

    def some(places: range) -> int:
        for k in places:
            if stopped.is_set():
                break
            events = ready.run(samples[k])
            means[k] = events.sum() / spans.sum()
            spills[k] = events[again[k]].sum() / spans[again[k]].sum()
        return len(places)

    def pause() -> None:
        if progress is not None:
            progress("")

    parts = [partial(some, range(k, min(k + _AT_ONCE, count))) for k in range(0, count, _AT_ONCE)]
    workers = min(os.cpu_count() or 1, _MOST_THREADS) if ready.threads else 1
    done = 0
    for finished in _finished(parts, pause, stopped, workers=workers):
        done += finished
        if progress is not None:
            progress(f"All unknowns at once: {done} of {count} samples through the record, wells {ready.how}")
    return means, spills


def _finished(
    tasks: Sequence[Callable[[], T]],
    pause: Pause,
    stopped: threading.Event,
    *,
    workers: int,
    leave: bool = False,
) -> Iterator[T]:
    """Run tasks in threads and yield what each gives, as it is done; where ``pause`` raises, none begins any more.

    ``stopped`` is set then, for those that run to look at; they are waited for, or with ``leave`` left to end by
    themselves.
    """
    pool = ThreadPoolExecutor(max_workers=workers)
    waiting: set[Future[T]] = {pool.submit(task) for task in tasks}
    try:
        while waiting:
            ready, waiting = wait(waiting, timeout=_LOOK_S, return_when=FIRST_COMPLETED)
            pause()
            for future in ready:
                yield future.result()
    finally:
        stopped.set()
        pool.shutdown(wait=not leave, cancel_futures=True)


def _shares(
    columns: dict[str, FloatArray], means: FloatArray, spills: FloatArray, scheme: Scheme, survey: Survey
) -> tuple[Share, ...]:
    """Shares of the variance of the samples' ranks by spills, the greatest first; the years' luck is what all the unknowns
    together leave of it. Ranks, because a few very slow soils would else be all of the variance."""
    ranks = rankdata(spills)
    own = first_order_shares(np.column_stack(list(columns.values())), ranks)
    luck = 1.0 - float(first_order_shares(means[:, None], ranks)[0]) if np.ptp(ranks) > 0 else 0.0
    how = {item.path.rsplit(".", 1)[-1]: item.how_to_measure for item in (*survey.assumed, *scheme.assumed)}
    measure = {
        "soil": measurement("soil.rate")[1],
        "groundwater": measurement(GROUNDWATER)[1],
        "voids": how.get("voids", ""),
        "roof loss": how.get("initial_loss", ""),
    }
    rows = [Share(name, float(share), measure[name]) for name, share in zip(columns, own, strict=True)]
    rows.append(Share("luck of the years", luck, ""))
    return tuple(sorted(rows, key=lambda row: -row.share))
