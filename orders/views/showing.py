"""What an order page shows: every line worked out, with its counts, and the figures of one line at the right."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import islice

from django.forms import Field
from django.utils import timezone

from cutsheets.drawings.lettering import plain
from cutsheets.drawings.part import part_scenes
from cutsheets.drawings.runs import check_parts, one_a_mark, strip_scene
from cutsheets.errors import CutsheetError
from cutsheets.figures import say_figure
from cutsheets.kerf import path_figure
from cutsheets.planning.gang import is_straight
from cutsheets.sheets.furniture import finished_size
from cutsheets.sheets.offer import Price
from cutsheets.solids import Box, Face, Figure, View, Worked
from cutsheets.units import say
from orders.amounts import amount
from orders.answers import hand_words, hands_on
from orders.fitting import objections
from orders.forms.kinds import FORMS
from orders.forms.lines import LineForm
from orders.forms.quotes import QuoteForm
from orders.lines import ShopFigures, shop_figures, work_out
from orders.models import Line, Order
from orders.office_paper import line_prices
from orders.profiles import with_newest
from orders.standing import line_counts, standing
from orders.workflow import Counts, allowed, used
from shop.models import ShopRules

MOVES_SHOWN = 30
QUOTE_HOLDS = timedelta(days=30)  # offered; common practice, no source: whoever prints the quote types the day
PIXELS = 1.5  # a millimetre of a strip on the page: all strips keep one size of text


@dataclass(frozen=True, slots=True)
class ShownLine:
    """One line with what came out of it, or the sentence that says why nothing did."""

    line: Line
    amount: str
    worked: Worked | None
    fault: str
    counts: Counts | None = None

    @property
    def straight(self) -> bool:
        """Return whether there are two ways to cut this line."""
        return self.worked is not None and is_straight(self.worked)


def show_line(line: Line, counts: Counts | None = None, shop: ShopFigures | None = None) -> ShownLine:
    """Return a line worked out; it may be unsaved."""
    try:
        return ShownLine(line, amount(line), work_out(line, shop), "", counts)
    except CutsheetError as error:
        return ShownLine(line, amount(line), None, f"{field_words(error.where, line)}{error.message}", counts)


def shown_lines(order: Order, shop: ShopFigures) -> list[ShownLine]:
    """Return every line of an order, worked out, in the order of the ledger."""
    lines = list(with_newest(order.lines.select_related("grade", "profile__profile", "coat_system")))
    for line in lines:
        line.order = order
    counts = line_counts(lines)
    return [show_line(line, counts[line.pk], shop) for line in lines]


def order_context(order: Order, role: str) -> dict:
    """Return what the page of an order needs, whoever opens it."""
    shop = shop_figures()
    shown = shown_lines(order, shop)
    where = standing(order)
    worked = [(one.line, one.worked) for one in shown if one.worked]
    today = timezone.localdate()
    return {
        "order": order, "unit": order.unit, "lines": shown, "standing": where,
        "steps": used([where.counts]) if order.revision else [],
        "in_hand": [hand_words(hand) for hand in hands_on(order, timezone.now())], "may": allowed(where.word, role),
        "late": is_late(order, where.word, today), "quote": QuoteForm(initial={"until": today + QUOTE_HOLDS}),
        "workings": workings(worked),
        "objections": objections(order, worked, shop) if where.word == "draft" else [],
        "volume": sum(result.quantities.blank_volume for _, result in worked),
        "mass": sum(result.quantities.core_mass for _, result in worked),
        "faulty": any(one.fault for one in shown),
        "revisions": order.revisions.select_related("by").order_by("-number"),
        "moves": order.moves.select_related("by", "station", "line").order_by("-pk")[:MOVES_SHOWN],
    }  # fmt: skip


def workings(worked: list[tuple[Line, Worked]]) -> list[tuple[str, tuple[Price, ...]]]:
    """Return what the price of each line is made of, which its customer does not read."""
    rules = ShopRules.current()
    return [(line.mark, line_prices(line, result, rules)) for line, result in worked]


def figures(shown: ShownLine | None) -> dict:
    """Return the figures and pictures of one line: what the pane at the right shows."""
    if shown is None or shown.worked is None:
        return {"shown": shown}
    worked, unit = shown.worked, shown.line.order.unit
    return {
        "shown": shown, "worked": worked, "unit": unit, "straight": shown.straight and shown.line.pk,
        "pictures": [
            (scene, f"{name.capitalize()} of line {shown.line.mark}: {sizes}")
            for (name, scene), sizes in zip(part_scenes(worked, unit), _picture_words(worked, unit), strict=True)
        ],
        "loose": plain(finished_size(worked, unit)) if worked.loose else "",
        "figures": [(figure.label, say_figure(figure, unit)) for figure in _single(worked)],
        "tables": [_table(figure, unit) for figure in worked.part if figure.of == "rows" and figure.value],
        "yielded": worked.quantities.core_volume / worked.quantities.blank_volume,
        "runs": list(_runs(worked, unit)),
    }  # fmt: skip


def _single(worked: Worked) -> Iterator[Figure]:
    for figure in (*worked.part, *worked.sprung, *_wire(worked)):
        if figure.of != "rows" and figure.value is not None:
            yield figure
    for row in (row for figure in worked.sprung if figure.of == "rows" for row in figure.value):
        yield from row


def _wire(worked: Worked) -> Iterator[Figure]:
    """Yield the kerf, the wire's offset and, round a section, the size of its path."""
    yield from worked.wire
    if isinstance(worked.foam, Face) and worked.wire and not worked.sprung:
        try:
            yield path_figure(worked.foam.outline, worked.wire[0].value)
        except CutsheetError as error:
            yield Figure("path", "path of the wire", error.message, "text")


def _table(figure: Figure, unit: str) -> dict:
    """Return figures in rows as a table: its words, its heads, its cells."""
    return {
        "title": figure.label, "heads": [one.label for one in figure.value[0]],
        "rows": [[say_figure(one, unit) for one in row] for row in figure.value],
    }  # fmt: skip


def _runs(worked: Worked, unit: str) -> Iterator[dict]:
    """Yield each run with its strip of sticks and its check line; sticks stand in the order of the runs."""
    sticks = iter(one_a_mark(worked.sticks))
    for run in worked.runs:
        own = list(islice(sticks, len(run.pieces)))
        strip = strip_scene(own, unit)
        left, _, right, _ = strip.bounds
        title = f"{len(own)} sticks of run {run.name}, from above, wall at the top"
        shown = {"strip": strip, "width": round((right - left) * PIXELS), "title": title}
        yield {"run": run, "check": check_parts(run, unit), **shown}


def _picture_words(worked: Worked, unit: str) -> list[str]:
    """Return the sizes that each picture shows; slabs of letters are as long as their letters, each its own."""
    if worked.loose:
        return [_slab_words(view, unit) for view in worked.views]
    return [_size_words(worked, unit)] * max(1, len(worked.views))


def _slab_words(view: View, unit: str) -> str:
    sides: dict[str, list[str]] = {"finished": [], "foam": [], "blank": []}
    for size in view.sizes:
        sides[size.of].append(say(math.dist(size.a, size.b), unit, "up" if size.of == "blank" else "nearest"))
    return ", ".join(f"{of} {' by '.join(said or sides['foam'])}" for of, said in sides.items())


def _size_words(worked: Worked, unit: str) -> str:
    """Return the three sizes in words, for who cannot see the picture."""
    blank = worked.blanks[0].size
    across = (blank.w, blank.h) if isinstance(worked.foam, Face) else (blank.l, blank.w, blank.h)
    sizes = {"finished": _sides(worked.finished), "foam": _sides(worked.foam), "blank": across}
    return ", ".join(f"{name} {' by '.join(say(side, unit) for side in sides)}" for name, sides in sizes.items())


def _sides(of: Face | Box) -> tuple[float, ...]:
    return (of.width, of.height) if isinstance(of, Face) else (of.l, of.w, of.h)


def is_late(order: Order, word: str, today: date) -> bool:
    """Return whether this order should be finished by now and is not."""
    return bool(order.due) and order.due < today and word not in ("done", "cancelled")


def field_words(where: str, line: Line) -> str:
    """Return the place of a complaint as the form of the line names it, ready to stand before its sentence.

    A place that has no field there, such as a corner of a profile, is said in words of its own.
    """
    form = FORMS[line.kind]
    step, *inside = re.sub(r"\[(\d+)\]", r".\1", where).split(".")
    if step in form.row_sets and len(inside) > 1:
        return _row_words(form.row_sets[step].form.base_fields, step, inside) or place_words(where)
    names = {form.place_of(name): name for name in form.own_names()}
    if (name := names.get(".".join([step, *inside]))) and not (line.profile and name == form.shape):
        return f"{form.base_fields[name].label}: "
    return f"{LineForm.base_fields[step].label}: " if where in LineForm.base_fields else place_words(where)


def _row_words(fields: Mapping[str, Field], step: str, inside: list[str]) -> str:
    number, name, *rest = inside
    corner = f", corner {int(rest[0]) + 1}" if rest and rest[0].isdecimal() else ""
    row = f"{ROWS[step].capitalize()} {int(number) + 1}"
    return f"{row}, {fields[name].label.lower()}{corner}: " if name in fields else ""


CORNERS = {"section": "section", "half_profile": "half profile", "outer": "outline", "base": "base", "top": "top"}
ROWS = {"runs": "run", "frames": "frame", "pieces": "piece", "outlines": "shape", "holes": "hole"}
SIDES = ("long", "wide", "high")


def place_words(where: str) -> str:
    """Return the place of a complaint in the words of the form, ready to stand before its sentence.

    >>> place_words("runs[1].left"), place_words("lines[3].section[4]"), place_words("cavity[2]"), place_words("")
    ('Run 2, left: ', 'Section, corner 5: ', 'Cavity, high: ', '')
    """
    place = ", ".join(filter(None, map(_step_words, where.split("."))))
    return f"{place[0].upper()}{place[1:]}: " if place else ""


def _step_words(step: str) -> str:
    name, _, number = step.rstrip("]").partition("[")
    number = number.split("][")[0]
    if name in ("lines", "allow", "shop", "spec", ""):
        return ""
    if not number.isdecimal():
        return name.replace("_", " ")
    if name in CORNERS:
        return f"{CORNERS[name]}, corner {int(number) + 1}"
    if name in ("size", "cavity", "piece") and int(number) < len(SIDES):
        return f"{name}, {SIDES[int(number)]}"
    return f"{ROWS.get(name, name.replace('_', ' '))} {int(number) + 1}"
