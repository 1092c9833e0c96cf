"""What stands in the way of a release: foam that may not go there, a blank that no block or no machine can hold."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from cutsheets.kinds import KINDS
from cutsheets.machines import lacks
from cutsheets.solids import Asks, Worked
from cutsheets.units import say, um_down
from orders.layout import Size, say_size, size_um
from orders.lines import ShopFigures, need_worked, shop_figures
from orders.models import Line, Order
from shop.models import BlockSize, ShopRules, StockPiece
from shop.refusals import Refused

ON_HAND = (StockPiece.State.ON_RACK, StockPiece.State.RESERVED)


@dataclass(frozen=True, slots=True)
class Objection:
    """Why a line may not be released: a code for machines, the mark of the line, a sentence with the remedy."""

    code: str
    mark: str
    sentence: str


def objections(order: Order, worked: Iterable[tuple[Line, Worked]], shop: ShopFigures | None = None) -> list[Objection]:
    """Return what stands in the way of releasing these lines; entry shows the same as warnings."""
    hands = _Hands(shop or shop_figures())
    found = []
    for line, result in worked:
        if not line.grade.flame_retardant and (order.indoors or KINDS[line.kind].on_buildings):
            found.append(_not_for_buildings(order, line))
        found += hands.objections(line, result, order.unit)
    return found


def ready_lines(order: Order) -> list[tuple[Line, Worked]]:
    """Return the lines of an order with what comes out of them, or refuse its release."""
    lines = list(order.lines.select_related("grade", "profile__profile"))
    if not lines:
        raise Refused("no-lines", f"Order {order} has no lines yet; enter at least one, then release it.")
    worked, shop = [], shop_figures()
    for line in lines:
        line.order = order
        worked.append((line, need_worked(line, shop)))
    need_no_objection(order, worked, shop)
    return worked


def need_no_objection(order: Order, worked: Iterable[tuple[Line, Worked]], shop: ShopFigures | None = None) -> None:
    """Refuse lines that may not be released; `details["objections"]` holds every sentence."""
    if found := objections(order, worked, shop):
        raise Refused(found[0].code, found[0].sentence, objections=[objection.sentence for objection in found])


def _not_for_buildings(order: Order, line: Line) -> Objection:
    where = "indoors" if order.indoors else "on a building"
    return Objection(
        "not-for-buildings", line.mark,
        f"Line {line.mark} goes {where}, and {line.grade} is not flame retardant; choose a grade that is.",
    )  # fmt: skip


class _Hands:
    """The sizes that the shop can get hold of, and the limits of its machines, each read once."""

    def __init__(self, shop: ShopFigures) -> None:
        skin = 2 * um_down(ShopRules.current().block_skin)
        self.sizes = [
            tuple(side - skin for side in size) for size in BlockSize.objects.values_list("l_um", "w_um", "h_um")
        ]
        self.stock: dict[int, list[Size]] = {}
        pieces = StockPiece.objects.filter(state__in=ON_HAND).values_list("grade", "parent", "l_um", "w_um", "h_um")
        for grade, parent, *size in pieces:
            usable = tuple(side if parent else side - skin for side in size)
            self.stock.setdefault(grade, []).append(usable)
        self.shop = shop

    def objections(self, line: Line, worked: Worked, unit: str) -> list[Objection]:
        found = []
        for size in (size_um(blank.size) for blank in worked.blanks):
            if not any(_holds(whole, size) for whole in (*self.sizes, *self.stock.get(line.grade_id, ()))):
                found.append(Objection("blank-too-big", line.mark, self._no_block(line, size, unit)))
        for asks in worked.asks:
            if said := self._no_machine(line, asks, unit):
                found.append(Objection("machine-too-small", line.mark, said))
        return found

    def _no_block(self, line: Line, size: Size, unit: str) -> str:
        known = [*self.sizes, *self.stock.get(line.grade_id, ())]
        if not known:
            return f"There is no block size and no block of {line.grade}; enter one in the shop's settings."
        largest = max(known, key=lambda whole: whole[0] * whole[1] * whole[2])
        return (
            f"Line {line.mark} needs a blank {say_size(size, unit)}, but the largest block gives "
            f"{' × '.join(say(um / 1000, unit, 'down') for um in largest)}; shorten or splice the part."
        )

    def _no_machine(self, line: Line, asks: Asks, unit: str) -> str:
        """Return what each machine lacks for a part, or nothing where one takes it."""
        machines = [station.machine for station in self.shop.machines(asks)]
        limits = [(machine.name, lacks(asks, machine, unit)) for machine in machines]
        if not limits or not all(lack for _, lack in limits):
            return ""
        said = "; ".join(f"{name} – {', '.join(lack)}" for name, lack in limits)
        remedy = "make it smaller or in more parts, or use another machine"
        return f"Line {line.mark}, part {asks.what}, fits no wire cutter ({said} {unit}); {remedy}."


def _holds(whole: Iterable[int], size: Size) -> bool:
    """Return whether a box goes into another in one of its six lies."""
    return all(room >= side for room, side in zip(sorted(whole), sorted(size), strict=True))
