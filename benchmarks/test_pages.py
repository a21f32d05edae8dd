"""How long a person waits for the pages: the first one from start, a word kept, a draft of the whole job checked.

Wanted (one core of a small computer, warm): the first page in 0.5 s from start, a change to new verdicts in 1 s, less
than 500 MB. Run with `make benchmark`; nothing here fails on time.
"""

from __future__ import annotations

import re
import subprocess
import sys
import urllib.request
from pathlib import Path
from typing import Any

import pytest

from firstoff.bench.clerk import Clerk
from firstoff.demo import run_demo

FIRST = "operations.body-top-rough.cut.depth_of_cut"


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example job, planned and checked once."""
    folder = tmp_path_factory.mktemp("job") / "plane"
    run_demo(folder, say=lambda _lines: None, progress=lambda _what, _share: None)
    return folder


def first_page(folder: Path) -> bytes:
    """From start to the first page, as a person opens it."""
    command = [sys.executable, "-u", "-m", "firstoff", "bench", str(folder), "--port", "0"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        assert server.stdout is not None
        link = re.search(r"http://\S+", server.stdout.readline())
        assert link is not None
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        page = opener.open(link[0]).read()
        server.kill()
    assert isinstance(page, bytes)
    return page


def test_first_page(benchmark: Any, job: Path) -> None:
    first_page(job)
    assert b"Reading the job" in benchmark.pedantic(first_page, args=(job,), rounds=5)


def test_a_draft_of_the_whole_job(benchmark: Any, job: Path) -> None:
    """75 operations, one of them with another depth of cut."""
    clerk = Clerk(job)
    clerk.check()
    depths = iter(range(100))

    def draft() -> float:
        return clerk.draft(((FIRST, f"{0.2 + 0.001 * next(depths):.3f} mm"),)).p_spoil

    assert 0.0 <= benchmark.pedantic(draft, rounds=3) <= 1.0
