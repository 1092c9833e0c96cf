"""What was printed, and a PDF as an answer."""

from collections.abc import Callable

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from orders.models import Print
from orders.prints import in_force, people_of
from shop.refusals import Refused
from shop.roles import DESK, allowed

PAGE = 50


def pdf(content: bytes, name: str) -> HttpResponse:
    """Return a PDF that the browser shows."""
    answer = HttpResponse(content, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    return answer


def printed(request, name: str, do: Callable[[], bytes], *back) -> HttpResponse:
    """Return what is printed now; a refusal is told on the page `back`."""
    try:
        return pdf(do(), name)
    except Refused as refusal:
        messages.error(request, refusal.sentence)
        return redirect(*back)


@require_safe
@allowed(DESK)
def prints(request):
    """List what was printed, newest first, and whether it is still in force."""
    rows = Print.objects.select_related("order__customer", "run__grade", "by").order_by("-pk")
    page = Paginator(rows, PAGE).get_page(request.GET.get("page"))
    stands, people = in_force(page.object_list), people_of(page.object_list)
    listed = [{"print": print, "stands": stands[print.pk], "person": people.get(print.of)} for print in page]
    return render(request, "prints/list.html", {"page": page, "rows": listed})
