"""One record per published value, from which both the check and the validation page are made.

A test calls ``published.compare``; with ``--published-page FILE`` everything that was compared in the run is
written as a table, so that the page and the checks cannot differ.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from itertools import groupby
from pathlib import Path

import pytest


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """One published value beside ours.

    Parameters
    ----------
    source, item : str
        Where the value stands, and which one it is.
    mark : str
        How the value was come by: published, from memory, derived, or computed independently.
    printed, found : float
        Their value and ours, in `unit`.
    unit : str
        Unit of both.
    rtol : float
        Allowed relative deviation; infinite where the value is shown but not used as a check.
    reason : str
        Why this tolerance, or why it is not a check.
    position : int
        Place of the test in the collection, for the order of the page.
    """

    source: str
    item: str
    mark: str
    printed: float
    found: float
    unit: str
    rtol: float
    reason: str
    position: int

    @property
    def deviation(self) -> float:
        """Relative deviation of ours from theirs."""
        return self.found / self.printed - 1

    @property
    def holds(self) -> bool:
        """Whether the deviation is within the tolerance."""
        return abs(self.deviation) <= self.rtol


_RECORDS = pytest.StashKey[list[Comparison]]()
_POSITION = pytest.StashKey[int]()


class Published:
    """Compares values of one test with published ones and keeps the record."""

    def __init__(self, records: list[Comparison], position: int) -> None:
        self._records = records
        self._position = position

    def compare(
        self,
        *,
        found: float,
        printed: float,
        rtol: float,
        source: str,
        item: str,
        unit: str,
        reason: str,
        mark: str,
    ) -> None:
        """Record both values and fail if they differ by more than `rtol` times the printed one."""
        entry = self._record(found, printed, rtol, source, item, unit, reason, mark)
        assert entry.holds, (
            f"{source}, {item}: printed {printed:.7g} {unit}, found {found:.7g} {unit}, deviation "
            f"{entry.deviation:+.3%}, allowed {rtol:.3%} ({reason})"
        )

    def show(self, *, found: float, printed: float, source: str, item: str, unit: str, reason: str, mark: str) -> None:
        """Record both values without checking them; `reason` says on the page why."""
        self._record(found, printed, math.inf, source, item, unit, reason, mark)

    def _record(
        self,
        found: float,
        printed: float,
        rtol: float,
        source: str,
        item: str,
        unit: str,
        reason: str,
        mark: str,
    ) -> Comparison:
        entry = Comparison(
            source=source,
            item=item,
            mark=mark,
            printed=float(printed),
            found=float(found),
            unit=unit,
            rtol=rtol,
            reason=reason,
            position=self._position,
        )
        self._records.append(entry)
        return entry


@pytest.fixture
def published(request: pytest.FixtureRequest) -> Published:
    """Comparison with published values, recorded for the validation page."""
    return Published(request.config.stash[_RECORDS], request.node.stash[_POSITION])


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--published-page",
        type=Path,
        metavar="FILE",
        help="write every comparison with a published value to FILE, as Markdown tables",
    )


def pytest_configure(config: pytest.Config) -> None:
    config.stash[_RECORDS] = []


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for position, item in enumerate(items):
        item.stash[_POSITION] = position


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: object) -> None:
    """Take over the records of a finished worker process."""
    arrived = getattr(node, "workeroutput", {}).get("published", [])
    stash = node.config.stash  # type: ignore[attr-defined]
    stash[_RECORDS].extend(Comparison(**fields) for fields in arrived)


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    config = session.config
    records = config.stash[_RECORDS]
    if hasattr(config, "workerinput"):
        config.workeroutput["published"] = [asdict(entry) for entry in records]  # type: ignore[attr-defined]
        return
    page = config.getoption("published_page")
    if page is not None:
        page.write_text("\n".join(_page(records)) + "\n", encoding="utf-8")


_HEAD = """\
# Validation against published values

This page is written by the checks themselves: `pytest validation --published-page docs/validation.md`.

*Printed* is the published or independently computed value, *found* is the finite-element result.
*Allowed* is the tolerance of the check, with its reason below the table; "shown" marks a value that is not a
check, and the reason says why. The marks: *published*, checked against the printed text; *from memory*, a formula
quoted without opening its source; *derived*, worked out from the cited theory; *computed independently*, a number
from another method, with its error. Closed forms are evaluated by `solver.formulas`, which
`validation/formulas` checks on its own.
"""


def _page(records: Iterable[Comparison]) -> Iterator[str]:
    ordered = sorted(records, key=lambda entry: entry.position)
    sources = list(dict.fromkeys(entry.source for entry in ordered))
    ordered.sort(key=lambda entry: sources.index(entry.source))
    yield _HEAD
    yield f"{sum(math.isfinite(entry.rtol) for entry in ordered)} checks of {len(sources)} sources"
    yield f"({sum(not math.isfinite(entry.rtol) for entry in ordered)} more values are shown only)."
    for source, entries in groupby(ordered, key=lambda entry: entry.source):
        yield from _chapter(source, list(entries))


def _chapter(source: str, entries: list[Comparison]) -> Iterator[str]:
    notes = list(Counter((entry.mark, entry.reason) for entry in entries))
    yield f"\n## {source}\n"
    yield "| item | printed | found | unit | deviation | allowed | note |"
    yield "|---|---:|---:|---|---:|---:|---|"
    for entry in entries:
        yield "| " + " | ".join(_cells(entry, notes.index((entry.mark, entry.reason)) + 1)) + " |"
    yield ""
    for number, (mark, reason) in enumerate(notes, start=1):
        yield f"{number}. {mark}. {reason[:1].upper()}{reason[1:]}."


def _cells(entry: Comparison, note: int) -> Iterator[str]:
    yield entry.item.replace("|", "\\|")
    yield f"{entry.printed:.7g}"
    yield f"{entry.found:.7g}"
    yield entry.unit
    yield f"{100 * entry.deviation:+.3f} %" + ("" if entry.holds else " **fails**")
    yield f"{100 * entry.rtol:g} %" if math.isfinite(entry.rtol) else "shown"
    yield str(note)
