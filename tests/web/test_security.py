"""What a foreign page, a foreign machine, or a crafted request gets. The rules are those of the browsers' own standards:
Origin and Sec-Fetch-Site (Fetch), Content-Security-Policy, SameSite and HttpOnly (cookies)."""

from __future__ import annotations

import argparse
import json
import re
import socket
import time
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from roofwell.cli import serve_command
from roofwell.store import open_store
from roofwell.web import Gate, body, make_app
from roofwell.web.gate import HEADERS

HOST = "127.0.0.1:8437"
Serve = Callable[[FastAPI], AbstractContextManager[int]]


def _locked(tmp_path: Path, *, secure: bool = False) -> TestClient:
    app = make_app(
        open_store(str(tmp_path / "jobs.sqlite")), Gate(frozenset({HOST}), key="right", secure=secure)
    )
    scheme = "https" if secure else "http"
    return TestClient(app, base_url=f"{scheme}://{HOST}", headers={"X-Roofwell": "page"})


def test_it_listens_to_this_machine_alone_unless_told() -> None:
    assert serve_command._address(None) == "127.0.0.1"
    assert serve_command._hosts("127.0.0.1", 80) == {"127.0.0.1:80", "localhost:80"}
    with serve_command._listen(serve_command._address(None), 0) as listening:
        assert listening.getsockname()[0] == "127.0.0.1"


def test_the_key_is_printed_once_and_only_for_the_network(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    made: list[Gate] = []
    monkeypatch.setattr(serve_command, "make_app", lambda store, gate: made.append(gate))
    monkeypatch.setattr(serve_command.uvicorn.Server, "run", lambda self, sockets: sockets[0].close())
    monkeypatch.setattr(serve_command.uvicorn, "Config", lambda *a, **k: argparse.Namespace(**k))
    monkeypatch.setattr(serve_command.uvicorn.Server, "__init__", lambda self, config: None)
    for lan in (None, "127.0.0.1"):
        options = argparse.Namespace(
            lan=lan,
            port=0,
            store=str(tmp_path / "j.sqlite"),
            certificate=None,
            certificate_key=None,
            no_browser=True,
        )
        serve_command.run(options)
    printed = capsys.readouterr().out
    assert made[0].key is None and made[1].key is not None
    assert printed.count(made[1].key) == 1
    assert len(made[1].key) >= 12  # 72 bits: beyond any guessing at five tries a minute


def test_the_cookie_is_out_of_reach_of_scripts_and_foreign_pages(tmp_path: Path) -> None:
    for secure in (False, True):
        with _locked(tmp_path / str(secure), secure=secure) as client:
            cookie = client.post("/api/key", json={"key": "right"}).headers["set-cookie"].lower()
            assert "httponly" in cookie and "samesite=strict" in cookie
            assert ("secure" in cookie.replace("samesite", "")) is secure


def test_a_cookie_of_another_service_or_changed_by_a_letter_opens_nothing(tmp_path: Path) -> None:
    with _locked(tmp_path) as client:
        client.post("/api/key", json={"key": "right"})
        mine = client.cookies["roofwell"]
        assert client.get("/api/jobs").status_code == 200
        for forged in (
            Gate(frozenset(), key="right").cookie(),
            # not the last letter: some of its bits stand for nothing
            mine[:-3] + ("A" if mine[-3] != "A" else "B") + mine[-2:],
            mine[1:],
        ):
            client.cookies.clear()
            client.cookies.set("roofwell", forged)
            assert client.get("/api/jobs").status_code == 401


def test_every_route_of_the_service_needs_the_key(tmp_path: Path) -> None:
    """All paths of the OpenAPI document but the two that open the door."""
    with _locked(tmp_path) as client:
        paths = client.app.openapi()["paths"]  # type: ignore[attr-defined]
        for path, operations in paths.items():
            if path in ("/api/health", "/api/key"):
                continue
            for method in operations:
                url = re.sub(r"\{\w+\}", "x", path)
                assert client.request(method.upper(), url, json={}).status_code == 401, (method, path)
        assert client.get("/api/nothing").status_code == 401
        assert client.get("/api/../api/jobs").status_code == 401


def test_guesses_are_slowed_for_who_guesses_and_for_nobody_else() -> None:
    gate = Gate(frozenset(), key="right")
    assert [gate.may_try("10.0.0.7") for _ in range(6)] == [True] * 5 + [False]
    assert gate.may_try("10.0.0.8")
    assert sum(gate.may_try(f"10.0.1.{i}") for i in range(200)) <= 60


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Origin": f"http://{HOST}", "Sec-Fetch-Site": "same-origin"}, 201),
        ({}, 201),  # a program on this machine
        ({"Origin": f"https://{HOST}"}, 403),
        ({"Origin": "null"}, 403),
        ({"Origin": "http://127.0.0.1:9999"}, 403),
        ({"Origin": f"http://{HOST}.evil.example"}, 403),
        ({"Sec-Fetch-Site": "cross-site"}, 403),
        ({"Sec-Fetch-Site": "same-site"}, 403),
        ({"X-Roofwell": "other"}, 403),
    ],
)
def test_a_foreign_page_changes_nothing(page: TestClient, headers: dict[str, str], status: int) -> None:
    assert page.post("/api/jobs", json={"starter": "us"}, headers=headers).status_code == status


def test_a_form_of_a_foreign_page_is_no_change(page: TestClient) -> None:
    """A form can be sent across without asking; it cannot carry our header, nor JSON."""
    job = page.post("/api/jobs", json={"starter": "us"}).json()["job"]
    form = {"Content-Type": "text/plain", "X-Roofwell": ""}
    sent = page.post(f"/api/jobs/{job}/archive", content='{"archived": true}', headers=form)
    assert sent.status_code == 403
    assert page.get(f"/api/jobs/{job}").json()["summary"]["archived"] is False


def test_a_foreign_page_may_not_even_look(page: TestClient) -> None:
    for site in ("cross-site", "same-site"):
        assert page.get("/api/jobs", headers={"Sec-Fetch-Site": site}).status_code == 403
    assert page.get("/api/jobs", headers={"Sec-Fetch-Site": "same-origin"}).status_code == 200
    assert "access-control-allow-origin" not in page.get("/api/jobs", headers={"Origin": "http://x"}).headers


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", f"{HOST}.evil.example", "", "localhost:1"])
def test_a_name_that_only_leads_here_is_not_answered(page: TestClient, host: str) -> None:
    assert page.get("/", headers={"Host": host}).status_code == 400


def test_no_script_and_no_style_runs_that_did_not_come_with_it() -> None:
    policy = HEADERS["Content-Security-Policy"]
    assert "unsafe" not in policy
    assert "default-src 'self'" in policy and "object-src 'none'" in policy and "base-uri 'none'" in policy
    assert "frame-ancestors 'none'" in policy


def test_the_built_page_needs_no_exception_from_that() -> None:
    """No inline script, no inline style and no handler in the page's own HTML."""
    built = Path(__file__).parents[2] / "page" / "index.html"
    html = built.read_text(encoding="utf-8")
    assert not re.search(r"<script(?![^>]*\bsrc=)", html)
    assert not re.search(r"<style|\sstyle=|\son\w+=", html)


def test_a_fault_of_our_own_is_told_in_words_with_every_header(
    page: TestClient, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(self: object, **_: object) -> None:
        raise ZeroDivisionError("secret path /home/ada")

    monkeypatch.setattr("roofwell.store.Store.jobs", broken)
    answer = page.get("/api/jobs")
    assert (answer.status_code, answer.json()["code"]) == (500, "fault")
    assert "secret" not in answer.text and "ZeroDivisionError" in caplog.text
    for name, value in HEADERS.items():
        assert answer.headers[name] == value


def test_a_body_that_is_too_large_is_turned_away(page: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(body, "LARGEST", 1000)
    said = page.post("/api/jobs", json={"document": "#" * 2000})
    assert (said.status_code, said.json()["code"]) == (413, "too-large")
    lying = page.post(
        "/api/jobs",
        content=iter([b'{"document": "', b"#" * 2000, b'"}']),
        headers={"Content-Type": "application/json"},
    )  # in pieces, its length unsaid
    assert (lying.status_code, lying.json()["code"]) == (413, "too-large")
    assert page.post("/api/jobs", content=b"x", headers={"Content-Length": "-1"}).status_code == 413
    monkeypatch.setattr(body, "LARGEST_UPLOAD", 1000)
    job = page.post("/api/jobs", json={"starter": "us"}).json()["job"]
    assert page.put(f"/api/jobs/{job}/files/a.txt", content=b"a" * 1001).status_code == 413
    assert page.put(f"/api/jobs/{job}/files/a.txt", content=b"a" * 1000).status_code == 200


def test_a_body_that_never_ends_is_not_waited_for(
    page: TestClient, serve: Serve, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Over a real socket: headers that promise 100 bytes, five come, then nothing."""
    monkeypatch.setattr(body, "PATIENCE_S", 0.3)
    with serve(page.app) as port, socket.create_connection(("127.0.0.1", port), timeout=10) as line:  # type: ignore[arg-type]
        line.sendall(
            f"POST /api/jobs HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nX-Roofwell: page\r\n"
            'Content-Type: application/json\r\nContent-Length: 100\r\n\r\n{"who'.encode()
        )
        began = time.monotonic()
        said = line.recv(4096)
        assert b" 408 " in said.split(b"\r\n")[0]
        assert time.monotonic() - began < 5


def test_a_body_that_comes_drop_by_drop_ends_too(
    page: TestClient, serve: Serve, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(body, "LONGEST_S", 0.5)
    with serve(page.app) as port, socket.create_connection(("127.0.0.1", port), timeout=10) as line:  # type: ignore[arg-type]
        line.sendall(
            f"POST /api/jobs HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nX-Roofwell: page\r\n"
            "Content-Type: application/json\r\nContent-Length: 1000\r\n\r\n".encode()
        )
        line.settimeout(0.05)
        for _ in range(100):
            line.sendall(b" ")
            try:
                said = line.recv(4096)
                break
            except TimeoutError:
                continue
        assert b" 408 " in said.split(b"\r\n")[0]


@pytest.mark.parametrize(
    "path",
    [
        "/..%2f..%2fpyproject.toml", "/assets/..%2f..%2f..%2fapp.py", "/%2e%2e/%2e%2e/etc/passwd", "/..\\..\\app.py",
        "/assets/%00", "//etc/passwd", "/api/jobs/..%2f..%2fetc", "/api/jobs/x/papers/..%2fset", "/api/jobs/%00",
    ],
)  # fmt: skip
def test_no_way_leads_out_of_the_pages_own_folder(page: TestClient, path: str) -> None:
    answer = page.get(path)
    assert answer.status_code in (400, 404, 405, 422)
    assert "root:" not in answer.text and "[project]" not in answer.text and "def make_app" not in answer.text


def test_markup_in_names_notes_and_labels_stays_text(page: TestClient) -> None:
    """It comes back as JSON as it was typed; the drawings, which the page takes as SVG, carry it escaped."""
    job = page.post("/api/jobs", json={"example": "bungalow"}).json()["job"]
    nasty = "<img src=x onerror=alert(1)>]]></svg><script>alert(2)</script>"
    edits = [
        {"path": "job.name", "value": nasty},
        {"path": "features.drive.note", "value": nasty},
        {"path": "overflows.O1.goes_to", "value": nasty},
    ]
    said = page.post(f"/api/jobs/{job}/answers", json={"base": 1, "page": "p", "edits": edits}).json()
    assert said["designed"]
    for view in said["views"]:
        for drawn in (view["svg"], view["key"]):
            assert "<script" not in drawn and "<img" not in drawn
            assert not re.search(r"<[^>]*\son\w+=", drawn)
    kept = page.post(
        f"/api/jobs/{job}/save", json={"base": 1, "edits": edits[:1], "who": nasty[:60], "note": nasty}
    )
    assert kept.status_code == 200
    listed = page.get(f"/api/jobs/{job}/versions")
    assert listed.headers["content-type"] == "application/json"
    assert json.loads(listed.text)[0]["note"] == nasty


def test_what_is_pinned_is_pinned_by_hash() -> None:
    """Every requirement of both locks has an exact version and a SHA-256, and none an address; npm's have their sums."""
    root = Path(__file__).parents[2]
    for lock in ("requirements.lock", "requirements-test.lock"):
        text = (root / lock).read_text(encoding="utf-8").replace("\\\n", " ")
        lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
        assert len(lines) > 20
        for line in lines:
            assert re.match(r"[a-z0-9._\[\]-]+==[^ ;]+ ", line), line[:60]
            assert "--hash=sha256:" in line, line[:60]
            assert "://" not in line, line[:60]
    for folder in ("page", "page/apitypes"):
        packages = json.loads((root / folder / "package-lock.json").read_text(encoding="utf-8"))["packages"]
        for name, package in packages.items():
            assert not name or package["integrity"].startswith("sha512-"), name
