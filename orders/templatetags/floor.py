"""What stands on a station's screen: the figures of a blank, the stripe across it, the big tape, lengths in words."""

import re
from decimal import Decimal

from django import template
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from cutsheets.codes import revision_letter
from cutsheets.drawings.stripe import stripe_scene
from cutsheets.drawings.svg import to_svg
from orders.readout import readout as lay_out

register = template.Library()

BAND = (1280, 60)  # length and height of a stripe across the screen; it is cut off where the screen ends
UM3_PER_CUBIC_INCH = 25_400**3
MOST_CELLS = 24  # above, the tape becomes a rule
TAG = re.compile(r"(\b[KR]-\d+)")
FRACTION = re.compile(r"(?:(\d+)-)?(\d+)/(\d+)")


@register.inclusion_tag("station/readout.html")
def readout(size_um, unit="in") -> dict:
    """Show long, wide and high of a blank, as large as the screen allows and all in one size."""
    drawing = lay_out(tuple(size_um), unit)
    return {"readout": drawing, "width": f"{drawing.width + 6:.1f}", "height": f"{drawing.height + 6:.1f}"}


@register.simple_tag
def band(grade) -> SafeString:
    """Return the stripe of a grade across the whole screen, on white; its name stands on it."""
    scene = stripe_scene(grade.pattern, *BAND, frame=False)
    drawing = to_svg(scene, title=f"stripe of {grade.name}", ink=grade.ink)
    # the stripe keeps its height and is cut off at the right: a squeezed pattern would be another grade's
    return mark_safe(drawing.replace("<svg ", '<svg preserveAspectRatio="xMinYMid slice" ', 1))  # noqa: S308


@register.filter
def letter(revision: int) -> str:
    """Return the letter of a sheet; a draft has none yet."""
    return revision_letter(revision) if revision else ""


@register.filter
def typed(text: str) -> SafeString:
    """Return a text with its lengths (`10-3/4`) set as stacked fractions."""
    stack = '{}<span class="frac"><span>{}</span><span>{}</span></span>'
    shown, end = [], 0
    for found in FRACTION.finditer(text):
        shown += [text[end : found.start()], format_html(stack, found[1] or "", found[2], found[3])]
        end = found.end()
    return format_html_join("", "{}", ((part,) for part in [*shown, text[end:]]))


@register.filter
def tags(text: str) -> SafeString:
    """Return a text in which no tag of a block or remnant (`R-0003`) is broken at the end of a line."""
    parts = TAG.split(text)
    whole = [format_html('<span class="st-whole">{}</span>', tag) for tag in parts[1::2]]
    return format_html_join("", "{}{}", zip(parts[::2], [*whole, ""], strict=True))


@register.filter
def cubic_inches(volume_um3: int) -> str:
    """Return a volume in cubic inches, to a thousandth."""
    return f"{Decimal(volume_um3) / UM3_PER_CUBIC_INCH:,.3f} in³"


@register.inclusion_tag("station/tape.html")
def big_tape(done: int, due: int) -> dict:
    """Show one white cell a piece, filled when done, the crow's foot on the last one done."""
    cells = max(min(due, MOST_CELLS), 1)
    width = 288 / cells
    ticks = [round(width * place, 1) for place in range(1, cells)]
    return {"done": done, "due": due, "ticks": ticks, "full": round(288 * done / due if due else 0, 1)}
