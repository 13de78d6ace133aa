"""A process that is killed while it saves loses nothing that it had acknowledged."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

KILLS = 200
# It imports once and forks a saver for every kill, so that hundreds of kills take seconds.
KILLER = """
import os, random, signal, sys, time
from roofwell.store import open_store

path, kills = sys.argv[1], int(sys.argv[2])
store = open_store(path)
job = store.create("document = 1\\n", who="test").job
store.close()
pick, most, torn = random.Random(7), 0, 0
for _ in range(kills):
    ours, theirs = os.pipe()
    child = os.fork()
    if child == 0:
        own = open_store(path)
        while True:
            head = own.job(job).head
            text = f"document = 1\\n# save {head + 1}\\n# " + "x" * 20000
            os.write(theirs, b"%d\\n" % own.save(job, text, base=head, who="saver").number)
    os.close(theirs)
    heard = os.read(ours, 16)
    time.sleep(pick.uniform(0.0, 0.02))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    while part := os.read(ours, 65536):
        heard += part
    os.close(ours)
    acknowledged = max([0, *(int(line) for line in heard.split())])
    store = open_store(path)
    numbers = [version.number for version in store.versions(job)]
    assert numbers == list(range(store.job(job).head, 0, -1)), numbers
    assert acknowledged <= numbers[0], (acknowledged, numbers[0])
    last = store.version(job)
    if last.number > 1:
        assert last.document == f"document = 1\\n# save {last.number}\\n# " + "x" * 20000
    torn += numbers[0] > max(acknowledged, most)
    most = max(most, numbers[0])
    store.close()
print(most, torn)
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_killed_while_saving(tmp_path: Path) -> None:
    """After every kill the file opens, all versions are whole, and the last one acknowledged is among them."""
    ran = subprocess.run(
        [sys.executable, "-c", KILLER, str(tmp_path / "jobs.sqlite"), str(KILLS)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    most, _ = ran.stdout.split()
    assert int(most) > KILLS  # the savers did save before they were killed


UPLOAD_KILLS = 25
UPLOADER = """
import hashlib, os, random, signal, sys, time
from roofwell.store import open_store

path, kills = sys.argv[1], int(sys.argv[2])
store = open_store(path)
job = store.create("document = 1\\n", who="test").job
store.close()
pick, most = random.Random(11), 0
for _ in range(kills):
    ours, theirs = os.pipe()
    child = os.fork()
    if child == 0:
        own, n = open_store(path), most
        while True:
            n += 1
            text = f"upload {n}\\n".encode() * 20000
            own.put_file(job, "record.csv", text, operation=f"u{n}", replace=True)
            os.write(theirs, b"%d\\n" % n)
    os.close(theirs)
    heard = os.read(ours, 16)
    time.sleep(pick.uniform(0.0, 0.05))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    while part := os.read(ours, 65536):
        heard += part
    os.close(ours)
    most = max([most, *(int(line) for line in heard.split())])
    store = open_store(path)
    (file,) = store.files(job)
    content = store.file(job, "record.csv")
    assert hashlib.sha256(content).hexdigest() == file.sha256 and len(content) == file.size
    n = int(content.split()[1])
    assert n >= most, (n, most)  # what was acknowledged is there; one more may be, its reply was lost
    again = store.put_file(job, "record.csv", b"never taken\\n", operation=f"u{n}", replace=True)
    assert not again.fresh and store.file(job, "record.csv") == content
    most = n
    store.close()
print(most)
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_killed_while_a_file_comes_in(tmp_path: Path) -> None:
    """After every kill the job has one whole file of that name, not older than the last upload acknowledged."""
    ran = subprocess.run(
        [sys.executable, "-c", UPLOADER, str(tmp_path / "jobs.sqlite"), str(UPLOAD_KILLS)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    assert int(ran.stdout) > UPLOAD_KILLS
