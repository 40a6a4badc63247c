"""The parts of a report, in the order of the page. A further analysis is shown by its own module and a line here."""

from __future__ import annotations

from dataclasses import dataclass

from solver.report.budgets_part import BUDGETS_PART
from solver.report.couplings_part import COUPLINGS
from solver.report.emission_part import EMISSION_PART
from solver.report.layout_part import LAYOUT_PART
from solver.report.lists_part import BENCH_LIST, DRAWING_LIST
from solver.report.loop_part import BENEFIT, CHECKS, COMPARISON, FIELD, FREQUENCY
from solver.report.measurement_part import MEASUREMENT_PART
from solver.report.part import Part
from solver.report.pickup_part import PICKUP_PART
from solver.report.product_part import PRODUCT_PART
from solver.report.summary_part import SUMMARY_PART
from solver.report.switching_part import SWITCHING_PART
from solver.report.variants_part import INPUTS, VARIANTS
from solver.report.views_part import VIEWS_PART
from solver.report.whole_loop_part import WHOLE_LOOP_PART
from solver.study.results import StudyResult


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A way into the report: for whom, what it offers, and its parts in order."""

    key: str
    title: str
    offers: str
    parts: tuple[Part, ...]


WAYS: tuple[Way, ...] = (
    Way(
        key="what-to-buy",
        title="What to buy",
        offers="Purchasing: cost against figures, budgets kept",
        parts=(SUMMARY_PART, COMPARISON, BUDGETS_PART),
    ),
    Way(
        key="what-to-draw",
        title="What to draw",
        offers="Layout: dimensions, ties, vias and distances in a list; plan and section, ground layers",
        parts=(
            DRAWING_LIST,
            WHOLE_LOOP_PART,
            LAYOUT_PART,
            VARIANTS,
            BENEFIT,
            PICKUP_PART,
            COUPLINGS,
            FIELD,
            VIEWS_PART,
        ),
    ),
    Way(
        key="what-to-measure",
        title="What to measure",
        offers="EMC and bench: what to probe and to expect in a list; spectrum against limits, its leader, ring",
        parts=(BENCH_LIST, EMISSION_PART, PRODUCT_PART, SWITCHING_PART, MEASUREMENT_PART, FREQUENCY),
    ),
    Way(
        key="inputs-and-method",
        title="Inputs and method",
        offers="All inputs as read, checks, method and its limits",
        parts=(INPUTS, CHECKS),
    ),
)

PARTS: tuple[Part, ...] = tuple(part for way in WAYS for part in way.parts)


def shown_parts(study: StudyResult) -> tuple[Part, ...]:
    """The parts for which a study has something to show."""
    return tuple(part for part in PARTS if part.shown(study) is not None)
