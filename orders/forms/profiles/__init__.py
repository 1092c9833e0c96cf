"""The forms of profiles, one a way to bring a shape in."""

from .base import HeadForm, RevisionForm
from .drawing import DrawingForm
from .family import FamilyForm, with_rows
from .points import PointsForm
from .text import TextForm

WAYS: dict[str, type[RevisionForm]] = {form.way: form for form in (FamilyForm, PointsForm, DrawingForm, TextForm)}
WORDS = {"family": "classical members and families", "points": "points", "drawing": "a drawing", "text": "letters"}

__all__ = ["WAYS", "WORDS", "HeadForm", "RevisionForm", "with_rows"]
