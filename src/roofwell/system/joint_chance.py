"""All unknowns at once through the long record: a Latin hypercube with a fixed seed. Loaded only when asked for."""

from __future__ import annotations

import math
from dataclasses import replace
from statistics import NormalDist

import numpy as np
from scipy.stats import qmc

from roofwell.system.behaviour import Behaviour
from roofwell.system.beyond_facts import Chance, Joint
from roofwell.system.chance import CHANCES, years_of
from roofwell.system.facts import Survey
from roofwell.system.scheme import Scheme
from roofwell.system.well_record import inflow_of
from roofwell.tables.trials import trial

GROUPS = 4


def with_joint(chance: Chance, scheme: Scheme, survey: Survey, behaviour: Behaviour) -> Chance:
    """Return the chance with soil, voids and roof loss drawn together; the same one where the soil is not tested.

    The soil is lognormal as in ``Chance``; voids and roof loss are even over their ranges, and stay where the job
    measured them.
    """
    if chance.log_spread is None:
        return chance
    names = {swing.what for swing in chance.swings}
    count, seed = round(trial("joint-samples")), round(trial("joint-seed"))
    drawn = qmc.LatinHypercube(d=3, rng=np.random.default_rng(seed)).random(count)
    normal = NormalDist()
    # each stratum's share lies strictly inside 0 and 1
    factors = np.array(
        [math.exp(normal.inv_cdf(min(max(u, 1e-9), 1 - 1e-9)) * chance.log_spread) for u in drawn[:, 0]]
    )
    voids = trial("voids-low") + drawn[:, 1] * (trial("voids-high") - trial("voids-low"))
    losses = trial("roof-loss-low") + drawn[:, 2] * (trial("roof-loss-high") - trial("roof-loss-low"))
    inflow, spills = inflow_of(scheme, behaviour.downspouts), np.zeros(count)
    # wells in faster soil run empty sooner: each group has dry times cut as short as its own slowest soil lets them
    for group in np.array_split(np.argsort(factors), GROUPS):
        years = years_of(scheme, survey, behaviour, inflow, slowest=float(factors[group].min()))
        if years is None:
            return chance
        for k in group:
            spills[k], _ = years.run(
                float(factors[k]),
                float(voids[k]) if "voids" in names else None,
                float(losses[k]) if "roof loss" in names else None,
            )
    ordered = np.sort(spills)
    # the smallest number of spills that at least this share of the samples keeps to
    quantiles = tuple((kept, float(ordered[math.ceil(kept * count - 1e-9) - 1])) for kept in CHANCES)
    joint = Joint(count, seed, quantiles, float(np.mean(spills <= chance.limit_year)))
    return replace(chance, joint=joint)
