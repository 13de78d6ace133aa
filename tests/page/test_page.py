"""A person in front of the page: open, change, lose the signal, work with somebody else, print."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

SLOW_MS = 60_000
Readable = Callable[[Page, str], None]


def _open_demo(page: Page, url: str) -> None:
    page.goto(url)
    page.get_by_role("link", name="Bungalow with room for one well (invented)").click()
    expect(page.get_by_role("list", name="The nine answers")).to_be_visible(timeout=SLOW_MS)


def _field(page: Page, section: str, label: str) -> object:
    page.get_by_role("button", name="Measure").click()
    expect(page.get_by_role("navigation", name="Parts of the job")).to_be_visible(timeout=SLOW_MS)
    chosen = page.get_by_role("combobox", name="Part of the job", exact=True)
    if chosen.is_visible():  # on a phone one list stands for two dozen buttons
        chosen.select_option(section)
    else:
        page.get_by_role("button", name=section, exact=True).click()
    return page.get_by_label(label, exact=True).first


def _document(store: Path) -> str:
    with sqlite3.connect(store) as connection:
        row = connection.execute("SELECT document FROM versions ORDER BY id DESC LIMIT 1").fetchone()
    connection.close()
    return str(row[0])


def test_the_page_opens_on_the_demo_and_its_nine_answers(page: Page, service) -> None:
    errors: list[str] = []
    page.on("console", lambda said: errors.append(said.text) if said.type == "error" else None)
    page.on("pageerror", lambda error: errors.append(str(error)))
    _open_demo(page, service.url)
    expect(page.get_by_role("list", name="The nine answers").get_by_role("listitem")).to_have_count(9)
    page.get_by_role("button", name=re.compile("Does it hold and soak away")).click()
    expect(page.get_by_role("heading", name="5 Does it hold and soak away?")).to_be_visible()
    page.locator("svg [data-part=W1]").first.click(force=True)
    assert page.locator("svg .touched").count() > 0
    assert errors == []


def test_an_edit_brings_new_answers_and_is_kept_with_its_comments(page: Page, service) -> None:
    _open_demo(page, service.url)
    before = _document(service.store)
    box = _field(page, "soil", "frost depth")
    box.fill("24 in")
    expect(page.get_by_role("status")).to_contain_text("kept, version 2", timeout=SLOW_MS)
    after = _document(service.store)
    assert before != after
    assert 'frost_depth = "24 in"' in after
    assert [line for line in after.splitlines() if line.startswith("#")] == [
        line for line in before.splitlines() if line.startswith("#")
    ]


def test_a_value_that_cannot_be_stays_on_screen_and_stops_nothing_else(page: Page, service) -> None:
    _open_demo(page, service.url)
    box = _field(page, "soil", "frost depth")
    box.fill("deep")
    why = page.locator(".why").first
    expect(why).to_be_visible(timeout=SLOW_MS)
    expect(box).to_have_value("deep")
    expect(box).to_have_attribute("aria-invalid", "true")
    page.get_by_role("button", name="Design").click()
    expect(page.get_by_role("list", name="The nine answers")).to_be_visible()


def test_edits_made_without_the_service_go_out_once_when_it_is_back(page: Page, service) -> None:
    _open_demo(page, service.url)
    box = _field(page, "soil", "frost depth")
    service.stop()
    box.fill("30 in")
    expect(page.get_by_role("status")).to_contain_text("No signal", timeout=SLOW_MS)
    service.start()
    expect(page.get_by_role("status")).to_contain_text("kept, version 2", timeout=SLOW_MS)
    assert 'frost_depth = "30 in"' in _document(service.store)


def test_edits_outlive_a_closed_page(page: Page, service) -> None:
    _open_demo(page, service.url)
    box = _field(page, "soil", "frost depth")
    service.stop()
    box.fill("31 in")
    expect(page.get_by_role("status")).to_contain_text("No signal", timeout=SLOW_MS)
    address = page.url
    page.goto("about:blank")
    service.start()
    page.goto(address)
    expect(page.get_by_role("status")).to_contain_text("kept, version 2", timeout=SLOW_MS)
    assert 'frost_depth = "31 in"' in _document(service.store)


def test_the_page_is_reloaded_while_the_service_is_away(page: Page, service) -> None:
    """This machine is a secure context: the worker has the page, the browser what was seen last."""
    _open_demo(page, service.url)
    page.wait_for_function("navigator.serviceWorker.controller !== null")
    expect(page.locator("main.sheet")).to_have_attribute("aria-busy", "false", timeout=SLOW_MS)
    service.stop()
    page.reload()
    expect(page.get_by_role("list", name="The nine answers")).to_be_visible(timeout=SLOW_MS)
    box = _field(page, "soil", "frost depth")
    box.fill("33 in")
    expect(page.get_by_role("status")).to_contain_text("No signal", timeout=SLOW_MS)
    page.reload()
    service.start()
    expect(page.get_by_role("status")).to_contain_text("kept, version 2", timeout=SLOW_MS)
    assert 'frost_depth = "33 in"' in _document(service.store)


def test_two_people_on_one_job(page: Page, service, context) -> None:
    """The second saver sees what changed and chooses; both edits are there afterwards."""
    _open_demo(page, service.url)
    other = context.new_page()
    other.goto(page.url)
    expect(other.get_by_role("list", name="The nine answers")).to_be_visible(timeout=SLOW_MS)
    theirs = _field(other, "soil", "frost depth")
    mine = _field(page, "soil", "saturated thickness")
    theirs.fill("20 in")
    expect(other.get_by_role("status")).to_contain_text("kept, version 2", timeout=SLOW_MS)
    mine.fill("25 ft")
    told = page.get_by_role("alert", name="Two people changed this job")
    expect(told).to_contain_text("soil.frost_depth", timeout=SLOW_MS)
    assert 'saturated_thickness = "25 ft"' not in _document(service.store)
    told.get_by_role("button", name="Put my edit on theirs").click()
    expect(page.get_by_role("status")).to_contain_text("kept, version 3", timeout=SLOW_MS)
    kept = _document(service.store)
    assert 'frost_depth = "20 in"' in kept
    assert 'saturated_thickness = "25 ft"' in kept


def test_a_file_with_errors_opens_as_far_as_it_can_be_read(page: Page, service, tmp_path: Path) -> None:
    file = tmp_path / "house.toml"
    file.write_text('document = 1\n[job]\nname = "Half a house (invented)"\n[soil]\nfrost_depth = "deep"\n')
    page.goto(service.url)
    page.set_input_files("input[type=file]", file)
    expect(page.get_by_role("heading", name="Half a house (invented)")).to_be_visible(timeout=SLOW_MS)
    expect(page.get_by_text("One thing to put right")).to_be_visible(timeout=SLOW_MS)


def test_versions_stay_and_one_is_taken_up_again(page: Page, service) -> None:
    _open_demo(page, service.url)
    before = _document(service.store)
    _field(page, "soil", "frost depth").fill("24 in")
    expect(page.get_by_role("status")).to_contain_text("kept, version 2", timeout=SLOW_MS)
    page.get_by_role("button", name="Versions").click()
    page.get_by_role("button", name="What changed").click()
    expect(page.get_by_text('soil, frost depth: "18 in" became "24 in"')).to_be_visible()
    page.get_by_role("button", name="Take up again").click()
    expect(page.get_by_role("status")).to_contain_text("kept, version 3", timeout=SLOW_MS)
    assert _document(service.store) == before


@pytest.mark.parametrize("size", [(1366, 650), (390, 844)], ids=["desk", "phone"])
def test_every_look_is_readable_by_all(page: Page, shared, readable: Readable, size: tuple[int, int]) -> None:
    """No violation that axe finds, nothing wider than the screen."""
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.goto(shared.url)
    for look in ("Dark", "Sun", "Paper"):
        page.get_by_role("button", name=look).click()
        assert page.evaluate("document.documentElement.dataset.look") == look.lower()
    readable(page, "list")
    _open_demo(page, shared.url)
    readable(page, "design")
    _field(page, "soil", "frost depth")
    readable(page, "measure")


def test_the_page_asks_nobody_else(page: Page, service) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    _open_demo(page, service.url)
    assert [url for url in asked if not url.startswith((service.url, "data:", "blob:"))] == []
