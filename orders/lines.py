"""A line of an order and the core: the line as a job file writes it, and what comes out of it."""

from __future__ import annotations

from typing import Any

from cutsheets.files.job import line_from_dict
from cutsheets.kinds import KINDS
from cutsheets.rules import Rules
from cutsheets.solids import Worked
from orders.models import Line, ProfileRevision
from shop.models import ShopRules


def rules_for() -> Rules:
    """Return the shop's figures as the core has them. A line's own figures stand in its `spec`, under `allow`."""
    rules = ShopRules.current()
    return Rules(
        kerf=float(rules.kerf),
        skim_wall=float(rules.skim_wall),
        skim_other=float(rules.skim_other),
        end_trim=float(rules.end_trim),
        blank_step=float(rules.blank_step),
        longest_stick=float(rules.longest_stick),
        shortest_piece=float(rules.shortest_piece),
        feed=float(rules.wire_feed),
    )


def line_dict(line: Line) -> dict[str, Any]:
    """Return a line as the job file writes it: what was typed, a profile by its code."""
    written = {"mark": line.mark, "kind": line.kind, "grade": line.grade.name, "qty": line.qty, "coat": line.coat}
    if line.note:
        written["note"] = line.note
    if line.profile:
        written["profile"] = line.profile.profile.code
    return written | line.spec


def drawn(profile: ProfileRevision) -> dict[str, Any]:
    """Return a profile as the core asks for it: its shape, the bare edges of a section, and its own unit."""
    return {**profile.shape, "unit": profile.unit}


def work_out(line: Line, rules: Rules | None = None) -> Worked:
    """Return everything that follows from a line; raises CutsheetError with the place inside the line.

    Whoever works out many lines reads the shop's figures once and hands them in as `rules`.
    """
    profiles = {line.profile.profile.code: drawn(line.profile)} if line.profile else {}
    read = line_from_dict(
        line_dict(line), line.order.unit, rules or rules_for(),
        grades={line.grade.name: float(line.grade.density)}, profiles=profiles,
    )  # fmt: skip
    return KINDS[read.kind].work(read)
