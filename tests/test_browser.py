"""Facts about the pages in a real browser."""

from __future__ import annotations

import base64
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browser import WIDTHS, open_browser, overlaps, printed, requests, serious_violations, show, sideways

from solver.report.html import render_hand_out, render_report
from solver.study.results import StudyResult


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with open_browser() as opened:
        yield opened


@pytest.fixture(scope="module")
def report(study: StudyResult, tmp_path_factory: pytest.TempPathFactory) -> Path:
    page = tmp_path_factory.mktemp("page") / "report.html"
    page.write_text(render_report(study), encoding="utf-8")
    return page


@pytest.fixture(scope="module")
def hand_out(study: StudyResult, tmp_path_factory: pytest.TempPathFactory) -> Path:
    page = tmp_path_factory.mktemp("page") / "hand-out.html"
    page.write_text(render_hand_out(study), encoding="utf-8")
    return page


@pytest.mark.parametrize("width", WIDTHS)
def test_report_fits_its_window_and_no_text_lies_over_another(browser, report, width):
    show(browser, report, width)
    assert sideways(browser) <= 0
    assert overlaps(browser) == []


def test_report_fits_the_sheet_it_is_printed_on(browser, report):
    with printed(browser, report):
        assert sideways(browser) <= 0
        assert overlaps(browser) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_report_keeps_the_accessibility_rules(browser, report, scheme):
    browser.execute_cdp_cmd(
        "Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": scheme}]}
    )
    show(browser, report)
    assert serious_violations(browser) == []


def test_report_asks_for_nothing_and_logs_no_error(browser, report):
    browser.get_log("browser")
    browser.get_log("performance")
    show(browser, report)
    assert requests(browser) == []
    assert browser.get_log("browser") == []


def test_text_in_a_picture_is_at_least_eleven_pixels_high(browser, report):
    for width in WIDTHS:
        show(browser, report, width)
        shrunk = browser.execute_script(
            "return Math.min(...[...document.images].map((each) => each.clientWidth / each.naturalWidth))"
        )
        assert shrunk * 8.4 * 96 / 72 >= 11


def test_hand_out_prints_on_one_sheet(browser, hand_out):
    show(browser, hand_out)
    printed = browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    assert base64.b64decode(printed["data"]).count(b"/Type /Page\n") == 1


def test_folded_parts_are_open_in_print(browser, report):
    show(browser, report)
    browser.execute_script("document.querySelectorAll('details').forEach((each) => { each.open = false; })")
    browser.execute_script("dispatchEvent(new Event('beforeprint'))")
    assert browser.execute_script("return document.querySelectorAll('details:not([open])').length") == 0


def test_link_to_a_folded_part_opens_it(browser, report):
    show(browser, report)
    browser.execute_script("document.getElementById('method').open = false; location.hash = '#method'")
    assert browser.execute_async_script(
        "const done = arguments[0]; setTimeout(() => done(document.getElementById('method').open), 100)"
    )


def test_hostile_names_are_text(browser, report, hostile_name):
    show(browser, report)
    assert browser.execute_script("return document.body.textContent").count(hostile_name) > 3
    assert browser.execute_script("return document.scripts.length") == 1
