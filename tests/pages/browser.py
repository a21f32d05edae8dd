"""A real browser without a screen, and a server of the pages in a process of its own that can be killed."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from selenium import webdriver
from selenium.common.exceptions import NoSuchElementException, StaleElementReferenceException
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.ui import WebDriverWait

SOURCE = Path(__file__).parents[2] / "src"
FLAGS = ("--headless", "--no-sandbox", "--enable-unsafe-swiftshader", "--no-first-run",
         "--disable-background-networking", "--disable-dev-shm-usage", "--use-fake-ui-for-media-stream")
TABLET = (800, 1280)         #: ten inches, upright
ASIDE = (1280, 800)          #: the same on its side
TAP = 88                     #: 15 mm on it, 800 dots across 136 mm
PATIENCE = 240               #: a busy machine checks a job in so long [s]; nothing waits for time itself
BROWSER, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
#: of every file whose pages go through it
MARKS = [
    pytest.mark.skipif(not (BROWSER and DRIVER), reason="apt-get install chromium chromium-driver"),
    pytest.mark.filterwarnings("ignore:unclosed:ResourceWarning"),       # the driver's own sockets
]


@dataclass
class Server:
    """`firstoff bench` of one job."""

    folder: Path
    port: int = 0
    process: subprocess.Popen[str] | None = None
    link: str = ""

    def start(self) -> None:
        """Start it, on the port that it had before."""
        command = [sys.executable, "-m", "firstoff", "bench", str(self.folder), "--port", str(self.port)]
        env = os.environ | {"PYTHONPATH": str(SOURCE), "PYTHONUNBUFFERED": "1", "OPENBLAS_NUM_THREADS": "1"}
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=env)
        assert self.process.stdout is not None
        found = re.search(r"http://[\d.]+:(\d+)/pair/\w+", self.process.stdout.readline())
        assert found, "it prints where the desk is"
        self.link, self.port = found[0], int(found[1])

    def kill(self) -> None:
        """End it at once, as a power cut does."""
        if self.process is not None:
            self.process.send_signal(signal.SIGKILL)
            self.process.wait()
            assert self.process.stdout is not None
            self.process.stdout.close()
            self.process = None

    def at(self, path: str) -> str:
        """An address of it."""
        return f"http://127.0.0.1:{self.port}{path}"


def served(job: Path, place: Path) -> Iterator[Server]:
    """A copy of a job, served until it is no longer asked for."""
    one = Server(Path(shutil.copytree(job, place / "job")))
    one.start()
    yield one
    one.kill()


@dataclass
class Tablet:
    """The browser at the size of a tablet."""

    driver: webdriver.Chrome
    pictures: Path | None = None
    taken: list[str] = field(default_factory=list)

    def wait(self, done: Callable[[], Any]) -> Any:
        """Until something is so; what is looked for may go or come meanwhile."""
        asked = WebDriverWait(self.driver, PATIENCE, 0.1, (NoSuchElementException, StaleElementReferenceException))
        return asked.until(lambda _: done())

    def flag(self, name: str) -> str | None:
        """A flag that the page sets on itself."""
        value = self.driver.execute_script("return document.documentElement.dataset[arguments[0]] ?? null", name)
        return None if value is None else str(value)

    def open(self, address: str) -> None:
        """Open a page and wait until it says that it is ready."""
        self.driver.get(address)
        self.wait(lambda: self.flag("ready") == "yes" and "waiting" not in self.classes())

    def reload(self) -> None:
        """Read the page anew."""
        self.driver.refresh()
        self.wait(lambda: self.flag("ready") == "yes" and "waiting" not in self.classes())

    def classes(self) -> str:
        """What kind of page it is."""
        return str(self.driver.execute_script("return document.documentElement.className"))

    def one(self, selector: str) -> WebElement:
        """The first of them."""
        return self.driver.find_element(By.CSS_SELECTOR, selector)

    def all(self, selector: str) -> list[WebElement]:
        """All of them that can be seen."""
        return [e for e in self.driver.find_elements(By.CSS_SELECTOR, selector) if e.is_displayed()]

    def text(self) -> str:
        """All that can be read; also while the page is read anew."""
        return str(self.driver.execute_script("return document.body ? document.body.innerText : ''"))

    def tap(self, words: str) -> None:
        """Tap the one of these words."""
        next(e for e in self.all(".tap") if e.text == words).click()

    def type(self, number: str) -> None:
        """Tap a number on the pad."""
        for letter in number:
            key = {".": ".", "-": "±"}.get(letter, letter)
            self.one(f'#pad-keys [data-key="{key}"]').click()

    def script(self, code: str, *arguments: object) -> Any:
        """Run a line in the page."""
        return self.driver.execute_script(code, *arguments)

    def complaints(self) -> list[str]:
        """What the browser found wrong since it was asked last."""
        found = self.driver.get_log("browser")  # type: ignore[no-untyped-call]
        return [str(entry["message"]) for entry in found if entry["level"] == "SEVERE"]

    def picture(self, name: str) -> None:
        """Keep a picture, where they are wanted."""
        if self.pictures is not None:
            self.driver.save_screenshot(str(self.pictures / f"{name}.png"))
            self.taken.append(name)


CONTRASTS = r"""
    const part = (v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    const light = (rgb) => [0.2126, 0.7152, 0.0722].reduce((sum, k, i) => sum + k * part(rgb[i] / 255), 0);
    const colour = (text) => (text.match(/[\d.]+/g) || []).map(Number);
    const under = (e) => {
      for (let x = e; x; x = x.parentElement) {
        const c = colour(getComputedStyle(x).backgroundColor);
        if (c.length === 3 || c[3] === 1) return c;
      }
      return [255, 255, 255];
    };
    const says = (e) => [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim());
    return [...document.querySelectorAll("body *")].filter((e) => !e.closest("svg") && e.checkVisibility() && says(e))
      .map((e) => {
        const pair = [light(colour(getComputedStyle(e).color)), light(under(e))].sort((x, y) => y - x);
        return [(pair[0] + 0.05) / (pair[1] + 0.05), e.textContent.trim().slice(0, 40)];
      });
"""


def contrasts(page: Tablet) -> list[tuple[float, str]]:
    """Contrast of every text that can be seen against what it stands on, by the formula of WCAG 2."""
    return [(float(c), str(t)) for c, t in page.script(CONTRASTS)]


def names_and_outlines(page: Tablet, most: int = 40) -> list[str]:
    """What is wrong when all is gone through by the keyboard: no name, no mark of where one is, not reached."""
    wanted = page.script("return [...document.querySelectorAll('a[href],button,input,select,textarea,[tabindex]')]"
                         ".filter((e) => e.checkVisibility() && !e.disabled).length")
    wrong, seen = [], set()
    for _ in range(min(wanted, most)):
        ActionChains(page.driver).send_keys(Keys.TAB).perform()
        tag, outline, name, place = page.script(
            "const e = document.activeElement; return [e.tagName, getComputedStyle(e).outlineStyle,"
            "(e.getAttribute('aria-label') || e.textContent || e.labels?.[0]?.textContent || '').trim(),"
            "[...document.querySelectorAll('*')].indexOf(e)]")
        if tag in ("BODY", "HTML"):
            break
        wrong += [f"{tag} {name}: no outline"] * (outline == "none") + [f"{tag} {place}: no name"] * (not name)
        seen.add(place)
    return wrong + [f"{len(seen)} of {wanted} reached"] * (len(seen) < min(wanted, most) - 1)


def small_taps(page: Tablet, least: float) -> list[str]:
    """Taps that are smaller than a finger in oil wants them."""
    return [f"{e.text}: {e.size}" for e in page.all(".tap")
            if e.size["width"] < least or e.size["height"] < least]


def too_wide(page: Tablet) -> list[str]:
    """What hangs out of the page at its side."""
    return [str(text) for text in page.script(
        "return [...document.querySelectorAll('body *')].filter((e) => !e.closest('svg') && e.checkVisibility()"
        " && e.getBoundingClientRect().right > document.documentElement.clientWidth + 1)"
        ".map((e) => e.tagName + ' ' + e.textContent.trim().slice(0, 40))")]


def sent(page: Tablet) -> None:
    """Until nothing waits in the tablet."""
    page.wait(lambda: page.flag("waiting") == "0")


def fits(page: Tablet, size: tuple[int, int] = TABLET) -> None:
    """Nothing has to be scrolled, and no text is cut off."""
    wide, high, box = page.script(
        "const f = document.querySelector('footer').getBoundingClientRect();"
        "return [document.documentElement.scrollWidth, document.documentElement.scrollHeight, f.bottom]")
    assert (wide <= size[0], high <= size[1], box <= size[1] + 1) == (True, True, True)
    over = page.script(
        "const end = document.querySelector('footer').getBoundingClientRect().top;"
        "return [...document.querySelectorAll('article:not([hidden]) > *, article:not([hidden]) .told > *')]"
        ".filter((e) => e.getBoundingClientRect().bottom > end + 1).map((e) => e.textContent.trim())")
    assert over == []


def as_wide(page: Tablet, size: tuple[int, int]) -> None:
    """The same browser at another size."""
    metrics = {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": False}
    page.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)


def tablet(profile: Path) -> Tablet:
    """A fresh browser; FIRSTOFF_PICTURES names a folder for pictures."""
    options = webdriver.ChromeOptions()
    for flag in (*FLAGS, f"--user-data-dir={profile}", f"--window-size={TABLET[0]},{TABLET[1]}"):
        options.add_argument(flag)
    options.binary_location = str(BROWSER)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(str(DRIVER)))
    driver.execute_cdp_cmd("Emulation.setLocaleOverride", {"locale": "en-GB"})
    kept = os.environ.get("FIRSTOFF_PICTURES")
    one = Tablet(driver, Path(kept) if kept else None)
    as_wide(one, TABLET)
    return one
