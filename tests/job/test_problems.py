"""Every kind of problem, each with its key path, its line, what was read and what would be right."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from roofwell.job import read, read_file, read_text
from roofwell.job.described import meanings
from roofwell.job.prices import load_prices
from roofwell.job.problems import Problem
from roofwell.job.rules import load_rules

# code, the lines after "document = 1", path, line, what was read, a part of what would be right
CASES = [
    ("bare-number", "[soil]\nrate = 5", "soil.rate", 3, "5", "0.6 in/h"),
    ("bare-number", "[wells.W1]\nat = [3, 4]", "wells.W1.at[0]", 3, "3", 'unit = "ft"'),
    ("not-an-elevation", '[survey]\nbenchmark = "B"\nbenchmark_elevation = "100 ft"\n[features.U]\n'
     'kind = "utility"\ntop = "30 in"', "features.U.top", 7, '"30 in"', "take a depth off the ground's elevation"),
    ("not-an-elevation", '[survey]\nbenchmark = "B"\nbenchmark_elevation = "100 ft"\n[soil]\n'
     'seasonal_high_water = "9 ft"', "soil.seasonal_high_water", 6, '"9 ft"', "seasonal_high_water_depth"),
    ("too-large", '[overflows.O1]\nlid_weight = "1e9 lb"', "overflows.O1.lid_weight", 3, '"1e9 lb"', "a yard weighs that"),
    ("too-large", '[downspouts.D1]\ngutter_height = "90 m"', "downspouts.D1.gutter_height", 3, '"90 m"', "at most 100 ft"),
    ("contradiction", '[gutters.G1]\ndepth = "4 in"\n[downspouts.D1]\ngutter = "G1"\ngutter_height = "4 in"',
     "downspouts.D1.gutter_height", 6, '"4 in"', "would lie in the lawn"),
    ("contradiction", '[downspouts.D1]\ngutter_height = "0 ft"', "downspouts.D1.gutter_height", 3, '"0 ft"', "in the lawn"),
    ("too-large", '[targets]\nyears = "1e6 yr"', "targets.years", 3, '"1e6 yr"', "at most 100 yr are followed"),
    ("not-on-earth", '[wells.W1]\nbottom = "1e300 ft"', "wells.W1.bottom", 3, '"1e300 ft"', "no ground lies there"),
    ("not-positive", '[wells.W1]\nbody_height = "-3 in"', "wells.W1.body_height", 3, '"-3 in"', "above zero"),
    ("negative", '[wells.W1]\nstone_below = "-3 in"', "wells.W1.stone_below", 3, '"-3 in"', "below zero"),
    ("quantity", '[runs.P1]\nslope = "3 ft"', "runs.P1.slope", 3, '"3 ft"', "a slope is needed"),
    ("quantity", '[wells.W1]\nunit = "ft"\nbottom = nan', "wells.W1.bottom", 4, "nan", "a length is needed"),
    ("not-a-quantity", "[soil]\nrate = true", "soil.rate", 3, "true", "a text with a unit"),
    ("not-a-share", '[wells.W1]\nvoids = "140 %"', "wells.W1.voids", 3, '"140 %"', "between 0 % and 100 %"),
    ("not-positive", '[wells.W1]\nvoids = "0 %"', "wells.W1.voids", 3, '"0 %"', "above 0 %"),
    ("unknown-key", '[soil]\ntexure = "clay"', "soil.texure", 3, '"clay"', 'did you mean "texture"'),
    ("unknown-key", "[frame]\nzzz = 1", "frame.zzz", 3, "1", "known here: north, origin"),
    ("unknown-key", "[wels.W1]", "wels", 2, "a table", 'did you mean "wells"'),
    ("unknown-key", '[runs.P1]\nfrom_ = "D1"', "runs.P1.from_", 3, '"D1"', 'did you mean "from"'),
    ("not-a-table", "soil = 3", "soil", 2, "3", "a table is needed"),
    ("not-tables", "wells = 3", "wells", 2, "3", "[wells.LABEL]"),
    ("not-tables", "[rain.depths]\nx = 1", "rain.depths", 2, "a table", "[[rain.depths]]"),
    ("no-label", '[wells." "]', 'wells." "', 2, "a table", "a label is needed"),
    ("not-true-or-false", '[utilities]\nlocated = "yes"', "utilities.located", 3, '"yes"', "true or false"),
    ("not-a-day", "[job]\ndate = 5", "job.date", 3, "5", "2026-05-01"),
    ("not-a-day", '[job]\ndate = "2026-W05"', "job.date", 3, '"2026-W05"', "2026-05-01"),
    ("not-finite", "[soil]\nrate = nan", "soil.rate", 3, "nan", "no measurement"),
    ("not-finite", "[wells.W1]\nvoids = -inf", "wells.W1.voids", 3, "-inf", "no measurement"),
    ("not-a-day", "[job]\ndate = 2026-05-01T10:00:00", "job.date", 3, "2026-05-01T10:00:00", "a day"),
    ("not-a-whole-number", '[wells.W1]\nbodies = "2"', "wells.W1.bodies", 3, '"2"', "whole number"),
    ("not-a-whole-number", "[wells.W1]\nbodies = 2.5", "wells.W1.bodies", 3, "2.5", "whole number"),
    ("too-small", "[wells.W1]\nbodies = 0", "wells.W1.bodies", 3, "0", "at least 1"),
    ("too-large", "[wells.W1]\nbodies = 41", "wells.W1.bodies", 3, "41", "at most 40"),
    ("not-a-number", '[place]\nlatitude = "40"', "place.latitude", 3, '"40"', "a number is needed"),
    ("not-finite", "[place]\nlatitude = inf", "place.latitude", 3, "inf", "not nan, not inf"),
    ("too-small", "[place]\nlatitude = -91\nlongitude = 0", "place.latitude", 3, "-91", "at least -90"),
    ("half-a-place", "[place]\nlatitude = 40.0", "place.latitude", 3, "40.0", "longitude is needed"),
    ("empty", '[job]\nname = " "', "job.name", 3, '" "', "leave the line out"),
    ("not-a-text", "[job]\nname = 7", "job.name", 3, "7", "a text in quotes"),
    ("not-a-list", '[runs.P1]\npath = "here"', "runs.P1.path", 3, '"here"', "square brackets"),
    ("not-a-point", '[wells.W1]\nat = ["3 ft"]', "wells.W1.at", 3, '["3 ft"]', "east and north"),
    ("not-one-of", '[basins.B1]\nshape = "rond"', "basins.B1.shape", 3, '"rond"',
     '"rectangular", "outline"; "round"?'),
    ("missing", '[[soil.layers]]\nbottom = "3 in"', "soil.layers[0].top", 2, "nothing", '"top" is needed'),
    ("missing", '[features.F1]\ndepth = "3 in"', "features.F1.kind", 2, "nothing", '"kind" is needed'),
    # links
    ("no-such-part", '[downspouts.D1]\ngutter = "G1"\n[gutters.G2]', "downspouts.D1.gutter", 3, '"G1"',
     "there is only G2"),
    ("no-such-part", '[roofs.R1]\nsheds_on = "R7"', "roofs.R1.sheds_on", 3, '"R7"', "no part labeled R7"),
    ("no-such-part", '[overflows.O1]\nof = "W9"\n[wells.W1]', "overflows.O1.of", 3, '"W9"', "no part labeled W9"),
    ("label-twice", "[wells.A]\n[basins.A]", "wells.A", 2, "a table", "already a basin"),
    ("wrong-kind-of-part", '[downspouts.D1]\n[runs.P1]\nfrom = "D1"\nto = "D1"', "runs.P1.to", 5, '"D1"',
     "cannot be led into it"),
    ("two-outlets", '[roofs.R1]\ngutter = "G"\nsheds_on = "R2"\n[roofs.R2]\n[gutters.G]', "roofs.R1.sheds_on",
     4, '"R2"', "leave one of the two out"),
    ("loop", '[roofs.R1]\nsheds_on = "R2"\n[roofs.R2]\nsheds_on = "R1"', "roofs.R2.sheds_on", 5, '"R1"',
     "R2 → R1 → R2"),
    ("loop", '[roofs.R1]\nsheds_on = "R1"', "roofs.R1.sheds_on", 3, '"R1"', "R1 → R1"),
    ("orphan", '[runs.P1]\nfrom = "W1"\n[wells.W1]', "runs.P1", 2, "a table", '"to" is needed'),
    ("orphan", "[overflows.O1]", "overflows.O1", 2, "a table", '"of" is needed'),
    ("orphan", "[downspouts.D1]\n[gutters.G1]", "gutters.G1", 3, "a table", "no downspout drains G1"),
    ("more-than-all", '[gutters.G]\n[downspouts.D1]\ngutter = "G"\nshare = "60 %"\n[downspouts.D2]\n'
     'gutter = "G"\nshare = "50 %"', "downspouts.D2.share", 8, '"50 %"', "110 %"),
    # survey
    ("no-backsight", '[[survey.readings]]\nsetup = "S1"\nkind = "shot"\npoint = "A"',
     "survey.readings[0].setup",
     3, '"S1"', "no backsight before this"),
    ("no-such-point", '[survey]\nbenchmark = "BM"\n[[survey.readings]]\nsetup = "S1"\nkind = "backsight"\n'
     'point = "T1"', "survey.readings[0].point", 7, '"T1"', "turning point"),
    ("label-twice", '[[survey.points]]\nid = "A"\n[[survey.points]]\nid = "A"', "survey.points[1].id", 5,
     '"A"',
     "given twice"),
    ("two-backsights", '[survey]\nbenchmark = "BM"\n[[survey.readings]]\nsetup = "S1"\nkind = "backsight"\n'
     'point = "BM"\nrod = "4 ft"\n[[survey.readings]]\nsetup = "S1"\nkind = "backsight"\npoint = "BM"\nrod = "4 ft"',
     "survey.readings[1].kind", 11, '"backsight"', "as a foresight"),
    ("no-backsight", '[survey]\nbenchmark = "BM"\n[[survey.readings]]\nsetup = "S1"\nkind = "backsight"\n'
     'point = "BM"', "survey.readings[0]", 4, "a table", '"rod" is needed'),
    ("no-such-point", '[survey]\nbenchmark = "BM"\nunit = "ft"\nreadings = [\n'
     '{setup = "S1", kind = "backsight", point = "BM", rod = 4},\n'
     '{setup = "S1", kind = "turning point", point = "T1"},\n'
     '{setup = "S2", kind = "backsight", point = "T1", rod = 4},\n]', "survey.readings[2].point", 8, '"T1"',
     "no elevation is known for T1"),
    # outlines and paths
    ("too-few-corners", '[roofs.R]\nunit = "ft"\noutline = [[0,0],[1,0]]', "roofs.R.outline", 4,
     "[[0, 0], [1, 0]]", "at least 3"),
    ("crossed", '[roofs.R]\nunit = "ft"\noutline = [[0,0],[9,9],[9,0],[0,9]]', "roofs.R.outline", 4,
     "[[0, 0], [9, 9], [9, 0], [0, 9]]", "cross or touch"),
    ("no-area", '[roofs.R]\nunit = "ft"\noutline = [[0,0],[1,1],[2,2]]', "roofs.R.outline", 4,
     "[[0, 0], [1, 1], [2, 2]]", "one line"),
    ("repeated-corner", '[roofs.R]\nunit = "ft"\noutline = [[0,0],\n[1,0],[1,1],\n[1,0]]',
     "roofs.R.outline[3]",
     6, "[1, 0]", "repeats corner 2"),
    ("repeated-corner", '[roofs.R]\nunit = "ft"\noutline = [[0,0],[1,0],[1,1],[0,0]]', "roofs.R.outline", 4,
     "[[0, 0], [1, 0], [1, 1], [0, 0]]", "closes by itself"),
    ("crossed", '[runs.P]\nunit = "ft"\npath = [[0,0],[9,9],[9,0],[0,9]]', "runs.P.path", 4,
     "[[0, 0], [9, 9], [9, 0], [0, 9]]", "itself near 4.50 ft east, 4.50 ft north"),
    ("crossed", '[runs.P]\nunit = "m"\npath = [[0,0],[9,0],[4,0]]', "runs.P.path", 4,
     "[[0, 0], [9, 0], [4, 0]]", "upstream first"),
    ("contradiction", '[downspouts.D]\nat = ["0 ft", "0 ft"]\n[basins.B]\nat = ["9 ft", "0 ft"]\n[runs.P]\n'
     'unit = "ft"\nfrom = "D"\nto = "B"\npath = [[9,0],[0,0]]', "runs.P.path", 10, "[[9, 0], [0, 0]]",
     "begins at B and ends at D; write its points upstream first"),
    ("contradiction", '[downspouts.D]\nat = ["0 ft", "0 ft"]\n[basins.B]\nat = ["9 ft", "0 ft"]\n[runs.P]\n'
     'unit = "ft"\nfrom = "D"\nto = "B"\npath = [[0,0],[29,0]]', "runs.P.path", 10, "[[0, 0], [29, 0]]",
     "ends 20.00 ft away from B"),
    ("contradiction", '[gutters.G]\nlength = "20 ft"\n[downspouts.D]\ngutter = "G"\nalong = "21 ft"',
     "downspouts.D.along", 6, '"21 ft"', "beyond the end of G"),
    ("contradiction", '[gutters.G]\nlength = "20 ft"\nvalleys = [{ at = "21 ft", plan_area = "90 sq ft" }]',
     "gutters.G.valleys[0].at", 4, '"21 ft"', "beyond the end of G"),
    ("contradiction", '[gutters.G]\ndepth = "3 in"\nfreeboard = "4 in"', "gutters.G.freeboard", 4, '"4 in"',
     "part of the depth"),
    ("contradiction", '[downspouts.D]\noutlet_diameter = "3 in"\noutlet_width = "4 in"',
     "downspouts.D.outlet_diameter", 3, '"3 in"', "a diameter, or a width and a breadth"),
    ("contradiction", '[gutters.G]\ntop_width = "5 in"\nbottom_width = "6 in"', "gutters.G.bottom_width", 4,
     '"6 in"', "no narrower"),
    ("makes-no-sense", '[gutters.G]\nfall = "1 in/ft"', "gutters.G.fall", 3, '"1 in/ft"', "at most 5 %"),
    ("rain-gap", '[[rain.depths]]\nduration = "5 min"\nreturn_period = "10 yr"\ndepth = "1 in"\n'
     '[[rain.depths]]\nduration = "1 h"\nreturn_period = "25 yr"\ndepth = "3 in"', "rain.depths", 2,
     "[a table, a table]", "60 min for 10 years"),
    ("too-few-points", '[features.F]\nkind = "walk"\npath = [["1 ft", "1 ft"]]', "features.F.path", 4,
     '[["1 ft", "1 ft"]]', "at least 2"),
    ("repeated-point", '[features.F]\nkind = "walk"\nunit = "m"\npath = [[1, 1], [1, 1]]',
     "features.F.path[1]", 5,
     "[1, 1]", "repeats point 1"),
    # values
    ("contradiction", '[basins.B]\nfloor = "2 ft"\ngrate = "4 ft"\noutlet_height = "25 in"',
     "basins.B.outlet_height", 5, '"25 in"', "below the grate"),
    ("contradiction", '[[soil.layers]]\ntop = "2 ft"\nbottom = "1 ft"', "soil.layers[0].bottom", 4, '"1 ft"',
     "deeper than the top"),
    ("contradiction", '[wells.W]\nbody_diameter = "2 ft"\npit_diameter = "20 in"', "wells.W.pit_diameter", 4,
     '"20 in"', "does not fit"),
    ("contradiction", '[site]\nnone = ["tree"]\n[features.T]\nkind = "tree"', "site.none[0]", 3, '"tree"',
     "T is a tree"),
    ("given-twice", '[soil]\nseasonal_high_water = "90 ft"\nseasonal_high_water_depth = "9 ft"',
     "soil.seasonal_high_water", 3, '"90 ft"', "keep the one"),
    ("out-of-order", '[[soil.auger_tests]]\nid = "A"\nhole_depth = "4 ft"\nhole_diameter = "4 in"\n'
     'readings = [{ water_start = "3 ft", water_end = "40 in", time = "9 min" }, '
     '{ water_start = "30 in", water_end = "3 ft", time = "9 min" }]',
     "soil.auger_tests[0].readings[1].water_start", 6, '"30 in"', "order of the clock"),
    ("makes-no-sense", '[[soil.auger_tests]]\nid = "A"\nhole_depth = "4 ft"\nhole_diameter = "4 in"\n'
     'readings = [{ water_start = "4 ft", water_end = "4 ft", time = "9 min" }]',
     "soil.auger_tests[0].readings[0].water_start", 6, '"4 ft"', "no water stood"),
    ("not-positive", '[[soil.auger_tests]]\nid = "A"\nhole_depth = "4 ft"\nhole_diameter = "4 in"\n'
     'readings = [{ water_start = "3 ft", water_end = "40 in", time = "0 min" }]',
     "soil.auger_tests[0].readings[0].time", 6, '"0 min"', "above zero"),
    ("makes-no-sense", '[[soil.fill_tests]]\nid = "F"\ndiameter = "4 ft"\n'
     'fills = [{ water_start = "3 ft", water_end = "4 ft", time = "9 min" }]',
     "soil.fill_tests[0].fills[0].water_end", 5, '"4 ft"', "would have risen"),
    ("makes-no-sense", '[[soil.fill_tests]]\nid = "F"\ndiameter = "4 ft"\ndepth = "2 ft"\n'
     'fills = [{ water_start = "3 ft", time = "9 min" }]',
     "soil.fill_tests[0].fills[0].water_start", 6, '"3 ft"', "only 2 ft deep"),
    ("contradiction", '[[soil.fill_tests]]\nid = "F"\ndiameter = "4 ft"\nlength = "6 ft"',
     "soil.fill_tests[0].length", 5, '"6 ft"', "a round hole"),
    ("missing", '[[soil.constant_head_tests]]\nid = "C"\nhole_depth = "4 ft"\nhole_diameter = "4 in"\n'
     'readings = [{ water_depth = "1 ft" }]',
     "soil.constant_head_tests[0].readings[0]", 6, "a table", "a flow is needed"),
    ("given-twice", '[[soil.constant_head_tests]]\nid = "C"\nhole_depth = "4 ft"\nhole_diameter = "4 in"\n'
     'readings = [{ water_depth = "1 ft", flow = "1 gpm", volume = "1 gal", time = "1 min" }]',
     "soil.constant_head_tests[0].readings[0].flow", 6, '"1 gpm"', "keep one"),
    ("contradiction", '[[soil.constant_head_tests]]\nid = "C"\nhole_depth = "4 ft"\nhole_diameter = "4 in"\n'
     'water_table_depth = "3 ft"', "soil.constant_head_tests[0].water_table_depth", 6, '"3 ft"', "for dry ground"),
    ("contradiction", '[[soil.ring_tests]]\nid = "R"\ninner_diameter = "12 in"\nouter_diameter = "10 in"',
     "soil.ring_tests[0].outer_diameter", 5, '"10 in"', "larger one"),
    ("makes-no-sense", '[soil]\nwater_temperature = "120 F"', "soil.water_temperature", 3, '"120 F"', "86 F"),
    ("contradiction", '[soil]\nseasonal_high_water_depth = "8 ft"\nwater_seen_depth = "5 ft"',
     "soil.seasonal_high_water_depth", 3, '"8 ft"', "seen at 5 ft"),
    ("no-such-part", '[wells.W1]\n[[soil.witnesses]]\nid = "X"\nempties_in = "2 days"\nwell = "W2"',
     "soil.witnesses[0].well", 6, '"W2"', "W1"),
    ("makes-no-sense", '[[soil.auger_tests]]\nid = "A"\nhole_depth = "4 ft"\nhole_diameter = "4 in"\n'
     'readings = [{water_start = "3 ft", water_end = "2 ft", time = "5 min"}]',
     "soil.auger_tests[0].readings[0].water_end", 6, '"2 ft"', "would have risen"),
    ("makes-no-sense", '[[soil.auger_tests]]\nid = "A"\nhole_depth = "4 ft"\nhole_diameter = "4 in"\n'
     'readings = [{water_start = "3 ft", water_end = "49 in", time = "5 min"}]',
     "soil.auger_tests[0].readings[0].water_end", 6, '"49 in"', "only 4 ft deep"),
    ("makes-no-sense", '[runs.P]\nfittings = [{kind = "elbow", station = "2 ft", angle = "200 deg"}]',
     "runs.P.fittings[0].angle", 3, '"200 deg"', "at most 180 deg"),
    ("no-such-rain", '[rain]\nshipped_record = "denver"', "rain.shipped_record", 3, '"denver"', "denver-co"),
    ("no-such-check", '[[overrules]]\ncheck = "setbak"\nreason = "so"\nwho = "me"\ndate = 2026-05-02',
     "overrules[0].check", 3, '"setbak"', 'did you mean "setback"'),
    ("given-twice", '[[overrules]]\ncheck = "setback"\nreason = "so"\nwho = "me"\ndate = 2026-05-02\n'
     '[[overrules]]\ncheck = "setback"\nreason = "so"\nwho = "me"\ndate = 2026-05-02',
     "overrules[1]", 7, "a table", "by entry 1"),
    ("contradiction", '[wells.W1]\nvoids = "40 %"\nvoid_ratio = 0.4', "wells.W1.void_ratio", 4, "0.4", "two ways"),
    ("contradiction", '[wells.W1]\nslot_width = "3 mm"\nhole_diameter = "5 mm"', "wells.W1.slot_width", 3, '"3 mm"',
     "slots or round holes"),
    ("contradiction", '[wells.W1]\ntop_stone = "6 in"', "wells.W1.top_stone", 3, '"6 in"', 'stone_top = "surface"'),
    ("contradiction", "[wells.W1]\ngeotextile = []\ngeotextile_class = 2", "wells.W1.geotextile_class", 4, "2",
     "no cloth"),
    ("contradiction", '[soil]\ngrain_d50 = "2 mm"\ngrain_d85 = "1 mm"', "soil.grain_d85", 4, '"1 mm"',
     "a greater share is finer"),
    ("contradiction", '[soil]\npassing_no_200 = "90 %"\ngrain_d85 = "1 mm"', "soil.passing_no_200", 3, '"90 %"',
     "a slip"),
    # files
    ("file-outside", '[rain]\ntable = "../rain.csv"', "rain.table", 3, '"../rain.csv"', "own folder"),
    ("file-outside", '[rain]\ntable = "/rain.csv"', "rain.table", 3, '"/rain.csv"', "root of the disk"),
    ("file-outside", "[rain]\ntable = 'C:\\rain.csv'", "rain.table", 3, '"C:\\rain.csv"', "root of the disk"),
    ("file-missing", '[rain]\ntable = "rain.csv"', "rain.table", 3, '"rain.csv"', "no such file"),
    ("file-missing", '[place]\nrules = "nowhere"', "place.rules", 3, '"nowhere"', "no such file"),
    ("not-a-checksum", '[rain]\nrecord = "there.csv"\nrecord_sha256 = "12"', "rain.record_sha256", 4, '"12"',
     "64 digits"),
    ("file-changed", f'[attachments.A]\nfile = "there.csv"\nsha256 = "{"0" * 64}"', "attachments.A.sha256", 4,
     f'"{"0" * 58}…', "not the file that was meant"),
]  # fmt: skip


def _ids(case: object) -> str | None:
    return case if isinstance(case, str) and re.fullmatch("[a-z-]+", case) else ""


def _seen(text: str, folder: Path) -> tuple[Problem, ...]:
    (folder / "there.csv").write_text("nothing much", encoding="utf-8")
    return read_text("document = 1\n" + text, folder=folder).problems


@pytest.mark.parametrize(("code", "text", "path", "line", "read", "right"), CASES, ids=_ids)
def test_a_problem_says_where_what_and_what_would_be_right(
    code: str, text: str, path: str, line: int, read: str, right: str, tmp_path: Path
) -> None:
    """Each fault of a document becomes a problem with path, line, what was read, what would be right."""
    found = [p for p in _seen(text, tmp_path) if p.path == path and p.code == code]
    assert len(found) == 1
    assert found[0].line == line
    if read.endswith("…"):
        assert found[0].read.startswith(read[:-1])
    else:
        assert found[0].read == read
    assert right in found[0].message


def test_a_link_to_a_part_that_does_not_stand_goes_with_it() -> None:
    """A gutter that is no table is one problem; its downspout stays and names no gutter."""
    reading = read_text('document = 1\ngutters = {G1 = 3}\n[downspouts.D1]\ngutter = "G1"')
    assert [p.path for p in reading.problems] == ["gutters.G1"]
    assert reading.job is not None and reading.job.downspouts["D1"].gutter is None


def test_a_job_keeps_everything_that_is_good() -> None:
    """A bad leaf is missing from the job; its neighbors, and the label of its part, stay."""
    job = read_text('document = 1\n[wells.W1]\nbodies = 3\nbody_height = "4"\nvoids = "40 %"').job
    assert job is not None
    assert job.wells["W1"].bodies == 3
    assert job.wells["W1"].body_height is None
    assert job.wells["W1"].voids is not None


def test_an_entry_goes_with_the_leaf_that_it_needs_and_only_that_entry() -> None:
    """Of three layers the middle one has a bad top: two stay, and problems keep their place."""
    text = """document = 1
    [[soil.layers]]
    top = "0 in"
    bottom = "10 in"
    [[soil.layers]]
    top = "ten"
    bottom = "20 in"
    [[soil.layers]]
    top = "20 in"
    bottom = "30 in"
    rate = 4
    """
    reading = read_text(text)
    assert reading.job is not None
    assert [layer.bottom.text for layer in reading.job.soil.layers] == ["10 in", "30 in"]
    assert [(p.path, p.line) for p in reading.problems] == [
        ("soil.layers[1].top", 6),
        ("soil.layers[2].rate", 11),
    ]


def test_problems_come_all_at_once_in_the_order_of_the_file() -> None:
    """Twelve faults of every sort in one file are twelve problems, by line."""
    text = "document = 1\n" + "\n".join(f"[wells.W{i}]\nbodies = 0" for i in range(12))
    problems = read_text(text).problems
    assert [p.line for p in problems] == [3 + 2 * i for i in range(12)]


@pytest.mark.parametrize(
    ("text", "code", "line", "right"),
    [
        ("", "document-missing", 1, "document = 1"),
        ("[soil]\n", "document-missing", 1, "document = 1"),
        ("# a job\ndocument = 2\nwhatever = 1", "document-newer", 2, "newer Roofwell"),
        ('document = "1"', "document-wrong", 1, "whole number"),
        ("document = 0", "document-wrong", 1, "whole number"),
        ("document = true", "document-wrong", 1, "whole number"),
        ("document = 1\n[soil\nrate = 3", "not-toml", 2, "this is not TOML"),
        ("document = 1\nrate = 18 in", "not-toml", 2, "in quotes"),
        ("document = 1\n[soil]\n[soil]", "not-toml", 3, "this is not TOML"),
        ("document = 1\na = " + "[" * 5000, "not-toml", None, "nested"),
        ("document = 1\n[soil]\nrate = \u201c0.6 in/h\u201d", "not-toml", 3, "straight ones"),
        ('document = 1\n[wells.W1]\nbody_height = "4\' 6""', "not-toml", 3, "an inch mark inside quotes"),
        ('document = 1\n[soil]\nrate = "0.6 in/h\n', "not-toml", 3, "a text is not closed"),
        ('document = 1\n[soil]\ntexture = "a"\ntexture = "b"', "not-toml", 4, "this key stands twice"),
        ("document = 1\n[wells.W1]\n[soil]\n[wells.W1]", "not-toml", 4, "this table stands twice"),
        ("document = 1\n[soil]\nrate = # later", "not-toml", 3, "a value is needed"),
        ("document = 1\n[job]\nname = Smith", "not-toml", 3, "a text stands in quotes"),
        ("document = 1\n[job]\ndate = 2026-13-01", "not-toml", 3, "there is no such day"),
        ("document = 1\na = " + "9" * 5000, "not-toml", None, "more digits"),
        ("document: 1\nsoil:\n  rate: 5", "not-toml", 1, "not a colon"),
        ('{"document": 1}', "not-toml", 1, "KEY = VALUE"),
        ("document = 1.0", "document-wrong", 1, "whole number"),
        ("document = 1\n[soil\n", "not-toml", 2, "this is not TOML"),
    ],
)
def test_what_cannot_be_read_at_all_is_one_problem(
    text: str, code: str, line: int | None, right: str
) -> None:
    """No TOML, no version or a newer one: no job, one problem."""
    reading = read_text(text)
    assert reading.job is None
    assert [(p.code, p.line) for p in reading.problems] == [(code, line)]
    assert right in reading.problems[0].message


def test_a_file_that_is_not_there_or_no_text_is_one_problem(tmp_path: Path) -> None:
    """Reading a file never raises."""
    (tmp_path / "picture.toml").write_bytes(b"\xff\xd8\xff")
    for name, code in (
        ("nothing.toml", "file-unreadable"),
        ("picture.toml", "not-text"),
        (".", "file-unreadable"),
    ):
        reading = read_file(tmp_path / name)
        assert reading.job is None
        assert [p.code for p in reading.problems] == [code]


@pytest.mark.parametrize(
    ("content", "line", "right"),
    [
        ("document = 1\n".encode("utf-16"), 1, "UTF-16"),
        ("document = 1\n".encode("utf-16-le"), 1, "UTF-16"),
        ("document = 1\n".encode("utf-16-be"), 1, "UTF-16"),
        (bytes(range(256)), 1, "save it as UTF-8"),
        ('document = 1\n[job]\nname = "Grö"\n'.encode("latin-1"), 3, "this line is not a text in UTF-8"),
    ],
)
def test_a_file_in_another_encoding_says_which_line_and_what_to_do(
    content: bytes, line: int, right: str, tmp_path: Path
) -> None:
    """UTF-16 in three forms, no text at all, and one letter in an older encoding."""
    path = tmp_path / "job.toml"
    path.write_bytes(content)
    (found,) = read_file(path).problems
    assert (found.code, found.line) == ("not-text", line)
    assert right in found.message


def test_a_file_far_too_large_is_not_read(tmp_path: Path) -> None:
    """A file of 9 MB is refused by its size."""
    path = tmp_path / "job.toml"
    path.write_bytes(b"# line\n" * 1_300_000)
    (found,) = read_file(path).problems
    assert (found.code, found.read) == ("file-too-large", "9 MB")


def test_line_ends_of_old_machines_are_read(tmp_path: Path) -> None:
    """A carriage return alone ends a line too."""
    path = tmp_path / "job.toml"
    path.write_bytes(b"document = 1\r[soil]\rrate = 5\r")
    assert [(p.path, p.line) for p in read_file(path).problems] == [("soil.rate", 3)]


def test_a_byte_order_mark_and_windows_line_ends_are_read(tmp_path: Path) -> None:
    """A file saved by a plain editor on Windows has the same lines."""
    path = tmp_path / "job.toml"
    path.write_bytes(b"\xef\xbb\xbfdocument = 1\r\n[soil]\r\nrate = 5\r\n")
    assert [(p.path, p.line) for p in read_file(path).problems] == [("soil.rate", 3)]


def test_a_file_inside_a_folder_is_found_and_a_link_out_of_it_is_not(tmp_path: Path) -> None:
    """Files lie in the job's folder or below it; a symbolic link does not lead out of it."""
    job = tmp_path / "job"
    (job / "rain").mkdir(parents=True)
    (job / "rain" / "table.csv").write_text("x", encoding="utf-8")
    (tmp_path / "secret.csv").write_text("x", encoding="utf-8")
    (job / "link.csv").symlink_to(tmp_path / "secret.csv")
    assert read_text('document = 1\n[rain]\ntable = "rain/table.csv"', folder=job).problems == ()
    found = read_text('document = 1\n[rain]\ntable = "link.csv"', folder=job).problems
    assert [p.code for p in found] == ["file-missing"]


def test_every_problem_code_is_described_and_was_seen(tmp_path: Path) -> None:
    """The codes of the page are those of the cases here, of the rule files and of the price book."""
    seen = {case[0] for case in CASES}
    seen |= {
        "document-missing",
        "document-newer",
        "document-wrong",
        "not-toml",
        "file-unreadable",
        "not-text",
    }
    seen |= {"two-overflows", "file-too-large"}
    for text in ("rules = 9", 'rules = 1\noffice = "A"\ndated = 2026-01-01\n[clauses]\nx = "y"'):
        (tmp_path / "a.toml").write_text(text, encoding="utf-8")
        seen |= {p.code for p in load_rules("a.toml", tmp_path)[1]}
    for text in ("prices = 9", 'prices = 1\ndated = 2026-01-01\ncurrency = "Monopoly money"'):
        (tmp_path / "a.toml").write_text(text, encoding="utf-8")
        seen |= {p.code for p in load_prices("a.toml", tmp_path)[1]}
    seen |= {p.code for p in read({"document": 1, "soil": {"rate": None}}).problems}
    assert seen == set(meanings()["codes"])


@pytest.mark.parametrize(
    "text",
    [
        '[runs.P1]\nupstream_invert = "96 ft"\ndownstream_invert = "97 ft"\nfrom = "D1"\nto = "W1"\n',
        '[overflows.O1]\nof = "W1"\nlip = "98 ft"\n',
        '[runs.P1]\nslope = "0 %"\nfrom = "D1"\nto = "W1"\n',
    ],
    ids=["uphill", "joint below the lip", "no fall"],
)
def test_what_is_built_badly_is_read_and_left_to_the_checks(text: str) -> None:
    """A pipe that runs uphill or level, a downspout's foot below the brim: true of many a house, so no problem."""
    start = 'document = 1\n[downspouts.D1]\njoint = "97 ft"\n[wells.W1]\n'
    assert read_text(start + text).problems == ()


def test_what_follows_from_a_word_that_was_not_read_is_not_told(house, data_folder) -> None:
    """A misspelled body is one slip, not three: sizes that only that body has are no contradiction."""
    house["wells"]["W1"].update(body="arch chambr", arch="parabola", body_length="10 ft")
    found = read(house, folder=data_folder).problems
    assert [(p.path, p.code) for p in found] == [("wells.W1.body", "not-one-of")]
    house["wells"]["W1"].pop("body")  # left out, it is upright, and that is told
    found = read(house, folder=data_folder).problems
    assert {p.path for p in found} == {"wells.W1.arch", "wells.W1.body_length"}
