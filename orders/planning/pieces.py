"""The opened pieces of a plan: the tags behind them, and the names on their trees."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from cutsheets.solids import OpenedPiece
from cutsheets.steps import opened_piece
from orders.models import CuttingRun


def opened_pieces(run: CuttingRun) -> list[OpenedPiece]:
    """Return the blocks and remnants of a plan with their leaves and numbered cuts, under the tags of the rack."""
    pieces = zip(tags_of(run), run.plan["pieces"], strict=True)
    return [replace(opened_piece(run.instance, planned), source=tag) for tag, planned in pieces]


def tags_of(run: CuttingRun) -> list[str]:
    """Return the tag behind every opened piece of a plan, the oldest blocks of a size first."""
    waiting = {name: iter(tags) for name, tags in run.figures["tags"].items()}
    found = []
    for piece in run.plan["pieces"]:
        kind, name = piece["source"].split(":", 1)
        found.append(name if kind == "remnant" else next(waiting[name.rsplit("#", 1)[0]]))
    return found


def leaves_named(tree: Mapping[str, Any], kind: str) -> Iterator[str]:
    """Yield the name of every leaf of a kind (“blank”, “remnant”) in a tree, low parts first.

    A row of blanks is as deep as it is long, so trees are walked without recursion.
    """
    waiting = [tree]
    while waiting:
        node = waiting.pop()
        if kind in node:
            yield node[kind]
        waiting += [node[side] for side in ("hi", "lo") if node.get(side)]


def renamed(tree: Mapping[str, Any], kind: str, names: Mapping[str, str]) -> dict[str, Any]:
    """Return the tree with other names for its leaves of a kind."""
    copy = dict(tree)
    waiting = [copy]
    while waiting:
        node = waiting.pop()
        if kind in node:
            node[kind] = names[node[kind]]
        for side in ("lo", "hi"):
            if node.get(side):
                node[side] = dict(node[side])
                waiting.append(node[side])
    return copy
