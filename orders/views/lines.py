"""The lines of an order: opened in place, worked out while they are typed, saved, copied, deleted."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from cutsheets.errors import CutsheetError
from cutsheets.units import read_length, say_exact
from orders import entry
from orders.fitting import objections
from orders.forms.lines import KIND, LineForm
from orders.forms.texts import TypedLength
from orders.lines import OLD_NEST, shop_figures
from orders.models import Line, Order, ProfileRevision
from shop.acts import Act
from shop.refusals import Refused
from shop.roles import DESK, EVERYONE, allowed
from shop.views.asking import whole

from .orders import get_order, posted_version, renew_version, show_order
from .showing import figures, show_line

TAPE = 4  # decimals: finer than any tape; a length typed in the other unit has more


@allowed(DESK)
def line_new(request, number: int):
    """Add a line at the end of the order; `?profile=` begins it with that revision."""
    return _edit(request, get_order(number), None)


@allowed(EVERYONE, write=DESK)
def line_page(request, number: int, pk: int):
    """Open a line in its place: to change it, or just to see its figures."""
    order = get_order(number)
    return _edit(request, order, get_line(order, pk))


def get_line(order: Order, pk: int) -> Line:
    """Return a line of this order, or answer 404."""
    line = get_object_or_404(order.lines.select_related("grade", "profile__profile", "coat_system"), pk=pk)
    line.order = order
    return line


def _edit(request, order: Order, line: Line | None):
    more = request.POST.get("more", "")
    if more == KIND:
        return _kind_chosen(request, order, line)
    data = with_row(request.POST, more) if request.method == "POST" else None
    form = LineForm(data, order=order, line=line, profile=begun_with(request))
    refused = None
    if request.method == "POST" and not more and form.is_valid():
        try:
            saved = entry.save_line(
                order, form.values(), Act(request.user), version=form.cleaned_data["version"], line=line
            )
        except CutsheetError as error:
            form.place(error)
        except Refused as error:
            refused = error
            renew_version(form, error)
        else:
            return _saved(request, order, saved, nest_dropped=line is not None and line.way != saved.way)
    at_right = typed_line(order, line, form) if form.is_bound and form.is_valid() else line
    wrong = request.method == "POST" and not more and not refused
    extra = {"form": form, "open": line.pk if line else "new", "refused": refused, **at_once(at_right)}
    return show_order(request, get_order(order.number), status=422 if wrong else 0, **extra)


def begun_with(request) -> ProfileRevision | None:
    """Return the revision that a new line begins with, as the address says."""
    pk = whole(request.GET.get("profile", ""))
    return ProfileRevision.objects.select_related("profile").filter(pk=pk).first() if pk else None


def _kind_chosen(request, order: Order, line: Line | None):
    """Show the fields of the kind that was chosen, with what was typed so far; nothing is read or saved."""
    form = LineForm(order=order, line=line, typed=request.POST)
    if "HX-Request" in request.headers:
        answer = render(request, "orders/kind.html", {"form": form, "order": order})
        answer["HX-Trigger-After-Settle"] = "kind-shown"  # the figures follow
        return answer
    return show_order(request, order, form=form, open=line.pk if line else "new", **at_once(line))


def at_once(line: Line | None) -> dict:
    """Return the figures of the open line and what would stand in the way of its release."""
    if line is None:
        return figures(None)
    shop = shop_figures()
    shown = show_line(line, shop=shop)
    found = objections(line.order, [(line, shown.worked)], shop) if shown.worked else []
    return {**figures(shown), "warnings": found}


def _saved(request, order: Order, saved: Line, *, nest_dropped: bool):
    before, now = order.revision, saved.order.revision
    if nest_dropped:
        messages.warning(request, f"Line {saved.mark}: {OLD_NEST.text}")
    new_sheet = f" It is sheet {entry.revision_letter(now)} now; older paper is stale." if now != before else ""
    messages.success(request, f"Line {saved.mark} is saved.{new_sheet}")
    if "next" in request.POST:
        return redirect("order-line-new", order.number)
    return redirect("order", order.number)


def with_row(data, more: str):
    """Return the posted data with one more empty row of this kind, for a page without scripts."""
    if f"{more}-TOTAL_FORMS" in data:
        data = data.copy()
        data[f"{more}-TOTAL_FORMS"] = str(whole(data.get(f"{more}-TOTAL_FORMS", "")) + 1)
    return data


def typed_line(order: Order, line: Line | None, form: LineForm) -> Line:
    """Return the line as it stands in a valid form; it is never saved."""
    same = {"pk": line.pk, "way": line.way, "gang": line.gang} if line else {}
    return Line(order=order, position=0, **same, **form.values())


@require_POST
@allowed(DESK)
def order_figures(request, number: int):
    """Work out the line as typed and answer with its figures and pictures; nothing is saved."""
    order = get_order(number)
    pk = whole(request.POST.get("line", ""))
    line = get_line(order, pk) if pk else None
    form = LineForm(request.POST, order=order, line=line, profile=begun_with(request))
    context = {"echoes": echoes(form, order.unit), "unit": order.unit, "live": True}
    if form.is_valid():
        context |= at_once(typed_line(order, line, form))
    else:
        context["faults"] = faults(form)
    return render(request, "orders/figures.html", context)


def echoes(form: LineForm, unit: str) -> dict[str, str]:
    """Return for each length field the length that was understood, where it was typed in another way."""
    said = {}
    for part, _ in form.every_form():
        for bound in part:
            is_shown = bound.name != "coat" or form.part.with_coat
            if is_shown and isinstance(bound.field, TypedLength):
                said[bound.auto_id] = _echo(part.data.get(bound.html_name, "").strip(), unit)
    return said


def _echo(text: str, unit: str) -> str:
    try:
        understood = say_exact(read_length(text, unit), unit)
    except CutsheetError:
        return ""
    if understood == text.replace(" ", "-"):
        return ""
    decimals = understood.partition(".")[2]
    return f"= {understood if len(decimals) <= TAPE else f'{float(understood):.{TAPE}f}'} {unit}"


def faults(form: LineForm) -> list[str]:
    """Return what keeps a line from being worked out, each with its place."""
    return [
        _fault(part, name, errors[0], place)
        for part, place in form.every_form()
        for name, errors in part.errors.items()
    ]


def _fault(form, name: str, error: str, place: str) -> str:
    label = ", ".join(filter(None, (place, form[name].label.lower() if name in form.fields else "")))
    return f"{label[0].upper()}{label[1:]}: {error}" if label else error


@require_POST
@allowed(DESK)
def line_delete(request, number: int, pk: int):
    order = get_order(number)
    line = get_line(order, pk)
    try:
        entry.delete_line(order, line, Act(request.user), version=posted_version(request))
    except Refused as refused:
        return show_order(request, get_order(number), refused=refused)
    messages.success(request, f"Line {line.mark} is gone.")
    return redirect("order", number)


@require_POST
@allowed(DESK)
def line_copy(request, number: int, pk: int):
    order = get_order(number)
    line = get_line(order, pk)
    try:
        copy = entry.copy_line(order, line, Act(request.user), version=posted_version(request))
    except CutsheetError as error:
        return show_order(request, get_order(number), refused=Refused(error.code, error.message))
    except Refused as refused:
        return show_order(request, get_order(number), refused=refused)
    messages.success(request, f"Line {line.mark} is copied as {copy.mark}.")
    return redirect("order-line", number, copy.pk)
