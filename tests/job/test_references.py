"""What leads where: each broken link is named, each sound network read, what is not built told with what to write."""

from __future__ import annotations

from textwrap import dedent

import pytest

from roofwell.job import read_text

NETWORK = dedent("""\
    document = 1
    [downspouts.D1]
    [downspouts.D2]
    [wyes.Y1]
    [basins.B1]
    [wells.W1]
    [wells.W2]
    [runs.P1]
    from = "D1"
    to = "Y1"
    [runs.P2]
    from = "D2"
    to = "Y1"
    [runs.P3]
    from = "Y1"
    to = "B1"
    [runs.P4]
    from = "B1"
    to = "W1"
    [overflows.O1]
    of = "W1"
    to = "W2"
    """)


def test_a_sound_network_has_no_problem() -> None:
    """Two downspouts, a wye, a basin, a well and a second well behind its overflow."""
    assert read_text(NETWORK).problems == ()


@pytest.mark.parametrize(
    ("change", "code", "path", "right"),
    [
        (('from = "D2"', 'from = "D1"'), "two-outlets", "runs.P2.from", "D1 already has P1"),
        (
            ('to = "W2"', 'to = "W2"\n[overflows.O2]\nof = "W2"\nto = "W1"'),
            "loop",
            "overflows.O2.to",
            "W2 → W1 → W2",
        ),
        (('to = "W2"', 'to = "W1"'), "loop", "overflows.O1.to", "W1 → W1"),
        (('to = "B1"', 'to = "Y1"'), "loop", "runs.P3.to", "Y1 → Y1"),
        (('to = "W1"', 'to = "Y1"'), "loop", "runs.P4.to", "B1 → Y1 → B1"),
        (('from = "D2"\nto = "Y1"', 'from = "D2"\nto = "B1"'), "orphan", "wyes.Y1", "only one leads into Y1"),
        (("[wyes.Y1]", "[wyes.Y1]\n[wyes.Y2]"), "orphan", "wyes.Y2", "none leads into Y2"),
        (("[wells.W1]", "[wells.W1]\n[wells.W3]"), "orphan", "wells.W3", "no run leads to W3"),
        (("[wells.W1]", "[wells.W1]\n[outlets.E1]"), "orphan", "outlets.E1", "no run leads to E1"),
        (("[wells.W1]", "[wells.W1]\n[gutters.G1]"), "orphan", "gutters.G1", "no downspout drains G1"),
        (('[runs.P3]\nfrom = "Y1"\nto = "B1"\n', ""), "orphan", "wyes.Y1", "no run leads away"),
        (('[runs.P3]\nfrom = "Y1"\nto = "B1"\n', ""), "orphan", "basins.B1", "no run leads to B1"),
        (('[overflows.O1]\nof = "W1"\nto = "W2"\n', ""), "orphan", "wells.W2", "no run leads to W2"),
        (("[wells.W2]", "[outlets.X1]"), "no-such-part", "overflows.O1.to", "no part labeled W2"),
        (('to = "B1"', 'to = "P4"'), "wrong-kind-of-part", "runs.P3.to", "join at a wye"),
        (('to = "W2"', 'to = "W2"\n[overflows.O2]\nof = "W1"'), "two-overflows", "overflows.O2.of", "has O1"),
        (("[wyes.Y1]", '[wyes.Y1]\nstate = "abandoned"'), "contradiction", "runs.P1.to", "Y1 is abandoned"),
        (
            ("[downspouts.D1]", '[downspouts.D1]\nstate = "abandoned"'),
            "contradiction",
            "runs.P1.from",
            "D1 is abandoned",
        ),
        (("[wells.W1]", '[wells.W1]\nstate = "abandoned"'), "contradiction", "overflows.O1.of", "in use"),
        # what is not built, and what to write instead
        (
            ('from = "B1"', 'from = "W2"'),
            "wrong-kind-of-part",
            "runs.P4.from",
            "one well with several bodies",
        ),
        (
            ('from = "B1"', 'from = "W2"'),
            "wrong-kind-of-part",
            "runs.P4.from",
            "takes the overflow of the first",
        ),
        (('from = "Y1"', 'from = "P1"'), "wrong-kind-of-part", "runs.P3.from", "two runs join at a wye"),
        (('of = "W1"', 'of = "B1"'), "wrong-kind-of-part", "overflows.O1.of", "at its own grate"),
        (('of = "W1"', 'of = "D1"'), "wrong-kind-of-part", "overflows.O1.of", "at its joint"),
        (('of = "W1"', 'of = "Y1"'), "wrong-kind-of-part", "overflows.O1.of", "a wye is closed"),
        (('to = "W2"', 'to = "Y1"'), "wrong-kind-of-part", "overflows.O1.to", "into a second well"),
        (('to = "W2"', 'to = "B1"'), "wrong-kind-of-part", "overflows.O1.to", "cannot rise"),
    ],
)
def test_a_broken_network_names_the_link_at_fault(
    change: tuple[str, str], code: str, path: str, right: str
) -> None:
    """One link changed in a sound network: the problem stands at that link, in the words of the labels."""
    text = NETWORK.replace(*change)
    assert text != NETWORK
    found = [p for p in read_text(text).problems if p.code == code and p.path == path]
    assert found
    assert any(right in p.message for p in found)


def test_a_part_that_is_abandoned_takes_no_water() -> None:
    """An old drain may start where the new run starts, leave a well, and close a circle: nothing runs in it."""
    old = '[runs.P8]\nstate = "abandoned"\nfrom = "D1"\nto = "W1"\n[runs.P9]\nstate = "abandoned"\nfrom = "W1"\nto = "Y1"\n'
    old += '[wells.W9]\nstate = "abandoned"\n[overflows.O9]\nstate = "abandoned"\nof = "B1"\nto = "W1"\n'
    reading = read_text(NETWORK + old)
    assert reading.problems == ()
    assert reading.job is not None and reading.job.runs["P9"].from_ == "W1"


def test_a_well_that_a_designed_run_may_reach_is_no_orphan() -> None:
    """Runs from the downspouts are given, the one from the basin to the well is left out: it is designed."""
    text = NETWORK.replace('[runs.P4]\nfrom = "B1"\nto = "W1"\n', "")
    assert text != NETWORK
    assert read_text(text).problems == ()


@pytest.mark.parametrize("left_out", ['from = "D2"\nto = "Y1"\n', 'from = "B1"\nto = "W1"\n'])
def test_a_wye_that_a_designed_run_may_reach_or_leave_is_no_orphan(left_out: str) -> None:
    """One run to a wye is given, as after a corner of a designed one was moved on the plan; the others are designed."""
    text = NETWORK.replace(f"[runs.{'P2' if 'D2' in left_out else 'P4'}]\n{left_out}", "")
    text = text.replace('[runs.P3]\nfrom = "Y1"\nto = "B1"\n', "")
    assert "P3" not in text and left_out not in text
    assert read_text(text).problems == ()


def test_links_are_checked_even_where_sizes_are_bad() -> None:
    """A bad size in a run does not hide the circle that the run closes."""
    text = NETWORK.replace('to = "W1"', 'to = "Y1"\nslope = "steep"\nnominal = 4')
    codes = {p.code for p in read_text(text).problems}
    assert {"loop", "quantity", "bare-number"} <= codes
