"""The first set: one PDF with the nine answers, site plan, sections, levels, order list and cautions; and a short one."""

from __future__ import annotations

from importlib import resources
from typing import Any

from roofwell.design.result import Design
from roofwell.papers.set import contents, tables
from roofwell.papers.set.age_table import age_table
from roofwell.papers.set.beyond import beyond
from roofwell.papers.set.care import care_sheet
from roofwell.papers.set.cautions import cautions
from roofwell.papers.set.debris_table import debris_table
from roofwell.papers.set.heights_table import heights_table
from roofwell.papers.set.in_short import in_short
from roofwell.papers.set.pictures import picture_views
from roofwell.papers.set.sheets import PAPERS, short_views, views
from roofwell.papers.set.soil_table import soil_tests
from roofwell.papers.set.turns import turns
from roofwell.papers.set.what_if_table import what_if_table
from roofwell.papers.texts import Say
from roofwell.papers.typesetting import typeset


def set_data(design: Design) -> dict[str, Any]:
    """Return everything that the template prints, as finished strings and pictures."""
    say = Say(design.survey.style)
    return {
        **sheet_of_paper(design),
        "head": contents.head(design),
        "band": contents.band(design),
        "in_short": "",
        "answers": contents.answers(design),
        "checks_stand": "the list of checks",
        "rests": contents.rests(design),
        "views": views(design),
        "pictures": picture_views(design),
        "levels": tables.levels(design),
        "level_unit": say.level_unit,
        "setting_out": tables.setting_out(design),
        "pipes": tables.pipes(design),
        "turns": turns(design),
        "soil_tests": soil_tests(design),
        "debris": debris_table(design),
        "heights": heights_table(design),
        "age": age_table(design),
        "open_sizes": tables.open_sizes(design),
        "order": tables.order(design.takeoff),
        "bulk": tables.bulk(design.takeoff, say),
        "cautions": caution_rows(design),
        "care": care_sheet(design),
        "findings": contents.findings(design),
        "what_if": what_if_table(design),
        "beyond": beyond(design),
        "sources": contents.sources(design),
    }


def sheet_of_paper(design: Design) -> dict[str, Any]:
    """Return the paper and its margins as the template takes them."""
    paper = PAPERS[design.survey.style]
    return {
        "paper": paper.name,
        "margin": {
            "binding": paper.binding_pt,
            "side": paper.side_pt,
            "top": paper.top_pt,
            "foot": paper.foot_pt,
        },
    }


def caution_rows(design: Design) -> list[dict[str, str]]:
    """Return the cautions as the template takes them."""
    return [{"title": title, "words": words} for title, words in cautions(design.survey.style)]


def short_data(design: Design) -> dict[str, Any]:
    """Return what the short set prints, in the form of the whole one: everything else of it is empty."""
    rests = contents.rests(design)
    told = f"{rests['assumed_words']}: the whole set lists them."
    return {
        **sheet_of_paper(design),
        "head": contents.head(design),
        "band": contents.band(design),
        "in_short": in_short(design),
        "answers": contents.answers(design),
        "checks_stand": "the whole set",
        "rests": {
            **rests,
            "assumed": [],
            "utilities": f"{rests['utilities']} {told}" if rests["assumed"] else rests["utilities"],
        },
        "views": short_views(design),
        "pictures": [],
        "levels": [],
        "level_unit": "",
        "setting_out": {"rows": [], "note": ""},
        "pipes": [],
        "turns": {"rows": [], "notes": []},
        "soil_tests": {**soil_tests(design), "rows": [], "together": "", "notes": [], "models": []},
        "debris": None,
        "heights": None,
        "age": None,
        "open_sizes": None,
        "order": {"buy": [], "work": [], "priced": False, "nothing": "", "total": "", "book": ""},
        "bulk": "",
        "cautions": caution_rows(design),
        "care": care_sheet(design),
        "findings": [],
        "what_if": None,
        "beyond": None,
        "sources": [],
    }


def make_short_set(design: Design) -> bytes:
    """Return the few sides for whoever lives there: the nine answers, site plan, one section, care, cautions."""
    return typeset(resources.files(__package__) / "set.typ", short_data(design))


def make_set(design: Design) -> bytes:
    """Return the set as PDF: Letter where units are US customary, A4 where metric."""
    return typeset(resources.files(__package__) / "set.typ", set_data(design))
