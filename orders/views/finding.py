"""What a scanned or typed code leads to from the find field of the office; never to the nearest."""

from django.http import Http404
from django.urls import reverse

from cutsheets.codes import BundleCode, OrderCode, PlanCode, ProfileCode, StockCode, read_code, revision_letter
from cutsheets.errors import CutsheetError
from orders import repeats
from orders.answers import Answer
from orders.models import CuttingRun, Order
from orders.scanning import other_sheet, plan_over
from shop.tags import tag_of

STALE = ("plan-void", "plan-replaced")  # saw sheets to be torn up


def scanned(text: str, *, on: str = "") -> str:
    """Return the address that a code leads to, "" for what is no code; `on` is the order whose page is open.

    Answers 404 for a repeat sheet of a profile or revision that the library does not have.
    """
    try:
        code = read_code(text)
    except CutsheetError:
        return ""
    match code:
        case OrderCode() | BundleCode():
            return reverse("order", args=[code.number])
        case PlanCode():
            return reverse("plan", args=[code.number])
        case StockCode():
            return reverse("stock-piece", args=[tag_of(code)])
        case ProfileCode():
            return _again(code, on)
    return ""


def old_paper(text: str) -> str:
    """Return what to say of the code of a sheet, of an order or a plan, that is not in force, "" for any other text."""
    try:
        code = read_code(text)
    except CutsheetError:
        return ""
    match code:
        case OrderCode() | BundleCode():
            return _old_sheet(code)
        case PlanCode():
            return _old_plan(code)
    return ""


def _old_sheet(code: OrderCode | BundleCode) -> str:
    order = Order.objects.filter(number=code.number, revision__gt=0).first()
    if order is None or code.revision == revision_letter(order.revision):
        return ""
    return _told(other_sheet(order, code.revision))


def _old_plan(code: PlanCode) -> str:
    run = CuttingRun.objects.filter(number=code.number).first()
    answer = run and plan_over(run)
    return _told(answer) if answer and answer.code in STALE else ""


def _told(answer: Answer) -> str:
    changes = [f"{each['what']} {each['old']} is now {each['new']}" for each in answer.details.get("changes", ())]
    return " ".join([answer.sentence, *(f"{change}." for change in changes)])


def _again(code: ProfileCode, on: str) -> str:
    revision = repeats.found(code)
    if revision is None:
        raise Http404
    args = [revision.profile.code, revision.number]
    return reverse("profile-order-again", args=args, query={"on": on} if on.isdecimal() else None)
