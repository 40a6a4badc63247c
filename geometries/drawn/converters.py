"""Find a board's converters in its parts: what switches, on which nets, with which inductor.

Three kinds: a part with a pin for the switch node that an inductor is on, together with pins for supply and ground; two
transistors, source of one on the drain of the other; a transistor and a diode. The names of pin functions are common
practice.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from geometries.drawn.parts import Part
from geometries.fabrication.board import Pad

_TAIL = r"(?:_?\d+)?"
SWITCH = re.compile(rf"(?:SW|LX|PH|PHASE|VSW|SWITCH|SWNODE|HS){_TAIL}", re.IGNORECASE)
SUPPLY = re.compile(rf"(?:P|A|V)?(?:VIN|IN|INPUT|VBAT|VBUS|VSUP|VS|VM|VDD|VCC|SUP){_TAIL}", re.IGNORECASE)
OUTPUT = re.compile(rf"(?:P?VOUT|OUT|VO){_TAIL}", re.IGNORECASE)
GROUND = re.compile(rf"(?:P|A|D|S|C)?(?:GND|VSS|EP|EPAD|PAD){_TAIL}", re.IGNORECASE)
BOOT = re.compile(rf"C?(?:BOOT|BST|BTST|BS|HB|VB){_TAIL}", re.IGNORECASE)
FEEDBACK = re.compile(rf"(?:V?FB|FBK|ADJ|VSENSE|VOS|SENSE){_TAIL}", re.IGNORECASE)
_DRAIN, _SOURCE = re.compile(rf"D{_TAIL}", re.IGNORECASE), re.compile(rf"S{_TAIL}", re.IGNORECASE)
_ANODE, _CATHODE = re.compile(rf"A{_TAIL}", re.IGNORECASE), re.compile(rf"(?:K|C){_TAIL}", re.IGNORECASE)
_GROUND_NET = re.compile(r"(?:.*/)?(?:[PADS]?GND[A-Z0-9_]*|VSS|0V)", re.IGNORECASE)


class ConverterKind(StrEnum):
    """How it is built."""

    INTEGRATED_DOWN = "integrated, step-down"
    INTEGRATED_UP = "integrated, step-up"
    HALF_BRIDGE = "half bridge"
    TRANSISTOR_DIODE = "transistor and diode"


@dataclass(frozen=True, slots=True, kw_only=True)
class Converter:
    """What switches, and the nets of its commutation loop.

    Parameters
    ----------
    kind : ConverterKind
        How it is built.
    switches : tuple of str
        References of the parts that carry the switched current: one, or the upper and the lower.
    switch_net : str
        The switch node.
    supply_net, ground_net : str
        The two nets between which the capacitor closes the loop.
    inductors : tuple of str
        On the switch node.
    controller : str
        Part whose pin functions say what boot and feedback are; empty if there is none.
    """

    kind: ConverterKind
    switches: tuple[str, ...]
    switch_net: str
    supply_net: str
    ground_net: str
    inductors: tuple[str, ...]
    controller: str

    @property
    def name(self) -> str:
        """Its switches' references."""
        return "/".join(self.switches)


def power_pads(parts: Mapping[str, Part], converter: Converter, net: str) -> tuple[Pad, ...]:
    """Pads through which the switches' current enters or leaves a net.

    A pin whose function says that it is for power wins over others on the same net, an enable pin for instance.
    """
    pads = [pad for name in converter.switches for pad in parts[name].on(net)]
    power = [pad for pad in pads if any(words.fullmatch(pad.function) for words in (SUPPLY, OUTPUT, GROUND))]
    return tuple(power or pads)


def find_converters(parts: Mapping[str, Part]) -> tuple[Converter, ...]:
    """Every converter with an inductor on its switch node, in the order of its references."""
    discrete = [*_half_bridges(parts), *_with_diode(parts)]
    taken = {found.switch_net for found in discrete}
    integrated = [found for found in _integrated(parts) if found.switch_net not in taken]
    return (*integrated, *discrete)


def inductors_on(parts: Mapping[str, Part], net: str) -> tuple[str, ...]:
    """References of the inductors on a net."""
    return tuple(part.reference for part in parts.values() if part.letters == "L" and net in part.nets)


def is_ground(net: str) -> bool:
    """Whether a net's name says that it is ground (common practice)."""
    return bool(_GROUND_NET.fullmatch(net))


def _integrated(parts: Mapping[str, Part]) -> Iterator[Converter]:
    for part in parts.values():
        grounds = part.function_nets(GROUND)
        for switch_net in part.function_nets(SWITCH):
            inductors = inductors_on(parts, switch_net)
            supplies = [net for net in part.function_nets(SUPPLY) if net not in {switch_net, *grounds}]
            if inductors and supplies and grounds and part.letters not in {"L", "C", "R", "D"}:
                yield _around(part, parts, switch_net, (supplies[0], grounds[0]), inductors)


def _around(
    part: Part, parts: Mapping[str, Part], switch_net: str, rails: tuple[str, str], inductors: tuple[str, ...]
) -> Converter:
    """Step-up if the inductor comes from the supply: then the output is what the current commutates to."""
    supply, ground = rails
    outputs = part.function_nets(OUTPUT)
    up = bool(outputs) and any(parts[name].other(switch_net) == supply for name in inductors)
    return Converter(
        kind=ConverterKind.INTEGRATED_UP if up else ConverterKind.INTEGRATED_DOWN,
        switches=(part.reference,),
        switch_net=switch_net,
        supply_net=outputs[0] if up else supply,
        ground_net=ground,
        inductors=inductors,
        controller=part.reference,
    )


def _half_bridges(parts: Mapping[str, Part]) -> Iterator[Converter]:
    transistors = [part for part in parts.values() if part.function_nets(_DRAIN) and part.function_nets(_SOURCE)]
    for upper in transistors:
        for lower in transistors:
            net = upper.function_nets(_SOURCE)[0]
            if upper is not lower and net == lower.function_nets(_DRAIN)[0] and inductors_on(parts, net):
                rails = upper.function_nets(_DRAIN)[0], lower.function_nets(_SOURCE)[0]
                yield _discrete(ConverterKind.HALF_BRIDGE, (upper, lower), parts, net, rails)


def _with_diode(parts: Mapping[str, Part]) -> Iterator[Converter]:
    transistors = [part for part in parts.values() if part.function_nets(_DRAIN) and part.function_nets(_SOURCE)]
    diodes = [part for part in parts.values() if part.function_nets(_ANODE) and part.function_nets(_CATHODE)]
    for transistor in transistors:
        drain, source = transistor.function_nets(_DRAIN)[0], transistor.function_nets(_SOURCE)[0]
        for diode in diodes:
            anode, cathode = diode.function_nets(_ANODE)[0], diode.function_nets(_CATHODE)[0]
            if source == cathode and is_ground(anode) and inductors_on(parts, source):
                yield _discrete(ConverterKind.TRANSISTOR_DIODE, (transistor, diode), parts, source, (drain, anode))
            if drain == anode and is_ground(source) and inductors_on(parts, drain):
                yield _discrete(ConverterKind.TRANSISTOR_DIODE, (diode, transistor), parts, drain, (cathode, source))


def _discrete(
    kind: ConverterKind, pair: tuple[Part, Part], parts: Mapping[str, Part], net: str, rails: tuple[str, str]
) -> Converter:
    controllers = [part.reference for part in parts.values() if net in part.function_nets(SWITCH) and part not in pair]
    return Converter(
        kind=kind,
        switches=(pair[0].reference, pair[1].reference),
        switch_net=net,
        supply_net=rails[0],
        ground_net=rails[1],
        inductors=inductors_on(parts, net),
        controller=controllers[0] if controllers else "",
    )
