"""Findings and answers as JSON holds them: what is no number is null. A test holds the fields to ``checks.finding``."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

from roofwell.checks.finding import Measurement, Op, Overruled, Verdict
from roofwell.checks.what_if_words import CaseRow
from roofwell.system.facts import AssumedValue

__all__ = ["Answer", "AssumedValue", "Finding", "Refused", "Said", "WhatIf"]


class Said(BaseModel):
    """An answer of the service: every field is there, those with a default too."""

    model_config = ConfigDict(json_schema_serialization_defaults_required=True)


class Finding(BaseModel):
    """One check of one part, as in ``checks.finding.Finding``; SI numbers, finished texts."""

    code: str
    question: int
    subject: str
    verdict: Verdict
    value: float | None
    low: float | None
    high: float | None
    op: Op
    limit: float | None
    spare: float | None
    value_text: str
    limit_text: str
    spare_text: str
    sentence: str
    source: str
    missing: list[Measurement]
    assumed: list[str]
    overruled: Overruled | None
    digging: bool
    detail: str
    fixed: bool
    value_of: str


class Answer(BaseModel):
    """The answer to one of the nine questions, as in ``checks.finding.Answer``."""

    question: int
    title: str
    verdict: Verdict | None
    governing: Finding | None
    sentence: str
    findings: list[Finding]
    assumed: list[str]
    detail: str


class WhatIf(BaseModel):
    """What happens where one thing fails, by the letters of the sections."""

    rows: list[CaseRow]
    warnings: list[str]
    basis: str


class Refused(BaseModel):
    """Why something was not done: ``code`` for programs, ``message`` for the person."""

    code: str
    message: str
