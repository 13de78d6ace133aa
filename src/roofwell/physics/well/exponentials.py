"""A step response as a few positive exponentials, and what any series of recharge makes of it.

The response to a steady recharge of one, U(t), is fitted by Σ aᵢ (1 − exp(−t/τᵢ)) with four to six terms and no
negative one, so that the mound can be carried from step to step with one number for each term, never turns
negative, and rises with every bit of recharge.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares, nnls

from roofwell.errors import InputError

FloatArray = NDArray[np.float64]

FEWEST, MOST = 4, 6
GOOD_FIT = 0.005
_CHUNK = 256


@dataclass(frozen=True, slots=True)
class Exponentials:
    """Σ amount (1 − exp(−t/τ)); ``fit_error`` is the greatest error over the times fitted, as a share of the
    response at their end."""

    amount: FloatArray  # response at the end of all time of each term, shape (k,), 0 or more
    tau_s: FloatArray  # time constant of each term, shape (k,), s
    fit_error: float

    def step(self, time_s: FloatArray) -> FloatArray:
        """Return the response to a steady recharge of one, at some times since it began."""
        return np.asarray((1.0 - np.exp(-np.asarray(time_s)[..., None] / self.tau_s)) @ self.amount)


def fit(response: Callable[[FloatArray], FloatArray], *, shortest_s: float, longest_s: float) -> Exponentials:
    """Fit a step response by four to six positive exponentials.

    Parameters
    ----------
    response
        Step response at an array of times, s; 0 at time 0, never falling.
    shortest_s, longest_s
        Times between which it is fitted, s; above 0, the second at least 10 times the first.

    Raises
    ------
    InputError
        ``exponentials-times`` outside those ranges; ``exponentials-response`` for a response that is nowhere above 0.

    Notes
    -----
    Amounts by non-negative least squares at every trial of the time constants, these by least squares of their
    logarithms from an even start; one more term is taken until the error is below 0.5 % or there are six.
    Times are spaced evenly in their logarithm. Source: own choice (derived).
    """
    if not (0.0 < shortest_s < math.inf and 10.0 * shortest_s <= longest_s < math.inf):
        raise InputError(
            f"a response from {shortest_s} s to {longest_s} s; give a longest time of at least ten shortest ones",
            code="exponentials-times",
        )
    times = np.geomspace(shortest_s, longest_s, 80)
    values = np.asarray(response(times), dtype=np.float64)
    top = float(values[-1])
    if not (0.0 < top < math.inf) or not bool(np.isfinite(values).all()):
        raise InputError(
            "a response that is nowhere above 0; there is no mound", code="exponentials-response"
        )
    scaled = values / top
    best: tuple[float, FloatArray, FloatArray] | None = None
    for count in range(FEWEST, MOST + 1):
        found = _fitted(times, scaled, count)
        if best is None or found[0] < best[0]:
            best = found
        if best[0] < GOOD_FIT:
            break
    assert best is not None
    return Exponentials(best[1] * top, best[2], best[0])


def _fitted(times: FloatArray, values: FloatArray, count: int) -> tuple[float, FloatArray, FloatArray]:
    def amounts(logs: FloatArray) -> tuple[FloatArray, FloatArray]:
        terms = 1.0 - np.exp(-times[:, None] / np.exp(logs))
        found, _ = nnls(terms, values)
        return found, terms @ found - values

    low, high = math.log(times[0]), math.log(times[-1])
    gap = (high - low) / count
    start = low + gap * (0.5 + np.arange(count))

    def miss_of(logs: FloatArray) -> FloatArray:
        return amounts(logs)[1]

    solved = least_squares(
        miss_of,
        start,
        bounds=(np.full(count, low - 2.0), np.full(count, high + 2.0)),
        max_nfev=40,
    )
    logs = np.sort(solved.x)
    amount, miss = amounts(logs)
    return float(np.max(np.abs(miss))), amount, np.exp(logs)


def track(
    terms: Exponentials, *, rate: FloatArray, step_s: float, start: FloatArray | None = None
) -> tuple[FloatArray, FloatArray]:
    """Return the response at the end of every step to a rate that is constant within each, and the last state.

    Parameters
    ----------
    rate
        Rate in each step, shape (n,).
    step_s
        Length of a step, s; above 0.
    start
        State of each term before the first step, shape (k,); zero if left out.

    Returns
    -------
    tuple
        The response, shape (n,), and the state of each term after the last step, shape (k,).

    Notes
    -----
    Exact for the fitted terms: zᵢ' = zᵢ exp(−Δ/τᵢ) + aᵢ (1 − exp(−Δ/τᵢ)) rate, 256 steps at a time.
    """
    if not 0.0 < step_s < math.inf:
        raise InputError(f"step of {step_s} s; it must be above 0", code="exponentials-times")
    count = rate.shape[0]
    size = min(_CHUNK, max(1, count))
    chunks = -(-count // size)
    padded = np.zeros(chunks * size)
    padded[:count] = rate
    blocks = padded.reshape(chunks, size)
    out = np.zeros((chunks, size))
    last = np.zeros(terms.tau_s.shape)
    for n, (amount, tau) in enumerate(zip(terms.amount, terms.tau_s, strict=True)):
        if amount == 0.0:
            continue
        decay = math.exp(-step_s / tau)
        kernel = amount * (1.0 - decay) * np.power(decay, np.arange(size))
        own = blocks @ _toeplitz(kernel)
        carried = np.power(decay, np.arange(1, size + 1))
        state, whole = 0.0 if start is None else float(start[n]), float(carried[-1])
        states = np.empty(chunks)
        for chunk, end in enumerate(own[:, -1].tolist()):
            states[chunk] = state
            state = state * whole + end
        part = own + states[:, None] * carried
        out += part
        last[n] = float(part.ravel()[count - 1]) if count else state
    return out.ravel()[:count], last


def _toeplitz(kernel: FloatArray) -> FloatArray:
    """Upper triangle with ``kernel`` along every row from its diagonal on, shape (n, n)."""
    size = kernel.size
    padded = np.concatenate([np.zeros(size - 1), kernel])
    return np.lib.stride_tricks.sliding_window_view(padded, size)[::-1]
