"""Drawing on the plan with real gestures: mouse, finger, keys; what stands in the document afterwards.

Places are read off the demo's own document (an invented bungalow, in feet), expected lengths by hand.
"""

from __future__ import annotations

import json
import sqlite3
import struct
import tomllib
import zlib
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.request import Request, urlopen

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

SLOW_MS = 60_000
Readable = Callable[[Page, str], None]
PHONE = {"width": 390, "height": 844}


RUN_OF_D1 = """() => document.querySelector('.plan-map').board.parts
    .find(part => part.table === 'runs' && part.from === 'D1')?.points"""


# the sheet lies still, and is drawn at the size that it has
STILL = """() => {
    const host = document.querySelector('.plan-map');
    const map = host?.board?.map;
    const [width, height] = map?.getSize() ?? [];
    return map && !map.getView().getAnimating() && Math.hypot(width - host.clientWidth, height - host.clientHeight) < 1.5;
}"""


@dataclass(frozen=True)
class House:
    """A demo of a test's own in the service that all of them share: to start one takes seconds."""

    url: str
    store: Path


@pytest.fixture
def service(working) -> House:
    headers = {"Content-Type": "application/json", "X-Roofwell": "page"}
    asked = Request(working.url + "api/jobs", json.dumps({"example": "bungalow"}).encode(), headers)
    with urlopen(asked) as answer:
        return House(f"{working.url}#/jobs/{json.load(answer)['job']}", working.store)


@pytest.fixture
def phone(browser: Browser) -> Iterator[Page]:
    fresh = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
    yield fresh.new_page()
    fresh.close()


def _open_plan(page: Page, url: str, *, section: bool = False) -> None:
    """Open the plan, large; or with the long section under it, as it comes."""
    page.goto(url)
    page.get_by_role("button", name="Plan", exact=True).click()
    _ready(page)
    if not section:
        page.get_by_role("button", name="Hide the long section").click()
        page.get_by_role("button", name="Whole lot").click()
        _ready(page)


def _ready(page: Page) -> None:
    short = page.get_by_role("list", name="The nine answers in short")
    expect(short).to_have_attribute("aria-busy", "false", timeout=SLOW_MS)
    page.wait_for_function(STILL, timeout=SLOW_MS)


def _at(page: Page, east: float, north: float) -> tuple[float, float]:
    """Where a place of the plan stands on the screen."""
    x, y = page.evaluate("at => document.querySelector('.plan-map').board.pixel(at)", [east, north])
    return x, y


def _text(store: Path) -> str:
    with closing(sqlite3.connect(store)) as connection:
        row = connection.execute("SELECT document FROM versions ORDER BY id DESC LIMIT 1").fetchone()
    return str(row[0])


def _document(store: Path) -> dict[str, Any]:
    return tomllib.loads(_text(store))


def _kept(page: Page, version: int) -> None:
    expect(page.get_by_text(f"kept, version {version}", exact=True)).to_be_visible(timeout=SLOW_MS)


def _drag(page: Page, start: tuple[float, float], end: tuple[float, float]) -> None:
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(start[0] + 6, start[1] + 6, steps=3)
    page.mouse.move(*end, steps=8)
    page.mouse.up()


def _fingers(page: Page, *moves: list[tuple[float, float]]) -> None:
    """Put fingers on the screen, move them through the places of each, lift them."""
    session = page.context.new_cdp_session(page)

    def points(step: int) -> list[dict[str, float]]:
        return [{"x": way[step][0], "y": way[step][1], "id": finger} for finger, way in enumerate(moves)]

    session.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": points(0)[:1]})
    if len(moves) > 1:
        session.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": points(0)})
    for step in range(1, len(moves[0])):
        page.wait_for_timeout(20)
        session.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": points(step)})
    session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def _way(start: tuple[float, float], end: tuple[float, float], steps: int = 8) -> list[tuple[float, float]]:
    return [
        (start[0] + (end[0] - start[0]) * n / steps, start[1] + (end[1] - start[1]) * n / steps)
        for n in range(steps + 1)
    ]


def test_an_outline_is_drawn_with_a_typed_length_and_right_angles(page: Page, service) -> None:
    """The first side is typed, the others are drawn: square, on whole inches, closed on the first corner."""
    _open_plan(page, service.url)
    page.get_by_label("Draw").select_option("walk")
    page.mouse.click(*_at(page, 5, 20))
    page.mouse.move(*_at(page, 14, 20.3), steps=4)
    page.keyboard.type("24' 6\"")
    page.keyboard.press("Enter")
    page.mouse.move(*_at(page, 29.8, 27.9), steps=4)
    expect(page.get_by_role("status").filter(has_text="in line or square")).to_be_visible()
    page.mouse.click(*_at(page, 29.8, 28))
    page.mouse.move(*_at(page, 5.3, 28.2), steps=4)
    expect(page.get_by_role("status").filter(has_text="square to both sides")).to_be_visible()
    page.mouse.click(*_at(page, 5.3, 28.2))
    page.mouse.click(*_at(page, 5, 20))
    _kept(page, 2)
    first, second, third, fourth = _document(service.store)["features"]["K3"]["outline"]
    assert second[0] - first[0] == pytest.approx(24.5, abs=0.011)
    assert second[1] == first[1]
    assert third[0] == second[0]
    assert fourth == [first[0], third[1]]
    inches = (third[1] - second[1]) * 12
    assert inches == pytest.approx(round(inches), abs=0.13)


def test_a_dragged_downspout_changes_document_and_answers_and_comes_back(page: Page, service) -> None:
    _open_plan(page, service.url)
    before = _text(service.store)
    _drag(page, _at(page, 16.5, 45.6), _at(page, 30, 46.4))
    _kept(page, 2)
    assert _document(service.store)["downspouts"]["D1"]["at"] == ["30 ft", "46 ft"]  # caught by the wall
    _ready(page)
    assert page.evaluate(RUN_OF_D1)[0] == pytest.approx([30, 46])
    page.keyboard.press("Control+z")
    _kept(page, 3)
    assert _text(service.store) == before
    page.keyboard.press("Control+Shift+z")
    _kept(page, 4)
    assert _document(service.store)["downspouts"]["D1"]["at"] == ["30 ft", "46 ft"]
    page.reload()
    page.get_by_role("button", name="Plan", exact=True).click()
    _ready(page)
    page.get_by_role("button", name="Undo").click()  # steps outlive the page
    _kept(page, 5)
    assert _text(service.store) == before


def test_answers_and_pipes_follow_a_drag_and_nothing_is_kept_until_it_is_let_go(page: Page, service) -> None:
    """The pipe of the downspout is drawn from where the finger is, by the service; put back, all is as it was."""
    _open_plan(page, service.url, section=True)
    before = _text(service.store)
    start, end = _at(page, 16.5, 45.6), _at(page, 29, 46.4)
    was = page.evaluate(RUN_OF_D1)
    section = page.get_by_role("region", name="Long section")
    section.get_by_role("button", name="From D1 to W1").click()
    drawn = section.get_by_role("img").inner_html()
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(start[0] + 6, start[1] + 6, steps=3)
    page.mouse.move(*end, steps=8)
    held = "document.querySelector('.plan-map').board.part('downspouts.D1.at').points[0]"
    for _ in range(200):
        if page.evaluate(RUN_OF_D1)[0] == pytest.approx(page.evaluate(held), abs=0.02):
            break
        page.wait_for_timeout(100)
    at = page.evaluate(held)  # still under the finger, though the answers came
    assert at[0] > 22 and page.evaluate(RUN_OF_D1)[0] == pytest.approx(at, abs=0.02)
    expect(page.get_by_role("list", name="The nine answers in short")).to_have_attribute("aria-busy", "true")
    page.wait_for_timeout(500)
    assert section.get_by_role("img").inner_html() != drawn  # the section follows too
    page.keyboard.down("Alt")  # caught by nothing
    page.mouse.move(*start, steps=8)
    page.mouse.up()
    page.keyboard.up("Alt")
    _ready(page)
    assert page.evaluate(RUN_OF_D1) == was
    assert section.get_by_role("img").inner_html() == drawn
    assert _text(service.store) == before


@pytest.mark.parametrize("how", ["Escape", "let go off the sheet"])
def test_a_drag_that_nobody_wants_is_put_back(page: Page, service, how: str) -> None:
    _open_plan(page, service.url)
    before, was = _text(service.store), page.evaluate(RUN_OF_D1)
    start, end = _at(page, 16.5, 45.6), _at(page, 30, 60)
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(*end, steps=8)
    held = "document.querySelector('.plan-map').board.shown.find(part => part.key === 'downspouts.D1.at').points[0]"
    assert page.evaluate(held) != pytest.approx([16.5, 45.6], abs=5)  # it is under the pointer
    if how == "Escape":
        page.keyboard.press("Escape")
        page.mouse.move(end[0] + 20, end[1] + 20, steps=3)
    else:
        page.mouse.move(1200, 300, steps=5)
    page.mouse.up()
    _ready(page)
    assert page.evaluate(held) == pytest.approx([16.5, 45.6])
    assert page.evaluate(RUN_OF_D1) == was
    assert page.get_by_role("button", name="Undo").is_disabled()
    assert _text(service.store) == before


def test_what_is_touched_in_the_section_is_chosen_on_the_plan_and_marked_in_both(page: Page, service) -> None:
    _open_plan(page, service.url, section=True)
    section = page.get_by_role("region", name="Long section")
    section.locator("[data-part=W1]").first.click(force=True)
    expect(page.get_by_role("heading", name="W1 dry well")).to_be_visible()
    assert page.evaluate("document.querySelector('.plan-map').board.selected") == "wells.W1.at"
    expect(section.locator("[data-part=W1].touched").first).to_be_visible()
    section.get_by_role("button", name="Hide the long section").click()
    expect(section.get_by_role("img")).to_have_count(0)


def test_one_drag_makes_a_designed_wye_given(page: Page, service) -> None:
    """Y1 is designed at (58.45, 77.91) ft; dragged clear of everything it stands where it was let go."""
    _open_plan(page, service.url)
    assert "wyes" not in _document(service.store)
    wye = page.evaluate(
        "() => document.querySelector('.plan-map').board.parts.find(p => p.key === 'wyes.Y1.at').points[0]"
    )
    for _ in range(2):
        page.get_by_role("button", name="Nearer").click()
        page.wait_for_timeout(250)
    _drag(page, _at(page, *wye), _at(page, 55, 82))
    _kept(page, 2)
    at = [float(text.removesuffix(" ft")) for text in _document(service.store)["wyes"]["Y1"]["at"]]
    assert at == pytest.approx([55, 82], abs=0.2)
    panel = page.get_by_role("region", name="Y1 wye")
    expect(panel).to_contain_text("given")
    panel.get_by_role("button", name="Let Roofwell place it").click()
    _kept(page, 3)
    assert not _document(service.store).get("wyes")


def test_a_moved_well_takes_its_overflow_along(page: Page, service) -> None:
    _open_plan(page, service.url)
    _drag(page, _at(page, 36, 98), _at(page, 30, 104))
    _kept(page, 2)
    document = _document(service.store)
    assert document["wells"]["W1"]["at"] != ["36 ft", "98 ft"]
    assert document["overflows"]["O1"]["at"] == document["wells"]["W1"]["at"]
    assert document["overflows"]["O1"]["path"][0] == document["wells"]["W1"]["at"]


def test_a_run_is_drawn_from_part_to_part(page: Page, service) -> None:
    _open_plan(page, service.url)
    page.get_by_label("Draw").select_option("runs")
    page.mouse.click(*_at(page, 3, 20))
    expect(page.get_by_text("A run of pipe begins at a downspout")).to_be_visible()
    page.mouse.click(*_at(page, 16.5, 45.6))
    page.mouse.click(*_at(page, 8, 45.6))
    page.mouse.click(*_at(page, 8, 98))
    page.mouse.click(*_at(page, 36, 98))
    _kept(page, 2)
    (run,) = _document(service.store)["runs"].values()
    assert (run["from"], run["to"]) == ("D1", "W1")
    assert run["path"][0] == [16.5, 45.6]
    assert run["path"][-1] == [36, 98]


def test_a_bow_tie_is_refused_and_nothing_drawn_is_lost(page: Page, service) -> None:
    _open_plan(page, service.url)
    page.get_by_label("Draw").select_option("drive")
    page.get_by_label("keep square").uncheck()
    for place in ((2, 5), (30, 30), (30, 5), (2, 30)):
        page.mouse.click(*_at(page, *place))
    page.get_by_role("button", name="Done").click()
    expect(page.get_by_text("The sides cross each other")).to_be_visible()
    for _ in range(2):
        page.get_by_role("button", name="Back one").click()
    page.mouse.click(*_at(page, 2, 30))
    page.get_by_role("button", name="Done").click()
    _kept(page, 2)
    assert len(_document(service.store)["features"]["V2"]["outline"]) == 3


def _png(width: int, height: int) -> bytes:
    """A plain grey picture with a dark frame, written by the PNG specification (W3C)."""
    rows = b"".join(
        b"\0" + bytes(60 if x in (0, width - 1) or y in (0, height - 1) else 200 for x in range(width))
        for y in range(height)
    )

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(rows))
        + chunk(b"IEND", b"")
    )


def test_a_picture_is_scaled_by_two_places_and_traced_over(
    page: Page, service, browser: Browser, tmp_path: Path
) -> None:
    """Half the picture's width is said to be 50 ft, so the whole picture is 100 ft wide on the plan."""
    file = tmp_path / "lot.png"
    file.write_bytes(_png(400, 240))
    _open_plan(page, service.url)
    page.get_by_role("button", name="Picture").click()
    page.get_by_label("Choose a picture").set_input_files(file)
    image = page.locator(".plan-picture img")
    expect(image).to_be_visible()
    box = image.bounding_box()
    assert box is not None
    middle = box["y"] + box["height"] / 2
    page.mouse.click(box["x"] + box["width"] / 4, middle)
    page.wait_for_timeout(400)
    page.mouse.click(box["x"] + 3 * box["width"] / 4, middle)
    page.get_by_label("Distance").fill("50'")
    page.get_by_role("button", name="Set the scale").click()
    page.wait_for_timeout(300)
    wide = image.bounding_box()
    assert wide is not None
    feet = page.evaluate("() => document.querySelector('.plan-map').board.resolution")
    assert wide["width"] * feet == pytest.approx(100, rel=0.01)
    assert wide["x"] + wide["width"] / 4 == pytest.approx(box["x"] + box["width"] / 4, abs=1.5)
    page.get_by_role("button", name="Done").click()
    page.get_by_label("Draw").select_option("tree")
    page.mouse.click(*_at(page, 8, 110))
    _kept(page, 2)
    assert _document(service.store)["features"]["T2"]["kind"] == "tree"
    page.reload()
    page.get_by_role("button", name="Plan", exact=True).click()
    _ready(page)
    expect(image).to_be_visible()  # the picture is kept in this browser
    other = browser.new_context(viewport={"width": 1366, "height": 650})
    elsewhere = other.new_page()
    elsewhere.goto(page.url)
    elsewhere.get_by_role("button", name="Plan", exact=True).click()
    _ready(elsewhere)
    there = elsewhere.locator(".plan-picture img")
    expect(there).to_be_visible(timeout=SLOW_MS)  # and goes with the job to another device
    found = there.bounding_box()
    assert found is not None
    feet = elsewhere.evaluate("() => document.querySelector('.plan-map').board.resolution")
    assert found["width"] * feet == pytest.approx(100, rel=0.01)
    other.close()


def _tab_to(page: Page, selector: str) -> None:
    for _ in range(250):
        if page.evaluate("one => document.activeElement?.matches(one) ?? false", selector):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{selector} was not reached by Tab")


def test_everything_is_reached_and_moved_by_keyboard(page: Page, service) -> None:
    """A part in the list, arrow keys for a step, Shift for a larger one, Delete and Ctrl-Z; no mouse."""
    _open_plan(page, service.url)
    before = _text(service.store)
    _tab_to(page, '[data-key="downspouts.D1.at"]')
    for key in ("ArrowRight", "ArrowRight", "Shift+ArrowUp"):
        page.keyboard.press(key)
    _kept(page, 2)
    assert _document(service.store)["downspouts"]["D1"]["at"] == ["16.7 ft", "46.6 ft"]
    page.keyboard.press("Delete")
    # the focus goes on to the next part
    page.wait_for_function("document.activeElement.dataset.key === 'downspouts.D2.at'")
    _kept(page, 3)
    assert "D1" not in _document(service.store)["downspouts"]
    for _ in range(4):
        page.keyboard.press("Control+z")
    _kept(page, 4)
    assert _document(service.store) == tomllib.loads(before)


def test_an_outline_is_drawn_by_keyboard_alone(page: Page, service) -> None:
    _open_plan(page, service.url)
    _tab_to(page, ".plan-tools select")
    page.keyboard.type("septic")
    _tab_to(page, ".plan-map")
    page.keyboard.press("Enter")
    for _ in range(8):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    page.keyboard.type("5'")
    page.keyboard.press("Tab")
    page.keyboard.type("up")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    _tab_to(page, ".plan-strip button.main")
    page.keyboard.press("Enter")
    _kept(page, 2)
    first, second, third = _document(service.store)["features"]["ST1"]["outline"]
    assert [second[0] - first[0], second[1] - first[1]] == pytest.approx([8, 0])
    assert [third[0] - second[0], third[1] - second[1]] == pytest.approx([0, 5])


def test_the_table_takes_typed_coordinates_as_they_are_typed(page: Page, service) -> None:
    _open_plan(page, service.url)
    page.get_by_role("button", name="As a table").click()
    east = page.get_by_label("D1 downspout, east")
    east.fill("17' 6\"")
    east.press("Enter")
    _kept(page, 2)
    assert _document(service.store)["downspouts"]["D1"]["at"] == ["17' 6\"", "45.6 ft"]
    east.fill("18 ftt")
    east.press("Enter")
    expect(page.get_by_text("cannot be read")).to_be_visible()
    expect(east).to_have_value("18 ftt")
    page.get_by_label("H1 house walls, corner b, east").fill("62")
    page.get_by_label("H1 house walls, corner b, east").press("Enter")
    _kept(page, 3)
    assert _document(service.store)["buildings"]["H1"]["outline"][1] == [62, 46]


def test_a_side_is_made_as_long_as_typed_and_a_rectangle_stays_one(page: Page, service) -> None:
    """The house is 44 ft by 28 ft; its first side typed as 46' 6\" moves the whole east wall by 2.5 ft."""
    _open_plan(page, service.url)
    page.locator('[data-key="buildings.H1.outline"]').click()
    side = page.get_by_label("Length from a to the next corner")
    expect(side).to_have_value("44′ 0″")
    side.fill("46' 6\"")
    side.press("Enter")
    _kept(page, 2)
    assert _document(service.store)["buildings"]["H1"]["outline"] == [
        [16, 46],
        [62.5, 46],
        [62.5, 74],
        [16, 74],
    ]


def test_a_shot_gets_its_elevation_and_comes_back_after_it_was_taken_out(page: Page, service) -> None:
    _open_plan(page, service.url)
    page.get_by_label("Draw").select_option("shot")
    page.mouse.click(*_at(page, 20, 115))
    panel = page.get_by_role("region", name="shot 1")
    panel.get_by_label("Elevation of shot 1").fill("97.25")
    panel.get_by_label("Elevation of shot 1").press("Enter")
    _kept(page, 2)
    (shot,) = _document(service.store)["survey"]["points"]
    assert (shot["id"], shot["ground"], shot["elevation"]) == ("shot 1", True, 97.25)
    assert shot["at"] == pytest.approx([20, 115], abs=0.5)
    panel.get_by_role("button", name="Take shot 1 out").click()
    _kept(page, 3)
    assert not _document(service.store)["survey"].get("points")
    page.get_by_role("button", name="Undo").click()
    _kept(page, 4)
    assert _document(service.store)["survey"]["points"] == [shot]


def test_one_finger_draws_and_drags_two_move_the_paper(phone: Page, service) -> None:
    page = phone
    _open_plan(page, service.url)
    page.locator(".plan-map").scroll_into_view_if_needed()
    well = _at(page, 36, 98)
    _fingers(page, _way(well, _at(page, 36, 106)))
    _kept(page, 2)
    east, north = (float(text.removesuffix(" ft")) for text in _document(service.store)["wells"]["W1"]["at"])
    assert (east, north) == (pytest.approx(36, abs=0.6), pytest.approx(106, abs=0.6))
    page.get_by_label("Draw").select_option("leach field")
    for place in ((8, 8), (28, 8), (28, 30)):
        page.touchscreen.tap(*_at(page, *place))
        page.wait_for_timeout(60)
    start = _at(page, 20, 36)
    _fingers(page, _way(start, _at(page, 8, 30)))  # the corner is put where the finger lifts
    before = _at(page, 0, 0)
    a, b = _at(page, 20, 60), _at(page, 50, 60)
    shift = (0.0, 40.0)
    _fingers(page, _way(a, (a[0] + shift[0], a[1] + shift[1])), _way(b, (b[0] + shift[0], b[1] + shift[1])))
    page.wait_for_timeout(600)
    moved = _at(page, 0, 0)
    assert moved[1] - before[1] == pytest.approx(40, abs=12)
    page.get_by_role("button", name="Done").click()
    _kept(page, 3)
    outline = _document(service.store)["features"]["LF1"]["outline"]
    assert len(outline) == 4  # two fingers placed no corner
    for corner, meant in zip(outline, ((8, 8), (28, 8), (28, 30), (8, 30)), strict=True):
        assert corner == pytest.approx(meant, abs=0.8)


def test_targets_on_a_phone_are_48_px(phone: Page, service) -> None:
    page = phone
    _open_plan(page, service.url)
    page.locator('[data-key="buildings.H1.outline"]').click()
    page.get_by_label("Draw").select_option("walk")
    page.touchscreen.tap(*_at(page, 8, 8))
    small = page.evaluate(
        """() => [...document.querySelectorAll('.plan button, .plan select, .plan input, .plan label.press')]
          .filter(one => one.type !== 'checkbox' && one.type !== 'file')
          .map(one => [one.textContent || one.ariaLabel, one.getBoundingClientRect().height])
          .filter(([, height]) => height < 47.5)"""
    )
    assert small == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize("size", [(1366, 650), (390, 844)], ids=["desk", "phone"])
def test_the_plan_is_readable_by_all(page: Page, service, readable: Readable, size: tuple[int, int]) -> None:
    """No violation that axe finds in any look: choosing, drawing, over a picture, as a table."""
    page.set_viewport_size({"width": size[0], "height": size[1]})
    _open_plan(page, service.url)
    page.locator('[data-key="buildings.H1.outline"]').click()
    readable(page, "a part is chosen")
    page.get_by_label("Draw").select_option("walk")
    page.get_by_role("button", name="Start in the middle").click()
    readable(page, "drawing")
    page.get_by_role("button", name="Stop").click()
    page.get_by_role("button", name="Picture").click()
    readable(page, "picture")
    page.get_by_role("button", name="As a table").click()
    readable(page, "table")


def test_the_plan_says_nothing_wrong_and_asks_nobody_else(context: BrowserContext, service) -> None:
    page = context.new_page()
    told: list[str] = []
    asked: list[str] = []
    page.on("console", lambda said: told.append(said.text) if said.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: told.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    _open_plan(page, service.url)
    page.locator('[data-key="wells.W1.at"]').click()
    page.get_by_role("button", name="As a table").click()
    page.get_by_role("button", name="As a table").click()
    assert told == []
    assert [
        url for url in asked if not url.startswith((service.url.partition("#")[0], "data:", "blob:"))
    ] == []


def test_a_plan_that_cannot_be_fetched_says_so_and_the_job_stays(browser: Browser, service) -> None:
    """Roofwell was renewed, or there is no signal: the map library is not there."""
    fresh = browser.new_context(service_workers="block")
    page = fresh.new_page()
    page.route("**/assets/plan-*.js", lambda route: route.abort())
    page.goto(service.url)
    page.get_by_role("button", name="Plan", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text("could not be fetched", timeout=SLOW_MS)
    page.get_by_role("button", name="Measure").click()
    expect(page.get_by_role("button", name="soil", exact=True)).to_be_visible()
    fresh.close()
