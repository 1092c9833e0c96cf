"""Pieces of the plan before that stay as they are: taken out of what is planned, and put back into the plan."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any, NoReturn

from cutsheets.stock import Instance, Plan, PlanPiece
from orders.models import CuttingRun
from shop.refusals import Refused

from .asked import Asked
from .pieces import leaves_named, renamed, tags_of
from .rack import Rack


@dataclass(frozen=True, slots=True)
class Kept:
    """Pieces that stay, under the names of today's rack, each with its tag. There may be none."""

    rack: Rack
    pieces: tuple[tuple[str, PlanPiece], ...]

    @property
    def tags(self) -> set[str]:
        return {tag for tag, _ in self.pieces}

    def rest(self) -> Instance:
        """Return what is left to plan: the instance without the kept pieces and without the blanks that they give."""
        given = self._given()
        gone = Counter(name for name, tags in self.rack.tags.items() for tag in tags if tag in self.tags)
        instance = self.rack.instance
        stock = [each | {"limit": each["limit"] - gone[each["id"]]} for each in instance["stock"]]
        blanks = [each | {"qty": each["qty"] - given[each["id"]]} for each in instance["blanks"]]
        return instance | {
            "stock": [each for each in stock if each["limit"]],
            "remnants": [each for each in instance["remnants"] if each["id"] not in self.tags],
            "blanks": [each for each in blanks if each["qty"]],
        }

    def with_rest(self, plan: Plan) -> tuple[Plan, dict[str, list[str]]]:
        """Return the plan of the rest and the kept pieces as one plan of the whole, and the tags behind its stock."""
        pieces = [*(piece for _, piece in self.pieces), *plan["pieces"]]
        pieces.sort(key=lambda piece: piece["source"].startswith("stock:"))  # remnants first, as they are opened
        opened: Counter[str] = Counter()
        names = iter(f"N{number}" for number in range(1, 1_000_000))
        numbered = []
        for piece in pieces:
            name = piece["source"]
            if name.startswith("stock:"):
                name = name.rsplit("#", 1)[0]
                opened[name] += 1
                name = f"{name}#{opened[name]}"
            fresh = {old: next(names) for old in leaves_named(piece["tree"], "remnant")}
            numbered.append({"source": name, "tree": renamed(piece["tree"], "remnant", fresh)})
        return plan | {"pieces": numbered}, self._tags()

    def need_wanted(self) -> None:
        """Refuse pieces that give more of a blank than is wanted by now."""
        given = self._given()
        for blank in self.rack.instance["blanks"]:
            if given[blank["id"]] > blank["qty"]:
                what = f"{given[blank['id']]} of {blank['id']}, and {blank['qty']} are wanted now"
                _refuse(", ".join(sorted(self.tags)), f"they give {what}")

    def _given(self) -> Counter[str]:
        return Counter(name for _, piece in self.pieces for name in leaves_named(piece["tree"], "blank"))

    def _tags(self) -> dict[str, list[str]]:
        """Return the tags behind each size of stock, those of kept pieces first, as the plan opens them."""
        kept = [tag for tag, _ in self.pieces]
        return {
            name: [tag for tag in kept if tag in tags] + [tag for tag in tags if tag not in kept]
            for name, tags in self.rack.tags.items()
        }


def kept_pieces(run: CuttingRun, rack: Rack) -> Kept:
    """Return the pieces that a run keeps of the plan that it follows.

    Refused with `keep-old` where a piece is not planned there, its foam is not free as it was, or its blanks are not
    wanted any more.
    """
    asked, before = Asked.of(run).keep, run.follows
    planned = dict(zip(tags_of(before), before.plan["pieces"], strict=True)) if before and before.plan else {}
    pieces = []
    for tag in asked:
        if tag not in planned:
            _refuse(tag, "the plan before does not open it")
        pieces.append((tag, _as_of_today(tag, planned[tag], before, rack)))
    kept = Kept(rack, tuple(pieces))
    kept.need_wanted()
    return kept


def _as_of_today(tag: str, piece: PlanPiece, before: CuttingRun, rack: Rack) -> PlanPiece:
    """Return a planned piece under the names that foam and blanks have on today's rack."""
    source = _source(rack, tag)
    if source is None or source["size"] != _planned_size(before, piece["source"]):
        _refuse(tag, "it is not free on the rack as it was")
    today = {key: name for name, key in rack.blanks.items()}
    blanks = {name: today.get(key, "") for name, key in before.figures["blanks"].items()}
    if not all(blanks[name] for name in leaves_named(piece["tree"], "blank")):
        _refuse(tag, "a blank that it gives is not wanted any more")
    kind = "stock" if "limit" in source else "remnant"
    name = f"{kind}:{source['id']}" + ("#1" if kind == "stock" else "")
    return {"source": name, "tree": renamed(piece["tree"], "blank", blanks)}


def _source(rack: Rack, tag: str) -> Any:
    """Return the entry of a tag in the instance of a rack: a size of stock, a remnant, or None."""
    names = {each: name for name, tags in rack.tags.items() for each in tags}
    every = [*rack.instance["stock"], *rack.instance["remnants"]]
    return next((each for each in every if each["id"] == names.get(tag, tag)), None)


def _planned_size(before: CuttingRun, source: str) -> list[int]:
    kind, name = source.split(":", 1)
    every = before.instance["remnants" if kind == "remnant" else "stock"]
    return next(each["size"] for each in every if each["id"] == (name if kind == "remnant" else name.rsplit("#", 1)[0]))


def _refuse(tags: str, why: str) -> NoReturn:
    raise Refused("keep-old", f"{tags} cannot stay as planned: {why}. Free it, and plan again.", tags=tags)
