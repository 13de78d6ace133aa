"""Every screen at the size of a laptop and of a phone: nothing beside it, no error, a picture in docs/images/screens."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

SLOW_MS = 60_000
SCREENS = Path(__file__).parents[2] / "docs" / "images" / "screens"
DEMO = "Bungalow with room for one well (invented)"
TABS = ("First look", "Visit", "Measure", "Plan", "Design", "Versions")


@pytest.mark.parametrize(("size", "width", "height"), [("desk", 1366, 650), ("phone", 390, 844)])
def test_every_screen(page: Page, shared, take, size: str, width: int, height: int) -> None:
    said: list[str] = []
    page.on("console", lambda one: said.append(one.text) if one.type == "error" else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    page.set_viewport_size({"width": width, "height": height})
    page.goto(shared.url)
    expect(page.get_by_role("link", name=DEMO)).to_be_visible(timeout=SLOW_MS)
    _looked_at(page, width)
    take(page, SCREENS / f"jobs-{size}.png", whole=False)
    page.get_by_role("link", name=DEMO).click()
    expect(page.get_by_role("slider")).to_be_visible(timeout=SLOW_MS)
    shown = [tab for tab in TABS if page.get_by_role("button", name=tab, exact=True).count()]
    assert set(shown) >= {"Visit", "Measure", "Plan", "Design", "Versions"}
    for tab in shown:
        page.get_by_role("button", name=tab, exact=True).click()
        expect(page.get_by_role("button", name=tab, exact=True)).to_have_attribute("aria-pressed", "true")
        expect(page.locator("[aria-busy=true]")).to_have_count(0, timeout=SLOW_MS)
        if tab == "Plan":
            expect(page.locator("canvas").first).to_be_visible(timeout=SLOW_MS)
        if tab == "Design":
            expect(page.get_by_role("slider")).to_be_visible(timeout=SLOW_MS)
        if tab == "Versions":
            expect(page.get_by_role("heading", name=re.compile("Version 1"))).to_be_visible(timeout=SLOW_MS)
        _looked_at(page, width)
        take(page, SCREENS / f"{tab.lower().replace(' ', '-')}-{size}.png", whole=False)
    assert said == []


def _looked_at(page: Page, width: int) -> None:
    """Nothing stands beside the screen: what is wide scrolls in its own frame."""
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.locator("main").inner_text().strip()
