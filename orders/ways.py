"""The two ways to cut a straight line: compared in the worker, kept with the line, chosen by a person.

`Line.gang` holds the comparison under `compared` with what it was worked out from (`of`), when one was last asked for
under `asked`, and under `chosen` the nest that is in force while `Line.way` says so.
"""

from __future__ import annotations

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


def ask(line: Line) -> None:
    """Have the worker compare both ways of a line; refused where its pieces are not straight."""
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
    _keep(line, compared={**compare(worked, rules, supply_of(line, shop)).as_json(), "of": of}, asked=None)


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
    rules, saw = ShopRules.current(), _only_saw()
    free = free_pieces(line.grade).exclude(parent=None).select_related("grade").order_by("pk")
    return Supply(
        blocks=_blocks(line.grade), skin=um_up(rules.block_skin), kerf=kerf_um(saw, rules), useful=useful(rules),
        remnants=tuple((piece.size_um, rack_price(piece, rules)) for piece in free), saw=reach(saw) if saw else None,
        per_ft3=float(foam_price(line.grade, rules)), hour=float(100 * rules.price_hour), prices=prices_of(rules),
        machines=tuple(cutter.machine for cutter in shop.cutters), lies=tuple(LIES_OF[Line.Lie(line.lie)]),
    )  # fmt: skip


def _only_saw() -> Station | None:
    """Return the saw of a shop that has one: its kerf and its reach hold for every plan. Of more any may be taken."""
    saws = list(Station.objects.filter(kind=Station.Kind.SAW, active=True)[:2])
    return saws[0] if len(saws) == 1 else None


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
    supply = replace(supply_of(line, shop), remnants=())  # they come and go all day; a choice stays good
    return fingerprint([basis(worked, rules), sticks, pace, asdict(supply)])


@transaction.atomic
def _keep(line: Line, **what: Any) -> None:
    """Write parts of `Line.gang`; None takes one away."""
    fresh = Line.objects.select_for_update().get(pk=line.pk)
    fresh.gang = {name: value for name, value in {**fresh.gang, **what}.items() if value is not None}
    fresh.save(update_fields=["gang"])
    line.gang = fresh.gang
