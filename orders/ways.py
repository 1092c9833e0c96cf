"""The two ways to cut a straight line: compared in the worker, kept with the line, chosen by a person.

`Line.gang` holds the comparison under `compared` with what it was worked out from (`of`), when one was last asked for
under `asked`, the code of the `saw` that was named for it, and under `chosen` the nest that is in force while
`Line.way` says so.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from functools import partial
from typing import Any, Literal

from django.db import transaction
from django.tasks import task
from django.utils import timezone

from cutsheets.errors import CutsheetError
from cutsheets.planning.gang import Gang, basis, fingerprint, is_straight, read_gang
from cutsheets.planning.ways import Supply, compare
from cutsheets.rules import Rules
from cutsheets.solids import Triple, Worked
from cutsheets.units import um_up
from orders import entry
from orders.fitting import ON_HAND
from orders.lines import ShopFigures, shop_figures, work_each
from orders.models import Line, Order
from orders.planning.rack import LIES_OF, foam_price, free_pieces, kerf_um, prices_of, rack_price, reach, useful
from shop.acts import Act
from shop.models import BlockSize, Grade, ShopRules, Station, StockPiece
from shop.refusals import Refused

PATIENCE = timedelta(seconds=20)  # what no worker has begun by then has none
LONGEST = timedelta(minutes=5)  # what was begun and is not there by then is lost
State = Literal["none", "working", "nobody", "there", "old"]
Straight = tuple[Worked, Rules]


@dataclass(frozen=True, slots=True)
class Compared:
    """How far the comparison of a line is: `state`, what it said, and the nest that may be chosen."""

    state: State
    said: dict[str, Any] | None = None

    @property
    def nest(self) -> Gang | None:
        """Return the sections on faces of the comparison, or None where there are none or it is of other figures."""
        stored = self.said and self.said["nest"]
        return read_gang(stored) if stored and self.state == "there" else None


def compared(line: Line, shop: ShopFigures | None = None) -> Compared:
    """Return how far the comparison of a line is; raises CutsheetError where the line cannot be worked out."""
    now, said = _of(line, shop or shop_figures()), line.gang.get("compared")
    if said and said["of"] == now:
        return Compared("there", said)
    asked = line.gang.get("asked")
    if asked and asked["of"] == now:
        patience = LONGEST if asked.get("begun") else PATIENCE
        waits = timezone.now() - datetime.fromisoformat(asked["at"]) < patience
        return Compared("working" if waits else "nobody", said)
    return Compared("old" if said else "none", said)


def ask(line: Line, saw: str = "") -> None:
    """Have the worker compare both ways of a line on a saw, given by its code; without one on that with the most room.

    Refused where its pieces are not straight, and with `no-saw`.
    """
    if saw and saw not in {each.code for each in saws()}:
        raise Refused("no-saw", f"There is no saw “{saw}” in use; choose one of the shop's saws.")
    _straight(line, shop_figures())
    _keep(line, saw=saw or None)
    _keep(line, asked=_asked(_of(line, shop_figures())))
    transaction.on_commit(partial(compare_in_worker.enqueue, line.pk))


@task
def compare_in_worker(key: int) -> None:
    """Compare both ways of a line as it is now, and keep what comes out; a line that is gone needs nothing."""
    line = Line.objects.select_related("order", "grade", "profile__profile").filter(pk=key).first()
    if line is None:
        return
    shop = shop_figures()
    try:
        worked, rules = _straight(line, shop)
    except (CutsheetError, Refused):
        return  # changed since: its page says what is wrong with it
    of = _of(line, shop)
    _keep(line, asked={**_asked(of), "begun": True})
    said = compare(worked, rules, supply_of(line, shop)).as_json()
    saw = saw_of(line)
    _keep(line, compared={**said, "of": of, "saw": saw.name if saw else ""}, asked=None)


def choose(order: Order, line: Line, way: str, act: Act, *, version: int) -> Line:
    """Choose a way of a line, and return the line saved; a released order gets a new sheet where blanks change.

    Refused with `no-way` where this is none, and with `ways-old` where the comparison is of other figures.
    """
    if way not in Line.Way:
        raise Refused("no-way", "Choose one of the two ways.")
    data: dict[str, Any] = {"way": way}
    if way == Line.Way.GANG:
        nest = compared(line).nest
        if nest is None:
            raise Refused("ways-old", f"Compare the two ways of line {line.mark} anew, then choose.")
        data["gang"] = {**line.gang, "chosen": nest.as_json()}
    return entry.save_line(order, data, act, version=version, line=line)


def _asked(of: str) -> dict[str, Any]:
    return {"of": of, "at": timezone.now().isoformat()}


def supply_of(line: Line, shop: ShopFigures) -> Supply:
    """Return the foam of a line's grade, and what it and the work cost."""
    rules, saw = ShopRules.current(), saw_of(line)
    free = free_pieces(line.grade).exclude(parent=None).select_related("grade").order_by("pk")
    return Supply(
        blocks=_blocks(line.grade), skin=um_up(rules.block_skin), kerf=kerf_um(saw, rules), useful=useful(rules),
        remnants=tuple((piece.size_um, rack_price(piece, rules)) for piece in free), saw=reach(saw) if saw else None,
        per_ft3=float(foam_price(line.grade, rules)), hour=float(100 * rules.price_hour), prices=prices_of(rules),
        machines=tuple(cutter.machine for cutter in shop.cutters), lies=tuple(LIES_OF[Line.Lie(line.lie)]),
    )  # fmt: skip


def saws() -> list[Station]:
    """Return the saws in use, that with the most room first; a limit that is not known is none."""

    def room(saw: Station) -> float:
        return float(saw.height or math.inf) * float(saw.travel or math.inf)

    return sorted(Station.in_use(Station.Kind.SAW), key=room, reverse=True)


def saw_of(line: Line) -> Station | None:
    """Return the saw on which the ways of a line are compared; None in a shop without one."""
    in_use = saws()
    return next((saw for saw in in_use if saw.code == line.gang.get("saw")), in_use[0] if in_use else None)


def _blocks(grade: Grade) -> tuple[Triple, ...]:
    """Return the sizes of the blocks of a grade: of those on hand the least of each side, else as the plant sells them.

    Blocks of one nominal size differ by a little; a face must fit every one of them.
    """
    alike: dict[object, list[Triple]] = defaultdict(list)
    for block in StockPiece.objects.filter(grade=grade, parent=None, state__in=ON_HAND):
        alike[block.nominal_id or block.size_um].append(block.size_um)
    if not alike:
        return tuple(BlockSize.objects.values_list("l_um", "w_um", "h_um"))
    sides = (zip(*same, strict=True) for same in alike.values())
    return tuple((min(l_um), min(w_um), min(h_um)) for l_um, w_um, h_um in sides)


def _straight(line: Line, shop: ShopFigures) -> Straight:
    """Return a straight line worked out with a blank for every piece; any other is refused."""
    worked, rules = work_each(line, shop)
    if not is_straight(worked):
        raise Refused("not-straight", f"Line {line.mark} has no section that runs straight through its pieces.")
    return worked, rules


def _of(line: Line, shop: ShopFigures) -> str:
    """Return a short text of everything that a comparison is worked out from."""
    worked, rules = _straight(line, shop)
    sticks = [asdict(replace(stick, mark="")) for stick in worked.sticks]
    pace = [rules.feed, rules.entry, rules.handling, rules.blank_step, rules.wire_over]
    return fingerprint([basis(worked, rules), sticks, pace, asdict(supply_of(line, shop))])


@transaction.atomic
def _keep(line: Line, **what: Any) -> None:
    """Write parts of `Line.gang`; None takes one away."""
    fresh = Line.objects.select_for_update().get(pk=line.pk)
    fresh.gang = {name: value for name, value in {**fresh.gang, **what}.items() if value is not None}
    fresh.save(update_fields=["gang"])
    line.gang = fresh.gang
