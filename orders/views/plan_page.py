"""What the page of a cutting plan shows: pieces with their cuts, blanks by order, remnants, yield and bound."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection

from cutsheets.drawings.runs import name_marks
from cutsheets.planning.bounds import Bound
from cutsheets.planning.check import Stats, check
from cutsheets.planning.reasons import reasons, say_reason
from cutsheets.solids import OpenedPiece
from cutsheets.stock import volume
from cutsheets.units import Unit
from orders import planning, sawing
from orders.models import Blank, CuttingRun
from shop.models import Grade, ShopRules, StockPiece

from .plan_faces import faces
from .plan_pictures import foam_bar, piece_pictures, tape

State = CuttingRun.State
CENT = 1.0  # of the score: what lies nearer to the bound is as good as it


def plan_context(run: CuttingRun) -> dict:
    """Return what the page of a plan shows."""
    unit = ShopRules.current().unit
    opened = planning.opened_pieces(run)
    verdict = check(run.instance, run.plan)
    stats = verdict.stats
    kept = [leaf for piece in opened for leaf in piece.placed if leaf.kind == "remnant"]
    kept.sort(key=lambda leaf: (len(leaf.name), leaf.name))  # N2 before N10
    blanks, pieces = blank_rows(run), piece_rows(run, opened, unit)
    return {
        "run": run, "unit": unit, "pieces": pieces, "stats": stats, "verdict": verdict,
        "blanks": blanks, "orders_in_plan": len({row["order"] for row in blanks}), "total": blank_count(run),
        "remnants": [{"tag": leaf.name, "size": leaf.size, "volume": volume(leaf.size)} for leaf in kept],
        "yields": yields(run.figures), "tape": tape(run, stats), "bar": foam_bar(stats), "kerf": run.instance["kerf"],
        "why": why(run, stats, unit), "faces": faces(run, unit),
        "blocked": next((f"{row['tag']} is {row['gone']}." for row in pieces if row["gone"]), ""),
        "is_open": run.state in (State.DRAFT, State.ACCEPTED),
        "started": run.sources.filter(state__in=("saw", "done")).exists(),
        "changes": planning.changes_since(run), "replaced_by": sawing.replaced_by(run), "to_come": to_come(run),
    }  # fmt: skip


def to_come(run: CuttingRun) -> list[CuttingRun]:
    """Return the plans, not accepted yet, that would take over the rest of this one."""
    unaccepted = CuttingRun.objects.filter(state__in=(State.PLANNING, State.DRAFT))
    return list(unaccepted.filter(asked__instead_of=run.number)) if run.state in (State.ACCEPTED, State.DONE) else []


def piece_rows(run: CuttingRun, opened: list[OpenedPiece], unit: Unit) -> list[dict]:
    """Return every opened piece with its pictures, its numbered cuts, where it lies now, and what is wrong with it."""
    where = {source.piece.tag: source for source in run.sources.select_related("piece")}
    stock = {piece.tag: piece for piece in StockPiece.objects.filter(tag__in=[piece.source for piece in opened])}
    free = set(planning.free_pieces(run.grade, planning.Asked.of(run).instead_of).values_list("tag", flat=True))
    rows = []
    for row in piece_pictures(opened, unit, short_labels(run)):
        tag = row["opened"].source
        gone = no_longer(stock.get(tag), row["opened"], free=tag in free) if run.state == State.DRAFT else ""
        rows.append(row | {"tag": tag, "stock": stock.get(tag), "source": where.get(tag), "gone": gone})
    return rows


def no_longer(piece: StockPiece | None, opened: OpenedPiece, *, free: bool) -> str:
    """Return why a draft cannot open a piece any more, "" where it can."""
    if piece is None:
        return "not in the books any more"
    if not free:
        return f"not free any more: {standing(piece)}"
    return "" if piece.size_um == opened.size else "measured anew since: it has another size"


def standing(piece: StockPiece) -> str:
    """Return where a piece is: “reserved for plan 118”, “scrapped”."""
    return f"{piece.get_state_display()} for {piece.held_for}" if piece.held_for else piece.get_state_display()


def why(run: CuttingRun, stats: Stats, unit: Unit) -> dict:
    """Return how far a plan lies above what no plan can beat, in per cent and in money, and what keeps it there."""
    score, bound = run.figures["score"], Bound(**run.figures["bound"])
    said = [say_reason(reason, unit) for reason in reasons(run.instance, bound, stats)]
    return {
        "above": above(score, bound.score), "at_bound": score < bound.score + CENT,
        "cost": f"{score / 100:,.2f}", "least": f"{bound.score / 100:,.2f}",
        "reasons": [sentence.removeprefix(f"{run.grade.name}: ") for sentence in said],  # the page is of one grade
    }  # fmt: skip


def above(score: float, bound: float) -> float | None:
    """Return by how many per cent a score lies above its bound; None where the bound says nothing."""
    return max(0.0, 100 * (score / bound - 1)) if bound > 0 else None


def short_labels(run: CuttingRun) -> dict[str, str]:
    """Return shorter words for the blanks in the pictures: the marks alone where all are of one order."""
    names = [blank["id"].partition(" ") for blank in run.instance["blanks"]]
    if len({order for order, _, _ in names}) > 1:
        return {}
    return {f"{order} {marks}": marks for order, _, marks in names}


def blank_rows(run: CuttingRun) -> list[dict]:
    """Return the planned blanks, one row a size and line, in the order of the plan."""
    blanks = Blank.objects.in_bulk(run.figures["blanks"].values())
    rows = []
    for planned in run.instance["blanks"]:
        blank = blanks.get(run.figures["blanks"][planned["id"]])
        order, _, name = planned["id"].partition(" ")
        marks = f"{name_marks(blank.marks)}{f' ×{blank.gives}' if blank.gives > 1 else ''}" if blank else ""
        rows.append({"order": int(order), "name": name, "marks": marks, "qty": planned["qty"], "size": planned["size"]})
    return rows


def blank_count(run: CuttingRun) -> int:
    """Return how many blanks a plan gives."""
    return sum(blank["qty"] for blank in run.instance.get("blanks", ()))


def demand_rows(grade: Grade, chosen: Collection[str] | None = None, instead_of: int = 0) -> list[dict]:
    """Return the wanted blanks of a grade by order, soonest needed first, with how many and how much foam."""
    by_order: dict[int, dict] = defaultdict(lambda: {"qty": 0, "volume": 0, "sizes": 0})
    for blank, qty in planning.demand(grade, instead_of):
        row = by_order[blank.line.order_id]
        row["order"] = blank.line.order
        row["qty"] += qty
        row["sizes"] += 1
        row["volume"] += blank.volume * qty
    for row in by_order.values():
        row["chosen"] = chosen is None or str(row["order"].number) in chosen
    return list(by_order.values())


def yields(figures: dict) -> dict:
    """Return the yields of a plan and of a plain shelf planner on the same blanks, in per cent."""
    names = ("yield_gross", "yield_net", "plain_yield_gross", "plain_yield_net")
    return {name: round(100 * figures[name], 1) for name in names if name in figures}
