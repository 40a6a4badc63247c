r"""Attributes of the Gerber X2/X3 format: of the file (TF), apertures (TA), objects (TO), and their deletion (TD).

Ucamco, *The Gerber Layer Format Specification*, revision 2024.05, section 5 (from memory): names begin with a dot if
they are standard, fields are separated by commas, ``\uXXXX`` stands for a character that could not be written. Before
X2 the same commands were written as comments that begin with ``#@!``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

Fields = tuple[str, ...]

COMMENTED = "#@!"
"""Begins a comment that holds an attribute."""

NO_NET = frozenset({"", "N/C"})
"""Net names that say that there is no net: of an object that belongs to none, of a pad that is not connected."""

_ESCAPE = re.compile(r"\\u([0-9A-Fa-f]{4})|\\U([0-9A-Fa-f]{8})")
_COMMAND = re.compile(r"(T[FAOD])(.*)", re.DOTALL)


def decoded(text: str) -> str:
    r"""Text of an attribute's field with its escapes replaced.

    ``{slash}`` is not part of the format; some board editors write it for a slash inside a name (common practice).

    Examples
    --------
    >>> decoded("SW\\u002A"), decoded("/Fan{slash}Pump")
    ('SW*', '/Fan/Pump')
    """
    return _ESCAPE.sub(lambda found: chr(int(found[1] or found[2], 16)), text).replace("{slash}", "/")


def read_fields(text: str) -> tuple[str, Fields]:
    """Name of an attribute and its fields, from what follows TF, TA or TO."""
    name, *values = text.split(",")
    return name.strip(), tuple(decoded(value.strip()) for value in values)


@dataclass(frozen=True, slots=True, kw_only=True)
class ObjectAttributes:
    """What the file says about one piece of copper.

    Parameters
    ----------
    net : str
        Name of its net; empty if it has none.
    reference, pin, function : str
        Part, its pin and what the pin does, for instance ``U1``, ``3``, ``VIN``; empty unless it is a pad.
    aperture : str
        What the shape is for, for instance ``ViaPad`` or ``Conductor``.
    """

    net: str = ""
    reference: str = ""
    pin: str = ""
    function: str = ""
    aperture: str = ""


@dataclass(slots=True, kw_only=True)
class AttributeDictionaries:
    """The attributes in force while a file is read."""

    file: dict[str, Fields] = field(default_factory=dict)
    aperture: dict[str, Fields] = field(default_factory=dict)
    object: dict[str, Fields] = field(default_factory=dict)

    def obey(self, command: str) -> bool:
        """Follow a TF, TA, TO or TD command; False if it is none."""
        found = _COMMAND.match(command)
        if not found:
            return False
        kind, text = found.groups()
        if kind == "TD":
            self._delete(text.strip())
            return True
        name, values = read_fields(text)
        {"TF": self.file, "TA": self.aperture, "TO": self.object}[kind][name] = values
        return True

    def _delete(self, name: str) -> None:
        for dictionary in (self.aperture, self.object):
            if name:
                dictionary.pop(name, None)
            else:
                dictionary.clear()

    def attributes(self, aperture: dict[str, Fields]) -> ObjectAttributes:
        """Attributes of an object made with an aperture that was defined under `aperture` attributes."""
        reference, pin, function = (*self.object.get(".P", ()), "", "", "")[:3]
        nets = [net for net in self.object.get(".N", ()) if net not in NO_NET]
        return ObjectAttributes(
            net=nets[0] if nets else "",
            reference=reference or (*self.object.get(".C", ()), "")[0],
            pin=pin,
            function=function,
            aperture=(*aperture.get(".AperFunction", ()), "")[0],
        )
