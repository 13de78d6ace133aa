"""What the service does beside the answers, seen from the page: what lies beyond, papers, versions, files on their way."""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path

from playwright.sync_api import Page, expect

SLOW_MS = 60_000


def _open_demo(page: Page, url: str) -> None:
    page.goto(url)
    page.get_by_role("link", name="Bungalow with room for one well (invented)").click()
    expect(page.get_by_role("list", name="The nine answers")).to_be_visible(timeout=SLOW_MS)


def _files(store: Path) -> list[tuple[str, int]]:
    with sqlite3.connect(store) as connection:
        rows = connection.execute(
            "SELECT name, length(content) FROM files WHERE gone IS NULL AND name LIKE '%.jpg'"
        )
        found = [(str(name), int(size)) for name, size in rows]
    connection.close()
    return found


def test_what_lies_beyond_follows_the_answers_and_no_policy_is_broken(page: Page, service) -> None:
    """Nine answers first; then the chance of spills and the years, without a word from the browser's policy."""
    said: list[str] = []
    page.on(
        "console", lambda message: said.append(message.text) if message.type in ("error", "warning") else None
    )
    _open_demo(page, service.url)
    beyond = page.get_by_role("region", name="Beyond the design storm")
    expect(beyond.get_by_text(re.compile("^Nine chances in ten"))).to_be_visible(timeout=SLOW_MS)
    expect(beyond.get_by_role("heading", name="The well in years")).to_be_visible(timeout=SLOW_MS)
    for tab in ("Measure", "Plan", "Visit", "Versions", "Design"):
        page.get_by_role("button", name=tab, exact=True).first.click()
        page.wait_for_timeout(300)
    assert said == []


def test_a_paper_tells_how_far_it_is_and_opens(page: Page, service) -> None:
    _open_demo(page, service.url)
    with page.expect_popup(timeout=SLOW_MS):
        page.get_by_role("button", name="Make crew-sheets.pdf").click()
    link = page.get_by_role("link", name="crew-sheets.pdf")
    expect(link).to_be_visible(timeout=SLOW_MS)
    paper = page.request.get(service.url + str(link.get_attribute("href")))
    assert paper.body().startswith(b"%PDF")


def test_two_versions_side_by_side(page: Page, service) -> None:
    _open_demo(page, service.url)
    job = page.url.rpartition("/")[2]
    saved = page.request.post(
        f"{service.url}api/jobs/{job}/save",
        headers={"X-Roofwell": "page"},
        data={"base": 1, "who": "Ben", "edits": [{"path": "soil.safety_factor", "value": 8}]},
    )
    assert saved.ok
    page.reload()
    page.get_by_role("button", name="Versions").click()
    page.get_by_role("button", name="What changed").click()
    beside = page.get_by_role("region", name="Version 1 beside version 2")
    expect(beside.get_by_text("soil: safety factor 8, new")).to_be_visible(timeout=SLOW_MS)
    row = beside.get_by_role("row", name=re.compile("^5 Does it hold and soak away")).first
    expect(row.get_by_role("cell").nth(1)).to_contain_text("fails")
    expect(beside.get_by_role("row", name=re.compile("^storage of the wells")).first).to_be_visible()


PHOTO = """async () => {
  const canvas = document.createElement("canvas");
  canvas.width = 4000; canvas.height = 3000;
  const pen = canvas.getContext("2d");
  pen.fillStyle = "#884"; pen.fillRect(0, 0, 4000, 3000);
  const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.9));
  return Array.from(new Uint8Array(await blob.arrayBuffer()));
}"""


def test_a_photo_taken_without_the_service_goes_out_once_when_it_is_back(page: Page, service) -> None:
    """It waits through a closed page, is made smaller on the way, and is one file however often the page tried."""
    _open_demo(page, service.url)
    photo = bytes(page.evaluate(PHOTO))
    page.get_by_role("button", name="Visit", exact=True).click()
    service.stop()
    _send_photo(page, photo)
    expect(page.get_by_role("status").first).to_contain_text("No signal", timeout=SLOW_MS)
    page.wait_for_timeout(6000)  # one try more
    assert _files(service.store) == []
    page.close(run_before_unload=False)
    service.start()
    again = page.context.new_page()
    again.goto(page.url)
    for _ in range(100):
        again.wait_for_timeout(200)
        if _files(service.store):
            break
    again.wait_for_timeout(1500)
    ((name, size),) = _files(service.store)
    assert re.fullmatch(r"photos/\d{4}-\d\d-\d\d-[0-9a-f]{8}\.jpg", name)
    assert 0 < size < len(photo)


def _send_photo(page: Page, photo: bytes) -> None:
    page.get_by_role("button", name="Photos").click()
    page.get_by_label("Take a photo").set_input_files(
        {"name": "image.jpg", "mimeType": "image/jpeg", "buffer": photo}
    )
