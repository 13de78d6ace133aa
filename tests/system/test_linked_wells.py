"""Wells linked at the bottom, from the job document to the answers."""

import copy
import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from roofwell import job as job_room
from roofwell.design import design
from roofwell.design.adopt import adopt
from roofwell.system.linked_wells import head_through_m


@pytest.fixture
def pair(house):
    """The small house with a second well beside its first, joined at 93 ft."""
    bodies = {"bodies": 2, "body_diameter": "24 in", "body_height": "48 in"}
    house["wells"]["W1"].update(bottom="92 ft", **bodies)
    house["wells"]["W2"] = {
        "at": ["28 ft", "104 ft"], "linked_to": "W1", "link_invert": "93 ft", "bottom": "92.5 ft", **bodies,
    }  # fmt: skip
    house["overflows"]["O2"] = {
        "of": "W2",
        "lip": "97.9 ft",
        "destination": "over the back lawn to the street swale",
    }
    return house


def _problems(document, data_folder):
    return [(p.path, p.code) for p in job_room.read(document, folder=data_folder).problems]


@pytest.mark.parametrize(
    ("change", "path", "code"),
    [
        ({"linked_to": "W2"}, "wells.W2.linked_to", "loop"),
        ({"linked_to": "W9"}, "wells.W2.linked_to", "no-such-part"),
        ({"linked_to": "D1"}, "wells.W2.linked_to", "wrong-kind-of-part"),
        ({"link_invert": "91 ft"}, "wells.W2.link_invert", "order-of-levels"),
        ({"link_invert": "97.7 ft"}, "wells.W2.link_invert", "order-of-levels"),
        ({"linked_to": None}, "wells.W2.link_invert", "contradiction"),
    ],
)
def test_a_link_that_makes_no_sense_is_told_with_its_path(pair, data_folder, change, path, code):
    assert _problems(pair, data_folder) == []
    pair["wells"]["W2"].update(change)
    pair["wells"]["W2"] = {key: value for key, value in pair["wells"]["W2"].items() if value is not None}
    assert (path, code) in _problems(pair, data_folder)


def test_links_in_a_circle_and_links_along_an_overflow_are_told(pair, data_folder):
    circle = copy.deepcopy(pair)
    circle["wells"]["W1"]["linked_to"] = "W2"
    assert ("wells.W2.linked_to", "loop") in _problems(circle, data_folder)
    pair["overflows"]["O1"]["to"] = "W2"
    assert ("wells.W2.linked_to", "contradiction") in _problems(pair, data_folder)


def test_linked_wells_are_judged_as_one_store(pair, data_folder, read_job):
    """Storage is that of both to the lower lip; storms, record and drawdown are those of both."""
    made = design(read_job(pair), folder=data_folder, document=copy.deepcopy(pair))
    one, two = made.behaviour.wells
    first, second = made.scheme.wells
    assert first.lip_m == second.lip_m == pytest.approx(97.6 * 0.3048)
    assert one.storage_m3 == two.storage_m3 == pytest.approx(one.own_storage_m3 + two.own_storage_m3)
    assert one.critical == two.critical or one.critical.peak_m3 == two.critical.peak_m3
    codes = {}
    for answer in made.answers:
        for finding in answer.findings:
            codes.setdefault(finding.code, []).append(finding)
    assert [f.subject for f in codes["storm-held"]] == ["W1 + W2"]
    assert [f.subject for f in codes["well-drain-down"]] == ["W1 + W2"]
    assert [f.subject for f in codes["link-flow"]] == ["W2-W1"]
    assert {item.key for item in made.takeoff.items} >= {"fitting:well-boot:4in"}
    # no water leaves at the well without the lip
    assert two.overflow_peak_m3_s == 0.0 < one.overflow_peak_m3_s
    # water balance of the governing storm, both wells together
    storm = one.critical
    assert storm.peak_m3 <= one.storage_m3 * (1 + 1e-9)

    # the adopted document says the same again
    again = adopt(pair, made)
    assert again["wells"]["W2"]["linked_to"] == "W1"
    assert again["wells"]["W2"]["link_invert"] == "93 ft"
    assert _problems(again, data_folder) == []


def test_one_level_against_the_losses_of_the_pipe(pair, judged_of):
    """With the pipe's own losses (entrance, friction, exit) as a two-state equation, scipy's solver: the stores of a
    design, the cloudburst's flow into the first for ten minutes. The level error stays below the head that the check
    tells, the volume error below that head times the water surface of both."""
    judged = judged_of(pair)
    scheme = judged.scheme
    link, flow = scheme.links[0], judged.behaviour.links[0]
    k = head_through_m(link, 1.0)
    wells = scheme.wells
    plan = [w.layers[1].pit_area_m2 * w.voids for w in wells]
    rate = 1e-5
    into = flow.flow_m3_s
    soak = [rate * p / w.voids for p, w in zip(plan, wells, strict=True)]

    def change(_t, h):
        through = math.copysign(math.sqrt(abs(h[0] - h[1]) / k), h[0] - h[1])
        return [(into - through - soak[0]) / plan[0], (through - soak[1]) / plan[1]]

    start = [link.invert_m + 0.05] * 2
    end = solve_ivp(change, (0.0, 600.0), start, method="LSODA", rtol=1e-9, atol=1e-10, max_step=1.0).y[:, -1]
    together = start[0] + (into - sum(soak)) * 600.0 / sum(plan)
    assert abs(end[0] - end[1]) <= flow.head_m * 1.001
    assert max(abs(end - together)) <= flow.head_m
    assert np.dot(end, plan) == pytest.approx(together * sum(plan), rel=1e-7)


def test_the_overflow_with_the_lowest_lip_is_sized_for_all_that_comes_to_linked_wells(
    house, data_folder, read_job
):
    """Whatever comes to either of two linked wells leaves at the lower lip, so that its grate must pass the sum."""
    house["wells"]["W2"] = {"at": ["28 ft", "104 ft"], "linked_to": "W1"}
    house["overflows"]["O2"] = {"of": "W2", "lip": "97.9 ft", "destination": "over the back lawn"}
    made = design(read_job(house), folder=data_folder, document=copy.deepcopy(house), beyond=False)
    overflows = {one.id: one for one in made.scheme.overflows}
    assert overflows["O1"].lip_m < overflows["O2"].lip_m
    cloudburst = made.behaviour.intensity_m_s * made.survey.settings["runoff_coefficient"]
    all_of_it = cloudburst * sum(spout.roof_area_m2 for spout in made.scheme.downspouts)
    assert overflows["O1"].lawn is None or overflows["O1"].lawn.at_m3_s == pytest.approx(all_of_it)
    found = [
        f for a in made.answers for f in a.findings if f.code == "overflow-capacity" and f.subject == "O1"
    ]
    assert [f.verdict for f in found] == ["good"]
