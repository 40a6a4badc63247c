"""Files that other programs, mistakes or malice leave: each is refused in one short line, and none is waited for."""

import os

import pytest

from geometries.errors import ScenarioError
from geometries.operation.limits import read_limits
from geometries.operation.measured import read_impedance, read_spectrum
from geometries.text_files import LARGEST, path_under, read_text_file

TOUCHSTONE = "# MHZ S RI R 50\n1 0.1 0.2\n2 0.1 0.2\n"


def written(folder, name, text):
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def refusal(read, path, *further):
    with pytest.raises(ScenarioError) as refused:
        read(path, *further)
    message = str(refused.value)
    assert message.isprintable()
    assert len(message) < 400
    return message


@pytest.mark.parametrize(
    ("name", "text", "reason"),
    [
        ("a.s0p", TOUCHSTONE, "has 0 ports by its name"),
        ("a.s2p", TOUCHSTONE, "has 2 ports by its name"),
        ("a.s99999p", TOUCHSTONE, "has 99999 ports by its name"),
        ("a.s" + "9" * 200 + "p", TOUCHSTONE, "has 999999999 ports by its name"),
        ("a.txt", TOUCHSTONE, "by its name; call it .s1p"),
        ("a.ts", "[Version] 2.0\n# MHZ S RI R 50\n[Number of Ports] 0\n", "several ports, or none"),
        ("a.ts", "[Version] 2.0\n# MHZ S RI R 50\n[Number of Ports] 99999\n", "several ports, or none"),
        ("a.ts", "[Version] 2.0\n# MHZ S RI\n[Number of Ports] 1\n[Reference]\n", "no reference resistance"),
        ("a.ts", "[Version] 2.0\n# MHZ S RI\n[Number of Ports] 1\n[Reference] 0\n", "no reference resistance"),
        ("a.ts", "[Version] 2.0\n# MHZ S RI\n[Number of Ports] 1\n[Reference] 1e999\n", "no reference resistance"),
        ("a.s1p", "# MHZ S RI R\n1 0.1 0.2\n", "line 1: cannot be read as the options"),
        ("a.s1p", "# MHZ S RI R 0\n1 0.1 0.2\n", "line 1: cannot be read as the options"),
        ("a.s1p", "# MHZ S RI R fifty\n1 0.1 0.2\n", "line 1: cannot be read as the options"),
        ("a.s1p", "# THZ S RI R 50\n1 0.1 0.2\n", "line 1: cannot be read as the options"),
        ("a.s1p", "# MHZ S RI R 50\n1 0.1\n", "line 2: cannot be read as a Touchstone file of one port"),
        ("a.s1p", "# MHZ S RI R 50\n1 0.1 0.2 0.3 0.4\n", "line 2: cannot be read as a Touchstone file of one port"),
        ("a.s1p", "# MHZ S RI R 50\n1 nan 0.2\n", "line 2: cannot be read as a Touchstone file of one port"),
        ("a.s1p", "# MHZ S RI R 50\n1 1e400 0.2\n", "line 2: cannot be read as a Touchstone file of one port"),
        ("a.s1p", "# MHZ S RI R 50\n1 " + "9" * 5000 + " 0.2\n", "line 2: cannot be read as a Touchstone file of one"),
        ("a.s1p", "# MHZ S RI R 50\n1 0,1 0,2\n", "line 2: cannot be read as a Touchstone file of one port"),
        ("a.s1p", "# GHZ S RI R 50\n1e12 0.1 0.2\n", "check the unit in its # line"),
        ("a.s1p", "# MHZ S RI R 50\n-1 0.1 0.2\n", "above zero and rise"),
        ("a.s1p", "# MHZ S RI R 50\n1 1 0\n", "open circuit"),
        ("a.s1p", "# MHZ S DB R 50\n1 1e6 0\n", "cannot be read as a Touchstone file"),
        ("a.s1p", "", "holds no line of values"),
        ("a.s1p", b"# MHZ S RI R 50\n1 0.1 \xff\n", "not a text file in UTF-8"),
        ("a.s1p", "# MHZ S RI R 50\n1 0.1 0.2\0\n", "line 2 holds a control character"),
        ("a.s1p", "\x1b[31m# MHZ S RI R 50\n", "line 1 holds a control character"),
        ("a.s1p", "root:x:0:0:root:/root:/bin/bash\n", "line 1: cannot be read as a Touchstone file of one port"),
    ],
)
def test_a_touchstone_file_that_is_none_is_refused(tmp_path, name, text, reason):
    message = refusal(read_impedance, written(tmp_path, name, text))
    assert reason in message
    assert "root:x" not in message


def test_a_touchstone_file_without_options_is_read_as_the_format_says(tmp_path):
    # Touchstone file format specification, version 1.1: without an option line GHz, S, magnitude and angle, 50 ohm
    found = read_impedance(written(tmp_path, "a.s1p", "# \n1 0.5 0\n"))
    assert (found.frequencies, found.impedances) == ((1e9,), (pytest.approx(150.0, rel=1e-12),))


def test_a_byte_order_mark_and_other_ends_of_lines_are_read(tmp_path):
    found = read_impedance(written(tmp_path, "A.S1P", "\N{BYTE ORDER MARK}" + TOUCHSTONE.replace("\n", "\r\n")))
    assert found.frequencies == (1e6, 2e6)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("frequency,level\n1 MHz," + "x" * 200_000, "line 2: is 200006 characters long"),
        ("frequency,level\n1 MHz," + "9" * 500, "line 2: level is"),
        ("frequency,level\n1,5 MHz,40\n", "line 2: 3 entries under 2 headings"),
        ('frequency,level\n"1,5 MHz",40\n', "holds a comma; write a decimal point"),
        ("frequency,level\n1 MHz,nan\n", 'line 2: level is "nan"'),
        ("frequency,level\n1 MHz,1_0\n", 'line 2: level is "1_0"'),
        ("frequency,level\n1 MHz,\N{FULLWIDTH DIGIT FIVE}\n", "line 2: level is"),
        ("frequency,level,frequency\n1 MHz,40,1 MHz\n", "a heading stands twice"),
        ("frequency,level,level\n1 MHz,40,50\n", "a heading stands twice"),
        ("root:x:0:0:root\nbin:x:1:1\n", "line 1: the headings must be frequency, level"),
        ("frequency;level\n1 MHz;40\n", "line 1: the headings must be frequency, level"),
        ("frequency,level\n1 MHz,40\0\n", "line 2 holds a control character"),
        (b"\xff\xfef\x00r\x00", "not a text file in UTF-8"),
        ("", "no levels in it"),
    ],
    ids=range(14),
)
def test_a_spectrum_that_is_none_is_refused(tmp_path, text, reason):
    message = refusal(read_spectrum, written(tmp_path, "s.csv", text))
    assert reason in message
    assert "root:x" not in message


def test_the_minus_sign_of_our_own_pages_is_read_in_a_level(tmp_path):
    found = read_spectrum(written(tmp_path, "s.csv", "frequency,level\n1 MHz,\N{MINUS SIGN}3.5\n"))
    assert found.levels == (-3.5,)


def test_every_one_of_two_hundred_thousand_lines_is_read(tmp_path):
    lines = "".join(f"{k + 1} kHz,{k % 60}\n" for k in range(200_000))
    assert len(read_spectrum(written(tmp_path, "s.csv", "frequency,level\n" + lines)).levels) == 200_000


@pytest.mark.parametrize("read", [read_impedance, read_spectrum, lambda path: read_limits(path, 3.0)])
@pytest.mark.parametrize("kind", ["a pipe", "a folder", "a device"])
def test_what_is_no_file_is_refused_and_not_waited_for(tmp_path, read, kind):
    path = tmp_path / "a.s1p"
    if kind == "a pipe":
        os.mkfifo(path)
    elif kind == "a folder":
        path.mkdir()
    else:
        path.symlink_to("/dev/zero")
    assert f"is no file but {kind}" in refusal(read, path)


def test_a_file_beyond_the_largest_size_is_refused(tmp_path):
    path = written(tmp_path, "s.csv", "")
    os.truncate(path, LARGEST + 1)
    assert "is larger than 32 MB" in refusal(read_spectrum, path)


@pytest.mark.parametrize("name", ["x" * 300 + ".csv", "a/" * 3000 + "s.csv", "loop", "a\nb.csv", "a\x1b[31m.csv"])
def test_a_path_that_does_not_exist_is_shown_in_one_short_line(tmp_path, name):
    if name == "loop":
        (tmp_path / name).symlink_to("loop")
    assert "s.csv" in name or refusal(read_spectrum, tmp_path / name)


def test_a_path_with_a_zero_is_refused(tmp_path):
    assert "cannot be a path" in refusal(read_text_file, tmp_path / "a\0b", "scenario file")


@pytest.mark.parametrize("name", ["../s.csv", "/etc/hostname", "a/../../s.csv", "link/s.csv", "a\0b"])
def test_a_file_outside_the_scenario_s_folder_is_refused(tmp_path, name):
    folder = tmp_path / "scenario"
    folder.mkdir()
    (folder / "link").symlink_to(tmp_path)
    with pytest.raises(ScenarioError, match=r"outside the scenario's folder|cannot be a path"):
        path_under(folder, name, "spectrum")


@pytest.mark.parametrize("name", ["s.csv", "lab/s.csv", "./s.csv", "lab/../s.csv"])
def test_a_file_under_the_scenario_s_folder_is_accepted(tmp_path, name):
    assert path_under(tmp_path, name, "spectrum") == tmp_path / name
