"""Letters and shapes sawn through a slab."""

from django import forms

from orders.fonts import font_choices
from orders.forms.kinds.base import Choice, Row, RowSet
from orders.forms.kinds.shaped import FROM_LIBRARY, ProfileField, ShapedForm
from orders.forms.texts import PointsField, RingsField, TypedLength
from shop.form_fields import CountField


class OutlineForm(Row):
    """One shape with its holes."""

    name = forms.CharField(max_length=40, label="Name")
    outer = PointsField(label="Outline", help_text="one corner a line: x, y; the last joins the first")
    holes = RingsField(required=False, label="Holes", help_text="an empty line between two holes")
    qty = CountField(label="Count")


class CutoutForm(ShapedForm):
    shape = "outlines"
    way = Choice("Shapes", ("text", "a text"), (FROM_LIBRARY, "library"), ("own", "typed here"))
    profile = ProfileField()
    text = forms.CharField(max_length=60, required=False, label="Text")
    font = forms.ChoiceField(choices=font_choices, required=False, label="Font")
    cap_height = TypedLength(required=False, label="Capitals, high", help_text="finished")
    thick = TypedLength(required=False, label="Thick", help_text="finished")
    lay = Choice("Laid out", ("row", "in a row"), ("nest", "nested"), kept=True)
    gap = TypedLength(required=False, zero_ok=True, label="Gap", help_text="between two")
    margin = TypedLength(required=False, zero_ok=True, label="Margin", help_text="round the slab")

    when = {
        "profile": "way:profile", "text": "way:text", "font": "way:text", "cap_height": "way:text",
        "outlines": "way:own",
    }  # fmt: skip
    optional = ("gap", "margin")
    layout = (("way", "profile", "text", "font", "cap_height"), ("thick", "lay", "gap", "margin"))
    row_sets = {"outlines": RowSet(OutlineForm, "Outlines", "One more outline")}
