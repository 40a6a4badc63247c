"""Text that does in terminals, spreadsheets and other encodings what it says and nothing else."""

from __future__ import annotations

import codecs
import re
import unicodedata

DEGRADED = "copperfield.degraded"
"""Name of the error handler that writes signs an encoding lacks as the next best it has; registered on import."""

_FORMULA = (
    "=",
    "+",
    "-",
    "@",
    "\t",
    "\r",
    "\N{FULLWIDTH EQUALS SIGN}",
    "\N{FULLWIDTH PLUS SIGN}",
    "\N{FULLWIDTH HYPHEN-MINUS}",
    "\N{FULLWIDTH COMMERCIAL AT}",
)
_UNSEEN = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]")

_NEXT_BEST = {
    "\N{MINUS SIGN}": "-",
    "\N{EN DASH}": "-",
    "\N{EM DASH}": "-",
    "\N{MULTIPLICATION SIGN}": "x",
    "\N{MICRO SIGN}": "u",
    "\N{GREEK SMALL LETTER MU}": "u",
    "\N{GREEK CAPITAL LETTER OMEGA}": "ohm",
    "\N{OHM SIGN}": "ohm",
    "\N{DEGREE SIGN}": "deg",
    "\N{PLUS-MINUS SIGN}": "+/-",
    "\N{HORIZONTAL ELLIPSIS}": "...",
    "\N{LEFT DOUBLE QUOTATION MARK}": "'",
    "\N{RIGHT DOUBLE QUOTATION MARK}": "'",
    "\N{RIGHT SINGLE QUOTATION MARK}": "'",
    "\N{LESS-THAN OR EQUAL TO}": "<=",
    "\N{GREATER-THAN OR EQUAL TO}": ">=",
    "\N{EURO SIGN}": "EUR",
    "\N{NO-BREAK SPACE}": " ",
    "\N{NARROW NO-BREAK SPACE}": " ",
    "\N{THIN SPACE}": " ",
    "\N{GREEK CAPITAL LETTER DELTA}": "change of ",
    "\N{PRIME}": "'",
}


def spreadsheet_cell(cell: object) -> object:
    r"""A cell for a CSV file: text that a spreadsheet would take for a formula gets an apostrophe in front.

    Examples
    --------
    >>> spreadsheet_cell('=HYPERLINK("http://x")'), spreadsheet_cell("-0.5"), spreadsheet_cell(-0.5)
    ('\'=HYPERLINK("http://x")', '-0.5', -0.5)
    """
    armed = isinstance(cell, str) and cell.lstrip(" ").startswith(_FORMULA) and not _is_number(cell)
    return f"'{cell}" if armed else cell


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def terminal_text(text: str) -> str:
    r"""Text without what would steer a terminal: control characters and changes of direction as JSON writes them.

    Examples
    --------
    >>> terminal_text("red \x1b[31m") == "red " + chr(92) + "u001b[31m"
    True
    """
    return _UNSEEN.sub(lambda found: f"\\u{ord(found.group()):04x}", text)


def _degraded(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(map(_next_best, error.object[error.start : error.end])), error.end


def _next_best(sign: str) -> str:
    """What is ASCII, stands for the sign, and breaks no text in quotation marks."""
    plain = _NEXT_BEST.get(sign) or unicodedata.normalize("NFKD", sign).encode("ascii", "ignore").decode("ascii")
    return plain.replace('"', "'").replace("\\", "/") or "?"


codecs.register_error(DEGRADED, _degraded)
