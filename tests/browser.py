"""A real browser for the tests of pages: widths, boxes, accessibility rules, what it logs."""

from __future__ import annotations

import json
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

WIDTHS = (360, 390, 768, 1280, 1920)

SHEET = 688
"""Width of an A4 sheet within its margins, 182 mm, as a window [px]."""

_OVERLAPS = """
const boxes = [];
for (const element of document.querySelectorAll("body *")) {
  if (element.closest("script, style, select, textarea, svg, .skip") || !element.checkVisibility()) continue;
  for (const node of element.childNodes) {
    if (node.nodeType !== Node.TEXT_NODE || !node.data.trim()) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const box of range.getClientRects()) {
      const frame = element.closest(".scroll");
      const edge = frame ? frame.getBoundingClientRect() : { left: 0, right: innerWidth };
      if (box.width > 1 && box.left < edge.right && box.right > edge.left) boxes.push([box, node.data.trim()]);
    }
  }
}
boxes.sort((a, b) => a[0].top - b[0].top);
const found = [];
boxes.forEach(([one, words], i) => {
  for (let j = i + 1; j < boxes.length && boxes[j][0].top < one.bottom - 3; j += 1) {
    const other = boxes[j][0];
    const wide = Math.min(one.right, other.right) - Math.max(one.left, other.left);
    const high = Math.min(one.bottom, other.bottom) - Math.max(one.top, other.top);
    if (wide > 2 && high > 3) found.push(`${words.slice(0, 40)} | ${boxes[j][1].slice(0, 40)}`);
  }
});
return found;
"""


@contextmanager
def open_browser() -> Iterator[Any]:
    """A browser without a window; the test is skipped where there is none."""
    webdriver = pytest.importorskip("selenium.webdriver")
    program, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if program is None or driver is None:
        pytest.skip("Chromium or its driver is not installed; see .ci/browser")
    options = webdriver.ChromeOptions()
    for each in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"):
        options.add_argument(each)
    options.binary_location = program
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    browser = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    browser.set_script_timeout(300)
    try:
        yield browser
    finally:
        browser.quit()


def show(browser: Any, page: Path, width: int = 1280) -> None:
    """A page in a window of so many pixels, all folded parts open."""
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False},
    )
    browser.get(page.as_uri())
    browser.execute_script("document.querySelectorAll('details').forEach((each) => { each.open = true; })")


def show_state(browser: Any, page: Path, state: str) -> None:
    """A what-if page as an address has it, once the browser says that it is there.

    Chromium's driver may return from a page that is left before the next one is there.
    """
    browser.get("about:blank")
    browser.get(f"{page.as_uri()}#{state}")
    ready = "return location.hash.slice(1) === arguments[0] && document.readyState === 'complete'"
    for _ in range(200):
        if browser.execute_script(ready, state):
            return
        time.sleep(0.05)
    raise AssertionError(f"the browser does not show {page.name}#{state}")


@contextmanager
def printed(browser: Any, page: Path) -> Iterator[None]:
    """A page as it is laid out on a sheet."""
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        show(browser, page, SHEET)
        yield
    finally:
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


def sideways(browser: Any) -> int:
    """By how many pixels the page is wider than its window."""
    return int(
        browser.execute_script("return document.documentElement.scrollWidth - document.documentElement.clientWidth")
    )


def overlaps(browser: Any) -> list[str]:
    """Pairs of texts whose boxes lie over each other."""
    return list(browser.execute_script(_OVERLAPS))


_LETTERS = """
const picture = document.getElementById(arguments[0]), frame = picture.getBoundingClientRect();
const boxes = [...picture.querySelectorAll("text")].map((each) => [each.textContent, each.getBoundingClientRect()]);
const leaves = (box) => box.left < frame.left - 1 || box.right > frame.right + 1 || box.top < frame.top - 1;
const found = boxes.filter(([, box]) => leaves(box)).map(([words]) => `${words} | outside`);
boxes.forEach(([words, one], i) => boxes.slice(i + 1).forEach(([others, other]) => {
  const wide = Math.min(one.right, other.right) - Math.max(one.left, other.left);
  const high = Math.min(one.bottom, other.bottom) - Math.max(one.top, other.top);
  if (wide > 1 && high > 2) found.push(`${words} | ${others}`);
}));
return found;
"""


def hidden_letters(browser: Any, picture: str) -> list[str]:
    """Words of a picture drawn on the page that lie over each other or beyond its edge."""
    return list(browser.execute_script(_LETTERS, picture))


def serious_violations(browser: Any) -> list[str]:
    """What the accessibility rules call serious or critical."""
    rules = pytest.importorskip("axe_core_python")
    browser.execute_script(resources.files(rules).joinpath("axe.min.js").read_text(encoding="utf-8"))
    found = browser.execute_async_script("const done = arguments[0]; axe.run().then(done);")
    return [
        f"{each['id']}: {node['target']} {node['failureSummary']}"
        for each in found["violations"]
        if each["impact"] in ("serious", "critical")
        for node in each["nodes"]
    ]


def requests(browser: Any) -> list[str]:
    """Addresses that were asked for, the page's own left out."""
    events = [json.loads(each["message"])["message"] for each in browser.get_log("performance")]
    asked = [each["params"]["request"]["url"] for each in events if each["method"] == "Network.requestWillBeSent"]
    return [each for each in asked if not each.startswith(("file:", "data:", "blob:", "about:", "chrome:"))]
