"""Photos and files of a job: what is taken, what is refused in words, how it goes out again."""

from __future__ import annotations

import hashlib
import io
import struct
import zlib

import pytest
from fastapi.testclient import TestClient
from PIL import Image

from roofwell.store import contents


def _job(page: TestClient) -> str:
    return str(page.post("/api/jobs", json={"starter": "us", "who": "Ada"}).json()["job"])


def _photo(kind: str = "JPEG", size: tuple[int, int] = (60, 40), **more: object) -> bytes:
    """Red on the left half, blue on the right."""
    picture = Image.new("RGB", size, (220, 20, 20))
    picture.paste((20, 20, 220), (size[0] // 2, 0, *size))
    out = io.BytesIO()
    picture.save(out, kind, **more)  # type: ignore[arg-type]
    return out.getvalue()


def test_a_photo_is_kept_listed_and_comes_back(page: TestClient) -> None:
    job = _job(page)
    put = page.put(f"/api/jobs/{job}/files/photos/pit 1.jpg", content=_photo(), params={"who": "Ada"})
    assert put.status_code == 200, put.text
    kept = put.json()["file"]
    assert (kept["name"], kept["kind"], kept["who"]) == ("photos/pit 1.jpg", "picture", "Ada")
    assert [file["name"] for file in page.get(f"/api/jobs/{job}/files").json()] == ["photos/pit 1.jpg"]
    back = page.get(f"/api/jobs/{job}/files/photos/pit%201.jpg")
    assert back.headers["content-type"] == "image/jpeg"
    assert hashlib.sha256(back.content).hexdigest() == kept["sha256"]
    assert Image.open(io.BytesIO(back.content)).size == (60, 40)
    again = page.get(
        f"/api/jobs/{job}/files/photos/pit 1.jpg", headers={"If-None-Match": back.headers["etag"]}
    )
    assert (again.status_code, again.content) == (304, b"")


def test_a_document_may_name_it(page: TestClient) -> None:
    job = _job(page)
    kept = page.put(f"/api/jobs/{job}/files/north.jpg", content=_photo()).json()["file"]
    leaves = {"file": "north.jpg", "sha256": kept["sha256"], "shows": "water along the wall", "of": "B1"}
    edits = [{"path": f"attachments.F1.{leaf}", "value": value} for leaf, value in leaves.items()]
    said = page.post(f"/api/jobs/{job}/answers", json={"base": 1, "page": "p", "edits": edits}).json()
    assert [p for p in said["problems"] if p["path"].startswith("attachments")] == []
    edits[0]["value"] = "south.jpg"
    said = page.post(f"/api/jobs/{job}/answers", json={"base": 1, "page": "p", "edits": edits}).json()
    assert "attachments.F1.file" in [p["path"] for p in said["problems"]]


def test_a_rain_record_comes_in_by_upload(page: TestClient) -> None:
    """What a document names can be sent after it: before, the file is told as missing."""
    document = 'document = 1\n[rain]\nrecord = "gauge.csv"\n'
    job = page.post("/api/jobs", json={"document": document}).json()["job"]
    ask = {"base": 1, "page": "p"}
    said = page.post(f"/api/jobs/{job}/answers", json=ask).json()
    assert [p["code"] for p in said["problems"]] == ["file-missing"]
    assert page.put(f"/api/jobs/{job}/files/gauge.csv", content=b"time,depth_in\n").status_code == 200
    said = page.post(f"/api/jobs/{job}/answers", json=ask).json()
    assert "file-missing" not in [p["code"] for p in said["problems"]]


def test_what_a_camera_writes_beside_the_picture_stays_behind(page: TestClient) -> None:
    """Place, time and thumbnail are gone; a picture held upright stays upright (EXIF orientation 6: turn right)."""
    exif = Image.Exif()
    exif[0x0112] = 6
    exif[0x010F] = "an invented maker"
    exif.get_ifd(0x8825)[1] = "N"
    hidden = _photo(exif=exif, comment=b"hidden words") + b"<script>hidden page</script>"
    job = _job(page)
    page.put(f"/api/jobs/{job}/files/a.jpg", content=hidden)
    content = page.get(f"/api/jobs/{job}/files/a.jpg").content
    kept = Image.open(io.BytesIO(content))
    assert kept.size == (40, 60)
    assert not kept.getexif() and "comment" not in kept.info
    assert b"hidden" not in content and b"invented maker" not in content
    red, blue = kept.convert("RGB").getpixel((20, 5)), kept.convert("RGB").getpixel((20, 55))
    assert red[0] > 180 > red[2] and blue[2] > 180 > blue[0]  # type: ignore[index]  # left turned to the top


def test_a_large_photo_is_made_smaller(page: TestClient) -> None:
    job = _job(page)
    page.put(f"/api/jobs/{job}/files/a.png", content=_photo("PNG", (4000, 3000)))
    content = page.get(f"/api/jobs/{job}/files/a.png").content
    assert Image.open(io.BytesIO(content)).size == (contents.LONGEST_SIDE, contents.LONGEST_SIDE * 3 // 4)


def _bomb(side: int) -> bytes:
    """A PNG of ``side`` by ``side`` pixels, all zero: some kilobytes that would need gigabytes."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    body = zlib.compress(b"\0" * 1_000_000)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


HEIC = b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\0" * 40


@pytest.mark.parametrize(
    ("name", "content", "status", "code"),
    [
        ("a.jpg", b"<html><script>alert(1)</script>", 422, "file-kind"),
        ("a.html", b"<html></html>", 422, "file-kind"),
        ("a.svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>", 422, "file-kind"),
        ("a.png", _photo("JPEG"), 422, "file-kind"),
        ("a.gif", _photo("GIF"), 422, "file-kind"),
        ("a.jpg", HEIC, 422, "file-kind"),
        ("a.jpg", _photo()[:300], 422, "file-unreadable"),
        ("a.jpg", b"\xff\xd8\xff\xe0 no picture", 422, "file-unreadable"),
        ("a.jpg", b"", 422, "file-unreadable"),
        ("a.csv", b"\xff\xfet\0e\0x\0t\0", 422, "file-kind"),
        ("a.csv", "Höhe".encode("latin-1"), 422, "file-unreadable"),
        ("a.png", _bomb(60_000), 422, "picture-large"),
        ("a.png", _bomb(9_000), 422, "picture-large"),
        ("a.exe", b"MZ", 422, "file-kind"),
        ("nothing", b"text", 422, "file-kind"),
    ],
)
def test_what_is_no_photo_or_text_is_refused_in_words(
    page: TestClient, name: str, content: bytes, status: int, code: str
) -> None:
    job = _job(page)
    answer = page.put(f"/api/jobs/{job}/files/{name}", content=content)
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert page.get(f"/api/jobs/{job}/files").json() == []


@pytest.mark.parametrize(
    "name",
    [
        "..%2F..%2Fetc%2Fpasswd.txt", "%2Fetc%2Fa.txt", "a%2F..%2F..%2Fb.txt", "C%3A%5Ca.txt", "..%5Ca.txt", ".hidden.txt",
        "a%00.txt", "a%0Ab.txt", "con.txt", "NUL.csv", "a.csv%2Fb.txt", "a.txt.", "a%2F%2Fb.txt", "x" * 90 + ".txt",
        "%E2%80%AEgpj.txt", "a/b/c/d/e.txt", "%20.txt",
    ],
)  # fmt: skip
def test_a_name_is_never_a_way_through_the_disk(page: TestClient, name: str) -> None:
    job = _job(page)
    answer = page.put(f"/api/jobs/{job}/files/{name}", content=b"text\n")
    assert answer.status_code in (404, 422), answer.text
    assert answer.json()["code"] in ("file-name", "file-kind", "not-there")
    assert page.get(f"/api/jobs/{job}/files").json() == []
    assert page.get(f"/api/jobs/{job}/files/{name}").status_code == 404


def test_an_upload_sent_twice_counts_once(page: TestClient) -> None:
    job = _job(page)
    url, mark = f"/api/jobs/{job}/files/a.csv", {"operation": "u1"}
    first = page.put(url, content=b"one\n", params=mark).json()
    assert page.delete(url).status_code == 204
    late = page.put(
        url, content=b"one\n", params=mark
    ).json()  # its reply was lost, and somebody took it away since
    assert (first["fresh"], late["fresh"]) == (True, False)
    assert page.get(url).status_code == 404


def test_nothing_is_written_over_unless_it_is_said(page: TestClient) -> None:
    job = _job(page)
    url = f"/api/jobs/{job}/files/a.csv"
    page.put(url, content=b"one\n")
    assert page.put(url, content=b"one\n").json()["fresh"] is False
    late = page.put(url, content=b"two\n")
    assert (late.status_code, late.json()["code"]) == (409, "file-there")
    other = page.put(f"/api/jobs/{job}/files/A.CSV", content=b"two\n", params={"replace": True})
    assert other.status_code == 409  # on many disks that is the same name
    assert page.put(url, content=b"two\n", params={"replace": True}).json()["fresh"] is True
    assert page.get(url).content == b"two\n"


def test_an_older_version_has_the_files_of_its_time(page: TestClient) -> None:
    job = _job(page)
    url = f"/api/jobs/{job}/files/a.csv"
    page.put(url, content=b"one\n")
    edits = [{"path": "job.name", "value": "Second"}]
    page.post(f"/api/jobs/{job}/save", json={"base": 1, "edits": edits})
    page.put(url, content=b"two\n", params={"replace": True})
    page.delete(url)
    assert page.get(url, params={"number": 1}).content == b"one\n"
    assert page.get(url, params={"number": 2}).status_code == 404
    assert [f["name"] for f in page.get(f"/api/jobs/{job}", params={"number": 1}).json()["files"]] == [
        "a.csv"
    ]


def test_what_no_version_ended_with_takes_no_room(page: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    """A picture that is moved about ten times between two saves is kept once; its first upload, sent late, stays known."""
    monkeypatch.setattr("roofwell.store.files.MOST_BYTES", 2500)
    job = _job(page)
    url = f"/api/jobs/{job}/files/a.txt"
    for i in range(10):
        put = page.put(url, content=f"{i}".encode() * 1000, params={"replace": True, "operation": f"o{i}"})
        assert put.status_code == 200, put.text
    late = page.put(url, content=b"0" * 1000, params={"replace": True, "operation": "o0"})
    assert late.json()["fresh"] is False
    assert page.get(url).content == b"9" * 1000
    page.post(f"/api/jobs/{job}/save", json={"base": 1, "edits": [{"path": "job.name", "value": "Two"}]})
    assert page.put(url, content=b"new" * 300, params={"replace": True}).status_code == 200
    assert page.get(url, params={"number": 1}).content == b"9" * 1000


def test_a_file_never_comes_as_a_page(page: TestClient) -> None:
    job = _job(page)
    page.put(f"/api/jobs/{job}/files/note.txt", content=b"<script>alert(1)</script>")
    page.put(f"/api/jobs/{job}/files/scan.pdf", content=b"%PDF-1.7\n")
    for name, media in (("note.txt", "text/plain; charset=utf-8"), ("scan.pdf", "application/pdf")):
        headers = page.get(f"/api/jobs/{job}/files/{name}").headers
        assert headers["content-type"] == media
        assert headers["content-disposition"].startswith("attachment; ")
        assert headers["content-security-policy"].startswith("sandbox; default-src 'none'")
        assert headers["x-content-type-options"] == "nosniff"


def test_a_job_holds_so_much_and_no_more(page: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    job = _job(page)
    monkeypatch.setattr("roofwell.store.files.MOST_BYTES", 1000)
    assert page.put(f"/api/jobs/{job}/files/a.txt", content=b"a" * 600).status_code == 200
    full = page.put(f"/api/jobs/{job}/files/b.txt", content=b"b" * 600)
    assert (full.status_code, full.json()["code"]) == (422, "job-full")


def test_a_copy_has_the_photos_of_the_job(page: TestClient) -> None:
    job = _job(page)
    page.put(f"/api/jobs/{job}/files/a.jpg", content=_photo())
    page.put(f"/api/jobs/{job}/files/b.txt", content=b"gone\n")
    page.delete(f"/api/jobs/{job}/files/b.txt")
    copy = page.post(f"/api/jobs/{job}/duplicate").json()["job"]
    assert [file["name"] for file in page.get(f"/api/jobs/{copy}/files").json()] == ["a.jpg"]
    assert (
        page.get(f"/api/jobs/{copy}/files/a.jpg").content == page.get(f"/api/jobs/{job}/files/a.jpg").content
    )
