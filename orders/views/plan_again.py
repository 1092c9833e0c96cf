"""A plan again: what the manager asks of the next plan, read from the page of this one, and what may be asked.

Blocks stay as planned (keep) or stay shut (out), what lies free on the rack is used first or stays shut too, and orders
are left out. Whatever is asked of foam or of orders that are not there is refused by name.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from typing import Any

from django.http import QueryDict

from orders.models import CuttingRun
from orders.planning import Asked, free_pieces, opened_pieces
from orders.planning.pieces import tags_of
from shop.models import Grade, ShopRules, StockPiece
from shop.refusals import Refused
from shop.views.asking import whole

from .plan_page import demand_rows, standing

LONGEST = ShopRules.LONGEST_PLAN  # seconds that a plan may be looked for
State = CuttingRun.State
DRAFTS = (State.DRAFT, State.FAILED)  # nothing is reserved or sawn
RESTS = (State.ACCEPTED, State.DONE)  # what waits of it, or what it did not give, is planned again
AGAIN = (*DRAFTS, State.ACCEPTED)
TICKS = ("keep", "out", "first")


@dataclass(frozen=True, slots=True)
class Choices:
    """What stands in the form, as it was typed; `orders` None: every order that waits."""

    seconds: str
    orders: frozenset[str] | None
    keep: frozenset[str]
    out: frozenset[str]
    first: frozenset[str]


def asked_before(run: CuttingRun) -> Choices:
    """Return what was asked of this plan: it stands in the form until it is taken back, or the plan is accepted."""
    asked = Asked.of(run)
    if run.state in RESTS:
        asked = replace(asked, orders=None, keep=())
    seconds = asked.seconds if run.asked else ShopRules.current().plan_seconds
    orders = None if asked.orders is None else frozenset(map(str, asked.orders))
    return Choices(str(seconds), orders, *(frozenset(getattr(asked, name)) for name in TICKS))


def asked_now(post: QueryDict) -> Choices:
    """Return what was posted, not looked at yet."""
    orders = frozenset(number.strip() for number in post.getlist("order"))
    return Choices(post.get("seconds", ""), orders, *(frozenset(post.getlist(name)) for name in TICKS))


def instead_of(run: CuttingRun) -> int:
    """Return the number of the accepted plan whose waiting foam counts as free: this one, or which a draft follows."""
    return run.number if run.state in RESTS else Asked.of(run).instead_of


def base_of(run: CuttingRun) -> CuttingRun | None:
    """Return the plan that the next one follows: this one, or where it has failed the one that it followed."""
    return run if run.plan.get("pieces") else run.follows


def again(run: CuttingRun, choices: Choices) -> dict[str, Any]:
    """Return what the form shows: the orders that wait, and what lies free on the rack beside the foam of this plan."""
    if not choices.seconds.strip():
        choices = replace(choices, seconds=str(ShopRules.current().plan_seconds))
    planned = tags_of(run) if run.plan.get("pieces") else []
    free = free_pieces(run.grade, instead_of(run)).exclude(tag__in=planned)
    return {
        "choices": choices, "is_rest": run.state in RESTS,
        "orders": demand_rows(run.grade, choices.orders, instead_of(run)),
        "rack": sorted(free, key=lambda piece: (not piece.is_remnant, -piece.volume, piece.tag)),
    }  # fmt: skip


def asked_of(run: CuttingRun, choices: Choices) -> Asked:
    """Return what is asked of the plan that follows this one, or refuse what cannot be asked."""
    base = base_of(run)
    planned = tags_of(base) if base else []
    for tag in sorted(choices.keep - set(planned)):
        raise Refused("not-planned", f"“{tag[:20]}” is no block of plan {run.number}; keep only what it opens.")
    for tag in sorted(choices.out & (choices.keep | choices.first)):
        raise Refused("both", f"{tag} cannot stay shut and be opened; take one of the two ticks away.")
    need_free(run, choices.keep | choices.out | choices.first)
    orders = need_waiting(run.grade, choices.orders or frozenset(), instead_of(run))
    if base and orders is not None:
        need_orders_of_kept(base, choices.keep, orders)
    return Asked(
        seconds=seconds(choices.seconds), orders=orders, out=tuple(sorted(choices.out)),
        first=tuple(sorted(choices.first)), keep=tuple(tag for tag in planned if tag in choices.keep),
        saw=Asked.of(run).saw, instead_of=instead_of(run),
    )  # fmt: skip


def seconds(text: str) -> int:
    """Return for how long a plan is looked for."""
    typed = whole(text.strip())
    if not text.strip():
        raise Refused("seconds", f"Type for how many seconds the plan is looked for, 1 to {LONGEST}.")
    if not 1 <= typed <= LONGEST:
        raise Refused("seconds", f"“{text[:20]}” seconds cannot be planned; type 1 to {LONGEST}.")
    return typed


def need_free(run: CuttingRun, tags: Iterable[str]) -> None:
    """Refuse the first of these blocks and remnants that does not lie free on the rack, with where it is."""
    grade, wanted = run.grade, sorted(tags)
    free = set(free_pieces(grade, instead_of(run)).values_list("tag", flat=True))
    found = {piece.tag: piece for piece in StockPiece.objects.filter(tag__in=wanted).select_related("grade")}
    for tag in wanted:
        piece = found.get(tag)
        if piece is None:
            raise Refused("no-piece", f"There is no block or remnant “{tag[:20]}”; choose from the rack.")
        if piece.grade != grade:
            raise Refused("other-grade", f"{tag} is {piece.grade}, this plan is of {grade}; choose from its rack.")
        if tag not in free:
            raise Refused("stock-gone", f"{tag} is {standing(piece)}, not free on the rack; plan again without it.")


def need_waiting(grade: Grade, orders: Collection[str], instead_of: int = 0) -> tuple[int, ...] | None:
    """Return the orders of a plan, None where it is every order that waits for this grade; refuse any other by name."""
    waiting = {row["order"].number for row in demand_rows(grade, instead_of=instead_of)}
    if not orders:
        raise Refused("nothing-chosen", "Every order is left out; choose at least one to plan.")
    for text in sorted(orders):
        if not whole(text):
            raise Refused("no-order", f"“{text[:20]}” is no number of an order; choose from those that wait.")
        if whole(text) not in waiting:
            raise Refused("not-waiting", f"Order {whole(text)} does not wait for blanks of {grade}; leave it out.")
    numbers = set(map(whole, orders))
    return None if numbers == waiting else tuple(sorted(numbers))


def need_orders_of_kept(base: CuttingRun, keep: frozenset[str], orders: tuple[int, ...]) -> None:
    """Refuse to keep a block as planned that gives blanks of an order which is left out."""
    for piece in opened_pieces(base):
        numbers = {int(leaf.name.split()[0]) for leaf in piece.placed if leaf.kind == "blank"}
        for number in sorted(numbers - set(orders)) if piece.source in keep else ():
            what = f"{piece.source} stays as planned, but gives blanks of order {number}, which is left out"
            raise Refused("kept-order", f"{what}. Free the block, or plan the order too.")


def said(run: CuttingRun) -> list[str]:
    """Return what was asked of a plan, in words."""
    asked = Asked.of(run)
    words = [f"takes over what waits of plan {asked.instead_of}"] if asked.instead_of else []
    used = tags_of(run) if run.plan.get("pieces") else asked.first
    words += [f"{tag} stays as planned" for tag in asked.keep] + [f"{tag} stays shut" for tag in asked.out]
    words += [f"{tag} is used first" for tag in asked.first if tag in used]
    words += [f"{tag} was to be used first, and is not used" for tag in asked.first if tag not in used]
    if run.follows and asked.orders is not None:
        before = {int(blank["id"].split()[0]) for blank in run.follows.instance.get("blanks", ())}
        words += [f"order {number} is left out" for number in sorted(before - set(asked.orders))]
    return words
