"""Repeat sheets: printed for a folder, and a line of that profile begun when the sheet comes back."""

from django.db.models import Q
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from orders import repeats
from orders.models import Order, ProfileRevision
from shop.acts import Act
from shop.roles import DESK, allowed
from shop.views.asking import typed, whole

from .prints import printed
from .profiles import get_profile

OFFERED = 12  # open orders, those saved last first


@require_POST
@allowed(DESK)
def repeat_sheet(request, code: str, number: int):
    """Print the repeat sheet of one revision; the print is kept."""
    revision = get_revision(code, number)
    name = f"repeat-{code}-rev-{revision.letter}.pdf"
    return printed(request, name, lambda: repeats.print_repeat_sheet(revision, Act(request.user)), "profile", code)


@require_safe
@allowed(DESK)
def order_again(request, code: str, number: int):
    """Begin a line of this revision: on the open order `?on=`, else ask for which; ask first where a newer one exists.

    `?old` says that the older revision is meant.
    """
    revision = get_revision(code, number)
    newest = revision.profile.current
    is_asked = newest.number > revision.number and "old" not in request.GET
    order = open_orders().filter(number=whole(typed(request, "on"))).first()
    if order and not is_asked:
        return redirect(reverse("order-line-new", args=[order.number], query={"profile": revision.pk}))
    context = {
        "revision": revision, "newest": newest, "asked": is_asked, "order": order,
        "orders": open_orders().select_related("customer").order_by("-saved_at")[:OFFERED],
    }  # fmt: skip
    return render(request, "profiles/order_again.html", context)


def open_orders():
    """Return the orders that a line may be added to: drafts, and released ones that are not done."""
    return Order.objects.filter(~Q(state=Order.State.CANCELLED), done_at=None)


def get_revision(code: str, number: int) -> ProfileRevision:
    """Return a revision of the profile with this code, or answer 404."""
    revisions = get_profile(code).revisions.select_related("profile", "grade", "coat_system")
    return get_object_or_404(revisions, number=number)
