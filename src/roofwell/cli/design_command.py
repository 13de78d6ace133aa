"""``roofwell design JOB``: the main job."""

from __future__ import annotations

import argparse
import difflib
import importlib
import sys
from collections.abc import Sequence
from functools import partial
from pathlib import Path

from rich.console import Console
from rich.markup import escape

from roofwell import examples
from roofwell.checks.allowed import notes
from roofwell.checks.finding import Answer, Finding
from roofwell.checks.register import Context
from roofwell.cli.age_print import print_ageing
from roofwell.cli.beyond_print import print_beyond, print_warnings
from roofwell.cli.care_print import print_care
from roofwell.cli.console import output
from roofwell.cli.debris_print import print_debris
from roofwell.cli.mends_print import print_mends
from roofwell.cli.what_if_print import print_what_if_warnings, print_what_ifs
from roofwell.design import Design, adopt, design
from roofwell.errors import InputError
from roofwell.job import Problem, Reading, read_file
from roofwell.job.write import document_text
from roofwell.papers import results_json, write_papers
from roofwell.papers.crew_sheet import CrewOptions, make_crew_sheets, read_height
from roofwell.papers.set.contents import assumed
from roofwell.papers.set.soil_table import conductivity_words, together
from roofwell.papers.texts import Say

GOOD, FAILS, INPUT_WRONG, UNKNOWN = 0, 1, 2, 3
WORDS = {
    "good": "good",
    "close": "[yellow]close[/]",
    "fails": "[bold red]fails[/]",
    "unknown": "[dim]unknown[/]",
}


def run(options: argparse.Namespace) -> int:
    """Read, design, answer, write the papers."""
    path = _job_path(options.job)
    if options.adopt is not None and options.adopt.exists():
        raise InputError(
            f"{options.adopt} is there already and was kept; name another file for the adopted job",
            code="adopt-exists",
        )
    if options.mends and options.json:
        raise InputError("--mends is told in words; leave out --json, or --mends", code="mends-in-words")
    crew = _crew_options(options)
    reading = read_file(path)
    if reading.problems or reading.job is None:
        _print_problems(path, reading.problems)
        return INPUT_WRONG
    result = _design(reading, chance=options.chance)
    folder = options.out or Path("roofwell-papers") / path.stem
    # files first: a reader who stops listening (a pipe into a pager) must not cost the papers
    if options.adopt is not None:
        _write_adopted(options.adopt, reading, result)
    written = () if options.no_papers else _write_papers(result, folder, crew)
    if options.json:
        _write_bytes(results_json(result))
    else:
        _print(result, everything=options.all)
        if options.mends:
            print_mends(output(), reading, result)
        if written:
            print(f"\nPapers in {folder}: {', '.join(file.name for file in written)}")
    return exit_code(result.answers)


def _write_adopted(path: Path, reading: Reading, result: Design) -> None:
    try:
        path.write_text(document_text(adopt(reading.document, result)), encoding="utf-8")
    except OSError as error:
        raise InputError(f"cannot write {path}: {error.strerror}", code="adopt-file") from None


def _crew_options(options: argparse.Namespace) -> CrewOptions:
    heights = (options.instrument, "--instrument"), (options.backsight, "--backsight")
    instrument, backsight = (
        read_height(text, option) if text is not None else None for text, option in heights
    )
    return CrewOptions(instrument, backsight, options.readings)


def _write_papers(result: Design, folder: Path, crew: CrewOptions) -> tuple[Path, ...]:
    sheets = {"crew": partial(make_crew_sheets, options=crew)}
    try:
        return write_papers(result, folder, otherwise=sheets)
    except OSError as error:
        raise InputError(
            f"cannot write the papers to {folder}: {error.strerror}", code="papers-folder"
        ) from None


def exit_code(answers: Sequence[Answer]) -> int:
    """Return 1 if something fails, 3 if something cannot be judged yet, else 0; 9 counts only once built."""
    verdicts = {answer.verdict for answer in answers}
    if "fails" in verdicts:
        return FAILS
    return UNKNOWN if "unknown" in verdicts else GOOD


def _job_path(name: str) -> Path:
    path, said = Path(name), "".join(letter for letter in name[:200] if letter.isprintable())
    if not name.strip():
        raise InputError("a job is needed: a .toml file or a shipped example", code="job-missing")
    try:
        there, folder = path.is_file(), path.is_dir()
    except (OSError, ValueError):  # a name that no file can have
        there = folder = False
    if there:
        return path
    if name in examples.names():
        return examples.path(name)
    shipped = f"give a .toml file or a shipped example: {', '.join(examples.names())}"
    if folder:
        raise InputError(f"{said} is a folder; name the job document in it", code="job-missing")
    close = difflib.get_close_matches(name[:80], examples.names(), n=1)
    hint = f"did you mean {close[0]}?" if close else shipped
    raise InputError(f"there is no job {said}; {hint}", code="job-missing")


def _write_bytes(content: bytes) -> None:
    """Write UTF-8 whatever the terminal's own encoding is."""
    sys.stdout.flush()
    sys.stdout.buffer.write(content)
    sys.stdout.buffer.flush()


def _design(reading: Reading, *, chance: bool) -> Design:
    assert reading.job is not None
    joint = None
    if chance:  # what it needs takes a second to load
        joint = importlib.import_module("roofwell.design.drawn_together").drawn_together
    errors = Console(stderr=True)
    if not errors.is_terminal:
        return design(reading.job, folder=reading.folder, document=reading.document, joint=joint)
    with errors.status("Rain on the first scheme") as status:
        if joint is not None:
            joint = partial(joint, progress=lambda words: status.update(words) if words else None)
        return design(
            reading.job,
            folder=reading.folder,
            document=reading.document,
            progress=lambda words: status.update(words) if words else None,
            joint=joint,
        )


def _print_problems(path: Path, problems: Sequence[Problem]) -> None:
    count = "one thing" if len(problems) == 1 else f"{len(problems)} things"
    print(f"{path}: {count} to put right, nothing was designed.", file=sys.stderr)
    for problem in problems:
        where = f"line {problem.line}, " if problem.line else ""
        read = f" you wrote {problem.read};" if problem.read not in ("", "nothing", "a table") else ""
        print(f"  {where}{problem.path}:{read} {problem.message}", file=sys.stderr)


def _print(result: Design, *, everything: bool) -> None:
    console = output()
    about = result.job.job
    title = about.name or "Job without a name"
    invented = about.invented and "invented" not in title.lower()
    console.print(f"[bold]{escape(title)}[/]" + (", an invented house" if invented else ""))
    if result.open_sizes:
        console.print(f"How much is still open: {escape(result.open_sizes)}.")
    for answer in result.answers:
        verdict = WORDS[answer.verdict] if answer.verdict else "[dim]nothing to judge[/]"
        console.print(f"\n[bold]{answer.question} {answer.title}[/] {verdict}")
        governing = answer.governing
        if governing is not None:
            spare = f", {governing.spare_text}" if governing.spare_text else ""
            console.print(
                f"  {escape(_named(governing))}: {escape(governing.value_text)}; "
                f"{escape(governing.limit_text)}{escape(spare)}"
            )
            _print_overruled(console, governing)
        console.print(f"  {escape(answer.sentence)}", style="none")
        if everything and answer.detail:
            console.print(f"  {escape(answer.detail)}", style="none")
        shown = (
            answer.findings
            if everything
            else [f for f in answer.findings if f.verdict in ("fails", "unknown") and f is not governing]
        )
        for finding in shown:
            _print_finding(console, finding)
        _print_missing(console, answer)
    print_warnings(console, result)
    print_what_if_warnings(console, result)
    if everything:
        print_debris(console, result)
        print_what_ifs(console, result)
        print_care(console, result)
        print_ageing(console, result)
        print_beyond(console, result)
    _print_rest(console, result)


def _named(finding: Finding) -> str:
    """Return what the number of a finding is, as a line begins: "Soil over P3"."""
    return _capital(finding.value_of or finding.subject)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _print_finding(console: Console, finding: Finding) -> None:
    console.print(
        f"  - {escape(_named(finding))}: {WORDS[finding.verdict]}, {escape(finding.value_text)}; "
        f"{escape(finding.limit_text)} [dim]({finding.code} {escape(finding.subject)})[/]"
    )
    _print_overruled(console, finding)


def _print_overruled(console: Console, finding: Finding) -> None:
    if finding.overruled is not None:
        over = finding.overruled
        console.print(f"    set aside by {escape(over.who)}, {over.date}: {escape(over.reason)}")


def _print_missing(console: Console, answer: Answer) -> None:
    for item in answer.missing:
        console.print(f"  Missing: {escape(item.what)}. {escape(_capital(item.how))}.")


def _print_soil(console: Console, result: Design) -> None:
    soil, say = result.survey.soil, Say(result.survey.style)
    for test in soil.tests:
        if test.kind == "given rate":
            continue
        other = f"; {say.rate(test.other_m_s)}: {test.other_method}" if test.other_m_s is not None else ""
        conductivity = conductivity_words(test, say)
        conducts = f"; conductivity {conductivity}" if conductivity else ""
        console.print(
            f"\nSoil: {escape(test.id)}, {escape(test.method)}: {say.rate(test.rate_m_s)}{escape(other)}{conducts}."
        )
        for remark in test.remarks:
            console.print(f"  {escape(remark[:1].upper() + remark[1:])}.")
    if soil.tests and any(test.kind != "given rate" for test in soil.tests):
        console.print(f"  {escape(together(result, say))}")
    for note in soil.notes:
        console.print(f"\nSoil: {escape(note)}.")


def _print_rest(console: Console, result: Design) -> None:
    context = Context(result.job, result.survey, result.scheme, result.behaviour, None, None, result.takeoff)
    for note in notes(context):
        console.print(f"\nCaution: {escape(note)}")
    for note in result.survey.rain.notes:
        console.print(f"\nRain: {escape(note)}.")
    _print_soil(console, result)
    for notice in result.notices:
        console.print(
            f"\nWithout effect: {escape(notice.path)}, {escape(notice.read)}: {escape(notice.message)}."
        )
    console.print(f"\n[bold]Assumed[/], until somebody measures ({len(result.assumed)}):")
    for row in assumed(result):
        parts = f" ({row['parts']})" if row["parts"] else ""
        console.print(f"  {escape(row['what'] + parts)}: {escape(row['value'])}; {escape(row['how'])}.")
    if result.waits:
        console.print("\n[bold]NOT FOR DIGGING[/]. It waits for:")
        for words in result.waits:
            console.print(f"  {escape(words)}")
    console.print(
        "\nHave buried utilities located before anybody digs. Protect trenches and open holes. Keep roof water out of "
        "septic and foul sewers and away from foundations. Local code and a licensed professional decide."
    )
