"""Foam on the rack: what is there, what came, what was counted."""

from collections.abc import Callable
from dataclasses import dataclass

from django import forms
from django.core.paginator import Paginator
from django.db import transaction
from django.db.models import Q
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from shop import account
from shop.acts import Act
from shop.forms import MeasuredForm, ReasonForm, ReceiveForm
from shop.live import live
from shop.models import Grade, ShopRules, StockPiece
from shop.refusals import Refused
from shop.roles import DESK, EVERYONE, MANAGER, allowed, may
from shop.tags import BLOCK, free_tags

from .asking import typed, whole

HERE = (StockPiece.State.ON_RACK, StockPiece.State.RESERVED, StockPiece.State.ON_SAW)


@require_safe
@allowed(EVERYONE)
@live
def stock(request):
    """List blocks and remnants, by default those that are here, and the book stock of each grade."""
    pieces = StockPiece.objects.select_related("grade", "nominal", "parent")
    wanted, find, grade = (typed(request, key) for key in ("state", "find", "grade"))
    pieces = pieces.filter(state=wanted) if wanted in StockPiece.State.values else pieces.filter(state__in=HERE)
    if grade.isdecimal():
        pieces = pieces.filter(grade=whole(grade))
    if find:
        pieces = pieces.filter(Q(tag__icontains=find) | Q(lot__icontains=find) | Q(place__icontains=find))
    page = Paginator(pieces, 50).get_page(request.GET.get("page"))
    context = {
        "page": page, "grades": grade_rows(), "states": StockPiece.State, "unit": ShopRules.current().unit,
        "wanted": wanted, "find": find, "grade": grade, "may_receive": may(request.user, DESK),
    }  # fmt: skip
    return render(request, "stock/list.html", context)


def grade_rows() -> list[dict]:
    """Return for each active grade what is on the rack: blocks, remnants, volume (µm³), and whether to order more.

    Blocks reserved for a plan are as good as gone: they stand beside the others and do not count as left.
    """
    none = {"blocks": 0, "remnants": 0, "reserved": 0, "volume": 0}
    rows = {grade.pk: {"grade": grade} | none for grade in Grade.objects.all()}
    here = StockPiece.objects.filter(state__in=HERE[:2])
    for grade, parent, state, *size in here.values_list("grade", "parent", "state", "l_um", "w_um", "h_um"):
        rows[grade]["remnants" if parent else "blocks"] += 1
        rows[grade]["reserved"] += not parent and state == StockPiece.State.RESERVED
        rows[grade]["volume"] += size[0] * size[1] * size[2]
    for row in rows.values():
        row["low"] = row["blocks"] - row["reserved"] < row["grade"].order_at
    return [row for row in rows.values() if row["grade"].active or row["volume"]]


@allowed(DESK)
def receive(request):
    """Put blocks that came off the truck on the books, one tag each."""
    form = ReceiveForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        size = (data["l_um"], data["w_um"], data["h_um"])
        rest = {key: data[key] for key in ("nominal", "lot", "mould_date", "place")}
        act = Act(request.user)
        try:
            with transaction.atomic():
                pieces = [
                    account.receive(tag, data["grade"], size, act, **rest) for tag in free_tags(BLOCK, data["count"])
                ]
        except Refused as refusal:
            form.add_error(None, refusal.sentence)
        else:
            return redirect(reverse("stock-tags", query={"tag": [piece.tag for piece in pieces]}))
    return render(request, "stock/receive.html", {"form": form}, status=422 if form.errors else 200)


@dataclass(frozen=True)
class Count:
    """One thing a count can find about a piece: the form that asks for it, and what the account then writes."""

    form: Callable[..., forms.Form]
    write: Callable[[StockPiece, forms.Form, Act], object]


def _found(what: Callable[[forms.Form], object]):
    return lambda piece, form, act: account.correct(piece, act, reason=form.cleaned_data["reason"], found=what(form))


COUNTS = {
    "measured": Count(MeasuredForm, _found(lambda form: form.size_um)),
    "missing": Count(ReasonForm, _found(lambda form: False)),
    "found": Count(ReasonForm, _found(lambda form: True)),
    "scrap": Count(ReasonForm, lambda piece, form, act: account.scrap(piece, act, reason=form.cleaned_data["reason"])),
}


def count_forms(piece: StockPiece, name: str = "", data=None) -> dict[str, forms.Form]:
    """Return the forms of a count by name; the one called `name` holds what was typed."""
    return {
        each: count.form(data if each == name else None, prefix=each, piece=piece) for each, count in COUNTS.items()
    }


def piece_page(request, piece: StockPiece, count: dict[str, forms.Form], status: int = 200):
    """Render one block or remnant with its history and the forms of a count."""
    context = {
        "piece": piece, "unit": ShopRules.current().unit, "count": count,
        "moves": piece.moves.select_related("by", "station").order_by("-pk"),
        "remnants": piece.remnants.all(),
        "may_count": may(request.user, MANAGER),
        "counted": piece.state == StockPiece.State.ON_RACK, "lost": piece.state == StockPiece.State.SCRAPPED,
    }  # fmt: skip
    return render(request, "stock/piece.html", context, status=status)


def load(tag: str) -> StockPiece:
    return get_object_or_404(StockPiece.objects.select_related("grade", "parent", "nominal"), tag=tag)


@require_safe
@allowed(EVERYONE)
def stock_piece(request, tag):
    """Show one block or remnant: size, lot, age, place, and every move of the account that names it."""
    piece = load(tag)
    return piece_page(request, piece, count_forms(piece))


@require_POST
@allowed(MANAGER)
def stock_count(request, tag, what):
    """Write what a count found about a piece; a refusal stays beside its form, and nothing is written."""
    piece = load(tag)
    count = count_forms(piece, what, request.POST)
    form = count[what]
    if form.is_valid():
        try:
            with transaction.atomic():
                COUNTS[what].write(piece, form, Act(request.user))
        except Refused as refusal:
            form.add_error(None, refusal.sentence)
        else:
            return redirect("stock-piece", tag=tag)
    return piece_page(request, load(tag), count, status=422)
