"""Where a number comes from, and one touch that makes what was designed given."""

from __future__ import annotations

import re
import sqlite3

from playwright.sync_api import Page, expect

SLOW_MS = 60_000


def _open_demo(page: Page, url: str) -> None:
    page.goto(url)
    page.get_by_role("link", name="Bungalow with room for one well (invented)").click()
    expect(page.get_by_role("list", name="The nine answers")).to_be_visible(timeout=SLOW_MS)


def test_a_number_says_what_it_comes_from(page: Page, shared) -> None:
    _open_demo(page, shared.url)
    page.get_by_role("button", name=re.compile("2 Does it fall")).click()
    answer = page.get_by_role("region", name="Answer 2")
    answer.get_by_text(re.compile("all good")).click()
    finding = (
        answer.get_by_role("article").filter(has_text="P1").filter(has_text=re.compile("fall|slope")).first
    )
    finding.get_by_text("Where it comes from").click()
    expect(finding).to_contain_text("Each run falls at least as much as its size wants")
    expect(finding).to_contain_text("Limit read in:")
    values = finding.get_by_role("list", name="Values of P1")
    expect(values).to_contain_text(re.compile(r"upstream invert: .* ft, designed"))


def test_one_touch_keeps_what_was_designed(page: Page, service) -> None:
    _open_demo(page, service.url)
    page.get_by_role("button", name="Measure").click()
    page.get_by_role("button", name="wells", exact=True).click()
    part = page.get_by_role("region", name="wells W1")
    bottom = part.locator("div.designed").filter(has=page.get_by_label("bottom", exact=True))
    expect(bottom).to_contain_text(re.compile(r"\d+\.\d\d ft, designed"))
    bottom.get_by_role("button", name="Keep it").click()
    expect(part.get_by_label("bottom", exact=True)).to_have_value(re.compile(r"^\d+\.\d\d ft$"))
    expect(page.get_by_role("status")).to_contain_text("kept, version 2", timeout=SLOW_MS)
    with sqlite3.connect(service.store) as connection:
        document = connection.execute("SELECT document FROM versions ORDER BY id DESC LIMIT 1").fetchone()[0]
    assert re.search(r'bottom = "\d+\.\d\d ft"', document)
