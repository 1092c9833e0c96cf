"""Acts at a station that count nothing: an order taken in hand or let wait, a machine down or running again.

Nothing here starts, stops or resets a machine.
"""

from orders import moves, wire_uses
from shop import outages
from shop.refusals import Refused
from shop.views.asking import written

from .station import acting, back, counted, order_asked
from .station_parts import address


@acting
def station_start(request, here, act):
    """Take an order in hand, also beside another station that has it."""
    moves.start(_order(request), act)
    return back(request, here, "accepted")


@acting
def station_pause(request, here, act):
    """Let an order wait, with the reason."""
    moves.pause(_order(request), written(request, "reason"), act)
    return address(here)


@acting
def station_first(request, here, act):
    """Say that a first piece was measured and is right, and what the wire was set to."""
    if here.operation != "cut":
        raise Refused("not-here", f"Nothing is cut at {here}.")
    wire_uses.keep(counted(request, here), written(request, "heat", 40), written(request, "feed", 20), act)
    return back(request, here, "accepted")


@acting
def station_down(request, here, act):
    """Say that the machine here is down, with the reason."""
    outages.go_down(here, written(request, "reason"), act)
    return back(request, here)


@acting
def station_up(request, here, act):
    """Say that the machine here runs again."""
    outages.come_back(here, act)
    return back(request, here, "accepted")


def _order(request):
    if order := order_asked(request.POST):
        return order
    raise Refused("order", "The page did not say which order; scan the sheet again.")
