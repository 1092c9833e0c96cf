"""The search for a better nest: several engines, each for what it does best, and every answer checked.

A nest is better that leaves out less, else that costs less, else whose last face is emptier, else that uses a shorter
strip of it.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import count
from random import Random
from typing import Any

from shapely.geometry import Polygon

from cutsheets.engines.children import Stop, answers
from cutsheets.nesting.boxes import rows
from cutsheets.nesting.check import NestVerdict, check_nest
from cutsheets.nesting.faces import Nest, NestInstance, NestStock, OpenedFace, Placement
from cutsheets.nesting.one_kind import kind_by_kind
from cutsheets.nesting.pieces import Laid, Part, Piece, make_pieces, spread
from cutsheets.nesting.settle import settled
from cutsheets.nesting.strips import Asked, shorter

# Shares of the time at whose end an engine is ended.
WHOLE = 0.5
FACES = 0.6
FULLEST = 0.5  # where all parts are of one kind
FEW = 10  # kinds of parts; of more the library has no whole nest for a long time
LAST = 0.7  # from here on only the last face is shortened
LATTICE = 2.0  # seconds that must be left for a lattice: it takes one
KINDS = 3  # of parts, each on faces of its own, where the library says nothing; more would take too long
LONGEST_ENGINE = 25.0  # seconds: what packingsolver does not find by then it does not find
TRY, TRY_SHARE = 1.0, 0.06  # seconds to lay one face anew, at least, and as a share of the time
FULL = 0.9  # of a face is more than any nest of odd outlines fills
MANY = 40  # parts on the last face: of so many spyrrow is slow
FIRST_OF_MANY, FIRST_OF_FEW = 0.85, 0.25  # of the time for the last face is packingsolver's
SLACK = 2e-7  # of the file's unit: what fits exactly shall not fail by the last digit
UNLIMITED = 1000  # faces; the library wants a number


@dataclass(frozen=True, slots=True)
class Found:
    """A checked nest, the verdict on it, and its faces as the engines see them (none: it came from elsewhere)."""

    nest: Nest
    verdict: NestVerdict
    left: Counter[str]
    worth: tuple[float, float, float, float]
    faces: tuple[Laid, ...] = ()


@dataclass(slots=True)
class Search:
    """The best nest so far, and the ways to a better one. `heard` is called with each better one."""

    instance: NestInstance
    seed: int
    stop: Stop
    heard: Callable[[Found], None]
    in_counters: bool
    began: float
    plain: Found = field(init=False)
    best: Found = field(init=False)
    pieces: tuple[Piece, ...] = field(init=False)
    refused: int = 0  # answers of an engine that the checker found wrong and that could not be mended

    def __post_init__(self) -> None:
        plain = self._checked(rows(self.instance), ())
        if plain is None:
            raise AssertionError("the plain nest is wrong")
        self.plain = self.best = plain
        self.pieces = make_pieces(self.instance, in_counters=self.in_counters)

    def take(self, nest: Nest, faces: Sequence[Laid] = ()) -> bool:
        """Keep a nest that is right and better than the best; return whether it is."""
        found = self._checked(nest, faces)
        if found is None or found.worth >= self.best.worth:
            return False
        self.best = found
        self.heard(found)
        return True

    def improve(self, seconds: float) -> None:
        """Search for so many seconds, counted from the beginning of this search."""
        self.heard(self.best)
        end = self.began + seconds
        if len(self.pieces) == 1:
            self._kind_by_kind(seconds)
            self._fill_faces(seconds)
        until = self._at(seconds, WHOLE)
        answered = len(self.pieces) <= FEW and self._ask("whole", until, until)
        if not answered and 1 < len(self.pieces) <= KINDS:
            self._kind_by_kind(seconds)
        if not answered or len(self.instance.stock) > 1:
            self._ask("faces", self._at(seconds, LAST), self._at(seconds, FACES))
        self._squeeze(self.began + seconds * LAST, max(TRY, TRY_SHARE * seconds))
        self._move_to_cheaper(max(TRY, TRY_SHARE * seconds), end)
        self._shorten(end - time.monotonic())

    def _kind_by_kind(self, seconds: float, known: Mapping[str, Sequence[Part]] | None = None) -> None:
        if self._at(seconds, 1.0) < LATTICE:
            return

        def late() -> bool:
            return self.stop() or self._at(seconds, LAST) < LATTICE / 2

        faces = kind_by_kind(self.instance, self.pieces, late, known)
        self.take(self._nest(faces), faces)

    def _fill_faces(self, seconds: float) -> None:
        """Let packingsolver fill one face of each stock, and lay all parts on faces that are as full."""
        if len(self.best.faces) < 2 or seconds * (LAST - FULLEST) < LATTICE / 2:
            return
        known: dict[str, Sequence[Part]] = {}
        each = self._at(seconds, FULLEST) / len(self.instance.stock)
        for number, stock in enumerate(self.instance.stock):
            most = max((len(face.parts) for face in self.best.faces if face.stock is stock), default=0)
            if not most or each <= 0:
                continue
            job = self._job("fullest")
            job["bins"] = [job["bins"][number]]
            for ((_, parts),) in answers("irregular", job, seconds=each, stop=self.stop):
                if len(parts) > most:
                    known[stock.id] = self._laid(stock, parts).parts
        if known:
            self._kind_by_kind(seconds, known)

    def _at(self, seconds: float, share: float) -> float:
        return self.began + seconds * share - time.monotonic()

    def _ask(self, how: str, seconds: float, longer: float) -> bool:
        """Take the answers of packingsolver for some seconds, `longer` once there is one; return whether there is."""
        most = max(seconds, longer)
        if most <= 0:
            return False
        answered = False
        asked = time.monotonic()

        def enough() -> bool:
            return self.stop() or time.monotonic() - asked > min(longer if answered else seconds, LONGEST_ENGINE)

        for answer in answers("irregular", self._job(how), seconds=most, stop=enough):
            answered = True
            faces = [self._laid(self.instance.stock[number], parts) for number, parts in answer]
            self.take(self._nest(faces), faces)
        return answered

    def _job(self, how: str) -> dict[str, Any]:
        kerf = self.instance.kerf
        return {
            "how": how,
            "seed": self.seed,
            "bins": [
                {"w": w + kerf + SLACK, "h": h + kerf + SLACK, "cost": stock.cost,
                 "copies": UNLIMITED if stock.qty is None else stock.qty}
                for stock in self.instance.stock
                for w, h in [stock.room.inner]
            ],
            "items": [
                {"outer": piece.outer, "area": piece.area, "copies": piece.copies, "turns": piece.turns,
                 "mirror": piece.mirror}
                for piece in self.pieces
            ],
        }  # fmt: skip

    def _laid(self, stock: NestStock, parts: Sequence[Part]) -> Laid:
        """Return the parts where they lie on the face itself: an engine's room begins half a kerf below the margin."""
        off = stock.margin - self.instance.kerf / 2
        return Laid(stock, tuple((piece, turn, side, x + off, y + off) for piece, turn, side, x, y in parts))

    def _nest(self, faces: Sequence[Laid]) -> Nest:
        placements = [
            placement
            for number, face in enumerate(faces)
            for piece, turn, side, x, y in face.parts
            for placement in spread(self.pieces[piece], Placement("", turn, side, x, y, number))
        ]
        return Nest(tuple(OpenedFace(face.stock.id, face.stock.room) for face in faces), tuple(placements))

    def _checked(self, nest: Nest, faces: Sequence[Laid]) -> Found | None:
        """Return a nest with its verdict, its emptiest face last; None where it is wrong and cannot be mended."""
        wanted = Counter({item.id: item.qty for item in self.instance.items})
        wanted.subtract(placement.item for placement in nest.placements)
        items = tuple(replace(item, qty=item.qty - wanted[item.id]) for item in self.instance.items)
        reduced = replace(self.instance, items=items)
        verdict = check_nest(reduced, nest)
        if verdict.close or verdict.outside:
            nest = settled(reduced, nest, verdict)
            verdict = check_nest(reduced, nest)
        if not verdict.ok or min(wanted.values(), default=0) < 0:
            self.refused += 1
            return None
        order = sorted(range(len(nest.faces)), key=lambda number: -verdict.faces[number].share)
        areas = {item.id: Polygon(item.outline.outer).area for item in self.instance.items}
        left = +wanted
        missing = sum(areas[name] * copies for name, copies in left.items())
        verdict.faces = [verdict.faces[number] for number in order]
        last = (round(verdict.faces[-1].share, 9), verdict.faces[-1].x_used) if order else (0.0, 0.0)
        return Found(
            nest=_ordered(nest, order),
            verdict=verdict,
            left=left,
            worth=(missing, verdict.cost, *last),
            faces=tuple(faces[number] for number in order) if faces else (),
        )

    def _squeeze(self, end: float, each: float) -> None:
        """Lay one full face after the other anew together with parts of the last one, until none of them fits."""
        if not self._may_empty_last():
            return
        share: dict[Laid, float] = {}  # of the room that is left on a face: how much is tried
        random = Random(self.seed)  # noqa: S311 - a search, no secret
        for round_ in count():
            if len(self.best.faces) < 2 or self.stop() or time.monotonic() + each > end:
                return
            *full, last = self.best.faces
            open_ = [face for face in full if share.get(face, 0.5) > 0.1]
            if not open_:
                return
            face = min(open_, key=self._fullness)
            tried = share.get(face, 0.5)
            extra = self._extra(face, last, tried, random)
            if not extra:
                share[face] = 0.0
                continue
            parts = [*face.parts, *(last.parts[n] for n in extra)]
            laid = self._fitted(parts, face.stock, each, round_)
            if laid is None:
                share[face] = tried / 2
                continue
            rest = tuple(part for n, part in enumerate(last.parts) if n not in extra)
            faces = [laid if other is face else other for other in full]
            faces += [replace(last, parts=rest)] if rest else []
            self.take(self._nest(faces), faces)
            share[face], share[laid] = 0.0, tried

    def _may_empty_last(self) -> bool:
        """Return whether the other faces might hold what lies on the last one."""
        if len(self.best.faces) < 2:
            return False
        *full, last = self.best.faces
        sizes = {face: face.stock.room.inner for face in self.best.faces}
        free = sum((FULL - self._fullness(face)) * sizes[face][0] * sizes[face][1] for face in full)
        return free >= self._fullness(last) * sizes[last][0] * sizes[last][1]

    def _fullness(self, face: Laid) -> float:
        wide, high = face.stock.room.inner
        return sum(self.pieces[part[0]].area for part in face.parts) / (wide * high)

    def _extra(self, face: Laid, last: Laid, share: float, random: Random) -> set[int]:
        """Return which parts of the last face to try on another: so much as fills a share of what is free there."""
        wide, high = face.stock.room.inner
        room = (FULL - self._fullness(face)) * wide * high * share
        chosen: set[int] = set()
        for n in random.sample(range(len(last.parts)), len(last.parts)):
            area = self.pieces[last.parts[n][0]].area
            if area <= room:
                chosen.add(n)
                room -= area
        return chosen

    def _fitted(self, parts: Sequence[Part], stock: NestStock, seconds: float, seed: int) -> Laid | None:
        """Return the parts laid anew on a face of that stock, or None where that was not found in time."""
        room = stock.room.inner[0] + self.instance.kerf
        asked = Asked(0.0, seconds, seed, self.stop, first=0.0)
        return next((laid for width, laid in self._shorter(parts, stock, asked) if width <= room), None)

    def _move_to_cheaper(self, each: float, end: float) -> None:
        """Lay faces anew on cheaper ones that are on hand, the emptiest first."""
        for face in reversed(self.best.faces):
            used = Counter(other.stock.id for other in self.best.faces)
            area = sum(self.pieces[part[0]].area for part in face.parts)
            for stock in sorted(self.instance.stock, key=lambda stock: stock.cost):
                wide, high = stock.room.inner
                gone = stock.qty is not None and used[stock.id] >= stock.qty
                if gone or stock.cost >= face.stock.cost or wide * high * FULL < area:
                    continue
                if self.stop() or time.monotonic() + each > end:
                    return
                if laid := self._fitted(face.parts, stock, each, self.seed):
                    faces = [laid if other is face else other for other in self.best.faces]
                    self.take(self._nest(faces), faces)
                    break

    def _shorten(self, seconds: float) -> None:
        """Lay the last face anew as a shorter and shorter strip: by packingsolver, then by spyrrow."""
        if not self.best.faces or seconds < TRY or self.stop():
            return
        *full, last = self.best.faces
        first = seconds * (FIRST_OF_MANY if len(last.parts) > MANY else FIRST_OF_FEW)
        copies = Counter(part[0] for part in last.parts)
        numbers = list(copies)
        job = self._job("strip")
        job["bins"] = [{**job["bins"][self.instance.stock.index(last.stock)], "copies": 1}]
        job["items"] = [{**job["items"][number], "copies": copies[number]} for number in numbers]
        for ((_, parts),) in answers("irregular", job, seconds=first, stop=self.stop):
            laid = self._laid(last.stock, [(numbers[part[0]], *part[1:]) for part in parts])
            self.take(self._nest([*full, laid]), [*full, laid])
        asked = Asked(0.0, seconds - first, self.seed, self.stop, first=0.0)
        for width, laid in self._shorter(last.parts, last.stock, asked):
            if width <= last.stock.room.inner[0] + self.instance.kerf:
                self.take(self._nest([*full, laid]), [*full, laid])

    def _shorter(self, parts: Sequence[Part], stock: NestStock, asked: Asked) -> Iterator[tuple[float, Laid]]:
        """Yield shorter and shorter ways to lay parts in a strip as high as a face: the width, and the parts."""
        kinds = Counter((part[0], part[2]) for part in parts)
        jobs = []
        for (number, mirrored), copies in kinds.items():
            piece = self.pieces[number]
            outer = [(-x, y) for x, y in reversed(piece.outer)] if mirrored else piece.outer
            turns = None if piece.free else piece.turns
            jobs.append({"outer": outer, "copies": copies, "turns": turns, "area": piece.area})
        order = list(kinds)
        height = stock.room.inner[1] + self.instance.kerf + SLACK
        for width, found in shorter(jobs, replace(asked, height=height)):
            laid = [(order[n][0], turn, order[n][1], x, y) for n, turn, x, y in found]
            yield width, self._laid(stock, laid)


def _ordered(nest: Nest, order: list[int]) -> Nest:
    """Return a nest with its faces in another order."""
    places = {old: new for new, old in enumerate(order)}
    placements = [replace(each, face=places[each.face]) for each in nest.placements]
    return Nest(tuple(nest.faces[n] for n in order), tuple(sorted(placements, key=lambda each: each.face)))
