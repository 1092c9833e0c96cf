"""How figures, marks and grades stand on a page: stacked fractions, one mark a state, the way around.

A unit stands in each name (`length_mm`, `length_um`): three sizes and two scales never mix.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from django import template
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from cutsheets.days import say_day
from cutsheets.drawings.lettering import Figure, Parts, feet_parts, length_parts, plain, times
from cutsheets.drawings.scene import Scene
from cutsheets.drawings.stripe import stripe_scene
from cutsheets.drawings.svg import INK, to_svg
from cutsheets.solids import Box, Face
from cutsheets.units import Unit, board_feet, pounds, square_feet
from shop.roles import DESK, EVERYONE, MANAGER, STATION, may

register = template.Library()

BRACKETS = ("[", "]")
MOST_CELLS, CELL = 24, 14  # of a tape; over 24 pieces it becomes a rule with ticks
UNKNOWN = mark_safe('<span class="unknown" title="not known yet"></span>')


@register.filter
def parts(what: Parts) -> SafeString:
    """Return text with figures in it, fractions stacked; read aloud as one plain text."""
    shown = format_html_join("", "{}", ((_figure(part) if isinstance(part, Figure) else part,) for part in what))
    if not any(isinstance(part, Figure) and part.num for part in what):
        return shown
    return format_html('<span class="len" role="img" aria-label="{}">{}</span>', plain(what), shown)


@register.filter
def length_mm(mm, unit: Unit = "in") -> SafeString:
    """Return a length given in millimetres: inches with a stacked fraction, or plain millimetres."""
    return UNKNOWN if mm is None or mm == "" else parts(length_parts(mm, unit))


@register.filter
def length_um(um, unit: Unit = "in") -> SafeString:
    """Return a length given in whole micrometres."""
    return length_mm(None if um is None else Decimal(um) / 1000, unit)


@register.filter
def setting_um(um: int, unit: Unit = "in") -> SafeString:
    """Return what a fence is set to, as its blank is called: never too small."""
    return parts(length_parts(um / 1000, unit, "up"))


@register.filter
def feet_mm(mm) -> SafeString:
    """Return feet and inches, as walls are spoken of."""
    return parts(feet_parts(mm))


@register.filter
def size_mm(size, unit: Unit = "in") -> SafeString:
    """Return sizes given in millimetres with × between them: long × wide × high, or deep × high."""
    if isinstance(size, Box):
        size = (size.l, size.w, size.h)
    elif isinstance(size, Face):
        size = (size.width, size.height)
    return format_html('<span class="size">{}</span>', parts(times(*(length_parts(side, unit) for side in size))))


@register.filter
def blank_mm(size: Box, unit: Unit = "in") -> SafeString:
    """Return the size of a blank given in millimetres, never said too small: paper and pages agree."""
    sides = (length_parts(side, unit, "up") for side in (size.l, size.w, size.h))
    return format_html('<span class="size">{}</span>', parts(times(*sides)))


@register.filter
def blank_um(size: Iterable[int], unit: Unit = "in") -> SafeString:
    """Return the size of a blank given in whole micrometres."""
    return blank_mm(Box(*(side / 1000 for side in size)), unit)


@register.filter
def size_um(size: Iterable[int], unit: Unit = "in") -> SafeString:
    """Return the size of a block or remnant given in whole micrometres, never said too large: as paper says it."""
    sides = (length_parts(Decimal(side) / 1000, unit, "down") for side in size)
    return format_html('<span class="size">{}</span>', parts(times(*sides)))


@register.filter
def bf_mm3(volume) -> str:
    """Return board feet, one decimal, of a volume in cubic millimetres."""
    return tenths(board_feet(float(volume)))


@register.filter
def foam_mm3(volume, unit: str) -> str:
    """Return a volume in cubic millimetres as the shop says it: board feet, or cubic metres."""
    return f"{bf_mm3(volume)} bf" if unit == "in" else f"{float(volume) / 1e9:,.3f} m³"


@register.filter
def bf(volume_um3) -> str:
    """Return board feet, one decimal, of a volume in cubic micrometres."""
    return tenths(board_feet(float(volume_um3) / 1e9))


@register.filter
def weight(kg, unit: Unit = "in") -> str:
    """Return a weight with its unit: pounds in an inch shop, kilograms in a metric one."""
    return f"{tenths(pounds(kg))} lb" if unit == "in" else f"{tenths(kg)} kg"


@register.filter
def area(mm2, unit: Unit = "in") -> str:
    """Return an area with its unit: square feet or square metres."""
    return f"{tenths(square_feet(mm2))} ft²" if unit == "in" else f"{tenths(mm2 / 1e6)} m²"


@register.filter
def tenths(number) -> str:
    """Return a number with one decimal and thousands set off; a zero is `0`."""
    return f"{number:,.1f}" if number else "0"


@register.filter
def percent(share: float) -> str:
    """Return a share as a percentage, one decimal."""
    return f"{100 * share:.1f} %"


@register.filter
def day(date) -> str:
    """Return “Thu 3 Dec”, with the year only where it is not this one."""
    if not date:
        return ""
    return say_day(date) + (f" {date.year}" if date.year != timezone.localdate().year else "")


@register.filter
def moment(when) -> str:
    """Return “Thu 19 Nov 14:18” in the shop's own time."""
    local = timezone.localtime(when)
    return f"{day(local.date())} {local:%H:%M}"


@register.filter
def may_desk(person) -> bool:
    """Return whether this person may do the work of the office."""
    return may(person, DESK)


@register.filter
def minutes(span: timedelta) -> str:
    """Return “15 minutes”, rounded up."""
    count = -(-int(span.total_seconds()) // 60)
    return f"{count} minute{'' if count == 1 else 's'}"


@register.simple_tag
def mark(name: str) -> SafeString:
    """Return one mark of marks.svg (todo, started, done, held, trouble, …); its word stands beside it."""
    return format_html('<svg class="mark" aria-hidden="true"><use href="{}#{}"></use></svg>', static("marks.svg"), name)


@register.simple_tag
def state(name: str, word: str) -> SafeString:
    """Return a mark with its word: `{% state "started" "3 of 8" %}`."""
    return format_html('<span class="state is-{}">{}<span>{}</span></span>', name, mark(name), word)


@register.simple_tag
def count_state(done: int, due: int, verb: str = "") -> SafeString:
    """Return how far a count is, as mark and words: to do, “3 of 8 sawn”, “8 sawn”."""
    words = f"{done} of {due} {verb}".strip() if done < due else f"{due} {verb}".strip()
    if not due:
        return mark_safe("")
    return state("todo" if not done else "started" if done < due else "done", words)


@register.simple_tag
def tape(done: int, due: int, words: str) -> SafeString:
    """Return the tape: one white cell a piece, filled when done; over 24 pieces a rule with ticks."""
    cells = max(min(due, MOST_CELLS), 1)
    full = f"{CELL * cells * done / max(due, 1):.1f}"
    ticks = "".join(f"M{CELL * n} 8v14" for n in range(1, cells))
    return format_html(
        '<svg class="tape" role="img" viewBox="-6 0 {} 24"><title>{}</title>'
        '<rect y="8" width="{}" height="14" fill="#ffffff" stroke="#13201b" stroke-width="1.5"/>'
        '<rect y="8" width="{}" height="14" fill="#0a5e3e"/>'
        '<path d="{}" stroke="#13201b" stroke-width="1.5"/>'
        '<path d="M{} 7m-5 -6l5 6l5 -6" fill="none" stroke="#2a2fa8" stroke-width="2"/></svg>',
        CELL * cells + 12, words, CELL * cells, full, ticks, full,
    )  # fmt: skip


@register.simple_tag
def stripe(grade, named: bool = True, width: int = 40) -> SafeString:
    """Return the stripe of a grade as a chip, with its name unless the page has a legend (`named=False`)."""
    height = 14 if width <= 40 else 20
    scene = stripe_scene(grade.pattern, width, height, frame=False)
    name = format_html("<span>{}</span>", grade.name) if named else ""
    return format_html('<span class="stripe">{}{}</span>', drawing(scene, grade.name, width=width, ink=grade.ink), name)


@register.simple_tag
def drawing(scene: Scene, title: object, width: int | None = None, ink: str = INK) -> SafeString:
    """Return a drawing of the core as inline SVG; it fills its container unless `width` (pixels) is given."""
    return mark_safe(to_svg(scene, title=str(title), width=width, ink=ink))  # noqa: S308 - to_svg escapes every text


@register.simple_tag
def key(*names: str) -> SafeString:
    """Return key caps: `{% key "Ctrl" "S" %}`."""
    tall = " is-tall"  # a bracket would be as high as its cap
    caps = format_html_join(" ", '<kbd class="key{}">{}</kbd>', ((tall * (name in BRACKETS), name) for name in names))
    return format_html('<span class="caps">{}</span>', caps)


@dataclass(frozen=True)
class Way:
    """One entry of the rail: its word, where it leads, which pages belong to it, who sees it, its key after G."""

    word: str
    name: str
    pages: tuple[str, ...]
    roles: tuple
    key: str


RAIL = (
    Way("Orders", "orders", ("home", "order", "customer", "profile"), EVERYONE, "o"),
    Way("Plans", "plans", ("plan",), DESK, "p"),
    Way("Stations", "stations", ("station",), STATION, "w"),
    Way("Foam", "stock", ("stock",), EVERYONE, "f"),
    Way("Day", "day", ("day",), MANAGER, "d"),
    Way("Shop", "shop", ("shop",), DESK, "s"),
)


@register.inclusion_tag("includes/rail.html", takes_context=True)
def rail(context) -> dict:
    """Show the ways that this person's role may take."""
    request = context["request"]
    here = request.resolver_match.url_name or "" if request.resolver_match else ""
    ways = [
        {"word": way.word, "url": reverse(way.name), "key": way.key, "here": here.startswith(way.pages)}
        for way in RAIL
        if may(request.user, way.roles)
    ]
    on = request.resolver_match.kwargs.get("number") if here.startswith("order") else None
    return {"ways": ways, "person": request.user, "find": request.GET.get("q", ""), "on": on, "request": request}


def _figure(figure: Figure) -> SafeString | str:
    if not figure.num:
        return str(figure.whole)
    stack = format_html('<span class="frac"><span>{}</span><span>{}</span></span>', figure.num, figure.den)
    return format_html("{}{}", figure.whole or "", stack)
