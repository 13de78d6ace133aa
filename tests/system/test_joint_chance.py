"""All unknowns at once: the draw, the quantiles against brute force, groundwater, and stopping half-way."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from scipy import stats

from roofwell.checks import beyond_words as words
from roofwell.design.judging import Judged
from roofwell.system import beyond as room
from roofwell.system import joint_chance
from roofwell.system.chance import years_of
from roofwell.system.joint_chance import drawn_samples, water_deviation_m, with_joint
from roofwell.system.rainfall import record_basis
from roofwell.system.sampled_years import Sample, sampled_years
from roofwell.system.survey import survey as make_survey
from roofwell.system.well_record import inflow_of
from roofwell.tables.trials import trial

Document = dict[str, Any]
SMALL = {"bodies": 1, "diameter": "24 in", "height": "36 in", "around": "12 in"}


def _of(document: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]) -> Any:
    survey = make_survey(read_job(document))
    judged = judged_of(document, record=True, **SMALL)
    rate = survey.soil.best_m_s / survey.soil.safety_factor
    more = room.beyond(judged.scheme, survey, judged.behaviour, rate_m_s=rate, record=record_basis(survey))
    assert more.chance is not None
    return judged.scheme, survey, judged.behaviour, more.chance


def _ready(scheme: Any, survey: Any, behaviour: Any, water: float | None = None) -> Any:
    made = sampled_years(scheme, survey, behaviour, slowest=0.02, fastest=50.0, highest_water_m=water)
    assert made is not None
    return made


def test_quantiles_of_the_rate_give_those_of_5000_soils_drawn_at_random(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    """Brute force: 5,000 rates at random from scipy's lognormal, each run through the record; the quantile lies within
    what 5,000 draws leave open (three deviations of a share)."""
    scheme, survey, behaviour, chance = _of(house, read_job, judged_of)
    ready = _ready(scheme, survey, behaviour)
    soils = stats.lognorm(s=chance.log_spread).rvs(5000, random_state=np.random.default_rng(77))
    drawn = np.sort([ready.run(Sample(float(soil))).sum() / ready.span_years.sum() for soil in soils])
    for quantile in chance.quantiles:
        off = 3.0 * math.sqrt(quantile.chance * (1.0 - quantile.chance) / drawn.size)
        low, high = (float(np.quantile(drawn, min(quantile.chance + step, 1.0))) for step in (-off, off))
        assert low - 1e-9 <= quantile.spills_year <= high + 1e-9
    share = float(np.mean(drawn <= chance.limit_year))
    assert chance.chance_limit == pytest.approx(np.clip(share, chance.edge, 1.0 - chance.edge), abs=0.02)


def test_a_sample_is_the_run_of_every_hour(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    """The wet spells against the kernel step by step, with other voids and other losses of the roof, to the event."""
    scheme, survey, behaviour, _ = _of(house, read_job, judged_of)
    ready = _ready(scheme, survey, behaviour)
    years = years_of(scheme, survey, behaviour, inflow_of(scheme, behaviour.downspouts), slowest=0.1)
    assert years is not None
    for factor, voids, loss in ((0.1, 0.31, 0.0), (0.7, None, 0.0019), (1.0, 0.4, None), (3.0, 0.352, 0.001)):
        spills = ready.run(Sample(factor, voids, loss)).sum() / years.years
        assert spills == pytest.approx(years.run(factor, voids, loss)[0], abs=1e-12)


def test_the_draw_is_even_in_every_unknown_and_repeats() -> None:
    """Each of 500 strata holds one sample of each unknown (McKay, Beckman and Conover 1979, from memory); the soil's
    logarithm is normal, the groundwater too."""
    drawn = joint_chance.qmc.LatinHypercube(d=4, rng=np.random.default_rng(1967)).random(500)
    given: dict[str, Any] = {
        "log_spread": 0.9, "names": {"soil", "voids", "roof loss"}, "share_left": 1.0, "water_m": 25.0,
        "deviation_m": 0.3,
    }  # fmt: skip
    samples, columns = drawn_samples(drawn, **given)
    for name, spread in {
        "soil": stats.lognorm(s=0.9),
        "voids": stats.uniform(trial("voids-low"), trial("voids-high") - trial("voids-low")),
        "roof loss": stats.uniform(0.0, trial("roof-loss-high")),
        "groundwater": stats.norm(25.0, 0.3),
    }.items():
        places = np.floor(spread.cdf(columns[name]) * 500).astype(int)
        assert sorted(places.tolist()) == list(range(500)), name
    assert samples[7] == Sample(
        *(float(columns[name][7]) for name in ("soil", "voids", "roof loss", "groundwater"))
    )
    measured, _ = drawn_samples(drawn, **(given | {"names": {"soil"}, "deviation_m": None}))
    assert [sample.factor for sample in measured] == [sample.factor for sample in samples]
    assert {(s.voids, s.loss_m, s.water_m) for s in measured} == {(None, None, None)}
    old, _ = drawn_samples(drawn, **(given | {"share_left": 0.5}))
    assert [sample.factor for sample in old] == pytest.approx([0.5 * sample.factor for sample in samples])


def test_the_same_job_gives_the_same_chance_and_says_what_matters(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    scheme, survey, behaviour, chance = _of(house, read_job, judged_of)
    said: list[str] = []
    once = with_joint(chance, scheme, survey, behaviour, progress=said.append)
    assert once == with_joint(chance, scheme, survey, behaviour)
    assert once.joint is not None
    shares = [row.share for row in once.joint.shares]
    assert shares == sorted(shares, reverse=True)
    assert all(0.0 <= share <= 1.0 for share in shares)
    assert once.joint.shares[0].what == "soil"
    assert {row.what for row in once.joint.shares} >= {"soil", "voids", "roof loss", "luck of the years"}
    assert "500 of 500 samples" in said[-1]
    text = " ".join(words.chance_lines(once, "us"))
    assert "seed 1967" in text
    assert "Worth measuring, the most first: soil: bore a hole" in text


def test_groundwater_that_nobody_knows_is_not_drawn_and_one_in_the_pit_is_felt(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    house["soil"].pop("seasonal_high_water", None)
    house["soil"].pop("seasonal_high_water_depth", None)
    scheme, survey, behaviour, chance = _of(house, read_job, judged_of)
    dry = with_joint(chance, scheme, survey, behaviour)
    assert dry.joint is not None
    assert dry.joint.water_spread_m is None
    assert "could turn all of this" in " ".join(words.chance_lines(dry, "us"))
    bottom = scheme.wells[0].bottom_m
    soil = replace(survey.soil, high_water_m=bottom + 0.2, high_water_basis="map")
    wet = with_joint(
        chance,
        scheme,
        replace(survey, soil=soil, missing=survey.missing - {"soil.seasonal_high_water"}),
        behaviour,
    )
    assert wet.joint is not None
    assert wet.joint.water_spread_m == pytest.approx(0.6096)
    assert dict(wet.joint.quantiles)[0.5] > dict(dry.joint.quantiles)[0.5]
    assert any(row.what == "groundwater" and row.share > 0.05 for row in wet.joint.shares)
    assert water_deviation_m(None) == pytest.approx(18 * 0.0254)


def test_higher_groundwater_under_the_pit_spills_no_less(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    """The mound has less room: no year may lose a spill for it."""
    scheme, survey, behaviour, _ = _of(house, read_job, judged_of)
    bottom = scheme.wells[0].bottom_m
    ready = _ready(scheme, survey, behaviour, water=bottom)
    assert ready.how == "with the mound tracked"
    runs = [ready.run(Sample(0.6, None, None, bottom - below)) for below in (9.0, 1.0, 0.4, 0.1)]
    assert all(int(later.sum()) >= int(sooner.sum()) for sooner, later in pairwise(runs))
    assert runs[-1].sum() > runs[0].sum()
    assert runs[0].tolist() == _ready(scheme, survey, behaviour).run(Sample(0.6)).tolist()


def test_it_stops_where_it_is_stopped(
    house: Document,
    read_job: Callable[..., Any],
    judged_of: Callable[..., Judged],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """An interrupt in the middle comes through at once, most samples are never run, and nothing goes on behind it."""
    scheme, survey, behaviour, chance = _of(house, read_job, judged_of)
    real, said, ran = joint_chance.sampled_years, list[str](), list[float]()

    def counted(*given: Any, **how: Any) -> Any:
        ready = real(*given, **how)
        assert ready is not None

        def run(sample: Sample) -> Any:
            ran.append(time.monotonic())
            time.sleep(0.02)
            return ready.run(sample)

        return replace(ready, run=run)

    def stop(what: str) -> None:
        said.append(what)
        if "samples through the record" in what:
            raise KeyboardInterrupt

    monkeypatch.setattr(joint_chance, "sampled_years", counted)
    with pytest.raises(KeyboardInterrupt):
        with_joint(chance, scheme, survey, behaviour, progress=stop)
    stopped, count = time.monotonic(), len(ran)
    assert [words for words in said if words][-1].startswith("All unknowns at once: ")
    assert 20 <= count < 250
    time.sleep(0.2)
    assert len(ran) == count
    assert ran[-1] < stopped
    # one that is stopped between two of its pieces stops before the next one is done
    said.clear()
    ran.clear()

    def leave(what: str) -> None:
        if ran and not what:
            raise KeyboardInterrupt

    monkeypatch.setattr(joint_chance, "_AT_ONCE", 250)
    with pytest.raises(KeyboardInterrupt):
        with_joint(chance, scheme, survey, behaviour, progress=leave)
    assert len(ran) < 100
