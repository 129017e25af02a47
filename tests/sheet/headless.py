"""A headless browser spoken to in the W3C WebDriver protocol: what a page shows, asks for and prints."""

from __future__ import annotations

import base64
import itertools
import json
import re
import shutil
import socket
import subprocess
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
A4 = {"width": 21.0, "height": 29.7}  # cm
START_SECONDS = 30.0


def missing() -> str:
    """Which of the two programs is not there; empty where both are."""
    if not any(shutil.which(name) for name in ("chromium", "chromium-browser")):
        return "chromium is not installed"
    return "" if shutil.which("chromedriver") else "chromedriver is not installed"


class Page:
    """A page that is open in the browser."""

    def __init__(self, session: str, file: Path) -> None:
        self.session = session
        self.file = file

    def call(self, path: str, body: dict[str, Any] | None = None) -> Any:
        """One command of the protocol; without a body it only reads."""
        return _send(f"{self.session}/{path}", body)

    def script(self, code: str, *arguments: object) -> Any:
        """What a piece of JavaScript returns; ``arguments`` holds what is handed to it."""
        return self.call("execute/sync", {"script": code, "args": list(arguments)})

    def devtools(self, command: str, **parameters: object) -> Any:
        """One command of the browser's own protocol."""
        return self.call("goog/cdp/execute", {"cmd": command, "params": parameters})

    def resize(self, width: int, height: int = 1000) -> None:
        """Show it in a window of this many CSS pixels, at twice the resolution."""
        self.devtools(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=2,
            mobile=width < 600,
        )

    def scheme(self, name: str) -> None:
        """Show it as to a reader who prefers ``light`` or ``dark``."""
        self.devtools(
            "Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": name}]
        )

    def console(self) -> list[str]:
        """What went wrong since it was opened."""
        return [str(entry["message"]) for entry in self.call("se/log", {"type": "browser"})]

    def requests(self) -> list[str]:
        """Addresses asked for since it was opened, the page's own file left out."""
        events = [json.loads(e["message"])["message"] for e in self.call("se/log", {"type": "performance"})]
        asked = [e["params"]["request"]["url"] for e in events if e["method"] == "Network.requestWillBeSent"]
        return [url for url in asked if url != self.file.as_uri() and not url.startswith("data:")]

    def boxes(self, selector: str) -> list[dict[str, Any]]:
        """Place and text of every element that a selector finds: left, top, right, bottom in CSS pixels."""
        found: list[dict[str, Any]] = self.script(
            "return [...document.querySelectorAll(arguments[0])].map(e => {"
            "const b = e.getBoundingClientRect();"
            "return {left: b.left, top: b.top, right: b.right, bottom: b.bottom, text: e.textContent}})",
            selector,
        )
        return found

    def pdf(self) -> bytes:
        """As printed on A4, its own margins kept."""
        settings = {"page": A4, "background": True, "shrinkToFit": True}
        return base64.b64decode(self.call("print", settings))

    def screenshot(self) -> bytes:
        """The whole page as PNG."""
        shot = self.devtools("Page.captureScreenshot", format="png", captureBeyondViewport=True)
        return base64.b64decode(shot["data"])


def pages_of(pdf: bytes) -> int:
    """How many pages a printed document has."""
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


def overlaps(boxes: list[dict[str, Any]], slack: float = 1.0) -> list[tuple[str, str]]:
    """Pairs of texts whose boxes cover each other by more than ``slack`` CSS pixels each way."""
    return [
        (a["text"], b["text"])
        for a, b in itertools.combinations(boxes, 2)
        if min(a["right"], b["right"]) - max(a["left"], b["left"]) > slack
        and min(a["bottom"], b["bottom"]) - max(a["top"], b["top"]) > slack
    ]


class Browser:
    """One browser for all tests of a run."""

    def __init__(self, session: str, folder: Path) -> None:
        self.session = session
        self.folder = folder
        self.number = itertools.count(1)

    def page(self, html: str) -> Page:
        """A page of this text, opened from a file, in light colours, 1000 by 1000 CSS pixels."""
        file = self.folder / f"page{next(self.number)}.html"
        file.write_text(html, encoding="utf-8")
        page = Page(self.session, file)
        page.call("url", {"url": "about:blank"})
        page.resize(1000)
        page.scheme("light")
        page.console(), page.requests()
        page.call("url", {"url": file.as_uri()})
        return page


@contextmanager
def started(folder: Path) -> Iterator[Browser]:
    """A browser with a fresh profile, ended afterwards."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    driver = subprocess.Popen(
        ["chromedriver", f"--port={port}"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    root = f"http://127.0.0.1:{port}"
    try:
        _wait_for(root)
        options = {"args": [*FLAGS, f"--user-data-dir={folder / 'profile'}"]}
        logs = {"browser": "ALL", "performance": "ALL"}
        wanted = {"browserName": "chrome", "goog:chromeOptions": options, "goog:loggingPrefs": logs}
        session = _send(f"{root}/session", {"capabilities": {"alwaysMatch": wanted}})["sessionId"]
        yield Browser(f"{root}/session/{session}", folder)
        urllib.request.urlopen(
            urllib.request.Request(f"{root}/session/{session}", method="DELETE"), timeout=30
        )
    finally:
        driver.terminate()
        driver.wait(timeout=30)


def _wait_for(root: str) -> None:
    end = time.monotonic() + START_SECONDS
    while True:
        try:
            if _send(f"{root}/status", None)["ready"]:
                return
        except OSError:
            if time.monotonic() > end:
                raise
        time.sleep(0.1)


def _send(address: str, body: dict[str, Any] | None) -> Any:
    data = None if body is None else json.dumps(body).encode()
    request = urllib.request.Request(address, data, {"Content-Type": "application/json"})
    with urllib.request.urlopen(request, timeout=60) as reply:
        return json.load(reply)["value"]
