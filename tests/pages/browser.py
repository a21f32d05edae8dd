"""A real browser without a screen, and a server of the pages in a process of its own that can be killed."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from selenium import webdriver
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.ui import WebDriverWait

SOURCE = Path(__file__).parents[2] / "src"
FLAGS = ("--headless", "--no-sandbox", "--enable-unsafe-swiftshader", "--no-first-run",
         "--disable-background-networking", "--disable-dev-shm-usage", "--use-fake-ui-for-media-stream")
TABLET = (800, 1280)         #: ten inches, upright
PATIENCE = 240               #: a busy machine checks a job in so long [s]; nothing waits for time itself
BROWSER, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")


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


@dataclass
class Tablet:
    """The browser at the size of a tablet."""

    driver: webdriver.Chrome
    pictures: Path | None = None
    taken: list[str] = field(default_factory=list)

    def wait(self, done: Callable[[], Any]) -> Any:
        """Until something is so."""
        return WebDriverWait(self.driver, PATIENCE, poll_frequency=0.1).until(lambda _: done())

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


def tablet(profile: Path) -> Tablet:
    """A fresh browser; FIRSTOFF_PICTURES names a folder for pictures."""
    options = webdriver.ChromeOptions()
    for flag in (*FLAGS, f"--user-data-dir={profile}", f"--window-size={TABLET[0]},{TABLET[1]}"):
        options.add_argument(flag)
    options.binary_location = str(BROWSER)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(str(DRIVER)))
    size = {"width": TABLET[0], "height": TABLET[1], "deviceScaleFactor": 1, "mobile": False}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    driver.execute_cdp_cmd("Emulation.setLocaleOverride", {"locale": "en-GB"})
    kept = os.environ.get("FIRSTOFF_PICTURES")
    return Tablet(driver, Path(kept) if kept else None)
