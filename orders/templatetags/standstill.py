"""What the office is told of stations that are down: which orders wait for them."""

from django import template

from orders.models import Order
from orders.operations import waiting_for
from shop.outages import standstills

register = template.Library()


@register.inclusion_tag("station/standstill.html")
def standstill(order: Order | None = None) -> dict:
    """Say for which kinds of station no station runs, where this order, or any, waits for them."""
    down = [(outage, waiting_for(outage.station.kind)) for outage in standstills()]
    counts = [(outage, (waiting.filter(pk=order.pk) if order else waiting).count()) for outage, waiting in down]
    return {"down": [(outage, count) for outage, count in counts if count], "order": order}
