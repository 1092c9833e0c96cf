"""Entering orders: every save is one transaction, refused when somebody else saved meanwhile, never half written.

A line is saved only when it can be worked out: `CutsheetError` says where it cannot and how to put it right.
`Refused` is for everything else. A save of a released order that alters a size, a quantity or a grade makes a new
sheet (`orders.revisions`).
"""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import F, Max

from cutsheets.codes import revision_letter
from orders import revisions
from orders.fitting import ready_lines
from orders.lines import OLD_NEST, line_dict, rules_for, work_out
from orders.models import Customer, Line, Order
from orders.moves import changed_meanwhile
from shop.acts import Act
from shop.refusals import Refused

__all__ = [
    "copy_line", "create_order", "delete_line", "line_dict", "next_mark", "rules_for", "save_line", "save_order",
    "work_out",
]  # fmt: skip

FIRST_NUMBER = 4101
ORDER_FIELDS = ("customer", "job", "customer_ref", "due", "unit", "note", "indoors")
LINE_FIELDS = (
    "mark", "title", "kind", "grade", "profile", "coat_system", "coat", "qty", "spec", "note", "lie", "way", "gang",
)  # fmt: skip
TRIES = 50  # more than people who enter orders at once: each failed try means that somebody else got a number


@transaction.atomic
def create_order(data: dict[str, Any], act: Act) -> Order:
    """Return a new draft with the next free number. `data` holds values of `ORDER_FIELDS`; a new customer is saved."""
    fields = _head(data)
    for _ in range(TRIES):
        order = Order(number=_next_number(), made_by=act.by, made_at=act.at, saved_by=act.by, saved_at=act.at, **fields)
        _check(order)
        try:
            with transaction.atomic():
                order.save(force_insert=True)
        except IntegrityError:
            continue
        return order
    raise Refused("no-number", "Many orders are being entered at this moment; save again.")


@transaction.atomic
def save_order(order: Order, data: dict[str, Any], act: Act, *, version: int) -> Order:
    """Save the head of an order; return it fresh. `version` is the one the page was opened with."""
    order = _take_version(order, version, act)
    fields = _head(data)
    if fields.get("unit", order.unit) != order.unit and order.lines.exists():
        raise Refused("unit-in-use", "The lines of this order are typed in its unit; it can change only without lines.")
    for name, value in fields.items():
        setattr(order, name, value)
    _check(order)
    if order.state == Order.State.RELEASED:
        ready_lines(order)  # what goes indoors now may not be of every grade
    order.save(update_fields=fields)
    return order


@transaction.atomic
def save_line(order: Order, data: dict[str, Any], act: Act, *, version: int, line: Line | None = None) -> Line:
    """Save a line, a new one where `line` is None, and return it with its order fresh. `data` holds `LINE_FIELDS`.

    A nest of sections that does not fit the line any more is dropped: every piece has a blank of its own again.
    Raises CutsheetError where the line cannot be worked out, Refused for everything else.
    """
    order = _take_version(order, version, act)
    line = order.lines.get(pk=line.pk) if line else _new_line(order)
    released = order.state == Order.State.RELEASED
    old = revisions.cutting_input(line)
    before = revisions.facts(line) if released and line.pk else None
    for name in LINE_FIELDS:
        if name in data:
            setattr(line, name, data[name])
    _check_mark(line, old_mark=old[0])
    _check(line)
    worked = work_out(line)
    if OLD_NEST in worked.notes:
        line.way = Line.Way.EACH
        worked = work_out(line)
    line.save()
    if released and (before is None or revisions.cutting_input(line) != old):
        revisions.revise(line, before, worked, act)
    return line


@transaction.atomic
def delete_line(order: Order, line: Line, act: Act, *, version: int) -> None:
    """Take a line off an order."""
    order = _take_version(order, version, act)
    line = order.lines.get(pk=line.pk)
    if order.state == Order.State.RELEASED:
        revisions.remove(line, act)
    else:
        line.delete()


def copy_line(order: Order, line: Line, act: Act, *, version: int) -> Line:
    """Return a copy of a line at the end of its order, under the next free mark."""
    data = {name: getattr(line, name) for name in LINE_FIELDS} | {"mark": next_mark(order)}
    return save_line(order, data, act, version=version)


def next_mark(order: Order) -> str:
    """Return the next free mark: A, B, C … without the letters that read like figures."""
    taken = set(order.lines.values_list("mark", flat=True))
    return next(mark for mark in map(revision_letter, range(1, len(taken) + 2)) if mark not in taken)


def _head(data: dict[str, Any]) -> dict[str, Any]:
    """Return the values of an order's head, its customer saved."""
    fields = {name: data[name] for name in ORDER_FIELDS if name in data}
    customer = fields.get("customer")
    if customer is not None and customer.pk is None:
        _check(customer)
        fields["customer"], _ = Customer.objects.get_or_create(name=customer.name)
    return fields


def _next_number() -> int:
    highest = Order.objects.aggregate(highest=Max("number"))["highest"]
    return max(FIRST_NUMBER, (highest or 0) + 1)


def _new_line(order: Order) -> Line:
    last = order.lines.aggregate(last=Max("position"))["last"] or 0
    return Line(order=order, position=last + 1, mark=next_mark(order))


def _take_version(order: Order, version: int, act: Act) -> Order:
    """Return the order, claimed for this save; refused when somebody saved it after `version` was read."""
    open_order = Order.objects.filter(pk=order.pk).exclude(state=Order.State.CANCELLED)
    seen = open_order.filter(version=version)
    if seen.update(version=F("version") + 1, saved_by=act.by, saved_at=act.at) != 1:
        if not open_order.exists():
            raise Refused("cancelled", f"Order {order} is cancelled; copy what you need into a new one.")
        raise changed_meanwhile(order)
    return Order.objects.get(pk=order.pk)


def _check_mark(line: Line, *, old_mark: str) -> None:
    if line.order.lines.filter(mark=line.mark).exclude(pk=line.pk).exists():
        raise Refused("mark-taken", f"Another line of this order has the mark {line.mark}; choose a free one.")
    counted = line.pk and line.mark != old_mark and line.blanks.exclude(sawn=0, saw_miscut=0).exists()
    if counted:
        raise Refused("mark-in-use", f"Foam is sawn under the mark {old_mark}; it stays on the line.")


def _check(row: Customer | Order | Line) -> None:
    """Refuse values that the columns cannot keep, with the name of the field."""
    try:
        row.clean_fields(exclude=["number", "made_by"])  # an order's own, not typed by anybody
    except ValidationError as error:
        field, messages = next(iter(error.message_dict.items()))
        name = row._meta.get_field(field).verbose_name
        raise Refused("field", f"{str(name).capitalize()}: {messages[0]}", field=field) from error
