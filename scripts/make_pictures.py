"""Makes the pictures of the README from a run of the demo: the terminal, sheets as they print, the pages.

Run from the repository's root; needs poppler's pdftoppm, chromium and its driver:  python -m scripts.make_pictures
"""

from __future__ import annotations

import json
import subprocess
import tempfile
from collections.abc import Iterable
from pathlib import Path

import typst

from firstoff.demo import run_demo
from tests.pages.browser import Server, as_wide, tablet

PICTURES = Path(__file__).parent.parent / "docs" / "pictures"
LINES = 44          #: lines of the terminal that are shown
#: name of a picture -> address, size of the browser's window
PAGES = {
    "desk": ("/", (1000, 1180)), "bench": ("/bench", (800, 1280)),
    "sings": ("/behind/operation/body-top-rough", (800, 660)), "shop": ("/shop", (800, 1280)),
}
TEMPLATE = """
#set page(width: auto, height: auto, margin: 12pt, fill: rgb("#fbfaf6"))
#set text(font: "DejaVu Sans Mono", size: 8pt, fill: rgb("#222222"))
#for line in json(bytes(sys.inputs.lines)) [#raw(line) #linebreak()]
"""


def main() -> None:
    """Run the demo in a temporary folder and keep its pictures."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    told: list[str] = []

    def say(lines: Iterable[str]) -> None:
        told.extend(lines)

    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "demo-job"
        run_demo(place, say=say, progress=lambda _what, _share: None)
        terminal([line.replace(str(place), "demo-job") for line in told])
        for name, page in (("sheet-front", 1), ("sheet-setting", 3)):
            subprocess.run(["pdftoppm", "-png", "-r", "80", "-f", str(page), "-l", str(page), "-singlefile",
                            str(place / "sheets.pdf"), str(PICTURES / name)], check=True)
        pages(place, Path(folder) / "profile")


def pages(job: Path, profile: Path) -> None:
    """The pages of the job, in a browser without a screen."""
    server = Server(job)
    server.start()
    browser = tablet(profile)
    try:
        browser.open(server.link)
        for name, (address, size) in PAGES.items():
            as_wide(browser, size)
            browser.open(server.at(address))
            browser.driver.save_screenshot(str(PICTURES / f"{name}.png"))
    finally:
        browser.driver.quit()
        server.kill()


def terminal(told: list[str]) -> None:
    """The answer of `check`, from its heading on, as a picture of text."""
    begin = next(i for i, line in enumerate(told) if line.startswith("2  CHECK")) + 1
    lines = ["$ firstoff check demo-job", *(line[2:] for line in told[begin:begin + LINES]), "…"]
    with tempfile.TemporaryDirectory() as folder:
        source = Path(folder) / "terminal.typ"
        source.write_text(TEMPLATE, encoding="utf-8")
        typst.compile(str(source), output=str(PICTURES / "terminal.png"), format="png", ppi=110.0,
                      sys_inputs={"lines": json.dumps(lines)})


if __name__ == "__main__":
    main()
