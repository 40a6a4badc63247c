"""File names for the names of variants."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

_LONGEST_SLUG = 60


def file_names(names: Iterable[str]) -> dict[str, str]:
    """File names for names: lower case, letters, digits and hyphens, all different.

    Examples
    --------
    >>> file_names(["4 layers, 7628", "4 Layers (7628)", "../x"])
    {'4 layers, 7628': '4-layers-7628', '4 Layers (7628)': '4-layers-7628-2', '../x': 'x'}
    """
    found: dict[str, str] = {}
    for name in names:
        plain = _slug(name)
        candidate, number = plain, 1
        while candidate in found.values():
            number += 1
            candidate = f"{plain}-{number}"
        found[name] = candidate
    return found


def _slug(name: str) -> str:
    ascii_only = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode("ascii")
    return re.sub(r"[^a-z0-9]+", "-", ascii_only.lower()).strip("-")[:_LONGEST_SLUG].rstrip("-") or "variant"
