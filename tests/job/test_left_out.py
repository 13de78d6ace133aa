"""A section that is left out whole is left out, not a mistake; a label missing from a section that is there is one."""

from __future__ import annotations

from roofwell.job import read_text

RUN = 'document = 1\n[downspouts.D1]\nat = ["0 ft", "0 ft"]\n[runs.P1]\nfrom = "D1"\nto = "W1"\n'
PATH = 'path = [["0 ft", "0 ft"], ["30 ft", "4 ft"]]\n'


def test_a_well_that_only_a_run_names_is_there_at_the_end_of_its_path() -> None:
    """Its place is known from the run, everything else about it is left out."""
    reading = read_text(RUN + PATH)
    assert reading.problems == () and reading.job is not None
    at = reading.job.wells["W1"].at
    assert at is not None and [coordinate.text for coordinate in at] == ["30 ft", "4 ft"]
    assert "wells" not in reading.document


def test_without_a_path_the_part_has_no_place() -> None:
    """Nothing is made up about it."""
    reading = read_text(RUN)
    assert reading.problems == () and reading.job is not None
    assert reading.job.wells["W1"].at is None


def test_a_wrong_label_in_a_section_that_is_there_stays_a_problem() -> None:
    """Leaving out a section is not a way to misspell a label."""
    (problem,) = [p for p in read_text(RUN + PATH + "[wells.W7]\n").problems if p.code == "no-such-part"]
    assert (problem.path, problem.line) == ("runs.P1.to", 6)


def test_a_gutter_that_roof_and_downspout_name_is_there() -> None:
    """Without a [gutters] section its sizes are left out, its water still reaches the downspout."""
    text = (
        'document = 1\n[roofs.R1]\nplan_area = "500 sq ft"\ngutter = "G1"\n[downspouts.D1]\ngutter = "G1"\n'
    )
    reading = read_text(text)
    assert reading.problems == () and reading.job is not None and list(reading.job.gutters) == ["G1"]
