"""Records that were written as JSON, read back as if anyone had written them."""

from __future__ import annotations

import json
import math
from typing import Any, NoReturn

MOST_DIGITS = 400
"""No number of ours has more; the text of a larger integer alone can take seconds to read."""


class DamagedRecordError(ValueError):
    """Text that no record of ours can be; the message says why in a few words."""


def parse_record(text: bytes | str) -> Any:
    """Value of a JSON text.

    Parameters
    ----------
    text : bytes or str
        In UTF-8 if bytes.

    Returns
    -------
    object
        Of dict, list, str, int, float, bool and None; every number is finite and every key stands once.

    Raises
    ------
    DamagedRecordError
        If it is no JSON, not in UTF-8, nested too deeply, holds a key twice, or a number that is none.

    Examples
    --------
    >>> parse_record(b'{"index": 3}')
    {'index': 3}
    """
    try:
        decoded = text if isinstance(text, str) else text.decode("utf-8")
        return json.loads(
            decoded,
            parse_float=_finite,
            parse_int=_integer,
            parse_constant=_no_constant,
            object_pairs_hook=_each_key_once,
        )
    except DamagedRecordError:
        raise
    except RecursionError as failure:
        raise DamagedRecordError("it is nested too deeply") from failure
    except UnicodeDecodeError as failure:
        raise DamagedRecordError("it is not in UTF-8") from failure
    except ValueError as failure:
        raise DamagedRecordError("it is no JSON") from failure


def _finite(digits: str) -> float:
    number = float(digits)
    if not math.isfinite(number):
        raise DamagedRecordError("it holds a number beyond all bounds")
    return number


def _integer(digits: str) -> int:
    if len(digits) > MOST_DIGITS:
        raise DamagedRecordError(f"it holds an integer of {len(digits)} digits")
    return int(digits)


def _no_constant(name: str) -> NoReturn:
    raise DamagedRecordError(f"it holds {name}, which is no number")


def _each_key_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        raise DamagedRecordError("a key stands in it twice")
    return found
