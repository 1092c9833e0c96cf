"""Two plans side by side: what each costs and opens, which figure is better, which blanks come out of other foam."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.shortcuts import render
from django.views.decorators.http import require_safe

from cutsheets.drawings.scene import Scene
from cutsheets.planning.check import Stats, check
from cutsheets.solids import OpenedPiece
from orders import planning
from orders.models import CuttingRun
from orders.usage import board_feet
from shop.refusals import Refused
from shop.roles import DESK, allowed
from shop.views.asking import whole

from .plan_pictures import foam_bar

REFUSED = 409
BARS_APART = 40.0  # mm of the drawing
NO_PLAN = (CuttingRun.State.PLANNING, CuttingRun.State.FAILED)
OFFERED = 12  # plans to compare one with
LESS, MORE = -1, 1  # which of two figures is the better one


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two plans: its figures, its opened pieces, and which blank comes how often out of which of them."""

    run: CuttingRun
    stats: Stats
    opened: tuple[OpenedPiece, ...]
    blanks: dict[int, str]
    gives: Counter[tuple[int, str]]  # the key of a blank and the tag of a piece

    @property
    def wanted(self) -> dict[int, int]:
        """Return how many of each blank the plan gives."""
        return {self.run.figures["blanks"][blank["id"]]: blank["qty"] for blank in self.run.instance["blanks"]}


@require_safe
@allowed(DESK)
def plan_compare(request):
    """Show two plans of one grade beside each other; with one number or none, ask for the other."""
    typed = [text for text in request.GET.getlist("plan") if text.strip()]
    context: dict[str, Any] = {"typed": [*typed, "", ""][:2]}
    if len(typed) < 2:
        return render(request, "plans/compare.html", context | {"others": others(typed)})
    try:
        context |= compared(*two_plans(typed))
    except Refused as refusal:
        return render(request, "plans/compare.html", context | {"refusal": refusal.sentence}, status=REFUSED)
    return render(request, "plans/compare.html", context)


def others(typed: list[str]) -> list[CuttingRun]:
    """Return the newest plans that may stand beside the one of this number."""
    one = CuttingRun.objects.filter(number__in=[whole(text.strip()) for text in typed]).first()
    runs = CuttingRun.objects.exclude(state__in=NO_PLAN)
    return list(runs.filter(grade=one.grade_id).exclude(pk=one.pk)[:OFFERED]) if one else []


def two_plans(typed: list[str]) -> tuple[CuttingRun, CuttingRun]:
    """Return the two plans of these numbers, the older first; refused where they cannot be compared."""
    for text in typed:
        if not whole(text.strip()):
            raise Refused("no-number", f"“{text[:20]}” is no number of a plan; type one such as 118.")
    numbers = sorted({whole(text.strip()) for text in typed})
    if len(numbers) != 2:
        raise Refused("not-two", f"{len(numbers)} plan{'s' * (len(numbers) != 1)} chosen; choose two to compare.")
    found = {
        run.number: run for run in CuttingRun.objects.filter(number__in=numbers).select_related("grade", "follows")
    }
    for text in typed:
        if whole(text.strip()) not in found:
            raise Refused("no-plan", f"There is no plan “{text[:20]}”; type the number of a plan.")
    one, two = (found[number] for number in numbers)
    if one.grade_id != two.grade_id:
        raise Refused(
            "other-grade",
            f"Plan {one.number} is {one.grade}, plan {two.number} is {two.grade}; choose two plans of one grade.",
        )
    for run in (one, two):
        if run.state in NO_PLAN or not run.plan.get("pieces"):
            raise Refused("no-plan", f"Plan {run.number} is {run.get_state_display()}; choose one that can be sawn.")
    return one, two


def compared(one: CuttingRun, two: CuttingRun) -> dict[str, Any]:
    """Return what the page shows about two plans of one grade."""
    a, b = side(one), side(two)
    same, one_price = a.wanted == b.wanted, not other_prices(one, two)
    return {
        "a": a, "b": b, "same": same, "other_prices": not one_price, "only_a": only(a, b), "only_b": only(b, a),
        "rows": [*amounts(a, b, same, one_price), *shares(a, b)], "bars": two_bars(a, b),
        "pieces": piece_rows(a, b), "moved": moved(a, b),
    }  # fmt: skip


def other_prices(one: CuttingRun, two: CuttingRun) -> bool:
    """Return whether the shop's prices changed between two plans: those of the work, or of foam that both may open."""
    a, b = (_foam_prices(run) for run in (one, two))
    dearer = any(a[piece] != b[piece] for piece in a.keys() & b.keys())
    return dearer or one.instance.get("prices") != two.instance.get("prices")


def _foam_prices(run: CuttingRun) -> dict[tuple, int]:
    """Return what each block and remnant that a plan might open costs, by its kind and size."""
    kinds = ("stock", "remnants")
    return {(kind, *each["size"]): each["price"] for kind in kinds for each in run.instance[kind]}


def side(run: CuttingRun) -> Side:
    opened = tuple(planning.opened_pieces(run))
    keys = run.figures["blanks"]
    leaves = ((keys[leaf.name], piece.source) for piece in opened for leaf in piece.placed if leaf.kind == "blank")
    names = {key: name for name, key in keys.items()}
    return Side(run, check(run.instance, run.plan).stats, opened, names, Counter(leaves))


def only(a: Side, b: Side) -> list[str]:
    """Return the blanks of which the first plan gives more, with how many more."""
    more = ((key, qty - b.wanted.get(key, 0)) for key, qty in a.wanted.items())
    return [f"{qty} of {a.blanks[key]}" for key, qty in more if qty > 0]


# Figures side by side ---------------------------------------------------------------------------------------------


def amounts(a: Side, b: Side, same: bool, one_price: bool) -> Iterable[dict[str, Any]]:
    """Yield the amounts of both plans; less is better, if both give the same blanks, and cost at the same prices."""
    less = LESS if same else 0
    both = (a.stats, b.stats)
    costs = [each.run.figures["score"] / 100 for each in (a, b)]
    yield row("Cost in shop prices", costs, less if one_price else 0, money=True)
    yield row("New blocks", [stats.new_blocks for stats in both], less)
    yield row("Remnants used", [stats.remnants_used for stats in both])
    yield row("Remnants made", [stats.remnants_kept for stats in both])
    yield row("Cuts", [stats.cuts for stats in both], less)
    yield row("Foam opened, bf", [board_feet(stats.opened) for stats in both], less)
    yield row("Trim and skins, bf", [board_feet(stats.waste) for stats in both], less)
    yield row("Kerf, bf", [board_feet(stats.kerf) for stats in both], less)


def shares(a: Side, b: Side) -> Iterable[dict[str, Any]]:
    """Yield the yields of both plans, which can be compared whatever they give, and how far each is above its bound."""
    both = (a.stats, b.stats)
    yield row("Blanks out of what is opened, %", [100 * stats.yield_gross for stats in both], MORE)
    yield row("Blanks out of what is not kept, %", [100 * stats.yield_net for stats in both], MORE)


def row(name: str, figures: list[float], better: int = 0, *, money: bool = False) -> dict[str, Any]:
    """Return one row of two figures as they are said, and which of them is better: 0, 1, or None."""
    said = [f"{figure:,.2f}" if money else f"{figure:,.1f}" if isinstance(figure, float) else str(figure)
            for figure in figures]  # fmt: skip
    best = max(figures) if better == MORE else min(figures)
    marked = better and said[0] != said[1]
    return {"name": name, "said": said, "better": figures.index(best) if marked else None, "money": money}


def two_bars(a: Side, b: Side) -> Scene:
    """Return both foam bars above each other, to one scale."""
    longest = max(a.stats.opened, b.stats.opened)
    upper, lower = (foam_bar(each.stats, longest) for each in (a, b))
    return Scene((*lower.shapes, *upper.moved(0, BARS_APART).shapes))


# Foam and blanks --------------------------------------------------------------------------------------------------


def piece_rows(a: Side, b: Side) -> list[dict[str, Any]]:
    """Return every block and remnant that one of the plans opens, with what each plan makes of it."""
    tags = dict.fromkeys(piece.source for each in (a, b) for piece in each.opened)
    rows = []
    for tag in tags:
        pieces = [next((piece for piece in each.opened if piece.source == tag), None) for each in (a, b)]
        cut = [piece and sorted((leaf.kind, leaf.pos, leaf.size) for leaf in piece.placed) for piece in pieces]
        rows.append({"tag": tag, "made": [piece and made_of(piece) for piece in pieces], "same": cut[0] == cut[1]})
    return rows


def made_of(piece: OpenedPiece) -> dict[str, int]:
    """Return how many cuts, blanks and remnants an opened piece takes and gives."""
    kinds = Counter(leaf.kind for leaf in piece.placed)
    return {"cuts": len(piece.steps), "blanks": kinds["blank"], "remnants": kinds["remnant"]}


def moved(a: Side, b: Side) -> list[dict[str, Any]]:
    """Return the blanks that come out of other foam in the second plan, with where from in each."""
    rows = []
    for key in dict.fromkeys([*a.blanks, *b.blanks]):
        places = [[(tag, n) for (blank, tag), n in each.gives.items() if blank == key] for each in (a, b)]
        if sorted(places[0]) != sorted(places[1]):
            rows.append({"name": a.blanks.get(key) or b.blanks[key], "places": places})
    return rows
