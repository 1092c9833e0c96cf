"""The words of an order, what may be done under each, and who may: derived from counts, never stored.

    cancelled   the office gave it up                 draft       no sheet yet
    on hold     waiting, with a reason                released    a sheet is out, nothing is sawn
    done        nothing is left at any operation      in work     something is sawn

The first that holds, in this order: cancelled, on hold, draft, done, in work, released. A count belongs to an
operation: the saw counts blanks; the wire, the coat and the packing count pieces, where an order has them. What is
ruined after the saw is due once more there; what was ordered stays as it is.

>>> counts = Counts(saw=Count(due=8, done=3), cut=Count(due=8, done=0))
>>> word("released", held=False, counts=counts)
'in work'
>>> sorted(allowed("in work", "floor"))
['coat', 'coat-miscut', 'cut', 'cut-miscut', 'pack', 'pack-miscut', 'pause', 'saw', 'saw-miscut', 'start', 'undo']
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, get_args

Word = Literal["draft", "released", "in work", "done", "on hold", "cancelled"]
Operation = Literal["saw", "cut", "coat", "pack"]
Action = Literal[
    "edit", "release", "hold", "resume", "cancel", "plan", "print", "saw", "cut", "coat", "pack",
    "saw-miscut", "cut-miscut", "coat-miscut", "pack-miscut", "undo", "start", "pause",
]  # fmt: skip

WORDS: tuple[Word, ...] = ("draft", "released", "in work", "done", "on hold", "cancelled")

COUNTS: tuple[Action, ...] = (
    "saw", "cut", "coat", "pack", "saw-miscut", "cut-miscut", "coat-miscut", "pack-miscut",
)  # fmt: skip
_LIVE: tuple[Action, ...] = ("edit", "hold", "cancel", "plan", "print", *COUNTS, "undo", "start", "pause")

_UNDER: dict[Word, tuple[Action, ...]] = {
    "draft": ("edit", "release", "cancel"),
    "released": _LIVE,
    "in work": _LIVE,
    "done": ("edit", "print", "undo"),
    "on hold": ("edit", "resume", "cancel", "undo"),
    "cancelled": (),
}
_DESK = frozenset({"office", "manager", "admin"})
_STATION = frozenset({"floor", "manager", "admin"})
_MANAGER = frozenset({"manager", "admin"})
_WHO: dict[Action, frozenset[str]] = {
    **dict.fromkeys(("edit", "release", "hold", "resume", "cancel", "print"), _DESK),
    **dict.fromkeys((*COUNTS, "undo", "start", "pause"), _STATION),
    "plan": _MANAGER,
}


@dataclass(frozen=True, slots=True)
class Count:
    """How many of one operation are due and done, and how many were ruined at it."""

    due: int
    done: int
    miscut: int = 0

    @property
    def left(self) -> int:
        """Return how many are still to do."""
        return max(self.due - self.done, 0)


NONE = Count(0, 0)


@dataclass(frozen=True, slots=True)
class Counts:
    """The counts of a line or of an order, one a operation; nothing is due at an operation that it does not have."""

    saw: Count = NONE
    cut: Count = NONE
    coat: Count = NONE
    pack: Count = NONE

    def __add__(self, other: Counts) -> Counts:
        return Counts(*map(_sum, self.all, other.all))

    @property
    def all(self) -> tuple[Count, ...]:
        """Return the counts in the order of the operations."""
        return self.saw, self.cut, self.coat, self.pack

    @property
    def started(self) -> bool:
        """Return whether anything was counted or ruined."""
        return any(count.done or count.miscut for count in self.all)

    @property
    def finished(self) -> bool:
        """Return whether something was due and all of it is done."""
        return bool(self.saw.due) and not any(count.left for count in self.all)


NOTHING = Counts()


def used(counts: Iterable[Counts]) -> list[Operation]:
    """Return the operations to be shown of these: saw and wire always, coat and packing where one of them has it.

    >>> used([Counts(saw=Count(8, 0), pack=Count(8, 3)), NOTHING])
    ['saw', 'cut', 'pack']
    """
    in_all = sum(counts, NOTHING)
    operations = zip(get_args(Operation), in_all.all, strict=True)
    return [operation for operation, count in operations if count.due or operation in ("saw", "cut")]


def word(state: str, *, held: bool, counts: Counts) -> Word:
    """Return the word of an order from its state (draft, released, cancelled), its hold and its counts."""
    if state == "cancelled":
        return "cancelled"
    if held:
        return "on hold"
    if state == "draft":
        return "draft"
    if counts.finished:
        return "done"
    return "in work" if counts.started else "released"


def allowed(of: Word, role: str) -> frozenset[Action]:
    """Return what a person of this role may do to an order with this word."""
    return frozenset(action for action in _UNDER[of] if role in _WHO[action])


def possible(of: Word) -> frozenset[Action]:
    """Return what anybody may do to an order with this word."""
    return frozenset(_UNDER[of])


def _sum(one: Count, other: Count) -> Count:
    return Count(one.due + other.due, one.done + other.done, one.miscut + other.miscut)
