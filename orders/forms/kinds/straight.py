"""Parts along one axis: panel, column, taper, turned, twisted."""

from orders.forms.kinds.base import Choice, KindForm
from orders.forms.kinds.shaped import FROM_LIBRARY, ProfileField, ShapedForm
from orders.forms.texts import PointsField, TypedLength, TypedNumber
from shop.form_fields import CountField

STICK_HELP = "empty: the shop’s rule"
FREE_HELP = "one corner a line: x, y; the last joins the first"


class PanelForm(KindForm):
    with_coat = False
    l = TypedLength(required=False, label="Long")  # noqa: E741 - long, wide, high, as the trade says it
    w = TypedLength(required=False, label="Wide")
    h = TypedLength(required=False, label="High")

    at = {"l": "size.0", "w": "size.1", "h": "size.2"}
    layout = (("l", "w", "h"),)

    def missing(self, name: str) -> str:
        return "Type this side of the panel."


class ColumnForm(KindForm):
    plan = Choice("Plan", ("round", "round"), ("regular", "regular"))
    round = TypedLength(required=False, label="Across, round", help_text="finished diameter")
    sides = CountField(required=False, initial=8, label="Sides", most=60)
    across_flats = TypedLength(required=False, label="Across flats", help_text="finished")
    height = TypedLength(required=False, label="High")
    build = Choice("Made of", ("shells", "shells"), ("staves", "staves"))
    shells = CountField(required=False, initial=2, label="Shells", most=24)
    post = Choice("Post", ("square", "square"), ("round", "round"))
    post_side = TypedLength(required=False, label="Post, square")
    post_round = TypedLength(required=False, label="Post, round")
    clearance = TypedLength(required=False, zero_ok=True, label="Clearance", help_text="all round the post")
    stave = TypedLength(required=False, label="Stave, thick", help_text="foam")
    longest_stick = TypedLength(required=False, label="Longest part", help_text=STICK_HELP)

    at = {
        "sides": "regular.sides", "across_flats": "regular.across_flats", "post_side": "void.square",
        "post_round": "void.round", "clearance": "void.clearance", "stave": "staves.thick",
        "longest_stick": "allow.longest_stick",
    }  # fmt: skip
    when = {
        "round": "plan:round", "sides": "plan:regular", "across_flats": "plan:regular", "shells": "build:shells",
        "post": "build:shells", "post_side": "post:square", "post_round": "post:round", "clearance": "build:shells",
        "stave": "build:staves",
    }  # fmt: skip
    optional = ("clearance", "longest_stick")
    layout = (
        ("plan", "round", "sides", "across_flats", "height", "longest_stick"),
        ("build", "shells", "post", "post_side", "post_round", "clearance", "stave"),
    )


class TaperForm(KindForm):
    ends = Choice("Ends", ("round", "round"), ("section", "sections"))
    base_round = TypedLength(required=False, label="Base, across", help_text="finished diameter")
    top_round = TypedLength(required=False, label="Top, across", help_text="finished diameter")
    base_section = PointsField(required=False, label="Base, corners", help_text=FREE_HELP)
    top_section = PointsField(
        required=False, label="Top, corners", help_text="each joins the base’s corner of its number"
    )
    length = TypedLength(required=False, label="Long")

    at = {"base_round": "base.round", "top_round": "top.round", "base_section": "base", "top_section": "top"}
    when = {
        "base_round": "ends:round", "top_round": "ends:round", "base_section": "ends:section",
        "top_section": "ends:section",
    }  # fmt: skip
    layout = (("ends", "base_round", "top_round", "length"), ("base_section", "top_section"))


class TurnedForm(ShapedForm):
    shape = "half_profile"
    way = Choice("Half profile", (FROM_LIBRARY, "library"), ("own", "typed here"))
    profile = ProfileField()
    half_profile = PointsField(
        required=False, least=2, label="Points", help_text="one a line from the base up: height, radius (both finished)"
    )
    stub_base = TypedLength(required=False, zero_ok=True, label="Stub, base", help_text="held by the machine")
    stub_top = TypedLength(required=False, zero_ok=True, label="Stub, top", help_text="empty: none")

    at = {"stub_base": "stub.base", "stub_top": "stub.top"}
    when = {"profile": "way:profile", "half_profile": "way:own"}
    optional = ("stub_base", "stub_top")
    layout = (("way", "profile", "stub_base", "stub_top"), ("half_profile",))


class TwistedForm(ShapedForm):
    shape = "section"
    way = Choice("Section", ("square", "square"), (FROM_LIBRARY, "library"), ("own", "typed here"))
    square = TypedLength(required=False, label="Side", help_text="finished")
    profile = ProfileField()
    section = PointsField(required=False, label="Corners", help_text=FREE_HELP)
    length = TypedLength(required=False, label="Long")
    turns = TypedNumber(required=False, label="Turns", initial="0.5", help_text="in its length")
    hand = Choice("Hand", ("right", "right"), ("left", "left"), ("pair", "a pair"), kept=True)

    when = {"square": "way:square", "profile": "way:profile", "section": "way:own"}
    layout = (("way", "square", "profile", "length", "turns", "hand"), ("section",))
