"""What of a variant has to be solved for the figures that are asked."""

from __future__ import annotations

from enum import Enum


class Need(Enum):
    """A part of a variant's solution that costs time of its own.

    The section's mesh, its field at the report frequency and both limits are solved for every variant; all else only
    where a figure or a page needs it.
    """

    BROADBAND = "impedance over frequency, as a circuit"
    FIELD_MAP = "field in and round the section, for drawings and files"
    BENEFIT = "the section with one more ground layer each time"
    AXISYMMETRIC = "the axisymmetric view of the same loop"
    PICKUP = "victims beside the loop"
    SPACING = "where a victim would meet its budget, and how a wider trace fares"
    WHOLE_LOOP = (
        "the copper in the plan view: a placement's with capacitor, vias and package, a section's from land to land"
    )
    MOMENT = "the loop's moment over the frequencies of an emission"
    SENSITIVITY = "derivatives of the whole loop by every dimension"
    COUPLINGS = "further switched loops"


Needs = frozenset[Need]

EVERYTHING: Needs = frozenset(Need)
"""For a comparison with its report."""
