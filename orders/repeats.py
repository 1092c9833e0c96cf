"""Repeat sheets: a profile on one page for a folder, and what its code leads to when it comes back."""

from __future__ import annotations

from functools import partial

from django.db import transaction
from django.utils import timezone

from cutsheets.codes import ProfileCode
from cutsheets.errors import CutsheetError
from cutsheets.sheets.repeatsheet import RepeatSheet, repeat_sheet_pdf
from cutsheets.solids import Section
from orders.lines import KIND_WORDS
from orders.models import Print, Profile, ProfileRevision
from orders.prints import keep
from orders.shapes import key_of, read_shape, shape_scene
from shop.acts import Act
from shop.models import ShopRules
from shop.refusals import Refused

SIDES = {"section": ("deep", "high"), "half_profile": ("across", "high"), "outlines": ("wide", "high")}
BARE = {"wall": "wall face bare", "none": "all faces coated"}


@transaction.atomic
def print_repeat_sheet(revision: ProfileRevision, act: Act) -> bytes:
    """Return the repeat sheet of a revision as a PDF, and keep the print; refused where its shape cannot be read."""
    profile, rules = revision.profile, ShopRules.current()
    try:
        size = shape_size(revision)
        kept = keep(Print.Sheet.REPEAT, act, of=profile.code, revision=revision.number)
        sheet = RepeatSheet(
            number=profile.pk, code=profile.code, name=profile.name, revision=revision.letter, unit=revision.unit,
            size=size, sides=SIDES[key_of(revision.shape)],
            picture=partial(_picture, revision), usual=tuple(_usual(revision)), shop=rules.name,
            printed=timezone.localtime(act.at), printed_by=act.by.short_name if act.by else "",
            print_number=kept.number, grade=revision.grade.name if revision.grade else "",
            pattern=revision.grade.pattern if revision.grade else "one",
        )  # fmt: skip
        return repeat_sheet_pdf(sheet, rules.paper)
    except CutsheetError as error:
        raise Refused(error.code, error.message, where=error.where) from error


def _picture(revision: ProfileRevision, text: float):
    return shape_scene(revision.profile.kind, revision.shape, revision.unit, numbered=False, text=text)


def shape_size(revision: ProfileRevision) -> tuple[float, float]:
    """Return the finished shape's size over all, mm: a section deep × high, a half profile across × high."""
    shape = read_shape(revision.profile.kind, revision.shape, revision.unit)
    if "half_profile" in revision.shape:
        heights, radii = zip(*shape, strict=True)
        return 2 * max(radii), max(heights) - min(heights)
    if isinstance(shape, Section):
        points = shape.points
    else:
        points = [point for one in shape for part in one.parts for point in part.outer]
    xs, ys = zip(*points, strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def _usual(revision: ProfileRevision):
    """Yield how a profile is usually cut and coated, and its note."""
    bare = revision.shape.get("bare", [])
    faces = BARE.get(bare, "") if isinstance(bare, str) else "bare edges as drawn" if bare else ""
    yield f"Usually cut as: {', '.join(filter(None, (KIND_WORDS[revision.profile.kind].lower(), faces)))}."
    coat = revision.coat_system
    yield f"Usual coat: {coat}, cure {coat.cure_hours} h." if coat else "No usual coat."
    if revision.note:
        yield f"Note: {revision.note}"


def found(code: ProfileCode) -> ProfileRevision | None:
    """Return the revision that a repeat sheet shows, or None where there is no such profile or letter."""
    profile = Profile.objects.filter(pk=code.number).first()
    revisions = profile.revisions.select_related("profile") if profile else ()
    return next((revision for revision in revisions if revision.letter == code.revision), None)
