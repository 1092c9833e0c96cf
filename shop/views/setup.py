"""The shop's own figures and lists: rules, grades, block sizes, stations, coats, people."""

from dataclasses import dataclass

from django.contrib import messages
from django.forms import ModelChoiceField
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from cutsheets.grades import C578
from shop.forms import BlockSizeForm, CoatSystemForm, FeedForm, GradeForm, PersonForm, RulesForm, StationForm
from shop.models import ShopRules
from shop.roles import ADMIN, DESK, MANAGER, allowed, may


@dataclass(frozen=True)
class ListPage:
    """One list of the settings: its form, its words, the columns shown, and who may change it."""

    form: type
    one: str
    many: str
    columns: tuple[str, ...]
    roles: tuple = MANAGER

    @property
    def rows(self):
        model = self.form._meta.model
        relations = [field.name for field in model._meta.fields if field.is_relation]
        return model.objects.select_related(*relations) if relations else model.objects.all()


LISTS = {
    "grades": ListPage(GradeForm, "grade", "grades", ("name", "c578_type", "density", "pattern", "order_at", "active")),
    "sizes": ListPage(BlockSizeForm, "block size", "block sizes", ("name", "l_um", "w_um", "h_um")),
    "stations": ListPage(
        StationForm, "station", "stations", ("name", "kind", "wire", "travel", "height", "swing", "centres", "active")
    ),
    "feeds": ListPage(FeedForm, "wire feed", "wire feeds", ("grade", "station", "feed", "entry", "handling")),
    "coats": ListPage(CoatSystemForm, "coat", "coats", ("name", "thickness_mm", "cure_hours", "mesh_lap", "density")),
    "people": ListPage(PersonForm, "person", "people", ("username", "short_name", "role", "is_active"), ADMIN),
}


def find(request, name: str) -> ListPage:
    """Return the list of that name if this person may see it."""
    if name not in LISTS or not may(request.user, LISTS[name].roles):
        raise Http404
    return LISTS[name]


@allowed(DESK, write=MANAGER)
def shop(request):
    """Show and change the shop's own figures."""
    rules = ShopRules.current()
    form = RulesForm(request.POST if request.method == "POST" else None, instance=rules)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "Saved. Lines worked out from now on use these figures.")
        return redirect("shop")
    lists = [(name, page) for name, page in LISTS.items() if may(request.user, page.roles)]
    context = {"form": form, "lists": lists, "may_change": may(request.user, MANAGER)}
    return render(request, "shop/rules.html", context, status=422 if form.errors else 200)


@require_safe
@allowed(MANAGER)
def shop_list(request, name):
    """List grades, sizes, stations, coats or people; each row shows the values as its form would."""
    page = find(request, name)
    rows = []
    for row in page.rows:
        form = page.form(instance=row)
        rows.append((row, [shown(form, row, column) for column in page.columns]))
    labels = [heading(page.form(), column) for column in page.columns]
    context = {"page": page, "name": name, "rows": rows, "labels": labels, "c578": C578}
    return render(request, "shop/list.html", context)


def shown(form, row, column: str):
    """Return one cell: the word of a choice, another row by its name, yes or no, or the value as the form shows it."""
    if hasattr(row, f"get_{column}_display"):
        return getattr(row, f"get_{column}_display")()
    field = form.fields.get(column)
    if isinstance(field, ModelChoiceField):
        return getattr(row, column) or field.empty_label
    value = form[column].value() if field else getattr(row, column)
    return {True: "yes", False: "no", None: ""}.get(value, value) if isinstance(value, bool | None) else value


def heading(form, column: str) -> str:
    return str(form[column].label) if column in form.fields else column.replace("_", " ").capitalize()


@allowed(MANAGER)
def shop_edit(request, name, pk=None):
    """Add or change one row of a list."""
    page = find(request, name)
    row = get_object_or_404(page.form._meta.model, pk=pk) if pk else None
    form = page.form(request.POST if request.method == "POST" else None, instance=row)
    if request.method == "POST" and form.is_valid():
        saved = form.save()
        messages.success(request, f"Saved {page.one} {saved}.")
        return redirect("shop-list", name=name)
    context = {"page": page, "name": name, "form": form, "row": row}
    return render(request, "shop/edit.html", context, status=422 if form.errors else 200)
