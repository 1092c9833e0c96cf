"""Orders: the list, one order, and the words that the office may change."""

from django.core.paginator import Paginator
from django.db.models import Q
from django.shortcuts import redirect, render
from django.utils import timezone

from cutsheets.codes import OrderCode, read_code
from cutsheets.errors import CutsheetError
from orders.models import Line, Order
from orders.standing import standings, with_word
from orders.workflow import WORDS
from shop.roles import EVERYONE, allowed

PAGE = 50


@allowed(EVERYONE)
def order_list(request):
    """List orders, newest first, found by number, customer, job or mark, and filtered by word or lateness."""
    find, wanted = request.GET.get("q", "").strip(), request.GET.get("word", "")
    if number := _scanned(find):
        return redirect("order", number)
    orders = found(Order.objects.select_related("customer"), find)
    if wanted in WORDS:
        orders = with_word(orders, wanted)
    elif wanted == "late":
        orders = late(orders)
    page = Paginator(orders, PAGE).get_page(request.GET.get("page"))
    where = standings(page.object_list)
    today = timezone.localdate()
    rows = [
        {"order": order, "standing": where[order.pk], "late": is_late(order, where[order.pk].word, today)}
        for order in page.object_list
    ]
    context = {"rows": rows, "page": page, "find": find, "wanted": wanted, "words": WORDS}
    return render(request, "orders/list.html", context)


def found(orders, find: str):
    """Return the orders in which every typed word is part of the number, customer, job, their order or a mark."""
    for part in find.split()[:6]:
        marked = Line.objects.filter(Q(mark__iexact=part) | Q(title__icontains=part)).values("order")
        condition = (
            Q(customer__name__icontains=part) | Q(job__icontains=part) | Q(customer_ref__icontains=part)
            | Q(pk__in=marked)
        )  # fmt: skip
        if part.isdecimal() and len(part) < 10:
            condition |= Q(number=int(part))
        orders = orders.filter(condition)
    return orders


def late(orders):
    """Return the orders whose day has passed while foam is still to be cut."""
    open_still = ~Q(state=Order.State.CANCELLED) & Q(done_at=None)
    return orders.filter(open_still, due__lt=timezone.localdate())


def is_late(order: Order, word: str, today) -> bool:
    """Return whether this order should be finished by now and is not."""
    return bool(order.due) and order.due < today and word not in ("done", "cancelled")


def _scanned(text: str) -> int | None:
    """Return the order number of a scanned sheet, or None for anything else."""
    try:
        code = read_code(text)
    except CutsheetError:
        return None
    return code.number if isinstance(code, OrderCode) else None
