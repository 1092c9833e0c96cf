"""What the page of a cutting plan shows: pieces with their cuts, blanks by order, remnants, yield and bound."""

from __future__ import annotations

from collections import defaultdict

from cutsheets.drawings.foam import Slice, foam_bar_scene
from cutsheets.drawings.plan import block_scene, slab_drawings
from cutsheets.drawings.runs import name_marks
from cutsheets.drawings.scene import Scene
from cutsheets.planning.check import check
from cutsheets.solids import OpenedPiece
from orders import planning
from orders.models import Blank, CuttingRun
from orders.usage import board_feet
from shop.models import Grade, ShopRules, StockPiece

BAR_LONG, BAR_HIGH, BAR_TEXT = 300.0, 14.0, 5.0  # mm of the drawing
State = CuttingRun.State


def plan_context(run: CuttingRun) -> dict:
    """Return what the page of a plan shows."""
    unit = ShopRules.current().unit
    opened = planning.opened_pieces(run)
    verdict = check(run.instance, run.plan)
    stats = verdict.stats
    kept = [leaf for piece in opened for leaf in piece.placed if leaf.kind == "remnant"]
    kept.sort(key=lambda leaf: (len(leaf.name), leaf.name))  # N2 before N10
    blanks = blank_rows(run)
    return {
        "run": run, "unit": unit, "pieces": piece_rows(run, opened, unit), "stats": stats, "verdict": verdict,
        "blanks": blanks, "orders": len({row["order"] for row in blanks}), "total": blank_count(run),
        "remnants": [{"tag": leaf.name, "size": leaf.size, "volume": volume(leaf.size)} for leaf in kept],
        "yields": yields(run.figures), "tape": tape(run, stats), "bar": foam_bar(stats), "kerf": run.instance["kerf"],
        "can_accept": run.state == State.DRAFT, "is_open": run.state in (State.DRAFT, State.ACCEPTED),
        "started": run.sources.exclude(state="waiting").exists(),
    }  # fmt: skip


def volume(size: tuple[int, int, int]) -> int:
    return size[0] * size[1] * size[2]


def piece_rows(run: CuttingRun, opened: list[OpenedPiece], unit: str) -> list[dict]:
    """Return every opened piece with its pictures, its numbered cuts, and where it lies now."""
    where = {source.piece.tag: source for source in run.sources.select_related("piece")}
    stock = {piece.tag: piece for piece in StockPiece.objects.filter(tag__in=[piece.source for piece in opened])}
    return [
        {"opened": piece, "stock": stock.get(piece.source), "source": where.get(piece.source),
         "block": block_scene(piece), "slabs": slab_drawings(piece, unit)}
        for piece in opened
    ]  # fmt: skip


def blank_rows(run: CuttingRun) -> list[dict]:
    """Return the planned blanks, one row a size and line, in the order of the plan."""
    blanks = Blank.objects.in_bulk(run.figures["blanks"].values())
    rows = []
    for planned in run.instance["blanks"]:
        blank = blanks.get(run.figures["blanks"][planned["id"]])
        order, _, name = planned["id"].partition(" ")
        marks = name_marks(blank.marks) if blank else ""
        rows.append({"order": int(order), "name": name, "marks": marks, "qty": planned["qty"], "size": planned["size"]})
    return rows


def blank_count(run: CuttingRun) -> int:
    """Return how many blanks a plan gives."""
    return sum(blank["qty"] for blank in run.instance.get("blanks", ()))


def demand_rows(grade: Grade, chosen: set[int] | None = None) -> list[dict]:
    """Return the wanted blanks of a grade by order, soonest needed first, with how many and how much foam."""
    by_order: dict[int, dict] = defaultdict(lambda: {"qty": 0, "volume": 0, "sizes": 0})
    for blank, qty in planning.demand(grade):
        row = by_order[blank.line.order_id]
        row["order"] = blank.line.order
        row["qty"] += qty
        row["sizes"] += 1
        row["volume"] += blank.volume * qty
    for row in by_order.values():
        row["chosen"] = chosen is None or row["order"].number in chosen
    return list(by_order.values())


def yields(figures: dict) -> dict:
    """Return the yields of a plan and of a plain shelf planner on the same blanks, in per cent."""
    names = ("yield_gross", "yield_net", "plain_yield_gross", "plain_yield_net")
    return {name: round(100 * figures[name], 1) for name in names if name in figures}


def tape(run: CuttingRun, stats) -> dict:
    """Return the tape of new blocks: what the blanks alone fill, what this plan opens, the fewest that any plan can."""
    bound = run.figures.get("bound", {}).get("blocks", 0)
    plain = run.figures.get("plain_stats", {}).get("new_blocks", 0)
    longest = max(stats.new_blocks, plain, 1) + 1
    step = 1000 / longest
    blocks = [volume(stock["size"]) for stock in run.instance["stock"]]
    fill = stats.blanks / max(blocks) if blocks else 0.0
    return {
        "bound": bound, "plain": plain, "fill": round(fill, 2), "is_fewest": stats.new_blocks == bound,
        "ticks": [{"n": n, "x": round(n * step, 1)} for n in range(longest + 1)],
        "x_fill": round(min(fill, longest) * step, 1), "x_plan": round(stats.new_blocks * step, 1),
        "x_plain": round(plain * step, 1),
    }  # fmt: skip


def foam_bar(stats) -> Scene | None:
    """Return where the opened foam goes: blanks, remnants kept, trim, kerf."""
    if not stats.opened:
        return None
    parts = (
        ("blanks", stats.blanks, "blanks"), ("remnants", stats.kept, "remnants kept"),
        ("trim", stats.waste, "trim and skins"), ("kerf", stats.kerf, "kerf"),
    )  # fmt: skip
    slices = [
        Slice(kind, amount, name, f"{board_feet(amount):,.1f} · {100 * amount / stats.opened:.1f} %")
        for kind, amount, name in parts if amount
    ]  # fmt: skip
    return foam_bar_scene(slices, scale=BAR_LONG / stats.opened, height=BAR_HIGH, text=BAR_TEXT)
