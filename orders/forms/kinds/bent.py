"""Parts that are no straight stick: arches, moulds, wing cores."""

from django import forms

from orders.forms.kinds.base import Choice, KindForm
from orders.forms.texts import NumbersField, PointsField, TypedAngle, TypedLength


class ArchForm(KindForm):
    way = Choice("Opening", ("radius", "radius, sweep"), ("span", "span, rise"))
    inside_radius = TypedLength(required=False, label="Inside radius", help_text="finished")
    sweep = TypedAngle(required=False, label="Sweep", initial="180", help_text="degrees")
    span = TypedLength(required=False, label="Span", help_text="finished opening")
    rise = TypedLength(required=False, label="Rise")
    width = TypedLength(required=False, label="Wide", help_text="along the radius")
    thick = TypedLength(required=False, label="Thick", help_text="out from the wall")
    longest_part = TypedLength(required=False, label="Longest part", help_text="empty: the shop’s rule")

    when = {"inside_radius": "way:radius", "sweep": "way:radius", "span": "way:span", "rise": "way:span"}
    optional = ("longest_part",)
    layout = (("way", "inside_radius", "sweep", "span", "rise"), ("width", "thick", "longest_part"))


class MouldForm(KindForm):
    with_coat = False
    cavity_l = TypedLength(required=False, label="Opening, long")
    cavity_w = TypedLength(required=False, label="Opening, wide")
    cavity_h = TypedLength(required=False, label="Cavity, deep")
    draft = TypedAngle(required=False, label="Draft", initial="3", help_text="degrees, all sides")
    piece_l = TypedLength(required=False, label="Cast piece, long")
    piece_w = TypedLength(required=False, label="Cast piece, wide")
    piece_h = TypedLength(required=False, label="Cast piece, high")
    wall = TypedLength(required=False, label="Foam wall")
    floor = TypedLength(required=False, label="Foam floor")
    halves = forms.TypedChoiceField(
        required=False, coerce=int, empty_value=2, choices=((2, "two halves"), (1, "one piece")), label="Made as"
    )
    concrete_density = forms.CharField(
        required=False, max_length=20, label="Concrete weighs", help_text="empty: ordinary"
    )

    at = {f"{what}_{side}": f"{what}.{i}" for what in ("cavity", "piece") for i, side in enumerate(("l", "w", "h"))}
    optional = ("concrete_density",)
    layout = (
        ("cavity_l", "cavity_w", "cavity_h", "draft"),
        ("piece_l", "piece_w", "piece_h"),
        ("wall", "floor", "halves", "concrete_density"),
    )


class WingForm(KindForm):
    root = Choice("Root", ("naca", "NACA"), ("section", "typed here"))
    root_naca = forms.CharField(max_length=4, required=False, label="Root, NACA")
    root_chord = TypedLength(required=False, label="Root, chord")
    root_section = PointsField(required=False, label="Root, points", help_text="one a line, round the section: x, y")
    tip = Choice("Tip", ("naca", "NACA"), ("section", "typed here"))
    tip_naca = forms.CharField(max_length=4, required=False, label="Tip, NACA")
    tip_chord = TypedLength(required=False, label="Tip, chord")
    tip_section = PointsField(required=False, label="Tip, points", help_text="one a line, round the section: x, y")
    span = TypedLength(required=False, label="Span", help_text="root to tip")
    sweep = TypedLength(required=False, zero_ok=True, label="Sweep", help_text="tip’s nose aft")
    washout = TypedAngle(required=False, label="Washout", help_text="degrees, nose down")
    hands = forms.MultipleChoiceField(
        required=False, choices=(("left", "left"), ("right", "right")), initial=["left", "right"],
        widget=forms.CheckboxSelectMultiple, label="Hands",
    )  # fmt: skip
    ahead = TypedLength(required=False, zero_ok=True, label="Blank ahead")
    behind = TypedLength(required=False, zero_ok=True, label="Blank behind")
    above = TypedLength(required=False, zero_ok=True, label="Blank above")
    below = TypedLength(required=False, zero_ok=True, label="Blank below", help_text="empty: the shop’s skim")
    gap = TypedLength(required=False, label="Towers, gap")
    root_offset = TypedLength(required=False, zero_ok=True, label="Towers to root")
    stations = NumbersField(
        required=False, max_length=200, initial="0.3", label="Stations", help_text="share of the chord"
    )

    at = {
        "root_naca": "root.naca", "root_chord": "root.chord", "root_section": "root.section", "tip_naca": "tip.naca",
        "tip_chord": "tip.chord", "tip_section": "tip.section", "gap": "towers.gap",
        "root_offset": "towers.root_offset",
    } | {side: f"margin.{side}" for side in ("ahead", "behind", "above", "below")}  # fmt: skip
    when = {
        f"{end}_{name}": f"{end}:{way}"
        for end in ("root", "tip")
        for name, way in (("naca", "naca"), ("chord", "naca"), ("section", "section"))
    }
    optional = ("sweep", "washout", "ahead", "behind", "above", "below", "stations")
    layout = (
        ("root", "root_naca", "root_chord", "root_section"),
        ("tip", "tip_naca", "tip_chord", "tip_section"),
        ("span", "sweep", "washout", "hands"),
        ("ahead", "behind", "above", "below"),
        ("gap", "root_offset", "stations"),
    )
