"""The storm, moment by moment: the slider, the words, the water in the section, the chart."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect


@pytest.mark.parametrize("size", [(1366, 650), (390, 844)])
def test_water_rises_and_falls_with_the_slider(page: Page, shared, size: tuple[int, int]) -> None:
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.goto(shared.url)
    page.get_by_role("link", name="Bungalow with room for one well (invented)").click()
    slider = page.get_by_role("slider")
    expect(slider).to_be_visible(timeout=60_000)
    heights = []
    for keys in ("Home", "", "End"):
        if keys:
            slider.press(keys)
        else:
            for _ in range(24):
                slider.press("ArrowRight")
        box = page.locator(".moment .surface").first.bounding_box()
        body = page.locator(".moment .body").first.get_attribute("d") or ""
        heights.append((page.locator(".storm .now").inner_text(), box, len(body)))
    assert "empty" in heights[0][0]
    assert "deep" in heights[1][0] and "under the lip" in heights[1][0]
    assert "the rain is over" in heights[2][0]
    assert heights[1][2] > 0
    assert heights[1][1] is not None
    page.screenshot(path=f"/tmp/storm-{size[0]}.png", full_page=True)
    chart = page.locator(".chart .u-over")
    found = chart.bounding_box()
    assert found is not None
    chart.click(position={"x": found["width"] * 0.9, "y": found["height"] / 2})
    expect(page.locator(".storm .now")).to_contain_text("the rain is over")
    assert not wrong
