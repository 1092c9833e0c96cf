"""The day's foam: where everything that left the rack went, to the last cubic inch."""

import csv
import io
from datetime import date, timedelta
from decimal import Decimal

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from cutsheets.days import say_day
from orders import usage
from orders.templatetags.floor import UM3_PER_CUBIC_INCH
from orders.workflow import used
from shop import account
from shop.acts import Act
from shop.live import live
from shop.refusals import Refused
from shop.roles import MANAGER, allowed

# name of the figure in the account, its word on the page, its look in the bar
OUT = (
    ("good", "good", "good"), ("back", "back", "back"), ("waste", "trim", "trim"), ("miscut", "miscut", "miscut"),
    ("on_saw_end", "on saw", "saw"), ("unaccounted", "not found", "lost"),
)  # fmt: skip
BAR = 1000  # length of the longest bar, in its own units
MARKS = {
    "down": "trouble", "clash": "trouble", "miscut": "again", "waste": "trouble", "held": "held", "remnant": "todo",
    "low": "todo",
}  # fmt: skip
UNSAFE = ("=", "+", "-", "@", "\t")  # a spreadsheet would take these for a formula


@require_safe
@allowed(MANAGER)
@live
def day(request, of: date | None = None):
    """Show the foam of a day: by grade, by order, and what to look at."""
    today = timezone.localdate()
    of = of or today
    if of > today:
        raise Http404
    foam = usage.day(of)
    total = {name: foam.total(name) for name in ("issued", "on_saw_start", *(name for name, _, _ in OUT))}
    context = {
        "foam": foam, "of": of, "total": total, "grades": grade_rows(foam), "out": OUT, "look_at": looked_at(foam),
        "before": of - timedelta(days=1), "after": of + timedelta(days=1) if of < today else None,
        "exact": "exact" in request.GET, "wait": why_not_closed(foam), "is_today": of == today,
        "steps": [step for step in used(row.standing.counts for row in foam.orders) if step != "cut"],
        "good": sum(row.good for row in foam.orders), "miscut": sum(row.miscut for row in foam.orders),
    }  # fmt: skip
    return render(request, "day/day.html", context)


def grade_rows(foam: usage.DayFoam) -> list[dict]:
    """Return each grade with its figures and its bar; all bars have one scale."""
    most = max((sum(max(getattr(row.day, name), 0) for name, _, _ in OUT) for row in foam.grades), default=0) or 1
    rows = []
    for row in foam.grades:
        figures = [{"name": name, "word": word, "volume": getattr(row.day, name)} for name, word, _ in OUT]
        rows.append({"foam": row, "grade": row.grade, "figures": figures, "slices": slices(row.day, BAR / most)})
    return rows


def slices(figures: account.GradeDay, scale: float) -> list[dict]:
    """Return the slices of a grade's bar, left to right; a figure below nothing has none."""
    found, x = [], 0.0
    for name, word, look in OUT:
        wide = max(getattr(figures, name), 0) * scale
        if wide:
            found.append({"x": round(x, 2), "wide": round(wide, 2), "look": look, "word": word})
        x += wide
    return found


def looked_at(foam: usage.DayFoam) -> list[dict]:
    """Return what to look at, foam that was not found first."""
    lost = [
        {"mark": "trouble", "sentence": f"{row.grade}: {usage.board_feet(row.day.unaccounted):,.1f} bf not found."}
        for row in foam.grades if row.day.unaccounted
    ]  # fmt: skip
    return lost + [{"mark": MARKS[row.code], "sentence": row.sentence} for row in foam.look_at]


def why_not_closed(foam: usage.DayFoam) -> str:
    """Return what closing the day waits for; nothing when it may be closed."""
    lost = sum(abs(row.day.unaccounted) for row in foam.grades)
    return f"waits for {usage.board_feet(lost):,.1f} bf that are not found" if lost else ""


@require_POST
@allowed(MANAGER)
def day_close(request, of: date):
    """Close a day: its figures stay as they are, later corrections are lines of their own day."""
    try:
        account.close_day(of, Act(request.user))
    except Refused as refusal:
        messages.error(request, refusal.sentence)
    else:
        messages.success(request, f"{say_day(of)} is closed. Its figures stay as they are.")
    return redirect("day-on", of)


@require_safe
@allowed(MANAGER)
def day_csv(request, of: date):
    """Return the day as a table: one row a grade, then one row an order, in cubic inches and board feet."""
    foam = usage.day(of)
    text = io.StringIO()
    table = csv.writer(text)
    table.writerow(["day", "grade", "order", "figure", "cubic inches", "board feet"])
    for row in foam.grades:
        for name in ("on_saw_start", "issued", *(name for name, _, _ in OUT)):
            table.writerow([of, plain(row.grade.name), "", name, *amounts(getattr(row.day, name))])
    for row in foam.orders:
        for name in ("good", "miscut"):
            table.writerow([of, plain(row.grade.name), row.order.number, name, *amounts(getattr(row, name))])
    answer = HttpResponse(text.getvalue(), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="foam-{of}.csv"'
    return answer


def amounts(volume: int) -> tuple[str, str]:
    """Return a volume in cubic inches, exact to a millionth, and in board feet."""
    inches = Decimal(volume) / UM3_PER_CUBIC_INCH
    return f"{inches:.6f}", f"{inches / 144:.6f}"


def plain(text: str) -> str:
    """Return a text that no spreadsheet runs as a formula."""
    return f"'{text}" if text.startswith(UNSAFE) else text
