"""A new user with a new house: the script of docs/first-house.md played line by line, the stop, the visit without signal."""

from __future__ import annotations

import io
import re
import sqlite3
import time
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Page, expect
from pypdf import PdfReader

SLOW_MS = 60_000
ROOT = Path(__file__).parents[2]
SCRIPT = ROOT / "docs" / "first-house.md"
Readable = Callable[[Page, str], None]
TEN_MINUTES_S = 600.0
PHONE = {"width": 390, "height": 844}
LEVEL, WATER = "Rod reading", "From the top of the hole down to the water"


def _document(store: Path) -> str:
    with sqlite3.connect(store) as connection:
        row = connection.execute("SELECT document FROM versions ORDER BY id DESC LIMIT 1").fetchone()
    connection.close()
    return str(row[0])


def _lines() -> Iterator[tuple[str, str, str]]:
    """The script: what is asked and answered, pressed, said, and shown."""
    for line in SCRIPT.read_text(encoding="utf-8").splitlines():
        if match := re.fullmatch(r"\| (.+) \| `(.+)` \|", line):
            yield "answer", match[1], match[2]
        elif match := re.fullmatch(r"Press \*\*(.+)\*\*", line):
            yield "press", match[1], ""
        elif match := re.fullmatch(r"Roofwell says \*\*(.+)\*\*", line):
            yield "said", match[1], ""
        elif match := re.fullmatch(r"!\[.+\]\((images/.+\.png)\)", line):
            yield "picture", match[1], ""


def _answer(page: Page, label: str, value: str) -> None:
    field = page.get_by_label(label, exact=True)
    kind = field.evaluate("one => one.tagName === 'SELECT' ? 'select' : one.type")
    if kind == "select":
        field.select_option(label=value)
    elif kind in ("radio", "checkbox"):
        field.check()
    else:
        field.fill(value)


def _press(page: Page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).or_(
        page.get_by_role("link", name=name, exact=True)
    ).click()


def _play(page: Page, url: str, *, pictures: Callable[..., None] | None = None, until: str = "") -> None:
    page.goto(url)
    for what, first, second in _lines():
        if first == until:
            return
        if what == "answer":
            _answer(page, first, second)
        elif what == "press":
            _press(page, first)
        elif what == "said":
            expect(page.get_by_text(first).first).to_be_visible(timeout=SLOW_MS)
        elif pictures is not None:
            expect(page.locator("[aria-busy=true]")).to_have_count(0, timeout=SLOW_MS)
            pictures(page, SCRIPT.parent / first)


def _begun(page: Page, url: str) -> None:
    page.goto(url + "#/new")
    _answer(page, "What shall the job be called?", "Visit (invented)")
    _press(page, "Begin")
    expect(page.get_by_role("heading", name="Find the cause first")).to_be_visible(timeout=SLOW_MS)


def _kept(page: Page, version: int = 2) -> None:
    expect(page.get_by_role("status").first).to_contain_text(
        re.compile(rf"^kept, version ({version}|{version + 1}|{version + 2})"), timeout=SLOW_MS
    )


def test_the_script_leads_from_nothing_to_a_draft_and_its_papers(page: Page, service, take) -> None:
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    began = time.monotonic()
    _play(page, service.url, pictures=take, until="Measure on the visit")
    assert time.monotonic() - began < TEN_MINUTES_S
    expect(page.locator(".headline")).to_contain_text("the soil decides")
    expect(page.get_by_text("DRAFT: not for digging")).to_be_visible()
    worth = page.get_by_role("region", name="What to measure next").get_by_role("listitem")
    expect(worth.first).to_contain_text("Infiltration rate of the soil")
    expect(worth.first).to_contain_text("It decides between")
    expect(page.locator("svg [data-part=W1]").first).to_be_visible()
    assert errors == []
    _kept(page)
    document = _document(service.store)
    for leaf in ('water_stands = "hours"', 'plan_area = "24 ft x 12\' 6\\""', 'at = ["46 ft", "65 ft"]'):
        assert leaf in document
    assert "[soil]" not in document  # nobody measured it, so nothing stands there
    page.get_by_role("button", name="The nine answers and the papers").click()
    page.get_by_role("button", name="Make roofwell.pdf").click()
    paper = page.get_by_role("link", name="roofwell.pdf")
    expect(paper).to_be_visible(timeout=SLOW_MS)
    made = page.request.get(service.url + str(paper.get_attribute("href")))
    words = " ".join(side.extract_text() for side in PdfReader(io.BytesIO(made.body())).pages)
    assert "NOT FOR DIGGING" in words
    assert "Hill street cottage" in words


def test_a_draft_says_what_already_fails(page: Page, service) -> None:
    """Soil that takes 0.05 in/h empties no well in 48 h: the draft must not read as if only measurements were missing."""
    _play(page, service.url, until="Show the draft")
    _answer(
        page, "How fast it takes water, if somebody measured it (such as 0.6 in/h or 25 min/in)", "0.05 in/h"
    )
    _press(page, "Show the draft")
    expect(page.locator(".headline")).to_be_visible(timeout=SLOW_MS)
    expect(page.locator(".draft .trouble")).to_contain_text("5 Does it hold and soak away?")


def test_the_script_can_be_played_on_a_phone(page: Page, service) -> None:
    page.set_viewport_size(PHONE)  # type: ignore[arg-type]
    _play(page, service.url)
    expect(page.get_by_role("toolbar", name="Parts of the visit")).to_be_visible(timeout=SLOW_MS)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize(
    ("when", "why"),
    [("in spring, whatever the rain", "groundwater"), ("in dry weather too", "does not come off a roof")],
)
def test_water_of_another_cause_stops_here(page: Page, service, when: str, why: str) -> None:
    _begun(page, service.url)
    _answer(page, when, "yes")
    stop = page.get_by_role("alert", name="Stop here")
    expect(stop).to_contain_text(why, timeout=SLOW_MS)
    expect(page.get_by_role("button", name="Next")).to_be_disabled()
    expect(page.get_by_role("button", name="Draft", exact=True)).to_be_disabled()
    _answer(
        page,
        "Was the cause found? Say what it was, and a draft goes on with your reason printed",
        "a cracked pipe",
    )
    _answer(page, "Your name", "Ada")
    _press(page, "Go on all the same")
    expect(page.get_by_role("button", name="Next")).to_be_enabled(timeout=SLOW_MS)
    _kept(page)
    document = _document(service.store)
    assert 'check = "cause-of-water"' in document
    assert 'reason = "a cracked pipe"' in document


def test_a_house_half_asked_outlives_a_closed_tab(page: Page, service) -> None:
    """The service goes away in the middle; what was typed is there when the tab is opened again, and goes out once."""
    _play(page, service.url, until="One more downspout")
    expect(page.get_by_text("in a cloudburst")).to_be_visible(timeout=SLOW_MS)
    address = page.url
    service.stop()
    _answer(page, "roof depth at D1", "15")
    expect(page.get_by_role("main").get_by_role("status")).to_contain_text("No signal", timeout=SLOW_MS)
    page.goto("about:blank")
    service.start()
    page.goto(address)
    _kept(page)
    page.get_by_role("button", name="Roof", exact=True).click()
    expect(page.get_by_label("gutter length at D1", exact=True)).to_have_value("24")
    expect(page.get_by_label("roof depth at D1", exact=True)).to_have_value("15")
    assert 'plan_area = "24 ft x 15 ft"' in _document(service.store)


def test_a_bad_length_is_named_where_it_was_typed(page: Page, service) -> None:
    _play(page, service.url, until="One more downspout")
    _answer(page, "roof depth at D1", "wide")
    expect(page.get_by_text("wide").last).to_be_visible(timeout=SLOW_MS)
    expect(page.get_by_label("roof depth at D1", exact=True)).to_have_value("wide")


def _visit(page: Page, url: str) -> None:
    page.set_viewport_size(PHONE)  # type: ignore[arg-type]
    _begun(page, url)
    page.get_by_role("button", name="Visit", exact=True).click()


def _keys(page: Page, keys: str) -> None:
    pad = page.locator(".pad .keys")
    for key in keys.split(" "):
        pad.get_by_role("button", name=key, exact=True).click()


def test_shots_without_signal(page: Page, service) -> None:
    """100.00 and a backsight of 4.35 give 104.35; 7.15 on the rod is 97.20; 7 ft 1 3/4 in is 97.20 too (by hand)."""
    _visit(page, service.url)
    _keys(page, "4 . 3 5")
    expect(page.locator(".means")).to_contain_text("104.35 ft")
    _press(page, "Keep this backsight")
    expect(page.get_by_text("height of instrument 104.35 ft")).to_be_visible()
    service.stop()
    _answer(page, "Point, as the crew will call it", "pipe end")
    _keys(page, "7 . 1 5")
    expect(page.locator(".means")).to_contain_text("97.20 ft")
    _press(page, "Keep this shot")
    _answer(page, "Point, as the crew will call it", "lawn")
    _answer(page, "ft from pipe end", "24")
    _keys(page, "7 feet 4")
    for _ in range(3):
        page.get_by_role("button", name="one eighth more").click()
    _keys(page, "inches")
    expect(page.get_by_label(LEVEL, exact=True)).to_have_value("7' 4⅜\"")
    expect(page.locator(".means")).to_contain_text("96.99 ft")
    expect(page.locator(".means")).to_contain_text("falls 0.21 ft from pipe end, 0.9 %")
    _press(page, "Keep this shot")
    book = page.get_by_role("list", name="Shots so far, the last one first").get_by_role("listitem")
    expect(book).to_have_count(2)
    expect(book.first).to_contain_text("0.9 %")
    expect(page.get_by_role("status").first).to_contain_text("No signal", timeout=SLOW_MS)
    service.start()
    _kept(page)
    readings = tomllib.loads(_document(service.store))["survey"]["readings"]
    assert [one["rod"] for one in readings] == ["4.35 ft", "7.15 ft", "7' 4⅜\""]
    page.get_by_role("button", name=re.compile("Take the last reading back")).click()
    expect(book).to_have_count(1)


def test_a_book_begun_before_asks_whether_the_instrument_was_moved(page: Page, service) -> None:
    _visit(page, service.url)
    moved = page.get_by_text("Moved since, or another day? New set-up first.")
    _answer(page, LEVEL, "4.35")
    _press(page, "Keep this backsight")
    expect(page.get_by_text("height of instrument 104.35 ft")).to_be_visible()
    expect(moved).to_have_count(0)
    _kept(page)
    page.reload()
    page.get_by_role("button", name="Visit", exact=True).click()
    expect(moved).to_be_visible(timeout=SLOW_MS)
    _press(page, "New set-up")
    expect(moved).to_have_count(0)


def test_a_turning_point_carries_the_level_on(page: Page, service) -> None:
    """Published section in feet: 100.00 + 3.10 − 9.82 = 93.28; + 6.44 = 99.72 (tests/data/level_books.json, first book)."""
    _visit(page, service.url)
    _answer(page, LEVEL, "3.10")
    _press(page, "Keep this backsight")
    _press(page, "Turning point")
    _answer(page, "Point, as the crew will call it", "TP1")
    _answer(page, LEVEL, "9.82")
    expect(page.locator(".means")).to_contain_text("93.28 ft")
    _press(page, "Keep this shot")
    _press(page, "New set-up")
    expect(page.get_by_text("Look back at TP1")).to_be_visible()
    _answer(page, LEVEL, "6.44")
    expect(page.locator(".means")).to_contain_text("99.72 ft")
    _press(page, "Keep this backsight")
    expect(page.get_by_text("S2 stands: height of instrument 99.72 ft")).to_be_visible()


def test_what_the_draft_asks_for_can_be_said_on_the_visit(page: Page, service) -> None:
    """Groundwater by its spots, where a full well's water runs, frost: the draft sends to the visit for them."""
    _visit(page, service.url)
    page.get_by_role("button", name=re.compile("^Soil")).click()
    _answer(page, "Rusty or gray spots in the hole begin how deep under the ground? (in)", "84")
    page.get_by_role("button", name=re.compile("^Lot")).click()
    expect(page.get_by_role("button", name="Lot 0 of 9")).to_be_visible()
    expect(page.get_by_label("Where would the water of a full well run?")).to_have_count(0)  # no well yet
    _answer(page, "Depth of frost (in)", "30")
    page.get_by_label("Depth of frost (in)").blur()
    expect(page.get_by_role("button", name="Lot 1 of 9")).to_be_visible()
    _kept(page)
    soil = tomllib.loads(_document(service.store))["soil"]
    assert soil == {
        "seasonal_high_water_depth": "84 in",
        "high_water_known_by": "mottling",
        "frost_depth": "30 in",
    }


def test_the_way_of_a_full_well_is_said_on_the_visit(page: Page, service) -> None:
    page.goto(service.url)
    _play(page, service.url, until="Measure on the visit")
    page.get_by_role("button", name="Visit", exact=True).click()
    page.get_by_role("button", name=re.compile("^Lot")).click()
    _answer(page, "Where would the water of a full well run?", "over the back lawn to the swale")
    page.get_by_label("Where would the water of a full well run?").blur()
    expect(page.get_by_role("button", name="Lot 1 of 10")).to_be_visible()
    page.get_by_role("button", name="Design", exact=True).click()
    six = page.get_by_role("button", name=re.compile("^6 Where does it go when full"))
    expect(six).not_to_contain_text("where a full well's water goes", timeout=SLOW_MS)


def test_a_hole_and_a_clock(page: Page, service) -> None:
    """The clock outlives the tab; 24 in to 30 in in half an hour are 12 in/h (by hand); the service adds its warnings."""
    page.clock.install()
    _visit(page, service.url)
    page.get_by_role("button", name=re.compile("^Soil")).click()
    _answer(page, "Depth of the hole (in)", "60")
    _answer(page, "Diameter of the hole (in)", "4")
    _press(page, "Time this hole")
    _answer(page, WATER, "24")
    _press(page, "Start the clock")
    _kept(page)
    page.clock.fast_forward(10_000)
    page.reload()
    page.get_by_role("button", name=re.compile("^Soil")).click()
    expect(page.get_by_text("since the water stood at 24 in")).to_be_visible(timeout=SLOW_MS)
    page.clock.fast_forward(1_790_000)
    _answer(page, WATER, "30")
    _press(page, "The water is there now")
    book = page.get_by_role("list", name="Readings so far, the last one first").get_by_role("listitem")
    rate = book.first.locator("strong")
    expect(rate).to_be_visible()
    assert float(rate.inner_text().split(" ")[0]) == pytest.approx(12.0, abs=0.2)
    expect(page.get_by_text("not said to be presoaked")).to_be_visible(timeout=SLOW_MS)
    _answer(page, WATER, "20")
    expect(page.get_by_text("The water would have risen")).to_be_visible()
    expect(page.get_by_role("button", name="The water is there now")).to_be_disabled()


def test_a_photo_waits_and_goes_out(page: Page, service, tmp_path: Path) -> None:
    picture = tmp_path / "wall.jpg"
    Image.new("RGB", (64, 48), (120, 140, 90)).save(picture)
    _visit(page, service.url)
    page.get_by_role("button", name=re.compile("^Photos")).click()
    service.stop()
    _answer(page, "What the next photo shows", "the back wall")
    page.get_by_label("Take a photo").set_input_files(picture)
    shown = page.get_by_role("img", name="the back wall")
    expect(shown).to_be_visible(timeout=SLOW_MS)
    expect(page.get_by_text("Kept in this browser, goes out by itself", exact=True)).to_be_visible()
    service.start()
    expect(page.get_by_text("Kept in this browser, goes out by itself", exact=True)).to_be_hidden(
        timeout=SLOW_MS
    )
    _kept(page)
    assert 'shows = "the back wall"' in _document(service.store)
    assert shown.evaluate("one => one.complete && one.naturalWidth > 0")


def test_what_is_there_and_what_is_not(page: Page, service) -> None:
    _visit(page, service.url)
    page.get_by_role("button", name=re.compile("^Lot")).click()
    tank = page.get_by_role("group", name=re.compile("^Septic tank"))
    tank.get_by_role("checkbox").check()
    expect(tank).to_contain_text("not there")
    well = page.get_by_role("group", name=re.compile("^Drinking-water well"))
    well.get_by_role("button", name="It is there").click()
    well.get_by_label("from the left lot line (ft)").fill("70")
    well.get_by_label("from the front lot line (ft)").fill("110")
    well.get_by_role("button", name="It is there").click()
    expect(well).to_contain_text("F1")
    _kept(page)
    document = _document(service.store)
    assert 'none = ["septic tank"]' in document
    assert 'at = ["70 ft", "110 ft"]' in document


@pytest.mark.parametrize("size", [(1366, 650), (390, 844)], ids=["desk", "phone"])
def test_every_question_is_readable_by_all(
    page: Page, shared, readable: Readable, size: tuple[int, int]
) -> None:
    """No violation that axe finds in any look; nothing wider than the screen; under a thumb no target below 48 px."""
    page.set_viewport_size({"width": size[0], "height": size[1]})

    def held(where: str) -> None:
        readable(page, where)
        if size[0] < 500:
            small = page.evaluate(
                """[...document.querySelectorAll('main button, main input, main select, main label.choice')]
                .filter(one => one.checkVisibility() && !one.closest('label.choice, label.take') ||
                        one.matches('label.choice'))
                .map(one => [one.getBoundingClientRect(), one.textContent || one.id])
                .filter(([box]) => box.height < 47.5 || box.width < 47.5)
                .map(([box, words]) => `${words} ${box.width} x ${box.height}`)"""
            )
            assert small == [], where

    _play(page, shared.url, until="Begin")
    held("begin")
    _press(page, "Begin")
    _answer(page, "in spring, whatever the rain", "yes")
    expect(page.get_by_role("alert", name="Stop here")).to_be_visible(timeout=SLOW_MS)
    held("stop")
    lines = list(_lines())
    for what, first, second in lines[lines.index(("press", "Begin", "")) + 1 :]:
        if what == "answer":
            _answer(page, first, second)
        elif what == "said":
            expect(page.get_by_text(first).first).to_be_visible(timeout=SLOW_MS)
        elif what == "press":
            if first in ("Next", "Show the draft", "Measure on the visit"):
                held(f"before {first}")
            _press(page, first)
    for part in ("Soil", "Roof", "Lot", "Photos", "Shots"):
        page.get_by_role("button", name=re.compile(f"^{part}")).click()
        held(part)
