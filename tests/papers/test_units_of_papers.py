"""A paper speaks in the units of its job alone: no inch in a metric one, no millimeter in a US one."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from roofwell import examples, tables
from roofwell.cli import main
from roofwell.job.starter import starter
from roofwell.papers.set import set_data
from roofwell.papers.set.cautions import cautions
from roofwell.system.ledger import Ledger

from . import house

NUMBER = r"(?<![A-Z])(?<![A-Z]\d)[0-9½¼¾⅛⅜⅝⅞]"  # "B1 in" is where a pipe comes in
US = re.compile(
    rf"{NUMBER}[ -]?(in|ft|gal|gpm|cfs|sq ft|sq yd|cu ft|cu yd|yd|lb|tons?|miles?|in/h|in/ft|ft/s|°F)\b"
    rf"(?! [a-z]+ (to|of|with) )|{NUMBER}[′″]"
    r"|\b(inch(es)?|feet|foot(?! of)|gallons?|cubic yards?|square feet|pounds?)\b|ton/cu yd"
)
METRIC = re.compile(
    rf"{NUMBER}[ -]?(mm|cm|m|km|m²|m³|m2|m3|L|L/s|mm/h|m/s|kg|t|°C)\b"
    r"|\b(millimeters?|centimeters?|meters?|liters?|kilograms?|tonnes?|kilometers?)\b|t/m³"
)


def _texts(value: Any) -> Iterator[str]:
    match value:
        case str():
            yield value
        case dict():
            for item in value.values():
                yield from _texts(item)
        case list():
            for item in value:
                yield from _texts(item)


def _words(folder: Path, printed: str) -> Iterator[tuple[str, str]]:
    """Yield every text of the papers and of the terminal, without the titles of sources."""
    titles = sorted(
        {text for source in tables.sources().values() for text in (source.title, source.locator) if text},
        key=len,
        reverse=True,
    )
    for path in sorted(folder.glob("*.pdf")):
        text = " ".join(page.extract_text() for page in PdfReader(path).pages)
        text = " ".join(text.split())
        for title in titles:
            text = text.replace(title, "")
        yield path.name, text
    for text in _texts(json.loads((folder / "results.json").read_text(encoding="utf-8"))):
        yield "results.json", text
    for row in csv.reader(io.StringIO((folder / "order.csv").read_text(encoding="utf-8-sig"))):
        yield from (("order.csv", cell) for cell in row)
    yield "terminal", printed


def _found(pattern: re.Pattern[str], words: Iterator[tuple[str, str]]) -> list[tuple[str, str]]:
    return [
        (where, text[max(0, hit.start() - 40) : hit.end() + 20])
        for where, text in words
        for hit in pattern.finditer(text)
    ]


def _job(name: str, folder: Path) -> Path:
    if name in examples.names():
        return examples.path(name)
    path = folder / f"{name}.toml"
    path.write_text(starter(name), encoding="utf-8")
    return path


@pytest.mark.parametrize("name", ["terrace", "metric-house"])
def test_no_us_unit_in_a_metric_job(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["design", str(_job(name, tmp_path)), "--out", str(tmp_path / "out"), "--all"])
    assert _found(US, _words(tmp_path / "out", capsys.readouterr().out)) == []


@pytest.mark.parametrize("name", ["bungalow", "old-system", "nothing-below-ground"])
def test_no_metric_unit_in_a_us_job(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["design", str(_job(name, tmp_path)), "--out", str(tmp_path / "out"), "--all"])
    assert _found(METRIC, _words(tmp_path / "out", capsys.readouterr().out)) == []


def test_every_assumption_and_limit_reads_in_metric_without_a_us_unit() -> None:
    for one in tables.all_assumptions():
        if one.key.endswith("-us"):
            continue
        metric = tables.assumption(one.key, "metric")
        for text in (metric.text, metric.what, metric.how_to_measure):
            assert not US.search(text), (one.key, text)
    for limit in tables.all_limits():
        assert not US.search(tables.limit(limit.key, "metric").text), limit.key


def test_the_metric_figure_is_the_same_thing_as_the_us_one() -> None:
    """Rounded as the trade says it: within 6 %; the benchmark's elevation is any round figure."""
    pairs = [(one, tables.assumption(one.key, "metric")) for one in tables.all_assumptions()]
    limits = [(one, tables.limit(one.key, "metric")) for one in tables.all_limits()]
    for us, metric in [*pairs, *limits]:
        if us.key in (
            "benchmark-elevation",
            "observation-pipe",
            "link-pipe",
            "basin-step",
            "spreader-step",
            "spreader-least",
            "lying-length-step",
        ):  # trade sizes: 4 in and 110 mm outside; steps that each tape has, a foot and a quarter of a meter
            continue
        assert metric.value_si == pytest.approx(us.value_si, rel=0.06, abs=1e-12), us.key


def test_what_is_printed_as_assumed_is_what_is_used() -> None:
    ledger = Ledger("metric")
    assert ledger.assume("W1.stone_below_m", "stone-below") == 0.150
    assert [value.text for value in ledger.assumed] == ["150 mm"]
    assert Ledger().assume("W1.stone_below_m", "stone-below") == pytest.approx(6 * 0.0254)


def test_cautions_speak_in_the_units_of_the_job() -> None:
    """29 CFR 1926.652(a) and 651(c)(2), from memory: 5 ft and 4 ft; the metric trade says 1.5 m and 1.2 m."""
    us, metric = (" ".join(words for _, words in cautions(style)) for style in ("us", "metric"))
    assert "5 ft" in us and "4 ft" in us and not METRIC.search(us)
    assert "1.5 m" in metric and "1.2 m" in metric and not US.search(metric)


def test_the_publication_of_the_rain_is_printed_not_its_key() -> None:
    base = house.design()
    survey = replace(base.survey, rain=replace(base.survey.rain, table_source="noaa-atlas-14-v2"))
    words = set_data(replace(base, survey=survey))["rests"]["rain"]
    assert "NOAA Atlas 14 volume 2 version 3" in words and "noaa-atlas-14-v2" not in words
