"""The pictures of a cutting plan: slabs drawn to one size of text, the tape of blocks, the foam bar."""

from __future__ import annotations

from typing import Any

from cutsheets.drawings.foam import Slice, foam_bar_scene
from cutsheets.drawings.plan import SlabDrawing, block_scene, slab_drawings
from cutsheets.drawings.scene import Scene
from cutsheets.planning.check import Stats
from cutsheets.solids import OpenedPiece
from cutsheets.stock import volume
from cutsheets.units import Unit
from orders.models import CuttingRun
from orders.usage import board_feet

BAR_LONG, BAR_HIGH, BAR_TEXT = 300.0, 14.0, 5.0  # mm of the drawing
TEXT = 12  # pixels high is the text of every slab on the page
SMALL = 1.2  # times its usual text has a slab at most that is smaller than the largest one
BUSY = 12  # cuts on one slab, from which on it is drawn larger, and again from twice as many on
TAPE = 1000  # units of its picture


def piece_pictures(opened: list[OpenedPiece], unit: Unit, labels: dict[str, str]) -> list[dict[str, Any]]:
    """Return for each opened piece its block and its slabs, all slabs to one scale as far as they stay readable."""
    drawn = [slab_drawings(piece, unit, labels=labels) for piece in opened]
    largest = max((slab.text for slabs in drawn for slab in slabs), default=1.0)
    return [
        {"opened": piece, "block": block_scene(piece), "slabs": [slab_picture(slab, largest) for slab in slabs]}
        for piece, slabs in zip(opened, drawn, strict=True)
    ]


def slab_picture(slab: SlabDrawing, largest: float) -> dict[str, Any]:
    """Return a slab with its drawing and how many pixels wide that is; one with many cuts is drawn larger."""
    grown = 1 + 0.5 * ((slab.numbers > BUSY) + (slab.numbers > 2 * BUSY))
    text = min(largest, SMALL * slab.text) / grown
    scene = slab.scene_at(text)
    left, _, right, _ = scene.bounds
    return {"slab": slab, "scene": scene, "width": round((right - left) * TEXT / text)}


def tape(run: CuttingRun, stats: Stats) -> dict[str, Any]:
    """Return the tape of new blocks: what the blanks alone fill, what this plan opens, the fewest that any plan can."""
    bound = run.figures.get("bound", {}).get("blocks", 0)
    plain = run.figures.get("plain_stats", {}).get("new_blocks", 0)
    longest = max(stats.new_blocks, plain, 1) + 1
    step = TAPE / longest
    blocks = [volume(stock["size"]) for stock in run.instance["stock"]]
    fill = stats.blanks / max(blocks) if blocks else 0.0
    return {
        "bound": bound, "plain": plain, "fill": round(fill, 2), "is_fewest": stats.new_blocks == bound,
        "ticks": [{"n": n, "x": round(n * step, 1)} for n in range(longest + 1)],
        "quarters": [round(n * step / 4, 1) for n in range(1, 4 * longest) if n % 4],
        "x_fill": round(min(fill, longest) * step, 1), "x_plan": round(stats.new_blocks * step, 1),
        "x_plain": round(plain * step, 1),
    }  # fmt: skip


def foam_bar(stats: Stats, longest: int = 0) -> Scene | None:
    """Return where the opened foam goes: blanks, remnants kept, trim, kerf; `longest` is opened foam as a full bar."""
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
    return foam_bar_scene(slices, scale=BAR_LONG / max(longest, stats.opened), height=BAR_HIGH, text=BAR_TEXT)
