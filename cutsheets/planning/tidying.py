"""Tidying a layout: free foam beside free foam comes off in one cut, so one large remnant stays where small ones were.

A fill frees its groups one by one, which parts what is free above one group from what is free above the next. Where a
box is free right across its far end, that end may come off first; and of parts in a row, those with free ends may be
gathered to lose them together. Blanks only change places.

A layout is looked at as a row: parts side by side along the axis of its first cut. A row may be longer than calls can
be nested, so nothing here calls itself along a row, only for the parts in it.
"""

from __future__ import annotations

from collections.abc import Iterator

from cutsheets.planning.layout import FREE, Job, Layout, joined, walk
from cutsheets.solids import Triple
from cutsheets.stock import is_useful, resized

CENT = 0.01
Slice = tuple[int, Layout | None]  # how long it is along its row, and what is in it; None: nothing is left of it


def tidied(job: Job, layout: Layout, box: Triple) -> Layout:
    """Return the layout of a box with free ends cut off first wherever that is cheaper, from the whole box down.

    It is the same one where nothing is to be gained, in O(cuts × depth). The saw's limits are not asked: see
    `Job.keeps`.
    """
    if layout[0] != "cut" or not _is_useful(job, box):
        return layout
    others = list(_others(job, layout, box))
    least = _handling(job, layout, box) if others else 0.0
    while others:
        cost, number = min((_handling(job, other, box), number) for number, other in enumerate(others))
        if cost > least - CENT:
            break
        least, layout = cost, others[number]
        others = list(_others(job, layout, box))
    return _tidied_within(job, layout, box)


def free_end(layout: Layout, axis: int, box: Triple) -> int:
    """Return how long a box is free at its far end along an axis, right across. O(cuts)."""
    if layout[0] != "cut":
        return box[axis] if layout == FREE else 0
    row = layout[1]
    parts = _parts(layout, row, box[row])
    if row != axis:
        least = box[axis]
        for side, node in parts:
            if least and node is not None:
                least = min(least, free_end(node, axis, resized(box, row, side)))
        return least
    end = 0
    for side, node in reversed(parts):
        if node != FREE:
            return end + (0 if node is None else free_end(node, axis, resized(box, row, side)))
        end += side
    return end


def _tidied_within(job: Job, layout: Layout, box: Triple) -> Layout:
    """Return a row with each of its parts tidied."""
    if layout[0] != "cut":
        return layout
    row = layout[1]
    parts = _parts(layout, row, box[row])
    new = [None if node is None else tidied(job, node, resized(box, row, side)) for side, node in parts]
    if all(node is old for node, (_, old) in zip(new, parts, strict=True)):
        return layout
    return _in_row(job, [(side, node) for node, (side, _) in zip(new, parts, strict=True)], row)


def _is_useful(job: Job, box: Triple) -> bool:
    return is_useful(job.foam(box), job.instance["min_remnant"])


def _handling(job: Job, layout: Layout, box: Triple) -> float:
    return job.handling(*job.figures(layout, box))


def _others(job: Job, layout: Layout, box: Triple) -> Iterator[Layout]:
    """Yield the layout with a useful free end cut off first: of the whole box, or of some parts in its row."""
    if layout[0] != "cut":
        return
    _, row, at, _, hi = layout
    found = []
    end = free_end(layout, row, box)
    if (hi != FREE or at != box[row] - end) and _is_useful(job, resized(box, row, end)):
        found.append(_end_first(job, layout, row, end, box))
    parts = _parts(layout, row, box[row])
    for axis in range(3):
        if axis != row:
            found += _gathered(job, parts, row, axis, box)
    yield from (other for other in found if _is_allowed(job, other, box))


def _gathered(job: Job, parts: list[Slice], row: int, axis: int, box: Triple) -> Iterator[Layout]:
    """Yield a row with those of its parts gathered, two at least, that lose so much of their end along another axis."""
    ends = [box[axis] if node is None else free_end(node, axis, resized(box, row, side)) for side, node in parts]
    for end in sorted({end for end in ends if end and _is_useful(job, resized(box, axis, end))}):
        with_end = [part for part, free in zip(parts, ends, strict=True) if free >= end]
        if len(with_end) > 1:
            room = resized(box, row, sum(side for side, _ in with_end))
            freed = _end_first(job, _in_row(job, with_end, row), axis, end, room)
            others = [part for part, free in zip(parts, ends, strict=True) if free < end]
            yield _in_row(job, [(room[row], freed), *others], row)


def _end_first(job: Job, layout: Layout, axis: int, end: int, box: Triple) -> Layout:
    """Return a layout whose free end comes off with the first cut."""
    at = box[axis] - end
    return FREE if at == 0 else joined(axis, at, _short(job, layout, axis, at, box), FREE)


def _short(job: Job, layout: Layout, axis: int, at: int, box: Triple) -> Layout:
    """Return the layout of the part of a box below a place beyond which all is free."""
    if layout[0] != "cut" or box[axis] <= at:
        return layout
    row, short, done = layout[1], [], 0
    for side, node in _parts(layout, row, box[row]):
        rest = at - done if row == axis else at
        if rest > 0:
            kept = None if node is None or rest <= job.kerf else _short(job, node, axis, rest, resized(box, row, side))
            short.append((min(side, rest) if row == axis else side, kept))
        done += side
    return _in_row(job, short, row)


def _parts(layout: Layout, axis: int, side: int) -> list[Slice]:
    """Return the parts in a row along an axis, which cuts across it part from each other."""
    found: list[Slice] = []
    todo: list[Slice] = [(side, layout)]
    while todo:
        side, node = todo.pop()
        if node is not None and node[0] == "cut" and node[1] == axis:
            _, _, at, lo, hi = node
            todo += [(side - at, hi), (at, lo)]
        elif side:
            found.append((side, node))
    return found


def _in_row(job: Job, parts: list[Slice], axis: int) -> Layout:
    """Return parts in a row as one layout, what is free of them in one piece at the far end."""
    length = sum(side for side, node in parts if node is None or node == FREE)
    row: Layout | None = FREE if length > job.kerf else None
    for side, node in reversed(parts):
        if node is not None and node != FREE:
            row = ("cut", axis, side, node, row) if length else node
            length += side
    return row or FREE


def _is_allowed(job: Job, layout: Layout, box: Triple) -> bool:
    """Return whether no kerf hangs half in the air unless it may."""
    cuts = [(node, room) for node, room in walk(layout, box) if node[0] == "cut"] if not job.shave else []
    return all(job.fits(node[2], room[node[1]]) for node, room in cuts)
