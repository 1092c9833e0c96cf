"""The plan's tree of an opened piece: every cut where the saw hand makes it, in lengths of foam."""

from __future__ import annotations

from collections.abc import Iterator

from cutsheets.planning.layout import Job, Opened
from cutsheets.planning.trims import Cuts
from cutsheets.stock import AXES, CutNode, Node


def tree(job: Job, piece: Opened, tags: Iterator[str]) -> Node:
    """Return the plan's tree of an opened piece; kept remnants take their tags."""
    cuts = job.in_full(piece.source, piece.layout)
    assert cuts is not None  # noqa: S101 - only pieces within the limits are opened
    return _node(job, cuts, tags)


def _node(job: Job, cuts: Cuts, tags: Iterator[str]) -> Node:
    if cuts[0] == "blank":
        return {"blank": job.instance["blanks"][cuts[1]]["id"], "rot": cuts[2]}
    if cuts[0] in ("kept", "waste"):
        return {"remnant": next(tags)} if cuts[0] == "kept" else {"waste": True}
    if cuts[0] == "trim":
        _, axis, at, inside, skin = cuts
        return {"axis": AXES[axis], "at": at, "lo": _node(job, inside, tags), "hi": {"waste": True} if skin else None}
    row: list[tuple[int, int, Node]] = []  # a row may be longer than calls can be nested
    rest: Cuts | None = cuts
    while rest is not None and rest[0] == "cut":
        _, axis, at, lo, rest = rest
        row.append((axis, at, _node(job, lo, tags)))
    node = None if rest is None else _node(job, rest, tags)
    for axis, at, low in reversed(row):
        node = _peeled({"axis": AXES[axis], "at": at, "lo": low, "hi": node}, job.kerf)
    assert node is not None  # noqa: S101 - a cut was made of it
    return node


def _peeled(node: CutNode, kerf: int) -> CutNode:
    """Return the same cuts in normal form: what a cut takes off is never cut again along the same axis.

    The setting of every cut is then the size of one thing, measured from the face the saw hand has against the fence.
    """
    row: list[tuple[int, Node]] = []
    low = node["lo"]
    while "axis" in low and low["axis"] == node["axis"] and low["hi"] is not None:
        row.append((low["at"], low["lo"]))
        node = {"axis": node["axis"], "at": node["at"] - low["at"] - kerf, "lo": low["hi"], "hi": node["hi"]}
        low = low["hi"]
    for at, first in reversed(row):
        node = {"axis": node["axis"], "at": at, "lo": first, "hi": node}
    return node
