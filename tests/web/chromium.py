"""A real browser at a served book: Debian's Chromium, at the size of a phone and of a desk."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from beltwright.web import serving
from beltwright.web.app import create_app

CHROMIUM: Final = Path("/usr/bin/chromium")
ARGUMENTS: Final = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
                    "--disable-background-networking", "--disable-component-update", "--disable-sync")
SIZES: Final[dict[str, tuple[int, int]]] = {"phone": (360, 740), "desk": (1280, 900)}
AXE: Final = Path(__file__).parent / "vendor" / "axe.min.js"
_AXE: Final = AXE.read_text(encoding="utf-8")
NEEDS_CHROMIUM: Final = pytest.mark.skipif(not CHROMIUM.exists(), reason="Chromium is not installed")


@contextmanager
def browser() -> Iterator[Browser]:
    """One browser, without a screen."""
    with sync_playwright() as play:
        running = play.chromium.launch(executable_path=str(CHROMIUM), args=list(ARGUMENTS))
        yield running
        running.close()


@contextmanager
def served(path: Path, **more: Any) -> Iterator[str]:
    """A book served on a free port of this computer, as `beltwright serve` does; the address."""
    with serving.listening(serving.At(port=0)) as listener:
        server = uvicorn.Server(uvicorn.Config(create_app(path, **more), log_level="warning"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        until = time.monotonic() + 20
        while not server.started and time.monotonic() < until:
            time.sleep(0.02)
        yield serving.address_of(listener).rstrip("/")
        server.should_exit = True
        thread.join()


def visitor(running: Browser, base: str, size: str = "phone", *, light: str = "light", script: bool = True,
            **more: Any) -> BrowserContext:
    """Somebody with a browser of that size; `script`: whether JavaScript runs."""
    width, height = SIZES[size]
    return running.new_context(base_url=base, viewport={"width": width, "height": height},
                               color_scheme="dark" if light == "dark" else "light", java_script_enabled=script,
                               has_touch=size == "phone", reduced_motion="reduce", **more)


def problems_of(page: Page, *, only_contrast: bool = False) -> list[str]:
    """What axe finds on a page, in words: rule, impact, and where; or only what it finds of contrast."""
    # as a person who looks into the page would run it: not as a script of the page, which its policy forbids
    if not page.evaluate("Boolean(window.axe)"):
        page.evaluate(_AXE + "; null")
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    only = {"type": "rule", "values": ["color-contrast"]} if only_contrast else {"type": "tag", "values": tags}
    found = page.evaluate("only => axe.run(document, { runOnly: only, resultTypes: ['violations'] })"
                          ".then(result => result.violations)", only)
    return [f"{rule['id']} ({rule['impact']}): {[node['html'][:120] for node in rule['nodes'][:3]]}" for rule in found]


def faint_words(page: Page, least: float) -> list[str]:
    """Words whose contrast against what is behind them is below `least` to 1."""
    found: list[str] = page.evaluate(_CONTRAST, least)
    return found


_CONTRAST: Final = """least => {
  const channel = (part) => { const c = part / 255; return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4; };
  const light = ([r, g, b]) => 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
  const parts = (colour) => colour.match(/[\\d.]+/g).map(Number);
  const behind = (element) => {
    for (let at = element; at; at = at.parentElement) {
      const [r, g, b, alpha] = parts(getComputedStyle(at).backgroundColor);
      if (alpha === undefined || alpha > 0.99) return [r, g, b];
    }
    return [255, 255, 255];
  };
  const faint = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const element = walker.currentNode.parentElement;
    if (!walker.currentNode.data.trim() || !element.checkVisibility() || element.closest('.unseen, svg')) continue;
    const [a, b] = [light(parts(getComputedStyle(element).color)), light(behind(element))];
    const contrast = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (contrast < least) faint.push(`${contrast.toFixed(2)}: ${walker.currentNode.data.trim().slice(0, 40)}`);
  }
  return [...new Set(faint)];
}"""
