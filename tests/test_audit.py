"""The look-up of known weaknesses (tools/audit.py), against services of our own: OSV's answers by the OSV schema 1.x
(`affected[].ranges[].events`), npm's by what `npm audit` asks of a registry. The weaknesses are invented.
"""

from __future__ import annotations

import datetime
import gzip
import importlib.util
import json
import shutil
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from packaging.markers import Marker

ROOT = Path(__file__).parents[1]
LATER = (datetime.date.today() + datetime.timedelta(days=30)).isoformat()
BEFORE = (datetime.date.today() - datetime.timedelta(days=1)).isoformat()


@pytest.fixture(scope="module")
def audit() -> ModuleType:
    name = "roofwell_tools_audit"
    spec = importlib.util.spec_from_file_location(name, ROOT / "tools" / "audit.py")
    assert spec and spec.loader
    module = sys.modules[name] = importlib.util.module_from_spec(spec)  # dataclasses look their module up
    spec.loader.exec_module(module)
    return module


@contextmanager
def answering(answer: Callable[[Any], tuple[int, Any]]) -> Iterator[str]:
    """A service on this machine that answers what is posted to it."""

    class Service(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            sent = self.rfile.read(int(self.headers["content-length"]))
            if self.headers.get("content-encoding") == "gzip":
                sent = gzip.decompress(sent)
            status, said = answer(json.loads(sent))
            body = json.dumps(said).encode()
            self.send_response(status)
            self.send_header("content-type", "application/json")
            self.send_header("content-length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def do_GET(self) -> None:  # npm would look for versions that mend it
            self.send_error(404)

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Service)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def osv(*weak: str) -> Callable[[Any], tuple[int, Any]]:
    def answer(query: Any) -> tuple[int, Any]:
        name = query["package"]["name"]
        if name not in weak:
            return 200, {}
        affected = {
            "package": {"name": name, "ecosystem": "PyPI"},
            "ranges": [{"type": "ECOSYSTEM", "events": [{"introduced": "0"}, {"fixed": "999.0"}]}],
        }
        known = {
            "id": "PYSEC-0000-1",
            "aliases": ["CVE-0000-1"],
            "summary": "An invented hole.",
            "affected": [affected],
        }
        return 200, {"vulns": [known]}

    return answer


def npm(*weak: str) -> Callable[[Any], tuple[int, Any]]:
    def answer(asked: dict[str, list[str]]) -> tuple[int, Any]:
        known = {
            "id": 1,
            "url": "https://example.invalid/advisories/GHSA-0000-0000-0000",
            "title": "Another invented hole",
            "severity": "high",
            "vulnerable_versions": "<999.0.0",
            "cwe": [],
            "cvss": {"score": 0, "vectorString": None},
        }
        return 200, {name: [known] for name in asked if name in weak}

    return answer


def silent(_: Any) -> tuple[int, Any]:
    return 405, {}


def look(
    audit: ModuleType,
    capsys: pytest.CaptureFixture[str],
    python: Callable[[Any], tuple[int, Any]],
    page: Callable[[Any], tuple[int, Any]],
    *more: str,
) -> tuple[int, str]:
    if not shutil.which("npm"):
        pytest.skip("npm looks the page's packages up")
    with answering(python) as one, answering(page) as other:
        code = audit.main(["--osv", one, "--npm-registry", other, *more])
    return code, capsys.readouterr().out


def test_every_pinned_package_is_asked_about_and_nothing_known_passes(
    audit: ModuleType, capsys: pytest.CaptureFixture[str]
) -> None:
    code, said = look(audit, capsys, osv(), npm(), "--must")
    assert code == 0
    asked = [line for line in said.splitlines() if line.endswith("known weaknesses: none")]
    assert len(asked) == 3
    pinned = [line for line in (ROOT / "requirements-test.lock").read_text().splitlines() if "==" in line]
    markers = [Marker(line.partition(" ; ")[2].rstrip(" \\")) for line in pinned if " ; " in line]
    others = sum(1 for marker in markers if not marker.evaluate())  # packages of other systems
    assert int(asked[0].split()[1]) == len(pinned) - others > 80


def test_a_known_weakness_fails_and_says_what_mends_it(
    audit: ModuleType, capsys: pytest.CaptureFixture[str]
) -> None:
    code, said = look(audit, capsys, osv("uvicorn", "mypy"), npm("ol", "vite"))
    assert code == 1
    lines = {line.split()[0]: line for line in said.splitlines() if line.startswith("  ")}
    assert "(shipped): PYSEC-0000-1, CVE-0000-1: An invented hole.; mended in 999.0" in lines["uvicorn"]
    assert "(build and tests only)" in lines["mypy"]
    assert (
        "(shipped): GHSA-0000-0000-0000: Another invented hole; mended in a version outside <999.0.0"
        in lines["ol"]
    )
    assert "(build and tests only)" in lines["vite"]


@pytest.mark.parametrize(("until", "expected"), [(LATER, 0), (BEFORE, 1)])
def test_a_weakness_that_was_looked_at_is_let_stand_until_its_date(
    audit: ModuleType,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    until: str,
    expected: int,
) -> None:
    monkeypatch.setattr(audit, "page_packages", lambda *_: audit.Looked(0, ()))
    file = tmp_path / "accepted.toml"
    file.write_text(f'[CVE-0000-1]\nwhy = "nobody calls it"\nuntil = {until}\n')
    code, said = look(audit, capsys, osv("uvicorn"), npm(), "--accepted", str(file))
    assert code == expected
    assert ("let stand: nobody calls it" in said) == (expected == 0)


def test_a_service_that_does_not_answer_is_told_and_fails_only_where_it_must(
    audit: ModuleType, capsys: pytest.CaptureFixture[str]
) -> None:
    for more, expected in (((), 0), (("--must",), 2)):
        code, said = look(audit, capsys, silent, silent, *more)
        assert code == expected
        assert said.count("NOT LOOKED UP") == 3


def test_a_weakness_counts_though_another_service_is_silent(
    audit: ModuleType, capsys: pytest.CaptureFixture[str]
) -> None:
    assert look(audit, capsys, osv("uvicorn"), silent)[0] == 1


def test_what_is_let_stand_takes_a_reason_and_a_date(audit: ModuleType, tmp_path: Path) -> None:
    file = tmp_path / "accepted.toml"
    file.write_text("[CVE-0000-1]\nuntil = 2027-01-31\n")
    with pytest.raises(SystemExit, match="takes `why`"):
        audit.accepted(file, datetime.date(2026, 11, 30))


def test_the_file_of_what_is_let_stand_can_be_read(audit: ModuleType) -> None:
    audit.accepted(ROOT / "tools" / "audit-accepted.toml", datetime.date.today())
