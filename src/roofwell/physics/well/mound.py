"""The mound that soaked water heaps up on the groundwater under a well.

Two solutions, both for an endless level water table over a level floor, with recharge that begins at once:

- Hantush (1967): flow level everywhere, the square of the water's height linear in the recharge.
- A three-dimensional free surface, linearised about the water table at rest: flow that also has to come down
  through the ground before it can spread. Under a source narrower than the saturated thickness it stands higher.

Method: docs/method/groundwater.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ellipe, erf, j0, j1

from roofwell.errors import InputError

FloatArray = NDArray[np.float64]

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(10)
_LEAST_TAU = 0.02  # below this the disk has not begun to spread: the rise grows in step with time
_LEAST_TAU_OUTSIDE = (
    0.05  # the same outside the disk, for each radius of distance: next to nothing is there yet
)
_SMALLEST = 2.0**-24  # of 1/radius: far below the wave number that a century reaches


@dataclass(frozen=True, slots=True)
class Aquifer:
    """The ground that carries the water away.

    ``thickness_m`` is that of the saturated ground under the water table at rest, ``specific_yield`` the share
    of the ground that fills as the water table rises (0 to 1), ``horizontal_m_s`` and ``vertical_m_s`` its
    saturated conductivity.
    """

    thickness_m: float
    specific_yield: float
    horizontal_m_s: float
    vertical_m_s: float

    @property
    def diffusivity_m2_s(self) -> float:
        """Transmissivity over specific yield, m²/s."""
        return self.horizontal_m_s * self.thickness_m / self.specific_yield


def _checked(aquifer: Aquifer, **lengths: float) -> None:
    numbers = {
        "saturated thickness": aquifer.thickness_m,
        "specific yield": aquifer.specific_yield,
        "horizontal conductivity": aquifer.horizontal_m_s,
        "vertical conductivity": aquifer.vertical_m_s,
        **lengths,
    }
    for name, value in numbers.items():
        if not 0.0 < value < math.inf:
            raise InputError(f"{name} of {value}; give a number above 0", code="mound-number")
    if aquifer.specific_yield > 1.0:
        raise InputError(
            f"specific yield of {aquifer.specific_yield}; it is a share of the ground, at most 1",
            code="mound-number",
        )


def _times(time_s: float | FloatArray) -> FloatArray:
    times = np.atleast_1d(np.asarray(time_s, dtype=np.float64))
    if not bool(((times >= 0.0) & (times < math.inf)).all()):
        raise InputError(f"time {time_s} s; give 0 or more", code="mound-number")
    return times


def s_star(alpha: float | FloatArray, beta: float | FloatArray) -> FloatArray:
    """Return Hantush's integral S*(α, β) = ∫₀¹ erf(α/√u) erf(β/√u) du, by quadrature; odd in both.

    Arguments may be arrays of one shape. Absolute error below 1e-9.
    Source: Hantush 1967 (title from memory); USGS SIR 2010-5102.

    >>> round(float(s_star(0.5, 0.5)), 4)
    0.542
    """
    a, b = np.broadcast_arrays(np.asarray(alpha, np.float64), np.asarray(beta, np.float64))
    # u = v²: panels that halve towards 0, where erf turns over
    edges = np.concatenate([[0.0], 2.0 ** np.arange(-16.0, 1.0)])
    half = np.diff(edges)[:, None] / 2.0
    v = (edges[:-1, None] + half * (1.0 + _NODES)).ravel()
    weight = (half * _WEIGHTS).ravel() * 2.0 * v
    inner = erf(a[..., None] / v) * erf(b[..., None] / v)
    return np.asarray(inner @ weight, dtype=np.float64)


def hantush_squares_m2(
    *,
    recharge_m_s: float,
    half_length_m: float,
    half_width_m: float,
    aquifer: Aquifer,
    time_s: float | FloatArray,
    x_m: float = 0.0,
    y_m: float = 0.0,
    mean_thickness_m: float | FloatArray | None = None,
) -> FloatArray:
    """Return h² − hᵢ² at a point, m², shape of ``time_s`` (at least one).

    Parameters
    ----------
    recharge_m_s
        Recharge over the rectangle, m/s; 0 or more.
    half_length_m, half_width_m
        Half sides of the rectangle along x and y, m. A report that prints full sides must be halved.
    time_s
        Time since the recharge began, s; 0 or more.
    x_m, y_m
        The point, from the center, m.
    mean_thickness_m
        Thickness b that carries the flow, m; the thickness at rest if left out.

    Raises
    ------
    InputError
        ``mound-number`` outside those ranges.

    Notes
    -----
    h² − hᵢ² = (w ν t/2K) Σ S*[(l ± x)/√(4νt), (a ± y)/√(4νt)], ν = K b/S. It is linear in the recharge, so that of a
    recharge that stops is the difference of two. Source: Hantush 1967; USGS SIR 2010-5102.
    """
    _checked(aquifer, half_length=half_length_m, half_width=half_width_m)
    if not 0.0 <= recharge_m_s < math.inf:
        raise InputError(f"recharge of {recharge_m_s} m/s; give 0 or more", code="mound-number")
    times = _times(time_s)
    b = np.asarray(aquifer.thickness_m if mean_thickness_m is None else mean_thickness_m, dtype=np.float64)
    nu = aquifer.horizontal_m_s * b / aquifer.specific_yield
    root = np.sqrt(np.maximum(4.0 * nu * times, 1e-300))
    total = np.zeros(times.shape)
    for length in (half_length_m + x_m, half_length_m - x_m):
        for width in (half_width_m + y_m, half_width_m - y_m):
            total += s_star(length / root, width / root)
    return np.asarray(recharge_m_s * nu * times / (2.0 * aquifer.horizontal_m_s) * total, dtype=np.float64)


def hantush_rise_m(
    *,
    recharge_m_s: float,
    half_length_m: float,
    half_width_m: float,
    aquifer: Aquifer,
    time_s: float | FloatArray,
    x_m: float = 0.0,
    y_m: float = 0.0,
) -> FloatArray:
    """Return the rise of the water table at a point, m, with b = (hᵢ + h)/2 iterated to 1e-9; see above.

    Good while the rise stays below about half of the saturated thickness and the rectangle is wider than that
    thickness; elsewhere it reads low.
    """
    hi = aquifer.thickness_m
    times = _times(time_s)
    h = np.full(times.shape, hi)
    for _ in range(200):
        squares = hantush_squares_m2(
            recharge_m_s=recharge_m_s,
            half_length_m=half_length_m,
            half_width_m=half_width_m,
            aquifer=aquifer,
            time_s=times,
            x_m=x_m,
            y_m=y_m,
            mean_thickness_m=(hi + h) / 2.0,
        )
        new = np.sqrt(hi * hi + squares)
        if float(np.max(np.abs(new - h))) < 1e-9 * hi:
            return np.asarray(new - hi, dtype=np.float64)
        h = new
    raise InputError(
        f"a recharge of {recharge_m_s} m/s on {hi} m of saturated ground: the mound finds no height",
        code="mound-number",
    )


def disk_response_s(
    *, radius_m: float, aquifer: Aquifer, time_s: FloatArray, distance_m: float = 0.0
) -> FloatArray:
    """Return the rise of the free surface for each m/s of recharge over a disk, m/(m/s): three-dimensional.

    Parameters
    ----------
    radius_m
        Radius of the disk, m; above 0.
    time_s
        Times since the recharge began, s; 0 or more, shape (n,).
    distance_m
        Distance of the point from the center, m; 0 or more.

    Raises
    ------
    InputError
        ``mound-number`` outside those ranges.

    Notes
    -----
    Head obeys Kr ∇²φ + Kz φ_zz = 0 over a floor without flow; on the water table S φ_t + Kz φ_z = w. With wave
    number k each wave dies away at λ = √(Kr Kz) k tanh(k b √(Kr/Kz))/S, so that the rise is

        w R ∫ J₁(kR) J₀(kr) (1 − exp(−λt))/(S λ) dk

    The part of a floor infinitely deep, (1/C) ∫ J₁ J₀/k dk with C = √(Kr Kz), is taken out and added in closed form;
    what is left dies away and is summed over panels. Linear: good while the mound is low beside the thickness.
    Error below 1e-5 of the rise under the disk; up to 1 % in the first moments, while C t/(S R) is below 0.02.
    Source: derived here; the linearised solution of Dagan 1967 (from memory), as Zlotnik and Ledder 1992 name it
    (abstract seen).
    """
    _checked(aquifer, radius=radius_m)
    if not 0.0 <= distance_m < math.inf:
        raise InputError(f"distance of {distance_m} m; give 0 or more", code="mound-number")
    times = _times(time_s)
    c = math.sqrt(aquifer.horizontal_m_s * aquifer.vertical_m_s)
    depth = aquifer.thickness_m * math.sqrt(aquifer.horizontal_m_s / aquifer.vertical_m_s) / radius_m
    rho = distance_m / radius_m
    tau = np.maximum(c * times / (aquifer.specific_yield * radius_m), 0.0)
    least = _LEAST_TAU if rho <= 1.0 else _LEAST_TAU_OUTSIDE * rho
    early = np.minimum(tau / least, 1.0)
    x, waves = _waves(rho, 45.0 / least)
    rate = x * np.tanh(x * depth)  # never falls with x
    # (1 − exp(−x τ tanh))/(x tanh) − 1/x: bounded as x goes to 0, gone as it grows
    steady = _shallow(x, depth)
    rest = np.empty(times.shape)
    for n, moment in enumerate(np.maximum(tau, least)):
        rest[n] = float(waves @ _remainder(x, rate, steady, float(moment)))
    response = (_deep(rho) + rest) * radius_m / c
    return np.asarray(np.maximum(response, 0.0) * early, dtype=np.float64)


@lru_cache(maxsize=64)
def _waves(rho: float, top: float) -> tuple[FloatArray, FloatArray]:
    """Wave numbers times radius, and what each weighs at a distance: the same whatever the ground."""
    x, weight = _panels(rho, top)
    waves = weight * j1(x) * j0(x * rho)
    x.setflags(write=False)
    waves.setflags(write=False)
    return x, waves


def _remainder(x: FloatArray, rate: FloatArray, steady: FloatArray, tau: float) -> FloatArray:
    """What is left of each wave at a time; ``rate`` is in rising order."""
    gone = int(np.count_nonzero(rate * tau < 45.0))
    slow = int(np.count_nonzero(rate * tau < 1e-6))  # the series, where the difference would lose its digits
    left = steady.copy()
    alive = rate[slow:gone]
    left[slow:gone] -= np.exp(-alive * tau) / alive
    early = rate[:slow]
    left[:slow] = tau * (1.0 - early * tau / 2.0) - 1.0 / x[:slow]
    return left


def _shallow(x: FloatArray, depth: float) -> FloatArray:
    """1/(x tanh) − 1/x = 2/(x (exp(2 x d) − 1)), without a difference of near numbers."""
    power = np.minimum(2.0 * x * depth, 700.0)
    return np.asarray(2.0 / (x * np.expm1(power)), dtype=np.float64)


def _panels(rho: float, top: float) -> tuple[FloatArray, FloatArray]:
    """Nodes and weights in wave number times radius: doubling panels, then some no longer than half a wave."""
    wave = math.pi / max(1.0, rho)
    doubling = [_SMALLEST]
    while doubling[-1] < wave:
        doubling.append(2.0 * doubling[-1])
    edges = np.concatenate([[0.0], doubling, np.arange(doubling[-1] + wave, top + wave, wave)])
    half = np.diff(edges)[:, None] / 2.0
    return (edges[:-1, None] + half * (1.0 + _NODES)).ravel(), (half * _WEIGHTS).ravel()


def _deep(rho: float) -> float:
    """∫ J₁(x) J₀(ρx)/x dx: the steady mound over ground without a floor, in parts of w R/C."""
    if rho <= 1.0:
        return float(2.0 / math.pi * ellipe(rho * rho))
    inverse = 1.0 / rho
    m = inverse * inverse
    # (2/π) ρ [E(1/ρ²) − (1 − 1/ρ²) K(1/ρ²)], its series far out where the bracket loses its digits
    if rho > 50.0:
        return 0.5 * inverse * (1.0 + m / 8.0)
    from_k = float(ellipe(m)) - (1.0 - m) * _k(m)
    return 2.0 / math.pi * rho * from_k


def _k(m: float) -> float:
    """Complete elliptic integral of the first kind by the arithmetic-geometric mean."""
    a, b = 1.0, math.sqrt(1.0 - m)
    while abs(a - b) > 1e-15 * a:
        a, b = (a + b) / 2.0, math.sqrt(a * b)
    return math.pi / (2.0 * a)
