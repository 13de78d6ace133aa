"""``schema``, ``rain``, help and version; and what the command line loads."""

from __future__ import annotations

import gc
import json
import re
import socket
import subprocess
import sys
import tomllib
from pathlib import Path

import jsonschema
import pytest
import uvicorn
from pypdf import PdfReader

from roofwell import __version__
from roofwell.cli import main

Capture = pytest.CaptureFixture[str]


def test_schema_is_a_valid_schema_of_draft_2020_12_and_takes_the_small_house(
    capsys: Capture, data_folder: Path
) -> None:
    assert main(["schema"]) == 0
    schema = json.loads(capsys.readouterr().out)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    jsonschema.Draft202012Validator.check_schema(schema)
    document = tomllib.loads((data_folder / "small-house.toml").read_text(encoding="utf-8"))
    document["job"]["date"] = document["utilities"]["date"] = "2026-05-01"  # JSON has no dates
    validator = jsonschema.Draft202012Validator(schema)
    validator.validate(document)
    document["wells"]["W1"]["depht"] = "4 ft"
    assert list(validator.iter_errors(document))


def test_rain_lists_what_is_shipped(capsys: Capture) -> None:
    assert main(["rain"]) == 0
    out = capsys.readouterr().out
    for id in ("nashville-tn-table", "chicago-midway-il", "amarillo-tx"):
        assert id in out


def test_rain_shows_a_shipped_table(capsys: Capture) -> None:
    """Nashville, typed from the point table of NOAA Atlas 14 volume 2 version 3 (depth, partial duration)."""
    assert main(["rain", "nashville-tn-table"]) == 0
    lines = {
        line.split()[0] + line.split()[1]: line
        for line in capsys.readouterr().out.splitlines()
        if " " in line
    }
    depths = [0.381, 0.446, 0.514, 0.568, 0.636, 0.687, 0.736, 0.784, 0.843, 0.888]
    shown = [float(text) for text in re.findall(r"(\d+\.\d+) in", lines["5min"])]
    assert shown == pytest.approx(depths, abs=0.0051)
    hour = [1.30, 1.56, 1.90, 2.17, 2.54, 2.83, 3.12, 3.42, 3.83, 4.15]
    shown = [float(text) for text in re.findall(r"(\d+\.\d+) in", lines["60min"])]
    assert shown == pytest.approx(hour, abs=0.0051)
    years = [
        float(text) for text in re.findall(r"([\d.]+) yr", next(v for v in lines.values() if "duration" in v))
    ]
    assert years == [1, 2, 5, 10, 25, 50, 100, 200, 500, 1000]


def test_rain_shows_a_shipped_record(capsys: Capture) -> None:
    """Chicago Midway 1949 to 1979: 35.43 in a year (rain sheet, section 4)."""
    assert main(["rain", "chicago-midway-il"]) == 0
    out = capsys.readouterr().out
    assert "31.0 years in steps of" in out
    assert "35.4 in a year" in out
    assert "Most in 24 hours" in out


def test_rain_shows_a_record_beside_a_table(capsys: Capture) -> None:
    """NOAA Atlas 14 at Nashville: 10-year 24 h 4.70 in; 50 years are within twice Cairo's 39, 100 are not. Cairo's months
    make its year, 48.01 in (rain sheet, 2.2)."""
    assert main(["rain", "cairo-il", "--table", "nashville-tn-table"]) == 0
    out = capsys.readouterr().out
    row = next(line for line in out.splitlines() if line.startswith("10-year, 24 h"))
    assert "4.70 in" in row
    assert "50-year, 24 h" in out
    assert "100-year" not in out
    months = next(line for line in out.splitlines() if line.startswith("Mean rain of each month"))
    assert sum(float(word.strip(".,")) for word in months.split() if word[0].isdigit()) == pytest.approx(
        48.01, abs=0.08
    )
    assert "generalized Pareto by L-moments" in out


def test_rain_shows_a_plain_table(tmp_path: Path, capsys: Capture) -> None:
    file = tmp_path / "rain.csv"
    file.write_text(
        "duration (depth in),2 yr,10 yr,100 yr\n5 min,0.45,0.57,0.74\n60 min,1.56,2.17,3.12\n24 h,3.37,4.70,6.89\n",
        encoding="utf-8",
    )
    assert main(["rain", str(file)]) == 0
    out = capsys.readouterr().out
    assert "partial duration series" in out
    for cell in ("0.45 in", "2.17 in", "6.89 in"):
        assert cell in out


def _gauge(folder: Path, rows: list[str]) -> Path:
    file = folder / "gauge.csv"
    file.write_text("\n".join(["time,rain_in", *rows]) + "\n", encoding="utf-8")
    return file


def test_rain_shows_a_gauge_record_and_what_is_odd_in_it(tmp_path: Path, capsys: Capture) -> None:
    rows = [
        f"2020-05-01 {hour:02d}:00,{0.25 if hour in (3, 4) else 0:.2f}" for hour in range(24) if hour != 9
    ]
    assert main(["rain", str(_gauge(tmp_path, rows))]) == 0
    out = capsys.readouterr().out
    assert "Most in 1 hour: 0.25 in" in out
    assert re.search(r"(?m)^- .*(gap|missing|not there)", out)
    assert "% missing (counted as dry)" in out


def test_rain_of_a_file_that_is_none_says_why_twice(tmp_path: Path, capsys: Capture) -> None:
    file = tmp_path / "notes.txt"
    file.write_text("It rained all week.\nThe cellar was wet.\n", encoding="utf-8")
    assert main(["rain", str(file)]) == 2
    err = capsys.readouterr().err
    assert "neither a rain table nor a gauge record" in err
    assert "As a table:" in err
    assert "As a record:" in err


@pytest.mark.parametrize("name", ["nowhere.csv", "."])
def test_rain_of_no_file(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["rain", name]) == 2
    err = capsys.readouterr().err
    assert name in err
    assert "Traceback" not in err


def test_rain_of_a_binary_file(tmp_path: Path, capsys: Capture) -> None:
    file = tmp_path / "photo.jpg"
    file.write_bytes(bytes(range(256)) * 20)
    assert main(["rain", str(file)]) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_no_command_shows_the_help(capsys: Capture) -> None:
    assert main([]) == 0
    out = capsys.readouterr().out
    for command in ("start", "design", "schema", "rain"):
        assert command in out


def test_version(capsys: Capture) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["--version"])
    assert stop.value.code == 0
    assert capsys.readouterr().out.strip() == f"roofwell {__version__}"


def test_an_unknown_command_is_2(capsys: Capture) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["dig"])
    assert stop.value.code == 2
    assert "dig" in capsys.readouterr().err


HEAVY = ("numpy", "scipy", "numba", "shapely", "pydantic", "typst", "tomlkit", "rich", "tree_sitter")


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["design", "--help"]])
def test_help_loads_nothing_heavy(arguments: list[str]) -> None:
    code = (
        "import sys\n"
        "from roofwell.cli import main\n"
        "try:\n"
        f"    main({arguments!r})\n"
        "except SystemExit:\n"
        "    pass\n"
        f"print('LOADED', sorted(set(sys.modules) & set({HEAVY!r})))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "LOADED []"
    assert "Traceback" not in done.stderr


def test_the_package_itself_loads_nothing_heavy() -> None:
    code = f"import sys, roofwell; print(sorted(set(sys.modules) & set({HEAVY!r})))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_start_writes_a_metric_house_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """``--metric`` gives the starter in millimetres and metres; it can be designed as it stands."""
    file = tmp_path / "haus.toml"
    assert main(["start", "--metric", str(file)]) == 0
    assert 'units = "metric"' in file.read_text(encoding="utf-8")
    assert main(["design", str(file), "--no-papers"]) in (0, 1, 3)


@pytest.mark.parametrize(("flags", "page"), [([], (612, 792)), (["--metric"], (595, 842))])
def test_sheet_writes_a_blank_field_sheet_of_two_sides(
    flags: list[str], page: tuple[int, int], tmp_path: Path, capsys: Capture
) -> None:
    """Letter is 8 1/2 by 11 in (ANSI Y14.1), A4 210 by 297 mm (ISO 216), in points of 1/72 in."""
    file = tmp_path / "sheet.pdf"
    assert main(["sheet", str(file), *flags]) == 0
    assert "two sides" in capsys.readouterr().out
    sides = PdfReader(file).pages
    assert [(round(side.mediabox.width), round(side.mediabox.height)) for side in sides] == [page, page]
    text = [side.extract_text() for side in sides]
    assert "Level book" in text[0] and "When does water stand" in text[0]
    assert "Soil test" in text[1] and "side 2 of 2" in text[1]
    assert "buried lines located before anybody digs" in " ".join(text[1].split())


def test_a_field_sheet_that_cannot_be_written_is_told(tmp_path: Path, capsys: Capture) -> None:
    assert main(["sheet", str(tmp_path / "no-such-folder" / "sheet.pdf")]) == 2
    assert "sheet.pdf" in capsys.readouterr().err


def test_a_service_collects_what_requests_leave_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Commands run without the collector; a service that did would grow with every edit."""
    collects = []

    def serve(_: uvicorn.Server, sockets: list[socket.socket]) -> None:
        collects.append(gc.isenabled())
        for one in sockets:
            one.close()

    monkeypatch.setattr(uvicorn.Server, "run", serve)
    assert main(["serve", "--no-browser", "--port", "0", "--store", str(tmp_path / "jobs.sqlite")]) == 0
    assert collects == [True]
    gc.unfreeze()
