"""What a board costs, in any currency."""

from __future__ import annotations

import re
from dataclasses import dataclass

from geometries.errors import ScenarioError

_WRITTEN = re.compile(r"(\d+(?:\.\d+)?)\s*([^\W\d_]{1,5}|[€$£¥₹])")


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """An amount per board, and the currency as it was written."""

    amount: float
    currency: str

    def __str__(self) -> str:
        return f"{self.amount:.2f} {self.currency}"


def read_price(text: str) -> Price:
    """Read a price.

    Parameters
    ----------
    text : str
        Amount, then currency.

    Returns
    -------
    Price

    Raises
    ------
    ScenarioError
        If it is not an amount of zero or more with a currency behind it.

    Examples
    --------
    >>> print(read_price("1.2 EUR"))
    1.20 EUR
    """
    found = _WRITTEN.fullmatch(text.strip())
    if found is None:
        raise ScenarioError(
            f'price = "{text}" cannot be read; write amount and currency, for example price = "1.20 EUR"'
        )
    return Price(amount=float(found.group(1)), currency=found.group(2))
