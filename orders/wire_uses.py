"""First pieces: measured before the run goes on, with what the wire was set to, for whoever cuts the section next."""

from __future__ import annotations

from django.utils import timezone

from cutsheets.days import say_day
from cutsheets.errors import CutsheetError
from cutsheets.units import read_length, say
from orders.models import Line, Piece, WireUse
from shop.acts import Act
from shop.refusals import Refused

LONGEST = 40  # characters of a heat


def keep(piece: Piece, heat: str, feed: str, act: Act) -> WireUse:
    """Write that a first piece is right, cut at this heat and feed (a length a minute); both may be left out.

    The same act sent twice is one row.
    """
    line = piece.line
    row = {
        "piece": piece, "profile": line.profile, "kind": line.kind, "grade": line.grade, "station": act.station,
        "heat": heat.strip()[:LONGEST], "feed": _feed(feed, line.order.unit), "by": act.by, "at": act.at,
    }  # fmt: skip
    if act.scan_id is None:
        return WireUse.objects.create(**row)
    return WireUse.objects.get_or_create(scan_id=act.scan_id, defaults=row)[0]


def checked(piece: Piece) -> WireUse | None:
    """Return who measured a first piece of these, and when; None: nobody yet."""
    return piece.wire_uses.select_related("by", "station").last()


def last_used(line: Line) -> WireUse | None:
    """Return what the wire was set to when this section was last cut out of this grade, on any machine."""
    same = WireUse.objects.filter(profile=line.profile, grade=line.grade, kind=line.kind).exclude(heat="", feed=None)
    return same.select_related("by", "station").last()


def use_words(use: WireUse, unit: str) -> str:
    """Return “heat 4.2 A, feed 45 in a minute, Cutter 1, Bo L., Sat 28 Nov”."""
    heat = f"heat {use.heat}" if use.heat else ""
    feed = f"feed {say(float(use.feed), unit, denominator=2)} {unit} a minute" if use.feed else ""
    who = use.by.short_name if use.by else ""
    return ", ".join(filter(None, (heat, feed, str(use.station), who, say_day(timezone.localtime(use.at)))))


def _feed(text: str, unit: str):
    if not text.strip():
        return None
    try:
        return read_length(text, unit, "feed", zero_ok=False)
    except CutsheetError as error:
        raise Refused("feed", f"Feed a minute: {error.message}") from error
