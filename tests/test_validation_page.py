"""The validation page says of every value where it comes from, and counts them."""

from collections import Counter
from pathlib import Path

import pytest

MARKS = {"published as printed", "from memory", "derived", "computed independently", "common practice"}
PAGE = Path(__file__).resolve().parent.parent / "docs" / "validation.md"


def rows(start):
    text = PAGE.read_text(encoding="utf-8")
    tables = [block.splitlines() for block in text.split("\n\n") if block.startswith(start)]
    return [[cell.strip() for cell in line.split(" | ")] for table in tables for line in table[2:]]


@pytest.fixture(scope="module")
def values():
    return rows("| item | mark | reference | found |")


def test_the_page_speaks_of_reference_values():
    assert PAGE.read_text(encoding="utf-8").startswith("# Validation against reference values\n")


def test_every_value_carries_a_mark(values):
    assert len(values) > 1000
    assert {row[1] for row in values} <= MARKS


def test_the_counts_on_top_are_those_of_the_tables(values):
    found = Counter(row[1] for row in values)
    checks = Counter(row[1] for row in values if row[6] != "shown")
    stated = {row[0].removeprefix("| "): row[2:] for row in rows("| mark | meaning |")}
    total = stated.pop("all")
    assert stated == {mark: [str(found[mark]), f"{checks[mark]} |"] for mark in MARKS}
    assert total == [str(len(values)), f"{checks.total()} |"]


def test_no_value_fails(values):
    assert not [row for row in values if "fails" in row[5]]
