import pytest

from geometries.board.parts import CAPACITOR_CASES, capacitor_case
from geometries.errors import GeometryError


def test_the_eia_code_is_the_size_in_hundredths_of_an_inch():
    for case in CAPACITOR_CASES:
        tenths_of_mm = int(case.eia_code[:2]) * 0.254e-3
        assert case.length == pytest.approx(tenths_of_mm, abs=0.35e-3)


def test_the_iec_code_is_the_size_in_tenths_of_a_millimetre():
    for case in CAPACITOR_CASES:
        assert case.length == pytest.approx(int(case.iec_code[:2]) * 0.1e-3, abs=0.06e-3)
        assert case.width == pytest.approx(int(case.iec_code[2:]) * 0.1e-3, abs=0.06e-3)


def test_a_code_that_both_systems_use_means_eia_unless_marked():
    assert capacitor_case("0603").length == pytest.approx(1.6e-3)
    assert capacitor_case("IEC 0603").length == pytest.approx(0.6e-3)


def test_an_unknown_case_is_refused():
    with pytest.raises(GeometryError, match="no capacitor case '9999'"):
        capacitor_case("9999")
