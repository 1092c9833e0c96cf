"""What a page of a station is told so that it can keep acts, and what other pages say of acts that were not taken."""

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from cutsheets.codes import make_sheet_code, revision_letter
from orders import kept
from orders.models import Clash, Order
from shop.models import Person

register = template.Library()
WORDS = {"count": "count", "miscut": "miscut", "undo": "undo"}


@register.filter
def signed(person: Person) -> str:
    """Return the word by which a kept act names a person; empty for a device at which nobody is named."""
    return kept.sign(person) if isinstance(person, Person) and person.pk else ""


@register.filter
def sheet(order: Order) -> str:
    """Return how the codes of the sheets in force begin: all but the line and the check character; "" for a draft."""
    return make_sheet_code(order.number, revision_letter(order.revision))[:-1] if order.revision else ""


@register.inclusion_tag("station/clashes_open.html")
def clashes(order: Order | None = None) -> dict:
    """Say how many kept acts were not taken and are not settled, of one order or of all."""
    waiting = Clash.objects.filter(settled_at=None)
    return {"count": (waiting.filter(order=order) if order else waiting).count(), "order": order}


@register.filter
def act_words(clash: Clash) -> SafeString:
    """Return what was done at the station: “count of 3”, “miscut of 1, wire broke”."""
    qty, reason = clash.fields.get("qty", ""), clash.fields.get("reason", "")
    return format_html("{}{}{}", WORDS.get(clash.kind, clash.kind), qty and f" of {qty}", reason and f", {reason}")
