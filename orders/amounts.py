"""How much of a line is ordered, in the words of the trade: walls and corners, columns, letters, pairs of wings."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from cutsheets.errors import CutsheetError
from cutsheets.units import read_count, read_length, say_feet
from orders.models import Line

Spec = dict[str, Any]


def amount(line: Line) -> str:
    """Return in words how much of a line is ordered."""
    words = WORDS.get(line.kind)
    return words(line.spec, line.qty) if words else _moulding(line.spec, line.qty, line.order.unit)


def _moulding(spec: Spec, qty: int, unit: str) -> str:
    said = []
    if runs := spec.get("runs"):
        corners = sum(isinstance(run[side], dict) for run in runs for side in ("left", "right"))
        said.append(f"{_walls(runs, unit)} wall" + (f", {_many(corners, 'corner')}" if corners else ""))
    for frame in spec.get("frames", ()):
        said.append(f"{_counted(frame, 'opening')} {_typed(frame['width'])} × {_typed(frame['height'])}")
    said += [f"{_counted(piece, 'piece')} {_typed(piece['length'])} long" for piece in spec.get("pieces", ())]
    if qty > 1:
        said.append(f"{qty} times")
    return "; ".join(said)


def _column(spec: Spec, qty: int) -> str:
    made = (
        f"{_dig(spec, 'regular', 'sides')} staves"
        if "staves" in spec
        else _many(read_count(spec.get("shells", 1)), "shell")
    )
    return f"{_many(qty, 'column')} {_typed(spec.get('height', ''))} high in {made}"


def _taper(spec: Spec, qty: int) -> str:
    return f"{_many(qty, 'taper')} {_typed(spec.get('length', ''))} long"


def _turned(spec: Spec, qty: int) -> str:
    return _many(qty, "turned part")


def _twisted(spec: Spec, qty: int) -> str:
    hand, long = spec.get("hand", "right"), _typed(spec.get("length", ""))
    if hand == "pair":
        return f"{_many(qty, 'pair')} of twisted parts {long} long"
    return f"{_many(qty, 'twisted part')} {long} long, {hand} hand"


def _arch(spec: Spec, qty: int) -> str:
    if "span" in spec:
        opening = f"span {_typed(spec['span'])}, rise {_typed(spec.get('rise', ''))}"
    else:
        opening = f"inside radius {_typed(spec.get('inside_radius', ''))}, {spec.get('sweep', '')}°"
    return f"{_many(qty, 'arch', 'arches')}, {opening}"


def _cutout(spec: Spec, qty: int) -> str:
    times = f", {qty} times" if qty > 1 else ""
    if text := spec.get("text"):
        letters = sum(not sign.isspace() for sign in str(text))
        return f"{_many(letters, 'letter')} {text}{times}"
    if "outlines" in spec:
        return _many(sum(read_count(outline.get("qty", 1)) for outline in spec["outlines"]), "shape") + times
    return _many(qty, "set")


def _mould(spec: Spec, qty: int) -> str:
    made = " in two halves" if read_count(spec.get("halves", 2)) == 2 else " in one piece"
    return f"{_many(qty, 'mould')}{made}, opening {' × '.join(map(_typed, spec.get('cavity', ())[:2]))}"


def _wing(spec: Spec, qty: int) -> str:
    hands = spec.get("hands", ["left", "right"])
    what = _many(qty, "pair") + " of wing cores" if len(hands) == 2 else _many(qty, f"{hands[0]} wing core")
    return f"{what}, span {_typed(spec.get('span', ''))}"


def _panel(spec: Spec, qty: int) -> str:
    return _many(qty, "piece")


WORDS: dict[str, Callable[[Spec, int], str]] = {
    "column": _column, "taper": _taper, "turned": _turned, "twisted": _twisted, "arch": _arch, "cutout": _cutout,
    "mould": _mould, "wing": _wing, "panel": _panel,
}  # fmt: skip


def _walls(runs: list[dict], unit: str) -> str:
    try:
        walls = sum(read_length(run["wall"], unit) * read_count(run.get("qty", 1)) for run in runs)
    except CutsheetError:
        return ""
    return say_feet(walls).replace("'", "′").replace('"', "″") if unit == "in" else f"{walls / 1000:.2f} m"


def _typed(length: str | float) -> str:
    """Return a length as it was typed, in one line: `3' 2` broken in two reads as 3 ft."""
    return str(length).replace(" ", "\N{NO-BREAK SPACE}")


def _many(count: Any, one: str, more: str = "") -> str:
    return f"{count} {one}" if count == 1 else f"{count} {more or f'{one}s'}"


def _counted(entry: Spec, word: str) -> str:
    return _many(read_count(entry.get("qty", 1)), word)


def _dig(spec: Spec, *names: str) -> Any:
    """Return what stands under these names, or nothing."""
    for name in names:
        spec = spec.get(name, "") if isinstance(spec, dict) else ""
    return spec
