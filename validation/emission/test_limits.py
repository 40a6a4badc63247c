"""Limits of radiated emission at every breakpoint.

Sources: CISPR 32:2012, tables A.4 and A.5 for class B; class A below 1 GHz as a published test report prints it, above
1 GHz from memory; 47 CFR 15.109 (a) for class B and (b) for class A, as printed in µV/m. The tighter limit applies at
the edge of two bands (CISPR 32, 47 CFR 15.109). Measuring distance converted by 20 dB per decade, 10.46 dB from 10 m to
3 m; CISPR rounds to 10.
"""

import math

import pytest

from geometries.operation.published_limits import published_limit

CISPR = "CISPR 32:2012, annex A"
FCC = "47 CFR 15.109"
EDGE = 1.0
"""Hz beside a breakpoint."""

PRINTED = "published as printed"

# Name, distance m, then below and above each breakpoint: MHz, level dBuV/m.
CISPR_LINES = [
    ("CISPR 32 class B", 3.0, [(30, 40), (230 - 1e-6, 40), (230 + 1e-6, 47), (1000 - 1e-6, 47), (1000 + 1e-6, 50),
                              (3000 - 1e-6, 50), (3000 + 1e-6, 54), (6000, 54)]),
    ("CISPR 32 class B", 10.0, [(30, 30), (230 - 1e-6, 30), (230 + 1e-6, 37), (1000, 37)]),
    ("CISPR 32 class A", 3.0, [(30, 50), (230 - 1e-6, 50), (230 + 1e-6, 57), (1000 - 1e-6, 57), (1000 + 1e-6, 56),
                              (3000 - 1e-6, 56), (3000 + 1e-6, 60), (6000, 60)]),
    ("CISPR 32 class A", 10.0, [(30, 40), (230 - 1e-6, 40), (230 + 1e-6, 47), (1000, 47)]),
]  # fmt: skip
# The same with the field strength in uV/m.
FCC_LINES = [
    ("FCC 15.109 class B", 3.0, [(30, 100), (88 - 1e-6, 100), (88 + 1e-6, 150), (216 - 1e-6, 150),
                                (216 + 1e-6, 200), (960 - 1e-6, 200), (960 + 1e-6, 500), (40000, 500)]),
    ("FCC 15.109 class A", 10.0, [(30, 90), (88 - 1e-6, 90), (88 + 1e-6, 150), (216 - 1e-6, 150),
                                 (216 + 1e-6, 210), (960 - 1e-6, 210), (960 + 1e-6, 300), (40000, 300)]),
]  # fmt: skip


def points(lines):
    return [(name, distance, megahertz, value) for name, distance, rows in lines for megahertz, value in rows]


def mark_of(name: str, megahertz: float) -> str:
    if name == "CISPR 32 class B":
        return f"{PRINTED} (table {'A.4' if megahertz <= 1000 else 'A.5'})"
    return f"{PRINTED} (in a test report)" if megahertz <= 1000 else "from memory"


@pytest.mark.parametrize(("name", "distance", "megahertz", "level"), points(CISPR_LINES))
def test_level_beside_every_breakpoint(references, name: str, distance: float, megahertz: float, level: float) -> None:
    references.compare(
        found=published_limit(name, distance).level(megahertz * 1e6),
        reference=level,
        rtol=1e-12,
        source=CISPR,
        item=f"{name}, {distance:g} m, {megahertz:.10g} MHz",
        unit="dBµV/m",
        reason="exact",
        mark=mark_of(name, megahertz),
    )


@pytest.mark.parametrize(("name", "distance", "megahertz", "microvolts"), points(FCC_LINES))
def test_field_strength_beside_every_breakpoint(
    references, name: str, distance: float, megahertz: float, microvolts: float
) -> None:
    references.compare(
        found=10 ** (published_limit(name, distance).level(megahertz * 1e6) / 20),
        reference=microvolts,
        rtol=1e-12,
        source=FCC,
        item=f"{name}, {distance:g} m, {megahertz:.10g} MHz",
        unit="µV/m",
        reason="exact",
        mark=f"{PRINTED} (paragraph {'(a)' if name.endswith('B') else '(b)'})",
    )


@pytest.mark.parametrize(
    ("name", "distance", "megahertz", "level"),
    [
        ("CISPR 32 class B", 3.0, 230, 40),
        ("CISPR 32 class B", 3.0, 1000, 47),
        ("CISPR 32 class A", 3.0, 1000, 56),
        ("CISPR 32 class A", 10.0, 230, 40),
        ("FCC 15.109 class B", 3.0, 88, 40.0),
        ("FCC 15.109 class B", 3.0, 216, 43.522),
        ("FCC 15.109 class B", 3.0, 960, 46.021),
        ("FCC 15.109 class A", 10.0, 960, 46.444),
    ],
)
def test_the_tighter_limit_applies_at_the_edge(name: str, distance: float, megahertz: float, level: float) -> None:
    assert published_limit(name, distance).level(megahertz * 1e6) == pytest.approx(level, abs=1e-3)


@pytest.mark.parametrize(("megahertz", "level"), [(50, 49.54), (100, 53.98), (500, 56.90), (1000, 60.00)])
def test_class_a_of_the_fcc_at_3_m_is_converted_from_10_m(references, megahertz: float, level: float) -> None:
    references.compare(
        found=published_limit("FCC 15.109 class A", 3.0).level(megahertz * 1e6),
        reference=level,
        rtol=0.005 / level,
        source=FCC,
        item=f"FCC 15.109 class A, 3 m, {megahertz:g} MHz",
        unit="dBµV/m",
        reason="300 µV/m × 10/3 = 60.0 dBµV/m and so on; 49.54 + 10 = 59.54 is also in use above 960 MHz",
        mark="derived",
    )


@pytest.mark.parametrize("name", ["CISPR 32 class A", "CISPR 32 class B", "FCC 15.109 class B"])
def test_nothing_is_limited_below_30_mhz(name: str) -> None:
    assert math.isinf(published_limit(name, 3.0).level(30e6 - EDGE))


# Name, distance m, MHz, detector, level dBuV/m.
DETECTORS = [
    ("CISPR 32 class B", 3.0, 2000, "peak", 70),
    ("CISPR 32 class B", 3.0, 5000, "peak", 74),
    ("CISPR 32 class A", 3.0, 2000, "peak", 76),
    ("CISPR 32 class A", 3.0, 5000, "peak", 80),
    ("FCC 15.109 class B", 3.0, 2000, "peak", 73.98),
    ("CISPR 25 class 5", 1.0, 100, "peak", 38),
    ("CISPR 25 class 5", 1.0, 100, "average", 18),
    ("CISPR 25 class 3", 1.0, 100, "peak", 50),
    ("CISPR 25 class 5", 1.0, 60, "peak", 28),
    ("CISPR 25 class 5", 1.0, 315, "peak", 32),
    ("CISPR 25 class 5", 1.0, 850, "average", 24),
]  # fmt: skip


@pytest.mark.parametrize(("name", "distance", "megahertz", "detector", "level"), DETECTORS)
def test_level_by_detector(
    references, name: str, distance: float, megahertz: float, detector: str, level: float
) -> None:
    bands = [
        band.level_at(megahertz * 1e6)
        for band in published_limit(name, distance).bands
        if band.detector == detector and band.start <= megahertz * 1e6 <= band.stop
    ]
    references.compare(
        found=min(bands),
        reference=level,
        rtol=0.005 / level,
        source="CISPR 32, CISPR 25 and 47 CFR 15.35",
        item=f"{name}, {distance:g} m, {megahertz:g} MHz, {detector}",
        unit="dBµV/m",
        reason="printed as whole decibels, or in µV/m",
        mark="from memory",
    )


@pytest.mark.parametrize(
    ("name", "distance", "levels"),
    [
        ("CISPR 32 class A, anechoic room", 3.0, (52, 45, 52)),
        ("CISPR 32 class A, anechoic room", 10.0, (42, 35, 42)),
        ("CISPR 32 class B, anechoic room", 3.0, (42, 35, 42)),
        ("CISPR 32 class B, anechoic room", 10.0, (32, 25, 32)),
    ],
)
def test_limits_of_the_anechoic_room_at_30_230_and_1000_mhz(
    references, name: str, distance: float, levels: tuple[float, ...]
) -> None:
    for megahertz, level in zip((30, 230, 1000), levels, strict=True):
        references.compare(
            found=published_limit(name, distance).level(megahertz * 1e6),
            reference=level,
            rtol=1e-9,
            source="CISPR 32:2015, fully anechoic room",
            item=f"{name}, {distance:g} m, {megahertz} MHz",
            unit="dBµV/m",
            reason="exact; the tighter limit at the edge",
            mark="from memory",
        )
