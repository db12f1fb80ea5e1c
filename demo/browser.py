"""Draws frames in headless Chromium: a small server for the page, and a page that is asked for frame after frame."""

from __future__ import annotations

import base64
import functools
import http.server
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, ClassVar

from playwright.sync_api import Page, sync_playwright

HERE = Path(__file__).parent
CHROMIUM = "/usr/bin/chromium"
ARGS = [
    "--headless",
    "--no-sandbox",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--ignore-gpu-blocklist",
    "--disable-dev-shm-usage",
]


class _Files(http.server.SimpleHTTPRequestHandler):
    """Serves /web, /build and /three from where they are."""

    roots: ClassVar[dict[str, Path]] = {}

    def translate_path(self, path: str) -> str:
        top, _, rest = path.split("?")[0].lstrip("/").partition("/")
        return str(self.roots.get(top, HERE / "nowhere") / rest)

    def log_message(self, *args: Any) -> None:
        """Quiet."""


@contextmanager
def opened(build: Path, take: str, *, scene: str = "scene", width: int = 1280, height: int = 720) -> Iterator[Page]:
    """A page with one take loaded."""
    roots = {"web": HERE / "web", "build": build, "three": HERE / "node_modules" / "three"}
    handler = type("Files", (_Files,), {"roots": roots})
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(handler))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        with sync_playwright() as play:
            chromium = play.chromium.launch(executable_path=CHROMIUM, args=ARGS)
            page = chromium.new_page(viewport={"width": width, "height": height})
            page.on("console", lambda m: print("page:", m.text) if m.type in ("error",) else None)
            page.on("pageerror", lambda e: print("page error:", e))
            page.goto(f"http://127.0.0.1:{server.server_port}/web/index.html")
            page.wait_for_function("window.demoReady === true")
            page.evaluate("([t, w, h, s]) => window.demo.load(t, w, h, s)", [take, width, height, scene])
            yield page
            chromium.close()
    finally:
        server.shutdown()


def picture(page: Page, frame: int) -> bytes:
    """A JPEG, nearly lossless. Frame counted from 0."""
    return base64.b64decode(page.evaluate("i => window.demo.frame(i)", frame))


def glb(page: Page) -> bytes:
    """The animated scene. The page cannot draw frames afterwards."""
    return base64.b64decode(page.evaluate("() => window.demo.glb()"))
