"""Names of variants reach files, spreadsheets and terminals as text and nothing else."""

import json
import os
import subprocess
import sys
from itertools import product

import pytest

from solver.notation.safe_text import DEGRADED, spreadsheet_cell, terminal_text
from solver.report.file_names import ENDINGS, file_names

FORMULAS = [
    "=1+1",
    "+1+1",
    "-1+1",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "  =1",
    "-cmd|' /C calc'!A0",
    "\N{FULLWIDTH EQUALS SIGN}1",
]


@pytest.mark.parametrize("text", FORMULAS)
def test_a_cell_that_a_spreadsheet_would_compute_is_disarmed(text):
    assert spreadsheet_cell(text) == f"'{text}"


@pytest.mark.parametrize("cell", ["same layer", "-0.5", "+3e-9", "\N{MINUS SIGN}0.5", "a = b", "", 3.0, -3.0, None])
def test_words_and_numbers_stay_as_they_are(cell):
    assert spreadsheet_cell(cell) == cell


@pytest.mark.parametrize("sign", ["\0", "\x07", "\x1b", "\r", "\x7f", "\x9b", "\u202e", "\u2028", "\u2066"])
def test_what_would_steer_a_terminal_is_spelt_and_stays_json(sign):
    document = json.dumps({"name": f"a{sign}b"}, ensure_ascii=False)
    assert json.loads(terminal_text(document)) == {"name": f"a{sign}b"}
    assert sign not in terminal_text(f"a{sign}b")


def test_lines_tabs_and_letters_of_all_languages_stay():
    text = "a\tb\nc \N{GREEK CAPITAL LETTER OMEGA} \N{CJK UNIFIED IDEOGRAPH-6D4B} \N{SNOWMAN}"
    assert terminal_text(text) == text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\N{MINUS SIGN}5 mm", b"-5 mm"),
        ("35 \N{MICRO SIGN}m", b"35 um"),
        ("3 m\N{GREEK CAPITAL LETTER OMEGA}", b"3 mohm"),
        ("4.0 \N{MULTIPLICATION SIGN}", b"4.0 x"),
        ("\N{LEFT DOUBLE QUOTATION MARK}a\N{RIGHT DOUBLE QUOTATION MARK}", b"'a'"),
        ("\N{LATIN SMALL LETTER E WITH ACUTE}", b"e"),
        ("\N{SNOWMAN}", b"?"),
        ("\N{FULLWIDTH QUOTATION MARK}", b"'"),
    ],
)
def test_a_sign_that_ascii_lacks_is_written_as_the_next_best(text, shown):
    assert text.encode("ascii", DEGRADED) == shown


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252", "cp437", "koi8-r"])
def test_a_document_stays_json_in_every_encoding(encoding):
    text = json.dumps({"name": "".join(map(chr, range(0x20, 0x3000)))}, ensure_ascii=False)
    assert json.loads(text.encode(encoding, DEGRADED).decode(encoding))


NAMES = ["a", "a potential", "a-potential", "a test", "a-test-2", "A", "a!", "test", "", "../a", "x" * 300, "x" * 301]


def test_no_two_variants_share_a_file_with_any_ending():
    found = file_names(NAMES)
    files = [name + ending for name, ending in product(found.values(), ENDINGS)]
    assert len(set(files)) == len(files) == len(NAMES) * len(ENDINGS)


def test_every_file_name_is_short_and_plain():
    assert all(
        len(name) < 80 and name.replace("-", "").isalnum() and name.isascii() for name in file_names(NAMES).values()
    )


PRINTS = "from solver.report.streams import guarded_streams\nwith guarded_streams():\n    print({0}, flush={1})\n"


def run(program, **how):
    return subprocess.run([sys.executable, "-c", program], check=False, capture_output=True, **how)


@pytest.mark.parametrize("flush", [True, False])
def test_a_full_device_raises_report_error_and_nothing_else(flush):
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [sys.executable, "-c", PRINTS.format("'x'", flush)], check=False, stdout=full, stderr=subprocess.PIPE
        )
    assert b"ReportError: cannot write the output: No space left on device" in done.stderr
    assert b"Exception ignored" not in done.stderr


def test_a_reader_that_went_away_is_no_fault():
    child = subprocess.Popen(
        [sys.executable, "-c", PRINTS.format("'x' * 10_000_000", True)], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    child.stdout.close()
    assert (child.stderr.read(), child.wait()) == (b"", 0)
    child.stderr.close()


def test_an_ascii_terminal_shows_a_minus_sign():
    done = run(PRINTS.format("'\\N{MINUS SIGN}5 mm'", False), env={**os.environ, "PYTHONIOENCODING": "ascii"})
    assert (done.stdout, done.returncode) == (b"-5 mm\n", 0)


def test_a_termination_is_an_interruption():
    program = (
        "import os, signal\nfrom solver.report.streams import guarded_streams\n"
        "with guarded_streams():\n    os.kill(os.getpid(), signal.SIGTERM)\n"
    )
    assert b"KeyboardInterrupt" in run(program).stderr
