"""A line of an order and the core: the line as a job file writes it, and what comes out of it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from cutsheets.errors import CutsheetError
from cutsheets.files.job import line_from_dict
from cutsheets.kinds import KINDS
from cutsheets.machines import lacks
from cutsheets.planning.gang import basis, carried, ganged, read_gang
from cutsheets.rules import Rules
from cutsheets.solids import Asks, Note, Worked
from orders.fonts import font_file
from orders.models import Line, ProfileRevision
from shop.models import ShopRules, Station, WireFeed
from shop.refusals import Refused

NOISE = 1e-6  # mm
OLD_NEST = Note(
    "old-nest",
    "The sections on a face were laid out for another profile or other lengths: every piece has a blank of its own. "
    "Compare the two ways of this line anew.",
)
KIND_WORDS = {
    "moulding": "Moulding", "column": "Column", "taper": "Taper", "turned": "Turned", "twisted": "Twisted",
    "arch": "Arch", "cutout": "Letters and shapes", "mould": "Mould for casting", "wing": "Wing core",
    "panel": "Panel",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class ShopFigures:
    """The shop's figures, read once for any number of lines: its rules, its wire feeds, its machines by name.

    What spins about an axis goes on any of them, everything else on the wire cutters alone.
    """

    rules: Rules
    feeds: tuple[WireFeed, ...]
    cutters: tuple[Station, ...]
    turning: tuple[Station, ...] = ()

    def machines(self, asks: Asks) -> tuple[Station, ...]:
        """Return the machines on which a part is cut, those made for it first."""
        return (*self.turning, *self.cutters) if asks.swing else self.cutters

    def feed(self, grade: int, asks: Iterable[Asks]) -> WireFeed | None:
        """Return the feed of a grade on the first cutter that takes every part, else its feed on any machine."""
        rows = {row.station_id: row for row in self.feeds if row.grade_id == grade}
        asks = list(asks)
        able = self.machines(asks[0]) if asks else self.cutters
        first = next((machine for machine in able if all(takes(machine, one) for one in asks)), None)
        return rows.get(first.pk if first else None, rows.get(None))


def shop_figures() -> ShopFigures:
    """Return the shop's figures as they are now."""
    machines = Station.in_use(Station.Kind.CUTTER, Station.Kind.TURNING)
    cutters = [machine for machine in machines if machine.kind == Station.Kind.CUTTER]
    turning = tuple(machine for machine in machines if machine.kind == Station.Kind.TURNING)
    rules = _rules(ShopRules.current(), cutters)
    return ShopFigures(rules, tuple(WireFeed.objects.all()), tuple(cutters), turning)


def rules_for() -> Rules:
    """Return the shop's rules as the core has them. A line's own figures stand in its `spec`, under `allow`."""
    return shop_figures().rules


def takes(cutter: Station, asks: Asks) -> bool:
    """Return whether a machine has room for a part."""
    return not lacks(asks, cutter.machine, "mm")


def _rules(rules: ShopRules, cutters: list[Station]) -> Rules:
    figures = {
        name: float(getattr(rules, name))
        for name in (
            "kerf", "wire_kerf", "wire_over", "skim_wall", "skim_other", "end_trim", "blank_step", "longest_stick",
            "shortest_piece",
        )
    }  # fmt: skip
    read = Rules(**figures, feed=float(rules.wire_feed))
    across = _most(cutters, "travel")
    return replace(read, longest_stick=min(read.longest_stick, _longest_on(cutters, read)), longest_across=across)


def _most(cutters: list[Station], limit: str) -> float:
    """Return the largest of a limit among the wire cutters, mm; one that is not known is no limit."""
    known = [getattr(cutter, limit) for cutter in cutters]
    return float(max(known)) if known and None not in known else math.inf


def _longest_on(cutters: list[Station], rules: Rules) -> float:
    """Return the longest stick whose blank the longest wire of the shop reaches through, mm."""
    blank = _most(cutters, "wire") - rules.wire_over
    if rules.blank_step and blank < math.inf:
        blank = math.floor(blank / rules.blank_step + NOISE) * rules.blank_step
    longest = blank - 2 * rules.end_trim
    return longest if longest > 0 else math.inf  # no wire worth the name: the line is refused with the machine's limit


def what(line: Line) -> str:
    """Return what a line is called: as somebody named it, else by the trade's word for its kind."""
    return line.title or KIND_WORDS[line.kind]


def line_dict(line: Line) -> dict[str, Any]:
    """Return a line as the job file writes it: what was typed, a profile by its code."""
    written = {"mark": line.mark, "kind": line.kind, "grade": line.grade.name, "qty": line.qty, "coat": line.coat}
    if line.note:
        written["note"] = line.note
    if line.profile:
        written["profile"] = line.profile.profile.code
    return written | line.spec


def drawn(profile: ProfileRevision) -> dict[str, Any]:
    """Return a profile as the core asks for it: its shape, the bare edges of a section, and its own unit."""
    return {**profile.shape, "unit": profile.unit}


def work_out(line: Line, shop: ShopFigures | None = None) -> Worked:
    """Return everything that follows from a line; raises CutsheetError with the place inside the line.

    Whoever works out many lines reads the shop's figures once and hands them in as `shop`. A line of which many pieces
    come out of one face has those faces as blanks; where its nest is of other sizes, a note says that it is not used.
    """
    worked, rules = work_each(line, shop)
    if line.way == Line.Way.EACH:
        return worked
    nest = read_gang(line.gang["chosen"])
    if nest.basis != basis(worked, rules) or not carried(worked, nest):
        return replace(worked, notes=(*worked.notes, OLD_NEST))
    return ganged(worked, nest, rules)


def need_worked(line: Line, shop: ShopFigures) -> Worked:
    """Return everything that follows from a line; refuses a line that cannot be worked out, and names it."""
    try:
        return work_out(line, shop)
    except CutsheetError as error:
        raise Refused(error.code, f"Line {line.mark}: {error.message}", where=error.where) from error


def work_each(line: Line, shop: ShopFigures | None = None) -> tuple[Worked, Rules]:
    """Return a line with a blank for every piece, whatever its way, and the rules that hold for it."""
    shop = shop or shop_figures()
    profiles = {line.profile.profile.code: drawn(line.profile)} if line.profile else {}
    feed = shop.feed(line.grade_id, ())
    read = line_from_dict(
        line_dict(line), line.order.unit, _fed(shop.rules, feed),
        grades={line.grade.name: float(line.grade.density)}, profiles=profiles,
        fonts=font_file,
    )  # fmt: skip
    worked = KINDS[read.kind].work(read)
    own = shop.feed(line.grade_id, worked.asks)
    if own is not feed:  # sizes stay, minutes are the machine's
        read = replace(read, rules=_fed(read.rules, own))
        worked = KINDS[read.kind].work(read)
    return worked, read.rules


def _fed(rules: Rules, feed: WireFeed | None) -> Rules:
    if feed is None:
        return rules
    return replace(rules, feed=float(feed.feed), entry=float(feed.entry), handling=float(feed.handling))
