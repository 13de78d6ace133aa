"""How soon the page shows something on a slow phone, and how large it is: in Chromium, over ``roofwell serve``.

The phone is pretended: a processor four times slower than this one, 1.6 megabit a second, 150 ms there and back.
"""

from __future__ import annotations

import gzip
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from importlib import resources
from pathlib import Path

from playwright.sync_api import sync_playwright

RUNS = 7
SLOWER, BYTES_A_S, THERE_AND_BACK_MS = 4, 200_000, 150
FIRST_PAINT = "performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? null"


def main() -> None:
    """Print sizes and first paints."""
    folder = Path(str(resources.files("roofwell.web") / "static"))
    packed = sum(len(gzip.compress(file.read_bytes())) for file in folder.rglob("*.js"))
    print(f"page code, packed: {packed / 1000:.0f} kB (aim: under 400)")
    began = time.process_time()
    total = 0
    for n in range(1_000_000):
        total += n
    print(f"a million additions in plain Python: {1000 * (time.process_time() - began):.0f} ms")
    with tempfile.TemporaryDirectory() as store, socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
        free.close()
        command = [sys.executable, "-m", "roofwell", "serve", "--no-browser", "--port", str(port)]
        service = subprocess.Popen([*command, "--store", f"{store}/jobs.sqlite"], stdout=subprocess.DEVNULL)
        try:
            found = sorted(_paints(f"http://127.0.0.1:{port}/"))
        finally:
            service.kill()
            service.wait()
    print(
        f"first paint: {statistics.median(found):.0f} ms, {found[0]:.0f} to {found[-1]:.0f} (aim: under 1500)"
    )


def _paints(url: str) -> list[float]:
    for _ in range(300):
        try:
            urllib.request.urlopen(url + "api/health", timeout=5).close()
            break
        except OSError:
            time.sleep(0.1)
    out = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"),
            chromium_sandbox=False,
            args=["--disable-gpu", "--disable-background-networking"],
        )
        for _ in range(RUNS):
            context = browser.new_context(viewport={"width": 390, "height": 844})
            page = context.new_page()
            tools = context.new_cdp_session(page)
            tools.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
            tools.send("Network.enable")
            slow = {"offline": False, "latency": THERE_AND_BACK_MS}
            speed = {"downloadThroughput": BYTES_A_S, "uploadThroughput": BYTES_A_S}
            tools.send("Network.emulateNetworkConditions", slow | speed)
            page.goto(url)
            while (
                paint := page.evaluate(FIRST_PAINT)
            ) is None:  # the page's own policy forbids to wait inside it
                page.wait_for_timeout(100)
            out.append(float(paint))
            context.close()
        browser.close()
    return out


if __name__ == "__main__":
    main()
