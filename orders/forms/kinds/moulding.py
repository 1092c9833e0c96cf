"""Moulding: a section along walls, round openings, or as loose pieces."""

from typing import Any

from django import forms

from orders.forms.kinds.base import Choice, Row, RowSet
from orders.forms.kinds.shaped import FROM_LIBRARY, ProfileField, ShapedForm
from orders.forms.texts import SECTION_HELP, BareField, PointsField, TypedAngle, TypedLength
from shop.form_fields import CountField

ENDS = (
    ("outside", "outside corner"), ("inside", "inside corner"), ("cap", "free end, coated"),
    ("square", "square, bare"), ("splice", "joins another"),
)  # fmt: skip
CORNERS = ("outside", "inside")


class RunForm(Row):
    """One wall run, as seen from the front."""

    name = forms.CharField(max_length=40, required=False, label="Run")
    wall = TypedLength(label="Wall length")
    left = forms.ChoiceField(choices=ENDS, initial="outside", label="Left end")
    left_angle = TypedAngle(initial="90", required=False, label="Angle")
    right = forms.ChoiceField(choices=ENDS, initial="outside", label="Right end")
    right_angle = TypedAngle(initial="90", required=False, label="Angle")
    qty = CountField(label="Count")

    def entry(self) -> dict:
        data = self.cleaned_data
        named = {"name": data["name"]} if data["name"] else {}
        return {
            **named,
            "wall": data["wall"],
            "left": self._end("left"),
            "right": self._end("right"),
            "qty": data["qty"],
        }

    def _end(self, side: str):
        kind = self.cleaned_data[side]
        return {kind: self.cleaned_data[f"{side}_angle"] or "90"} if kind in CORNERS else kind

    @staticmethod
    def initial_of(entry) -> dict:
        shown = {"name": entry.get("name", ""), "wall": entry["wall"], "qty": entry.get("qty", 1)}
        for side in ("left", "right"):
            end = entry[side]
            kind, angle = next(iter(end.items())) if isinstance(end, dict) else (end, "90")
            shown |= {side: kind, f"{side}_angle": angle}
        return shown


class FrameForm(Row):
    """A window or door surround: four mitred sides round an opening."""

    width = TypedLength(label="Opening, wide")
    height = TypedLength(label="Opening, high")
    qty = CountField(label="Count")


class PieceForm(Row):
    """Straight pieces, cut square."""

    length = TypedLength(label="Length")
    qty = CountField(label="Count")


class MouldingForm(ShapedForm):
    shape = "section"
    way = Choice("Section", (FROM_LIBRARY, "library"), ("own", "typed here"), ("sprung", "sprung"))
    profile = ProfileField()
    section = PointsField(required=False, label="Corners", help_text=SECTION_HELP)
    bare = BareField()
    face = TypedLength(required=False, label="Sprung: face")
    thick = TypedLength(required=False, label="Sprung: thick")
    spring = TypedAngle(required=False, label="Spring", initial="45", help_text="degrees")
    longest_stick = TypedLength(required=False, label="Longest stick", help_text="empty: the shop’s rule")

    at = {
        "face": "sprung.face", "thick": "sprung.thick", "spring": "sprung.spring",
        "longest_stick": "allow.longest_stick",
    }  # fmt: skip
    when = {"profile": "way:profile", "section": "way:own", "bare": "way:own"} | dict.fromkeys(
        ("face", "thick", "spring"), "way:sprung"
    )
    optional = ("bare", "longest_stick")
    layout = (("way", "profile", "face", "thick", "spring", "bare", "longest_stick"), ("section",))
    row_sets = {
        "runs": RowSet(RunForm, "Runs, as seen from the front", "One more run"),
        "frames": RowSet(FrameForm, "Window and door surrounds", "One more surround"),
        "pieces": RowSet(PieceForm, "Straight pieces", "One more piece"),
    }

    @classmethod
    def initial_of(cls, spec) -> dict[str, Any]:
        shown = super().initial_of(spec)
        return shown if "section" in spec or "bare" not in shown else {**shown, "way": shown.get("way", FROM_LIBRARY)}
