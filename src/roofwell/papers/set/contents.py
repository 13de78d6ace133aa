"""The words of the set: head, the nine answers, what the design rests on. Finished strings only."""

from __future__ import annotations

from collections import Counter
from typing import Any

from roofwell import tables
from roofwell.checks.finding import Answer, Finding, Verdict, in_order
from roofwell.checks.rain_words import basis_words
from roofwell.checks.soakage_words import counted_words
from roofwell.checks.words import several
from roofwell.design.result import Design
from roofwell.errors import InternalError
from roofwell.papers.texts import Say, day, first_sentence, job_name, revision, without_keys
from roofwell.papers.vial import mark, vial


def head(design: Design) -> dict[str, Any]:
    """Return what stands at the head and foot of every side."""
    about = design.job.job
    say = Say(design.survey.style)
    who = ", ".join(text.strip() for text in (about.customer, about.address) if text and text.strip())
    return {
        "name": job_name(design.job),
        "invented": "an invented house" if about.invented else "",
        "who": who,
        "revision": revision(design.job),
        "day": day(about.date),
        "levels": f"elevations and stations in {'decimal feet' if say.style == 'us' else 'meters'}",
        "fingerprint": design.fingerprint[:12],
        "date": None if about.date is None else [about.date.year, about.date.month, about.date.day],
    }


def band(design: Design) -> dict[str, Any] | None:
    """Return the band that forbids digging, with what it waits for; None if the design may be dug from."""
    if not design.waits:
        return None
    governing = [answer.governing.sentence for answer in design.answers if answer.governing is not None]
    return {"title": "NOT FOR DIGGING", "waits": _grouped(design.waits, governing)}


def _grouped(waits: tuple[str, ...], governing: list[str]) -> list[str]:
    """Bring what one answer waits for into one line: measurements by name, each once; of what fails the governing one.

    A wait reads "number question? things": the sentence of what fails, or names parted by commas.
    """
    groups: dict[str, tuple[list[str], list[str]]] = {}
    for wait in waits:
        question, mark, things = wait.partition("? ")
        names, failing = groups.setdefault(question + mark, ([], []))
        if things.endswith("."):
            failing.append(things)
            continue
        named = things.split(", ") if not any(sign.isdigit() for sign in things) else [things]
        names += [thing for thing in dict.fromkeys(named) if thing and thing not in names]
    return [
        question + " ".join(filter(None, [_failing(failing, governing), "; ".join(names)]))
        for question, (names, failing) in groups.items()
    ]


def _failing(sentences: list[str], governing: list[str]) -> str:
    """Return the first sentence of the governing one of what fails, and how many more fail."""
    if not sentences:
        return ""
    chosen = next((one for one in sentences if one in governing), sentences[0])
    more = len(sentences) - 1
    rest = f" {more} more {_reads('fails', more)}." if more else ""
    return f"{first_sentence(chosen)}{rest}"


def answers(design: Design) -> list[dict[str, Any]]:
    """Return the nine answers, each with its vial, its governing number and one sentence."""
    return [_answer(answer) for answer in design.answers]


def _answer(answer: Answer) -> dict[str, Any]:
    found = answer.governing
    others = Counter(f.verdict for f in answer.findings if f is not found)
    worse: tuple[Verdict, ...] = ("fails", "unknown", "close")
    more = [f"{others[v]} more {_reads(v, others[v])}" for v in worse if others[v]]
    return {
        "number": str(answer.question),
        "question": answer.title,
        "verdict": answer.verdict or "nothing to judge",
        "judged": answer.verdict is not None,
        "vial": vial(answer.verdict, found) if answer.verdict is not None else "",
        "value": found.value_text if found is not None else "",
        "of": found.value_of if found is not None else "",
        "limit": found.limit_text if found is not None else "",
        "spare": found.spare_text if found is not None else "",
        "sentence": answer.sentence,
        "more": several(more),
    }


def _reads(verdict: str, count: int) -> str:
    if verdict == "fails":
        return "fails" if count == 1 else "fail"
    return f"{'is' if count == 1 else 'are'} {verdict}"


def rests(design: Design) -> dict[str, Any]:
    """Return what the design rests on: counts by origin, assumed values, missing measurements, overrules."""
    findings = [finding for answer in design.answers for finding in answer.findings]
    missing = in_order(m.leaf for finding in findings for m in finding.missing)
    needs: dict[str, list[str]] = {}
    for finding in findings:
        for measurement in finding.missing:
            number = str(finding.question)
            if number not in needs.setdefault(measurement.leaf, []):
                needs[measurement.leaf].append(number)
    return {
        "counts": [
            {"mark": mark(word), "count": f"{count}", "word": word} for word, count in design.rests_on.items()
        ],
        "assumed": assumed(design),
        "assumed_words": f"{len(design.assumed)} values are assumed until somebody measures them",
        "missing": [
            {"what": m.what, "how": without_keys(m.how), "answers": _waiting(needs[m.leaf]), "leaf": m.leaf}
            for m in missing
        ],
        "utilities": _utilities(design),
        "overruled": [_overruled(finding) for finding in findings if finding.overruled is not None],
        "without_effect": [{"what": notice.read, "why": notice.message} for notice in design.notices],
        "rain": _rain(design),
        "soil": _soil(design),
    }


def _waiting(numbers: list[str]) -> str:
    if len(numbers) == 1:
        return f"Answer {numbers[0]} waits for it."
    return f"Answers {several(numbers)} wait for it."


def assumed(design: Design) -> list[dict[str, str]]:
    """Return what is assumed, once for all the parts that share a value."""
    rows: dict[tuple[str, str, str, str], list[str]] = {}
    for value in design.assumed:
        key = (value.what, value.text, value.how_to_measure, value.source)
        part = value.path.split(".")[0]
        parts = rows.setdefault(key, [])
        if part not in parts and any(sign.isdigit() for sign in part):
            parts.append(part)
    numbers = source_numbers(design)
    return [
        {"what": what, "value": text, "how": how, "source": numbers[source], "parts": several(parts)}
        for (what, text, how, source), parts in rows.items()
    ]


def source_numbers(design: Design) -> dict[str, str]:
    """Number every source that the set leans on, in the order in which a reader meets it."""
    keys = [finding.source for answer in design.answers for finding in answer.findings]
    keys += [value.source for value in design.assumed]
    return {key: str(n) for n, key in enumerate(dict.fromkeys(keys), 1)}


def sources(design: Design) -> list[dict[str, str]]:
    """Return the numbered list of sources."""
    return [{"number": number, "words": source_words(key)} for key, number in source_numbers(design).items()]


def _utilities(design: Design) -> str:
    said = design.survey.utilities_located
    first = {True: "Buried utilities are located and marked.", False: "Buried utilities are not located.",
             None: "Whether buried utilities are located was not said."}[said]  # fmt: skip
    note = design.survey.utilities_note.strip()
    return f"{first} {note[:1].upper()}{note[1:]}.".replace("..", ".") if note else first


def _overruled(finding: Finding) -> dict[str, str]:
    assert finding.overruled is not None
    return {
        "what": f"{_capital(finding.value_of or finding.subject)}: {finding.value_text}, {finding.limit_text} "
        f"({finding.verdict})",
        "reason": finding.overruled.reason,
        "who": finding.overruled.who,
        "date": finding.overruled.date,
    }


def _rain(design: Design) -> str:
    rain, targets, say = design.survey.rain, design.survey.targets, Say(design.survey.style)
    words = f"{rain.table_name} ({_rain_source(rain.table_source)})"
    if not rain.table_of_this_place:
        away = f", {say.distance(rain.table_distance_m)} away" if rain.table_distance_m is not None else ""
        words += f", not of this place{away}"
    years = f"{targets.storm_years:g}-year storm ({targets.storm_from})"
    empty = f"empty again in {say.time(targets.empty_s)} ({targets.empty_from})"
    # where water only runs off to an outlet nothing is held and nothing empties
    must = (
        f"hold the {years} and be {empty}" if design.scheme.wells else f"carry the cloudburst of the {years}"
    )
    record = basis_words(design.survey)
    return f"Rain: {words}. Must {must}.{f' {record}' if record else ''}"


def _rain_source(key: str) -> str:
    """Return the publication of the rain table; "job" is what the job itself gives."""
    return "as the job gives it" if key == "job" else source_words(key)


def _soil(design: Design) -> str:
    soil, say = design.survey.soil, Say(design.survey.style)
    if not soil.known:
        spread = f"{say.rate(soil.low_m_s)} to {say.rate(soil.high_m_s)}"
        told = "".join(f" {test.id}: {remark}." for test in soil.tests for remark in test.remarks)
        return f"Soil: not tested. Meanwhile {spread} ({soil.basis}).{told}"
    water = ""
    if soil.high_water_m is not None:
        how = f" ({soil.high_water_basis})" if soil.high_water_basis else ""
        water = f" Seasonal high water at {say.elevation(soil.high_water_m)}{how}."
    remarks = "".join(f" {test.id}: {remark}." for test in soil.tests for remark in test.remarks)
    return f"Soil: counted with {counted_words(design.survey, design.scheme)}.{remarks}{water}"


def findings(design: Design) -> list[dict[str, str]]:
    """Return every finding as a row: what, number, limit, verdict, where the limit is from."""
    numbers = source_numbers(design)
    return [
        {
            "number": str(finding.question),
            "subject": finding.subject,
            "what": " ".join(filter(None, [finding.sentence, finding.detail])),
            "value": finding.value_text,
            "limit": finding.limit_text,
            "spare": finding.spare_text,
            "verdict": finding.verdict,
            "source": numbers[finding.source],
        }
        for answer in design.answers
        for finding in answer.findings
    ]


def source_words(key: str) -> str:
    """Return a source as a reader knows it: title, publisher, place; what is no key stands as it is."""
    try:
        source = tables.source(key)
    except InternalError:
        return key
    parts = [source.title, source.publisher, source.locator]
    return ", ".join(part for part in parts if part)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
