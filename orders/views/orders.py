"""Orders: the list, a new one, one order with its head, and the words that the office may change."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.db import transaction
from django.db.models import Q
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from orders import entry, moves
from orders.forms.orders import OrderForm
from orders.forms.packing import CoatedForm, LabelsForm
from orders.models import Customer, Line, Order
from orders.profiles import on_older
from orders.standing import standings, with_word
from orders.workflow import WORDS, used
from shop.acts import Act
from shop.live import live
from shop.refusals import Refused
from shop.roles import DESK, EVERYONE, allowed
from shop.views.asking import typed, whole, words, written

from .finding import old_paper, scanned
from .showing import figures, is_late, order_context

PAGE = 50


@require_safe
@allowed(EVERYONE)
@live
def order_list(request):
    """List orders, newest first, found by number, customer, job or mark, and filtered by word or lateness."""
    find, wanted = typed(request, "q"), request.GET.get("word", "")
    if leads_to := scanned(find, on=typed(request, "on")):
        if old := old_paper(find):
            messages.error(request, old)
        return redirect(leads_to)
    orders = found(Order.objects.select_related("customer"), find)
    if wanted in WORDS:
        orders = with_word(orders, wanted)
    elif wanted == "late":
        orders = late(orders)
    page = Paginator(orders, PAGE).get_page(request.GET.get("page"))
    where = standings(page.object_list)
    today = timezone.localdate()
    older = set(on_older(Line.objects.filter(order__in=page.object_list)).values_list("order", flat=True))
    rows = [
        {"order": order, "standing": where[order.pk], "late": is_late(order, where[order.pk].word, today),
         "older": order.pk in older}
        for order in page.object_list
    ]  # fmt: skip
    context = {
        "rows": rows, "page": page, "find": find, "wanted": wanted, "words": WORDS,
        "steps": used(row["standing"].counts for row in rows),
    }  # fmt: skip
    return render(request, "orders/list.html", context)


def found(orders, find: str):
    """Return the orders in which every typed word is part of the number, customer, job, their order or a mark."""
    for part in words(find):
        marked = Line.objects.filter(Q(mark__iexact=part) | Q(title__icontains=part)).values("order")
        condition = (
            Q(customer__name__icontains=part) | Q(job__icontains=part) | Q(customer_ref__icontains=part)
            | Q(pk__in=marked)
        )  # fmt: skip
        if number := whole(part):
            condition |= Q(number=number)
        orders = orders.filter(condition)
    return orders


def late(orders):
    """Return the orders whose day has passed while foam is still to be cut."""
    open_still = ~Q(state=Order.State.CANCELLED) & Q(done_at=None)
    return orders.filter(open_still, due__lt=timezone.localdate())


def get_order(number: int) -> Order:
    """Return the order with this number, or answer 404."""
    return get_object_or_404(Order.objects.select_related("customer", "made_by", "held_by", "saved_by"), number=number)


@allowed(DESK)
def order_new(request):
    """Take down a new order; its lines come next, the first one of `?profile=`."""
    form = OrderForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            with transaction.atomic():
                order = entry.create_order(with_customer(form), Act(request.user))
        except Refused as refused:
            form.add_error(refused.details.get("field"), refused.sentence)
        else:
            messages.success(request, f"Order {order} is taken down. Now its lines.")
            profile = whole(typed(request, "profile"))
            query = {"profile": profile} if profile else None
            return redirect(reverse("order-line-new", args=[order.number], query=query))
    context = {"form": form, "customers": customer_names()}
    return render(request, "orders/new.html", context, status=422 if form.errors else 200)


@allowed(EVERYONE, write=DESK)
@live
def order_page(request, number: int):
    """Show an order; `?head` opens its head for a change, which is saved here."""
    order = get_order(number)
    posted = request.POST if request.method == "POST" else None
    head = OrderForm(posted, order=order) if posted is not None or "head" in request.GET else None
    refused = None
    if posted is not None and head.is_valid():
        try:
            with transaction.atomic():
                entry.save_order(
                    order, with_customer(head), Act(request.user), version=head.cleaned_data["version"] or 0
                )
        except Refused as error:
            refused = error
            renew_version(head, error)
        else:
            messages.success(request, f"Order {order} is saved.")
            return redirect("order", number)
    return show_order(request, order, head=head, refused=refused, status=422 if head and head.errors else 0)


def show_order(request, order: Order, *, status: int = 0, **extra):
    """Answer with the page of an order, its first line at the right unless `extra` says otherwise."""
    context = order_context(order, request.user.role)
    if "shown" not in extra:
        context |= figures(context["lines"][0] if context["lines"] else None)
    if extra.get("head"):
        context["customers"] = customer_names()
    if "print" in context["may"]:
        context |= {"coated": CoatedForm(), "labels": LabelsForm()}
    status = status or (409 if extra.get("refused") else 200)
    return render(request, "orders/order.html", {**context, **extra}, status=status)


@require_POST
@allowed(DESK)
def order_release(request, number: int):
    order = get_order(number)
    order.version = posted_version(request)
    return _do(request, order, lambda: moves.release(order, Act(request.user)), "released; sheet A may be printed")


@require_POST
@allowed(DESK)
def order_hold(request, number: int):
    order, reason = get_order(number), written(request, "reason")
    return _do(request, order, lambda: moves.hold(order, reason, Act(request.user)), "on hold; every scan says why")


@require_POST
@allowed(DESK)
def order_resume(request, number: int):
    order = get_order(number)
    return _do(request, order, lambda: moves.resume(order, Act(request.user)), "going on")


@require_POST
@allowed(DESK)
def order_cancel(request, number: int):
    order, reason = get_order(number), written(request, "reason")
    return _do(request, order, lambda: moves.cancel(order, reason, Act(request.user)), "cancelled")


def _do(request, order: Order, move, done: str):
    """Make a move and say so, or show the order with the reason why not and the typed words kept."""
    try:
        move()
    except Refused as refused:
        reason = written(request, "reason")
        return show_order(request, get_order(order.number), refused=refused, reason=reason)
    messages.success(request, f"Order {order} is {done}.")
    return redirect("order", order.number)


def posted_version(request) -> int:
    """Return the version of the order that the page showed; 0 is older than any."""
    return whole(request.POST.get("version", ""))


def with_customer(form: OrderForm) -> dict:
    """Return the values of the form, its new customer saved. Runs in the caller's transaction."""
    values = form.values()
    if values["customer"].pk is None:
        values["customer"].save()
    return values


def renew_version(form, refused: Refused) -> None:
    """After a change by somebody else let the next save of this form count as made after it."""
    if version := refused.details.get("version"):
        form.data = form.data.copy()
        form.data["version"] = version


def customer_names():
    return Customer.objects.values_list("name", flat=True)
