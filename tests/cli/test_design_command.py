"""``roofwell design``: exit codes, words on a terminal and in a pipe, JSON, and wrong input."""

from __future__ import annotations

import io
import json
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from roofwell import cli
from roofwell.checks.finding import Answer
from roofwell.cli import design_command, main
from roofwell.cli.design_command import exit_code
from roofwell.job.starter import starter
from roofwell.papers import PAPERS
from roofwell.papers.crew_sheet import READING_STYLES

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def job(tmp_path: Path, data_folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The small house in a folder of its own, which is the working folder too."""
    for name in ("small-house.toml", "small-house-rules.toml"):
        shutil.copy(data_folder / name, tmp_path / name)
    monkeypatch.chdir(tmp_path)
    return tmp_path / "small-house.toml"


def _change(job: Path, old: str, new: str) -> None:
    text = job.read_text(encoding="utf-8")
    assert text.count(old) == 1
    job.write_text(text.replace(old, new), encoding="utf-8")


def test_all_good_is_0_with_nine_answers_and_papers(job: Path, capsys: Capture) -> None:
    assert main(["design", str(job)]) == 0
    out, err = capsys.readouterr()
    for number in range(1, 10):
        assert re.search(rf"(?m)^{number} .*\?", out), number
    assert "W1 holds" in out
    assert "NOT FOR DIGGING" not in out
    assert err == ""
    folder = Path("roofwell-papers") / "small-house"
    assert sorted(path.name for path in folder.iterdir()) == sorted(paper.file for paper in PAPERS.values())
    assert str(folder) in out


def test_a_failure_is_1(job: Path, capsys: Capture) -> None:
    _change(job, 'plan_area = "420 sq ft"', 'plan_area = "42000 sq ft"')
    assert main(["design", str(job), "--no-papers"]) == 1
    out = capsys.readouterr().out
    assert "fails" in out
    assert "NOT FOR DIGGING" in out
    assert not Path("roofwell-papers").exists()


def test_what_cannot_be_judged_yet_is_3_and_names_the_measurement(job: Path, capsys: Capture) -> None:
    _change(job, 'seasonal_high_water = "84 ft"', "")
    assert main(["design", str(job), "--no-papers"]) == 3
    out = capsys.readouterr().out
    assert "Missing: seasonal high water." in out
    assert "(mottling)" in out


@pytest.mark.parametrize(
    ("name", "right"),
    [
        ("", "a job is needed"),
        (".", "is a folder"),
        ("nothing.toml", "give a .toml file or a shipped example"),
        ("bungalo", "did you mean bungalow?"),
        ("x" * 5000, "there is no job xxx"),
        ("\0", "there is no job"),
    ],
)
def test_a_job_that_is_no_file_is_2(name: str, right: str, job: Path, capsys: Capture) -> None:
    assert main(["design", name, "--no-papers"]) == 2
    out, err = capsys.readouterr()
    assert right in err and out == "" and len(err) < 400


@pytest.mark.parametrize("change", ["utf-16", "crossed", "newer"])
def test_a_file_with_problems_is_2_and_names_line_key_and_what_was_read(
    change: str, job: Path, capsys: Capture
) -> None:
    text = job.read_text(encoding="utf-8")
    if change == "utf-16":
        job.write_bytes(text.encode("utf-16"))
        expected = "line 1, small-house.toml: you wrote bytes"
    elif change == "crossed":
        line = text.count("\n") + 2
        job.write_text(
            f'{text}[features.X9]\nkind = "drive"\nunit = "ft"\noutline = [[0,0],[9,9],[9,0],[0,9]]\n',
            "utf-8",
        )
        expected = (
            f"line {line + 3 - 1}, features.X9.outline: you wrote [[0, 0], [9, 9], [9, 0], [0, 9]]; the sides"
        )
    else:
        job.write_text(re.sub("(?m)^document = 1$", "document = 2", text), "utf-8")
        expected = "document: you wrote 2; a newer Roofwell"
    assert main(["design", str(job), "--no-papers"]) == 2
    out, err = capsys.readouterr()
    assert out == "" and expected in err and "Traceback" not in err


def test_the_last_answer_counts_only_once_built(job: Path) -> None:

    def answers(**verdicts: Any) -> list[Answer]:
        return [Answer(n, "", verdicts.get(f"q{n}"), None, "", ()) for n in range(1, 10)]

    assert exit_code(answers(q1="good", q2="close")) == 0
    assert exit_code(answers(q1="good", q7="unknown")) == 3
    assert exit_code(answers(q7="unknown", q5="fails")) == 1


def test_wrong_input_is_2_and_shows_line_key_and_what_is_right(job: Path, capsys: Capture) -> None:
    _change(job, 'share = "40 %"', 'share = "40 in"')
    _change(job, 'rate = "4 in/h"', "rate = 4")
    _change(job, "[overflows.O1]", "[overflow.O1]")
    assert main(["design", str(job)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    lines = job.read_text(encoding="utf-8").splitlines()
    for written, path in (('share = "40 in"', "downspouts.D1.share"), ("rate = 4", "soil.rate")):
        assert f"line {lines.index(written) + 1}, {path}:" in err
    assert "overflow" in err
    assert "overflows" in err  # the nearest known key
    assert "nothing was designed" in err
    assert not Path("roofwell-papers").exists()


def test_no_toml_at_all_is_2(tmp_path: Path, capsys: Capture) -> None:
    file = tmp_path / "x.toml"
    file.write_text("document = 1\n[job\n", encoding="utf-8")
    assert main(["design", str(file)]) == 2
    assert "line 2" in capsys.readouterr().err
    file.write_bytes(b"\xff\xfe\x00")
    assert main(["design", str(file)]) == 2
    file.write_text("document = 2\n", encoding="utf-8")
    assert main(["design", str(file)]) == 2
    assert "newer Roofwell" in capsys.readouterr().err


def test_a_job_that_is_not_there_is_2_and_lists_the_examples(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["design", "nowhere.toml"]) == 2
    err = capsys.readouterr().err
    assert "nowhere.toml" in err
    assert "bungalow" in err
    assert main(["design", str(tmp_path)]) == 2  # a folder is no job


def test_a_missing_file_beside_the_job_is_2(job: Path, capsys: Capture) -> None:
    (job.parent / "small-house-rules.toml").unlink()
    assert main(["design", str(job)]) == 2
    assert "place.rules" in capsys.readouterr().err


def test_our_own_fault_is_70_with_a_log_and_no_traceback(
    job: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:

    def broken(*args: Any, **more: Any) -> None:
        raise ZeroDivisionError("planted fault")

    monkeypatch.setattr(design_command, "design", broken)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    assert main(["design", str(job)]) == 70
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    assert "not in your job" in err
    (log,) = tmp_path.glob("roofwell-fault-*.log")
    assert str(log) in err
    text = log.read_text(encoding="utf-8")
    assert "planted fault" in text
    assert "Traceback" in text


def test_where_no_log_can_be_written_the_message_comes_all_the_same(
    job: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:

    def broken(*args: Any, **more: Any) -> None:
        raise RuntimeError

    def full(*args: Any, **more: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(design_command, "design", broken)
    monkeypatch.setattr(cli.tempfile, "NamedTemporaryFile", full)
    assert main(["design", str(job)]) == 70
    assert "something went wrong" in capsys.readouterr().err


def _documented() -> set[str]:
    page = Path(__file__).parents[2] / "docs" / "results.md"
    return set(re.findall(r"`([a-z_]+)`", page.read_text(encoding="utf-8")))


def test_json_is_valid_documented_and_the_same_as_the_file(job: Path, capsys: Capture) -> None:
    def never(constant: str) -> None:
        raise AssertionError(constant)

    assert main(["design", str(job), "--json", "--out", "papers"]) == 0
    out = capsys.readouterr().out
    data = json.loads(out, parse_constant=never)
    assert data == json.loads(Path("papers/results.json").read_text(encoding="utf-8"))
    assert [answer["question"] for answer in data["answers"]] == list(range(1, 10))
    assert set(data) <= _documented()
    assert set(data["answers"][0]) <= _documented()
    assert set(data["answers"][0]["findings"][0]) <= _documented()


def test_plain_when_piped(job: Path, capsys: Capture) -> None:
    """No escape codes, and no line broken for a width that a program does not have."""
    main(["design", str(job), "--no-papers", "--all"])
    out = capsys.readouterr().out
    assert "\x1b" not in out
    assert max(len(line) for line in out.splitlines()) > 120
    assert "[bold]" not in out
    assert "[/]" not in out


def test_text_of_a_job_is_printed_as_it_stands(job: Path, capsys: Capture) -> None:
    """Brackets and colons of a person's text are no markup."""
    _change(job, 'name = "Small house (invented)"', 'name = "[red]House[/red] :smile: (invented)"')
    main(["design", str(job), "--no-papers"])
    assert capsys.readouterr().out.splitlines()[0].startswith("[red]House[/red] :smile: (invented)")


def test_papers_that_cannot_be_written_are_wrong_input(job: Path, capsys: Capture) -> None:
    Path("taken").write_text("a file, not a folder", encoding="utf-8")
    assert main(["design", str(job), "--out", "taken"]) == 2
    assert "cannot write the papers" in capsys.readouterr().err


def test_adopt_writes_a_job_that_designs_to_the_same_and_keeps_what_is_there(
    job: Path, capsys: Capture
) -> None:
    assert main(["design", str(job), "--no-papers", "--adopt", "given.toml"]) == 0
    given = Path("given.toml").read_text(encoding="utf-8")
    assert main(["design", "given.toml", "--no-papers"]) == 0
    capsys.readouterr()
    assert main(["design", str(job), "--no-papers", "--adopt", "given.toml"]) == 2
    assert "is there already and was kept" in capsys.readouterr().err
    assert Path("given.toml").read_text(encoding="utf-8") == given
    assert main(["design", str(job), "--no-papers", "--adopt", "no/such/folder.toml"]) == 2
    assert "cannot write" in capsys.readouterr().err


def test_the_starter_designs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["start", "mine.toml"]) == 0
    assert Path("mine.toml").read_text(encoding="utf-8") == starter()
    assert "roofwell design mine.toml" in capsys.readouterr().out
    assert main(["design", "mine.toml", "--no-papers"]) in (0, 1, 3)
    assert "nvented" in capsys.readouterr().out.splitlines()[0]


def test_start_keeps_what_is_there(tmp_path: Path, capsys: Capture) -> None:
    file = tmp_path / "mine.toml"
    file.write_text("my work", encoding="utf-8")
    assert main(["start", str(file)]) == 2
    assert file.read_text(encoding="utf-8") == "my work"
    assert "was kept" in capsys.readouterr().err
    assert main(["start", str(tmp_path / "no" / "folder.toml")]) == 2
    assert "cannot write" in capsys.readouterr().err


def test_stopped_by_hand(job: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:

    def stop(*args: Any, **more: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(design_command, "design", stop)
    assert main(["design", str(job)]) == 130
    assert "Traceback" not in capsys.readouterr().err


def test_rules_that_must_be_asked_for_do_not_stop_a_design(
    job: Path, rules_with: Callable[..., Path], capsys: Capture
) -> None:
    shutil.copy(rules_with(building="ask the office") / "small-house-rules.toml", job.parent)
    assert main(["design", str(job), "--no-papers"]) == 3
    assert "ask the office" in capsys.readouterr().out


def test_a_reader_who_stops_listening_costs_no_papers(tmp_path: Path) -> None:
    """Piped into a pager that ends early, the papers are there all the same."""
    command = [sys.executable, "-m", "roofwell", "design", "old-system", "--out", str(tmp_path / "out")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None and process.stderr is not None
        process.stdout.readline()
        process.stdout.close()
        process.wait(timeout=120)
        assert b"Traceback" not in process.stderr.read()
    assert {file.name for file in (tmp_path / "out").iterdir()} == {
        "roofwell.pdf",
        "homeowner.pdf",
        "crew-sheets.pdf",
        "order.csv",
        "results.json",
    }


def test_crew_sheets_for_todays_set_up(job: Path, capsys: Capture) -> None:
    """The benchmark of the small house is 100 ft: 4.62 ft on it is an instrument at 104.62 ft."""
    out = ["--out", "papers"]
    assert main(["design", str(job), *out, "--backsight", "4.62 ft"]) == 0
    by_rod = Path("papers/crew-sheets.pdf").read_bytes()
    assert main(["design", str(job), *out, "--instrument", "104.62 ft"]) == 0
    text = " ".join(page.extract_text() for page in PdfReader("papers/crew-sheets.pdf").pages)
    assert "104.62" in text and "Rod must read = 104.62" in text
    assert "104.62" in " ".join(page.extract_text() for page in PdfReader(io.BytesIO(by_rod)).pages)
    capsys.readouterr()


def test_an_instrument_that_cannot_be_is_2_and_costs_no_papers(job: Path, capsys: Capture) -> None:
    for words in (["--instrument", "4.62 ft"], ["--instrument", "4.62"], ["--backsight", "100 ft"]):
        assert main(["design", str(job), "--out", "papers", *words]) == 2
        assert capsys.readouterr().err.startswith("roofwell: ")
    assert not Path("papers").exists()


def test_the_rods_of_the_command_are_the_papers_own() -> None:
    words = cli.parser().parse_args(["design", "x", "--readings", READING_STYLES[-1]])
    assert words.readings == READING_STYLES[-1]
    for style in READING_STYLES:
        assert cli.parser().parse_args(["design", "x", "--readings", style]).readings == style
    with pytest.raises(SystemExit):
        cli.parser().parse_args(["design", "x", "--instrument", "1 ft", "--backsight", "1 ft"])
