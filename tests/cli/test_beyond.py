"""What lies beyond the design storm, on the terminal: all of it with ``--all``, water at an opening always."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from roofwell.cli import main

DATA = Path(__file__).parents[1] / "data"


def _job(folder: Path, old: str = "", new: str = "") -> Path:
    text = (DATA / "small-house.toml").read_text(encoding="utf-8")
    assert old in text
    text = text.replace(old, new) if old else text
    rules = (DATA / "small-house-rules.toml").read_text(encoding="utf-8")
    (folder / "small-house-rules.toml").write_text(rules, encoding="utf-8")
    job = folder / "job.toml"
    job.write_text(text, encoding="utf-8")
    return job


def test_it_is_told_with_all_and_nowhere_else(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = _job(tmp_path)
    main(["design", str(job), "--no-papers"])
    short = capsys.readouterr().out
    assert "Beyond the design storm" not in short
    assert "W1 holds every storm" in short
    main(["design", str(job), "--no-papers", "--all", "--chance"])
    long = " ".join(capsys.readouterr().out.split())
    assert "Beyond the design storm" in long
    assert "Every rule at once" in long
    assert "Nine chances in ten" in long
    assert "All unknowns at once (500 samples, seed 1967)" in long


def test_water_at_an_opening_is_told_without_being_asked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = _job(tmp_path, 'lowest_opening = "99.8 ft"', 'lowest_opening = "97.3 ft"')
    main(["design", str(job), "--no-papers"])
    assert "Stress: with " in capsys.readouterr().out


def test_results_hold_it_and_the_samples_only_where_they_were_asked_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = _job(tmp_path)
    main(["design", str(job), "--no-papers", "--json"])
    beyond = json.loads(capsys.readouterr().out)["behaviour"]["beyond"]
    assert {stress["key"] for stress in beyond["stress"]} >= {
        "design",
        "slow-soil",
        "wet-start",
        "cloudburst",
    }
    assert beyond["chance"]["joint"] is None
    assert beyond["governing"][0][0] == "W1"
