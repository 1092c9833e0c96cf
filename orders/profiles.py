"""Profiles of the shop's library: a revision never changes; the next one takes its place for new lines.

A line keeps the revision that it was entered with until somebody takes the newest over: that is a change of the order
like any other, so a released order gets its next sheet. Until then its sizes hold, and everybody is told.
"""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.db.models import F, Max, OuterRef, QuerySet, Subquery

from cutsheets.codes import revision_letter
from orders import entry
from orders.models import Line, Order, Profile, ProfileRevision
from shop.acts import Act
from shop.refusals import Refused


@transaction.atomic
def add_profile(code: str, name: str, kind: str, revision: dict[str, Any], act: Act) -> Profile:
    """Return a new profile with its first revision; refused where the code is taken."""
    profile, new = Profile.objects.get_or_create(code=code, defaults={"name": name, "kind": kind})
    if not new:
        raise Refused("code-taken", f"{code} is on the list already; open it and draw its next revision.")
    revise(profile, revision, act)
    return profile


@transaction.atomic
def revise(profile: Profile, revision: dict[str, Any], act: Act, *, after: int | None = None) -> ProfileRevision:
    """Return the next revision of a profile; lines keep the one that they were entered with.

    Refused where it was drawn `after` a revision that is not the newest any more.
    """
    Profile.objects.select_for_update().get(pk=profile.pk)  # two at once wait for each other
    last = profile.revisions.aggregate(last=Max("number"))["last"] or 0
    if after is not None and after != last:
        newest = profile.current
        raise Refused(
            "revised-meanwhile",
            f"{newest.made_by.short_name} drew revision {newest.letter} of {profile} meanwhile; look at it first.",
        )
    return ProfileRevision.objects.create(profile=profile, number=last + 1, made_by=act.by, made_at=act.at, **revision)


def with_newest(lines: QuerySet[Line]) -> QuerySet[Line]:
    """Return lines that know the number of the newest revision of their profile, as `newest`."""
    newest = ProfileRevision.objects.filter(profile=OuterRef("profile__profile")).order_by("-number")
    return lines.annotate(newest=Subquery(newest.values("number")[:1]))


def on_older(lines: QuerySet[Line]) -> QuerySet[Line]:
    """Return the lines of open orders, drafts and released, whose profile has a newer revision."""
    open_still = lines.filter(order__done_at=None).exclude(order__state=Order.State.CANCELLED)
    return with_newest(open_still).filter(newest__gt=F("profile__number"))


def newer_letter(line: Line) -> str:
    """Return the letter of the revision that is newer than the one of a line, or nothing."""
    if not line.profile:
        return ""
    newest = getattr(line, "newest", None) or line.profile.profile.current.number
    return revision_letter(newest) if newest > line.profile.number else ""


def profile_words(line: Line) -> str:
    """Return the profile of a line, and whether there is a newer one: “TP-14 rev A; rev B is newer”."""
    if not line.profile:
        return ""
    newer = newer_letter(line)
    return f"{line.profile}; rev {newer} is newer" if newer else str(line.profile)


def newer_sentence(line: Line) -> str:
    """Return what the floor is told where the profile of a line was drawn anew, or nothing."""
    if not newer_letter(line):
        return ""
    return f"Profile {profile_words(line)}. Cut what the sheet says; the office gives out the next one."


def take_newest(order: Order, line: Line, act: Act, *, version: int) -> Line:
    """Return a line with the newest revision of its profile; a released order gets its next sheet.

    Raises CutsheetError where the line cannot be worked out with it, Refused for everything else.
    """
    if not newer_letter(line):
        raise Refused("newest-already", f"Line {line.mark} has the newest revision of its profile already.")
    return entry.save_line(order, {"profile": line.profile.profile.current}, act, version=version, line=line)


def offer(profile: Profile, active: bool) -> None:
    """Offer a profile to new lines, or no longer; lines that have it keep it."""
    profile.active = active
    profile.save(update_fields=["active"])
