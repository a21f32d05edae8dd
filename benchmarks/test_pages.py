"""How long a person waits for the pages: the first one from start, its paint, a draft of the whole job, a turn.

Wanted (one core of a small computer, warm): the first page in 0.5 s from start, painted in 0.2 s; a change to new
verdicts in 1 s; a part of 500 faces turned at 30 frames a second without a graphics card; the server in 500 MB.
Run with `make benchmark`; nothing here fails on time.
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
from firstoff.bench.turning import outlines
from firstoff.demo import run_demo
from firstoff.part.reading import read
from tests.pages.browser import BROWSER, DRIVER, Server, Tablet, tablet

needs_browser = pytest.mark.skipif(not (BROWSER and DRIVER), reason="apt-get install chromium chromium-driver")

SHOWN = ("/", "/bench", "/ask", "/shop", "/hour", "/hour/tap", "/start", "/behind/operation/body-top-rough",
         "/behind/setting/body-1", "/behind/size/mouth_opening")
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


def test_memory_of_the_server(benchmark: Any, job: Path) -> None:
    """All pages of the example job asked for, then what the server holds at its most [MB]."""
    server = Server(job)
    server.start()
    status = Path(f"/proc/{server.process.pid if server.process else 0}/status")
    opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
    opener.open(server.link).read()
    while b'"ready":true' not in opener.open(server.at("/state?begin=yes")).read():
        pass
    for path in ("/", "/bench", "/ask", "/shop", "/behind/operation/body-top-rough/drawing",
                 "/behind/setting/body-1/drawing"):
        opener.open(server.at(path)).read()
    benchmark.pedantic(lambda: opener.open(server.at("/bench")).read(), rounds=3)
    found = re.search(r"VmHWM:\s+(\d+) kB", status.read_text(encoding="utf-8"))
    server.kill()
    assert found is not None
    benchmark.extra_info["MB at most"] = round(int(found[1]) / 1024)
    print(f"\nserver: {int(found[1]) / 1024:.0f} MB at most")  # noqa: T201


def paint(page: Tablet, address: str) -> float:
    """From the request to the first paint, as the browser tells it [ms]."""
    page.driver.get(address)
    page.wait(lambda: page.script("return performance.getEntriesByType('paint').length") or None)
    return float(page.script("return performance.getEntriesByType('paint')[0].startTime"))


@needs_browser
def test_first_paint(benchmark: Any, tmp_path: Path) -> None:
    """Of the first page, which stands there before a job is read."""
    (tmp_path / "job").mkdir()
    (tmp_path / "job" / "job.toml").write_text("nothing that can be read", encoding="utf-8")
    server = Server(tmp_path / "job")
    server.start()
    page = tablet(tmp_path / "profile")
    page.driver.get(server.link)
    paints = sorted(paint(page, server.at("/")) for _ in range(9))
    benchmark.pedantic(paint, args=(page, server.at("/")), rounds=3)
    page.driver.quit()
    server.kill()
    benchmark.extra_info["first paint [ms]"] = round(paints[4])
    print(f"\nfirst paint: {paints[4]:.0f} ms in the middle of {len(paints)}")  # noqa: T201


@needs_browser
def test_first_paint_of_every_page(benchmark: Any, job: Path, tmp_path: Path) -> None:
    """Of the example job: the first time that a page is asked for, and the lower quartile of the times after it."""
    server = Server(job)
    server.start()
    page = tablet(tmp_path / "profile")
    page.open(server.link)
    found = {path: [paint(page, server.at(path)) for _ in range(9)] for path in SHOWN}
    benchmark.pedantic(paint, args=(page, server.at("/")), rounds=3)
    page.driver.quit()
    server.kill()
    for path, (first, *others) in found.items():
        benchmark.extra_info[path] = round(sorted(others)[2])
        print(f"\n{path}: first {first:.0f} ms, then {sorted(others)[2]:.0f} ms", end="")  # noqa: T201


#: 55 pockets in a plate
MANY = ["block 220 x 120 x 20", *(f"pocket 14 x 12 deep 8 corner 2 at {18 + i * 20}, {15 + j * 18}"
                                  for i in range(10) for j in range(6))][:56]
TURNED = """
    const [solid, frames, done] = arguments;
    import("/static/turn.js").then(({ Turning }) => {
      document.body.innerHTML = "<svg id='solid' style='width:760px;height:380px'></svg>";
      const turning = new Turning(document.querySelector("#solid"), () => {});
      turning.open(solid);
      const began = performance.now();
      let n = 0;
      const step = () => {
        turning.draw(6);
        turning.up += 0.05;
        if (++n < frames) requestAnimationFrame(step); else done((1000 * n) / (performance.now() - began));
      };
      requestAnimationFrame(step);
    });
"""


@needs_browser
def test_a_part_of_500_faces_is_turned(benchmark: Any, tmp_path: Path) -> None:
    """Frames a second, drawn in software."""
    model = tmp_path / "many.toml"
    model.write_text('unit = "mm"\nlines = \'\'\'\n' + "\n".join(MANY) + "\n\'\'\'\n", encoding="utf-8")
    part = read(model)
    assert len(part.faces) >= 500
    server = Server(tmp_path)
    server.start()
    page = tablet(tmp_path / "profile")
    page.driver.set_script_timeout(120)
    page.open(server.link)
    frames = [float(page.driver.execute_async_script(TURNED, outlines(part), 120)) for _ in range(3)]
    benchmark.pedantic(lambda: page.driver.execute_async_script(TURNED, outlines(part), 60), rounds=2)
    page.driver.quit()
    server.kill()
    benchmark.extra_info["frames a second"] = round(max(frames))
    print(f"\n{len(part.faces)} faces turned at {max(frames):.0f} frames a second")  # noqa: T201
