"""Long sections in a real browser: the gutter and its water, the true scale, a part touched in one drawing; the years."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

SLOW_MS = 60_000
SIZES = [("desk", 1366, 650), ("phone", 390, 844)]
SCREENS = Path(__file__).parents[2] / "docs" / "images" / "screens"
DEMO = "Bungalow with room for one well (invented)"


@pytest.fixture
def opened(page: Page, shared) -> Page:
    page.goto(shared.url)
    page.get_by_role("link", name=DEMO).click()
    expect(page.get_by_role("slider").first).to_be_visible(timeout=SLOW_MS)
    return page


def test_the_gutter_fills_with_the_rain_and_is_cut_short_by_one_press(opened: Page) -> None:
    page = opened
    gutter = page.locator(".storm .gutter")
    expect(gutter).to_contain_text(re.compile(r"G2 over D2: water [\d.]+ in deep, [\d.]+ in under its brim"))
    page.get_by_role("slider").first.press("End")
    expect(gutter).to_contain_text("G2 over D2: empty")
    svg = page.locator(".insight svg").first
    expect(svg).to_contain_text("brim 108.24")
    assert page.locator(".insight svg .cut-short").count() == 0
    page.get_by_role("button", name="Cut the wall short").click()
    expect(page.locator(".insight svg .cut-short").first).to_be_attached(timeout=SLOW_MS)
    page.get_by_role("button", name="Cut the wall short").click()
    expect(page.locator(".insight svg .cut-short")).to_have_count(0, timeout=SLOW_MS)


def test_a_downspout_touched_at_its_gutter_is_marked_on_the_plan(opened: Page) -> None:
    page = opened
    gutter = page.locator(".insight svg path.wall[data-part=D2]").last
    box = gutter.bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    expect(page.locator(".insight svg .touched[data-part=D2]").first).to_be_attached()
    plan = page.locator(".drawings > .drawing svg .touched[data-part=D2]")
    expect(plan.first).to_be_attached()


@pytest.mark.parametrize(("size", "width", "height"), SIZES)
def test_the_full_well_is_drawn_to_true_scale_with_the_water_in_it(
    opened: Page, take, size: str, width: int, height: int
) -> None:
    page = opened
    page.set_viewport_size({"width": width, "height": height})
    page.get_by_role("button", name="To true scale").click()
    drawing = page.locator(".insight svg").first
    expect(drawing).to_contain_text("below the threshold of the kitchen door", timeout=SLOW_MS)
    expect(page.locator(".insight .moment .body")).to_have_attribute("d", re.compile("M"))
    take(page, SCREENS / f"true-scale-{size}.png", whole=False)
    page.get_by_text("What the lines mean").click()
    expect(page.locator(".under").first).to_contain_text("Unrolled along D1")


@pytest.mark.parametrize(("size", "width", "height"), SIZES)
def test_a_tick_of_the_years_is_told_by_touch_and_by_keys(
    page: Page, shared, take, size: str, width: int, height: int
) -> None:
    page.set_viewport_size({"width": width, "height": height})
    page.goto(shared.url)
    page.get_by_role("link", name=DEMO).click()
    years = page.get_by_role("region", name="The spills through the years")
    picker = years.get_by_role("slider", name="Spill of the record")
    for _ in range(40):
        if picker.count():
            break
        page.locator(".years").evaluate("place => place.scrollIntoView({ block: 'end' })")
        page.wait_for_timeout(250)
    expect(picker).to_be_visible(timeout=SLOW_MS)
    now = years.locator(".now")
    picker.press("Home")
    expect(now).to_contain_text(
        re.compile(r"29 Aug 1978, 15:00: 5\.2 in of rain in 39 h; .* spilled in 2 h; water stood")
    )
    picker.press("ArrowRight")
    expect(now).to_contain_text("13 Sep 1978")
    years.get_by_role("button", name="Earlier").click()
    expect(now).to_contain_text("29 Aug 1978")
    over = years.locator(".u-over")
    expect(over).to_be_visible()
    over.evaluate("place => place.scrollIntoView({ block: 'end' })")
    box = over.bounding_box()
    assert box is not None
    # 8 Mar 1990: 67 days of 366 into its year, 14.5 of 31 lines down
    over.click(position={"x": box["width"] * 67 / 366, "y": box["height"] * 14.5 / 31})
    expect(now).to_contain_text("8 Mar 1990")
    page.locator(".years").evaluate("place => place.scrollIntoView({ block: 'end' })")
    take(page, SCREENS / f"years-{size}.png", whole=False)
    years.get_by_text("Every spill as a table").click()
    expect(years.get_by_role("row")).to_have_count(10)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
