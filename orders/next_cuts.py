"""Which cuts of a plan come next at the saw, for a blank out of the piece that lies open."""

from __future__ import annotations

from cutsheets.solids import OpenedPiece, SawStep
from cutsheets.steps import next_cuts
from cutsheets.units import say
from orders.models import Blank, RunSource
from orders.planning import opened_pieces


def opened_as_planned(source: RunSource) -> OpenedPiece | None:
    """Return a piece with its leaves and numbered cuts; None where its plan was not made by the planner."""
    if not source.run.plan:
        return None
    return next((one for one in opened_pieces(source.run) if one.source == source.piece.tag), None)


def cuts_for(source: RunSource, opened: OpenedPiece | None, blank: Blank) -> tuple[SawStep, ...]:
    """Return the cuts to make until the next blank of this size is free."""
    if opened is None:
        return ()
    names = {key: name for name, key in source.run.figures["blanks"].items()}
    counted = {names[row.blank_id]: row.sawn + row.miscut for row in source.blanks.all()}
    return next_cuts(opened.steps, counted, names[blank.pk]) if blank.pk in names else ()


def cut_words(step: SawStep, unit: str) -> str:
    """Return “Rip at 9-3/8 from the straight edge, slab 1”, as the saw sheet has it."""
    return f"{step.action.capitalize()} at {say(step.at_um / 1000, unit, 'up')} {step.datum}"
