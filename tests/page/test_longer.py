"""Long work on the page: the chance with all unknowns, what would mend an answer; progress, Stop, a newer edit, undo."""

from __future__ import annotations

import os
import re
import sqlite3
import tomllib
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

SLOW_MS = 60_000


def _open(page: Page, url: str, example: str) -> None:
    made = page.request.post(
        url + "api/jobs", headers={"X-Roofwell": "page"}, data={"example": example, "who": "Ann"}
    )
    page.goto(f"{url}#/jobs/{made.json()['job']}")
    expect(page.get_by_role("list", name="The nine answers")).to_be_visible(timeout=SLOW_MS)


def _chance(page: Page) -> Locator:
    region = page.get_by_role("region", name="Chance of spills")
    expect(region.get_by_text(re.compile("^Nine chances in ten"))).to_be_visible(timeout=SLOW_MS)
    return region


def _busy_s(pid: int) -> float:
    """Processor time that a process has used, s."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _quiet(page: Page, service: Any) -> None:
    """Within a second the service works no more."""
    page.wait_for_timeout(1000)
    before = _busy_s(service._running.pid)
    page.wait_for_timeout(600)
    assert _busy_s(service._running.pid) - before < 0.15


def _document(store: Path) -> dict[str, Any]:
    with sqlite3.connect(store) as connection:
        text = connection.execute("SELECT document FROM versions ORDER BY id DESC LIMIT 1").fetchone()[0]
    connection.close()
    return tomllib.loads(text)


def test_all_unknowns_are_drawn_where_the_chance_is_told(page: Page, service) -> None:
    """Pressed, stopped, pressed again, told; an edit throws it away and says so."""
    _open(page, service.url, "old-system")
    chance = _chance(page)
    draw = chance.get_by_role("button", name="Draw all unknowns together")
    draw.click()
    expect(chance.get_by_text(re.compile(r"\d+ of 500 samples"))).to_be_visible(timeout=SLOW_MS)
    chance.get_by_role("button", name="Stop").click()
    expect(chance.get_by_text("Stopped.")).to_be_visible()
    if Path("/proc/self/stat").exists():
        _quiet(page, service)
    expect(chance.get_by_text(re.compile("All unknowns at once"))).to_have_count(0)
    draw.click()
    expect(chance.get_by_text(re.compile(r"^All unknowns at once \(500 samples"))).to_be_visible(
        timeout=SLOW_MS
    )
    expect(chance.get_by_text(re.compile("^What decides which sample spills more"))).to_be_visible()
    expect(chance.get_by_text(re.compile("^Worth measuring, the most first: soil"))).to_be_visible()
    _change(page)
    expect(_chance(page).get_by_text(re.compile("belonged to the job before the edit"))).to_be_visible(
        timeout=SLOW_MS
    )
    expect(_chance(page).get_by_text(re.compile("All unknowns at once"))).to_have_count(0)


def _change(page: Page) -> None:
    """An ordinary edit: another width of the basin."""
    page.get_by_role("button", name="Measure", exact=True).click()
    page.get_by_role("button", name="basins", exact=True).click()
    width = page.get_by_role("region", name="basins B1").get_by_label("width", exact=True)
    width.fill("18 in")
    width.press("Enter")
    width.blur()
    page.get_by_role("button", name="Design", exact=True).click()


def test_a_newer_edit_cancels_what_is_being_drawn(page: Page, service) -> None:
    _open(page, service.url, "old-system")
    chance = _chance(page)
    chance.get_by_role("button", name="Draw all unknowns together").click()
    expect(chance.get_by_text(re.compile("Working out: "))).to_be_visible(timeout=SLOW_MS)
    page.keyboard.press("Escape")
    _change(page)
    chance = _chance(page)
    expect(chance.get_by_text(re.compile("belonged to the job before the edit"))).to_be_visible(
        timeout=SLOW_MS
    )
    expect(chance.get_by_role("button", name="Stop")).to_have_count(0)


@pytest.mark.parametrize("width", [1366, 390])
def test_a_mend_is_taken_up_by_one_press_and_taken_back_by_another(page: Page, service, width: int) -> None:
    """The overflow of the old system lets too little out: changes come one by one, one is applied, undone, tried no more."""
    page.set_viewport_size({"width": width, "height": 844 if width < 500 else 650})
    _open(page, service.url, "old-system")
    question = page.get_by_role("button", name=re.compile("^6 Where does it go"))
    question.click()
    mends = page.get_by_role("region", name="What would mend answer 6")
    mends.get_by_role("button", name="Try changes").click()
    change = mends.get_by_role("listitem").filter(has_text="A new O1, its diameter designed")
    expect(change).to_be_visible(timeout=SLOW_MS)
    expect(change).to_contain_text("turns from fails to good")
    expect(change).to_contain_text(re.compile(r"\$\d+ more"))
    expect(mends.get_by_text("2 changes were tried: one turns it good or close.")).to_be_visible(
        timeout=SLOW_MS
    )
    change.get_by_role("button", name="Apply").click()
    done = page.get_by_text("Done: A new O1, its diameter designed.")
    expect(done).to_be_in_viewport()  # the list that stood there is gone; its Undo is not to be looked for
    six = page.get_by_role("list", name="The nine answers").locator("> li").nth(5)
    expect(six).to_have_attribute("data-verdict", "good", timeout=SLOW_MS)
    expect(page.get_by_role("status").first).to_contain_text("kept, version 2", timeout=SLOW_MS)
    assert _document(service.store)["overflows"]["O1"]["state"] == "proposed"
    assert "diameter" not in _document(service.store)["overflows"]["O1"]
    page.get_by_role("button", name="Undo", exact=True).click()
    expect(six).to_have_attribute("data-verdict", "fails", timeout=SLOW_MS)
    expect(page.get_by_role("status").first).to_contain_text("kept, version 3", timeout=SLOW_MS)
    assert _document(service.store)["overflows"]["O1"]["state"] == "existing"
    assert _document(service.store)["overflows"]["O1"]["diameter"] == "4 in"
    expect(mends.get_by_role("button", name="Try changes")).to_be_enabled()


def test_trying_changes_can_be_stopped_and_a_newer_edit_stops_it(page: Page, service) -> None:
    _open(page, service.url, "old-system")
    page.get_by_role("button", name=re.compile("^3 Does it carry")).click()
    expect(page.get_by_role("heading", name="The well in years")).to_be_visible(timeout=SLOW_MS)
    mends = page.get_by_role("region", name="What would mend answer 3")
    mends.get_by_role("button", name="Try changes").click()
    expect(mends.get_by_text(re.compile("Trying change [1-9]+ of 1[0-9]"))).to_be_visible(timeout=SLOW_MS)
    mends.get_by_role("button", name="Stop").click()
    expect(mends.get_by_text("Stopped.")).to_be_visible()
    if Path("/proc/self/stat").exists():
        _quiet(page, service)
    expect(mends.get_by_role("button", name="Try changes")).to_be_enabled()
    mends.get_by_role("button", name="Try changes").click()
    expect(mends.get_by_text(re.compile("Trying change"))).to_be_visible(timeout=SLOW_MS)
    _change(page)
    page.get_by_role("button", name=re.compile("^3 Does it carry")).click()
    expect(mends.get_by_text(re.compile("belonged to the job before the edit"))).to_be_visible(
        timeout=SLOW_MS
    )
    expect(mends.get_by_role("button", name="Stop")).to_have_count(0)
