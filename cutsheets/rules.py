"""What the shop allows: kerfs, skim, trim, steps, sticks, wire feed. Every figure is a setting (common practice)."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from cutsheets.records import items, record
from cutsheets.solids import Box
from cutsheets.units import Unit, read_length, to_unit

KEYS = ("kerf", "skim", "end_trim", "blank_step", "longest_stick", "shortest_piece", "block")


@dataclass(frozen=True, slots=True)
class Rules:
    """The shop's figures, millimetres; `kerf` is the saw's, `wire_kerf` the wire's.

    `feed` is the wire's in mm a minute, `entry` minutes for one way in or out, `handling` minutes for putting one part
    on the machine and taking it off. `wire_over` is how much longer a wire must be than the blank it goes through;
    `longest_across` the longest blank that passes under the wire crosswise, as letters and arches do.

    `skim_wall` is left on the wall side of a blank, `skim_other` on its three other long faces. `blank_step` 0 rounds
    no blank. `block` is the usable size of a block, where one is known: it serves the bound, and is no limit here.
    """

    kerf: float = 1.5875  # 1/16 in
    skim_wall: float = 6.35  # 1/4 in
    skim_other: float = 6.35
    end_trim: float = 12.7  # 1/2 in
    blank_step: float = 0.0
    longest_stick: float = 2438.4  # 96 in
    shortest_piece: float = 609.6  # 24 in
    block: Box | None = None
    feed: float = 508.0  # 20 in
    entry: float = 0.5
    handling: float = 0.0
    wire_kerf: float = 1.5875  # 1/16 in
    wire_over: float = 101.6  # 4 in: an 8 ft block, and a 16 ft block likewise
    longest_across: float = math.inf


def read_rules(raw: object, base: Rules, unit: Unit, where: str) -> Rules:
    """Return `base` with the keys of a file's `shop` or of a line's `allow` set anew; raises CutsheetError."""
    given = record(raw, where, optional=KEYS)
    changes: dict[str, Any] = {}
    for name in ("kerf", "end_trim", "blank_step", "shortest_piece"):
        if name in given:
            changes[name] = float(read_length(given[name], unit, f"{where}.{name}"))
    if "longest_stick" in given:
        changes["longest_stick"] = float(
            read_length(given["longest_stick"], unit, f"{where}.longest_stick", zero_ok=False)
        )
    if "skim" in given:
        changes |= _skim(given["skim"], unit, f"{where}.skim")
    if given.get("block") is not None:
        sides = items(given["block"], f"{where}.block", least=3, most=3)
        sizes = (read_length(side, unit, f"{where}.block[{i}]", zero_ok=False) for i, side in enumerate(sides))
        changes["block"] = Box(*map(float, sizes))
    return replace(base, **changes)


def write_rules(rules: Rules, unit: Unit) -> dict[str, Any]:
    """Return the rules as `shop` and `allow` have them in a file."""
    wall, other = to_unit(rules.skim_wall, unit), to_unit(rules.skim_other, unit)
    written: dict[str, Any] = {
        name: to_unit(getattr(rules, name), unit)
        for name in ("kerf", "end_trim", "blank_step", "longest_stick", "shortest_piece")
    }
    written["skim"] = wall if wall == other else {"wall": wall, "other": other}
    if rules.block:
        written["block"] = [to_unit(side, unit) for side in (rules.block.l, rules.block.w, rules.block.h)]
    return written


def _skim(raw: object, unit: Unit, where: str) -> dict[str, float]:
    if not isinstance(raw, Mapping):
        skim = float(read_length(raw, unit, where))  # type: ignore[arg-type]  # refuses whatever is no number or text
        return {"skim_wall": skim, "skim_other": skim}
    given = record(raw, where, optional=("wall", "other"))
    return {f"skim_{side}": float(read_length(given[side], unit, f"{where}.{side}")) for side in given}
