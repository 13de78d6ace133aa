"""The loader of the inner loops in time, compiled when numba can be had, and otherwise run as they stand.

This is the one importer of numba. The loops stand in ``compiled_stores`` and, for linked stores, in ``compiled_linked``.

``kernel()`` loads them at first use, in this order: compiled and cached on disk; compiled without a cache
where no cache folder can be written; plain Python, the very same functions, where numba is missing or
fails. The answers are the same, only the time differs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from roofwell.physics import compiled_linked, compiled_stores

FloatArray = NDArray[np.float64]


def times_at_start(*, wet: bool, full: bool) -> FloatArray:
    """Return the times of a store before its first step, as the kernel takes them."""
    return np.array([0.0, 0.0, 0.0, 0.0 if full else -1.0, 0.0, 0.0 if wet else -1.0, 0.0])


def step_factors(
    nodes: FloatArray, above: FloatArray, below: FloatArray, step: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return each segment's slope of soakage, and what a net inflow of 1 at the start of a step comes to.

    The second is the change of volume over the step, the third the integral of that change: with them a
    step that stays within one segment needs no exponential.
    """
    slopes = (below[1:] - above[:-1]) / np.diff(nodes)
    # A soakage that falls with depth can make these overflow; such steps then take the long way.
    exponents = [min(-float(slope) * step, 700.0) for slope in slopes]
    once = np.array([step * compiled_stores._growth(z) for z in exponents])
    twice = np.array([step * step * compiled_stores._growth_of_growth(z) for z in exponents])
    return slopes, once, twice


@dataclass(frozen=True, slots=True)
class Kernel:
    """The functions of the kernel, and how they run.

    ``run`` follows one store that has one stretch of inflow per step. Wells that overflow into each other
    need ``chain``, which takes and gives stretches, and ``merge``, which adds them; these, ``leaving`` and ``over_mound``
    are functions that return the function, so that only those who need it wait for it to be compiled. So are
    ``run_over_mound``, ``linked``, for linked stores, and ``linked_over_mounds``: by whether they take stretches, and
    whether they give them.
    """

    run: Callable[..., None]
    chain: Callable[[], Callable[..., None]]
    merge: Callable[[], Callable[..., None]]
    leaving: Callable[[], Callable[..., None]]
    over_mound: Callable[[], Callable[..., None]]
    run_over_mound: Callable[[bool, bool], Callable[..., None]]
    linked: Callable[[bool, bool], Callable[..., None]]
    linked_over_mounds: Callable[[bool, bool], Callable[..., None]]
    how: Literal["compiled and cached", "compiled", "plain Python"]


def plain_kernel() -> Kernel:
    """Return the kernel in plain Python: the same answers, slower."""
    return Kernel(
        compiled_stores._run,
        lambda: compiled_stores._run,
        lambda: compiled_stores._merge,
        lambda: compiled_stores._leaving,
        lambda: compiled_stores._over_mound,
        lambda takes, gives: compiled_stores._run_over_mound,
        lambda takes, gives: compiled_linked._linked,
        lambda takes, gives: compiled_linked._linked_over_mounds,
        "plain Python",
    )


def _compiled_kernel(*, cached: bool) -> Kernel:
    import numba
    from numba.extending import register_jitable

    if getattr(numba.config, "DISABLE_JIT", False):
        return plain_kernel()

    for function in (*compiled_stores.INNER, *compiled_linked.SELDOM):
        register_jitable(function)
    for function in (*compiled_stores.OFTEN, *compiled_linked.OFTEN):
        register_jitable(forceinline=True)(function)
    number, nothing = numba.types.float64, numba.types.none
    given = numba.types.Array(number, 1, "C", readonly=True)
    given_index = numba.types.Array(numba.types.int64, 1, "C", readonly=True)
    filled = numba.types.Array(number, 1, "C")
    filled_index = numba.types.Array(numba.types.int64, 1, "C")
    record = (given, given_index, given_index, given, given_index)
    store = (filled, filled, filled, given, given, given, given, number, filled, filled, filled, filled)
    state = (number, number, *(filled,) * 6)
    options: dict[str, Any] = {
        "cache": cached,
        "nogil": True,
        "error_model": "numpy",
        "no_cfunc_wrapper": True,
    }
    # No array is made or kept in these loops, so none need be counted: counting took half of linked wells' time.
    uncounted = {**options, "_nrt": False}

    def compiled(function: Callable[..., None], *arguments: Any) -> Callable[..., None]:
        signature = numba.types.void(*arguments)
        ready: Callable[..., None]
        try:
            ready = numba.njit(signature, **uncounted)(function)
        except Exception:
            # The option is numba's own and promised for no version; without it the answers are the same.
            ready = numba.njit(signature, **options)(function)
        return ready

    stretches = (given_index, given_index, given, given)
    written = (filled_index, filled_index, filled, filled, filled_index)
    tables, layers = numba.types.Array(number, 2, "C"), numba.types.Array(number, 3, "C")
    given_rows = numba.types.Array(number, 2, "C", readonly=True)
    indexes = numba.types.Array(numba.types.int64, 2, "C")
    mounded = (*(filled,) * 4, number, *(tables,) * 3, filled, filled, tables)

    def by_stretches(takes: bool, gives: bool, taken: Any) -> tuple[Any, Any]:
        return (
            (given_index, given_index, given, taken) if takes else (nothing,) * 4,
            written if gives else (nothing,) * 5,
        )

    def run_over_mound(takes: bool, gives: bool) -> Callable[..., None]:
        before, after = by_stretches(takes, gives, given)
        return compiled(
            compiled_stores._run_over_mound,
            *(given, *before, number, *mounded, number, number, filled, tables, *after),
        )

    group = (indexes, indexes, tables, layers)
    stands = (indexes, tables, tables)

    def linked(takes: bool, gives: bool) -> Callable[..., None]:
        before, after = by_stretches(takes, gives, given_rows)
        return compiled(
            compiled_linked._linked,
            *(given_rows, *before, number, *group, *stands, numba.types.int64, *(tables,) * 6, *after),
        )

    def linked_over_mounds(takes: bool, gives: bool) -> Callable[..., None]:
        before, after = by_stretches(takes, gives, given_rows)
        return compiled(
            compiled_linked._linked_over_mounds,
            *(given_rows, *before, number, *group, indexes, tables, layers, *stands, *stands),
            *(numba.types.int64, *(tables,) * 4, *(filled,) * 3, layers, *after),
        )

    return Kernel(
        compiled(compiled_stores._run, given, *(nothing,) * 4, number, *store, *state, *(nothing,) * 5),
        cache(lambda: compiled(compiled_stores._run, given, *stretches, number, *store, *state, *written)),
        cache(lambda: compiled(compiled_stores._merge, *stretches, *stretches, *written)),
        cache(
            lambda: compiled(
                compiled_stores._leaving,
                *record,
                *(number,) * 3,
                given,
                given,
                *(given_index,) * 4,
                *(filled,) * 16,
                filled_index,
                tables,
                tables,
                number,
                filled,
                filled,
            )
        ),
        cache(
            lambda: compiled(
                compiled_stores._over_mound,
                *(*record, *(number,) * 3, given, given, *mounded, *(tables,) * 3, layers),
                *(*(number,) * 4, filled, filled),
            )
        ),
        cache(run_over_mound),
        cache(linked),
        cache(linked_over_mounds),
        "compiled and cached" if cached else "compiled",
    )


@cache
def kernel() -> Kernel:
    """Return the kernel, compiled if that can be had; the first call of a program loads it."""
    for cached in (True, False):
        try:
            return _compiled_kernel(cached=cached)
        except Exception:
            # Whatever numba or the file system throws, the next way still answers.
            continue
    return plain_kernel()
