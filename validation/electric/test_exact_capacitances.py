"""Capacitance of sections for which it is known exactly.

Sources (formulas from memory): coaxial line, wire pair and wire over a plane: J. C. Maxwell, *A Treatise on Electricity
and Magnetism*; S. Ramo, J. R. Whinnery, T. Van Duzer, *Fields and Waves in Communication Electronics*, Wiley. Coplanar
strips: K. C. Gupta, R. Garg, I. J. Bahl, *Microstrip Lines and Slotlines*, Artech House 1979, ch. 7. Centred stripline:
S. B. Cohn, IRE Transactions MTT-2 (July 1954) 52. Edge-coupled stripline: S. B. Cohn, IRE Transactions MTT-3 (Oct.
1955) 29. In one medium the capacitance of each is mu_0 epsilon over its inductance, whose functions are checked in
validation/formulas/. Thin strips are 1e-5 of their width thick; the planes of striplines reach six spacings beyond
them, where the field has fallen by exp(-6 pi).
"""

import pytest

from solver.formulas import (
    EPSILON_0,
    MU_0,
    coax_external_inductance,
    coplanar_strips_inductance,
    coupled_stripline_even_inductance,
    coupled_stripline_odd_inductance,
    stripline_inductance,
    two_wires_perfect_inductance,
    wire_over_plane_inductance,
)

MARK = "from memory (exact)"
REASON = "the reference is exact; the mesh is laid out for 0.1 %"
PICO = 1e-12


def _compare(references, found, inductance, source, item, permittivity=1.0):
    references.compare(
        found=found / PICO,
        reference=permittivity * MU_0 * EPSILON_0 / inductance / PICO,
        rtol=1e-3,
        source=source,
        item=item,
        unit="pF/m",
        reason=REASON,
        mark=MARK,
    )


@pytest.mark.parametrize(("inner", "shell", "permittivity"), [(0.5, 1.75, 1.0), (0.5, 1.75, 2.25), (0.1, 2.0, 4.4)])
def test_coaxial_line(fixture, references, inner, shell, permittivity):
    section = fixture.section(
        fixture.wire("wire", 0.0, 0.0, inner),
        fixture.shell("shell", shell, 1.2 * shell),
        loops=(("wire", "shell"),),
        slabs=(fixture.slab(permittivity, -1.5 * shell, 1.5 * shell, -1.5 * shell, 1.5 * shell),),
    )
    found = fixture.capacitance(section).between("wire", "shell")
    inductance = coax_external_inductance(inner * 1e-3, shell * 1e-3)
    item = f"C', radii {inner:g} and {shell:g} mm, relative permittivity {permittivity:g}"
    _compare(references, found, inductance, "Coaxial line, 2 pi epsilon / ln(b/a)", item, permittivity)


@pytest.mark.parametrize("spacing", [0.3, 1.0, 5.0])
def test_wire_pair(fixture, references, spacing):
    wires = (fixture.wire("go", -spacing / 2, 0.0, 0.1), fixture.wire("back", spacing / 2, 0.0, 0.1))
    section = fixture.section(*wires, loops=(("go", "back"),))
    found = fixture.capacitance(section).between("go", "back")
    inductance = two_wires_perfect_inductance(0.1e-3, spacing * 1e-3)
    item = f"C', radius 0.1 mm, {spacing:g} mm apart"
    _compare(references, found, inductance, "Two wires, pi epsilon / acosh(D/2a)", item)


@pytest.mark.parametrize("height", [0.15, 0.5, 1.5])
def test_wire_over_a_plane(fixture, references, height):
    plane = fixture.bar("plane", -200 * height, 200 * height, -0.5, 0.0)
    section = fixture.section(fixture.wire("wire", 0.0, height, 0.1), plane, loops=(("wire", "plane"),))
    found = fixture.capacitance(section).between("wire", "plane")
    inductance = wire_over_plane_inductance(0.1e-3, height * 1e-3)
    item = f"C', radius 0.1 mm, axis at {height:g} mm, plane 400 times as wide"
    _compare(references, found, inductance, "Wire over a plane, 2 pi epsilon / acosh(h/a)", item)


@pytest.mark.parametrize(("width", "gap"), [(1.0, 0.5), (2.0, 0.2), (5.0, 0.5)])
def test_coplanar_strips(fixture, references, width, gap):
    inner, outer, rise = gap / 2, width + gap / 2, 5e-6 * width
    strips = (fixture.bar("go", -outer, -inner, -rise, rise), fixture.bar("back", inner, outer, -rise, rise))
    found = fixture.capacitance(fixture.section(*strips, loops=(("go", "back"),))).between("go", "back")
    inductance = coplanar_strips_inductance(width * 1e-3, gap * 1e-3)
    _compare(references, found, inductance, "Coplanar strips", f"C', {width:g} mm wide, gap {gap:g} mm")


def _planes(fixture, reach, spacing):
    rim = spacing / 2
    return (
        fixture.bar("planes", -reach, reach, rim, 1.2 * rim, name="upper plane"),
        fixture.bar("planes", -reach, reach, -1.2 * rim, -rim, name="lower plane"),
    )


@pytest.mark.parametrize(("width", "spacing", "permittivity"), [(0.2, 0.4, 1.0), (1.0, 1.0, 4.4), (2.0, 1.5, 10.0)])
def test_stripline(fixture, references, width, spacing, permittivity):
    reach, rise = width / 2 + 6 * spacing, 5e-6 * width
    section = fixture.section(
        fixture.bar("strip", -width / 2, width / 2, -rise, rise),
        *_planes(fixture, reach, spacing),
        loops=(("strip", "planes"),),
        slabs=(fixture.slab(permittivity, -reach, reach, -spacing / 2, spacing / 2),),
    )
    found = fixture.capacitance(section).between("strip", "planes")
    item = f"C', strip {width:g} mm, planes {spacing:g} mm apart, relative permittivity {permittivity:g}"
    inductance = stripline_inductance(width * 1e-3, spacing * 1e-3)
    _compare(references, found, inductance, "Centred stripline", item, permittivity)


@pytest.mark.parametrize(("width", "gap", "spacing"), [(0.2, 0.2, 0.4), (1.0, 0.5, 1.0)])
def test_coupled_stripline(fixture, references, width, gap, spacing):
    reach, rise = width + gap / 2 + 6 * spacing, 5e-6 * width
    section = fixture.section(
        fixture.bar("one", -gap / 2 - width, -gap / 2, -rise, rise),
        fixture.bar("two", gap / 2, gap / 2 + width, -rise, rise),
        *_planes(fixture, reach, spacing),
        loops=(("one", "planes"), ("two", "planes")),
    )
    matrix = fixture.capacitance(section)
    to_planes, between = matrix.between("one", "planes"), matrix.between("one", "two")
    lengths = (width * 1e-3, gap * 1e-3, spacing * 1e-3)
    item = f"{width:g} mm, gap {gap:g} mm, planes {spacing:g} mm apart"
    even, odd = coupled_stripline_even_inductance(*lengths), coupled_stripline_odd_inductance(*lengths)
    _compare(references, to_planes, even, "Edge-coupled stripline", f"C' even, {item}")
    _compare(references, to_planes + 2 * between, odd, "Edge-coupled stripline", f"C' odd, {item}")
