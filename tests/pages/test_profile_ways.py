"""The ways to bring a profile in without a drawing: families with their rows, points with arcs, letters."""

import math

import pytest

from orders.models import Profile

HEAD = {"code": "tp-90", "name": "Something new", "unit": "in", "bare": "wall"}
STACK = HEAD | {
    "kind": "moulding", "family_name": "stacked", "recipe-base": "1",
    "member-0-member": "fascia", "member-0-height": "3", "member-0-out": "0", "member-0-direction": "out",
    "member-1-member": "ovolo", "member-1-height": "2", "member-1-out": "2", "member-1-radius": "",
    "member-1-direction": "out",
}  # fmt: skip
NEW = {way: f"/profiles/new/?way={way}" for way in ("family", "points", "text")}


def shape():
    return Profile.objects.get(code="TP-90").current.shape


def size(points):
    return tuple(round(max(side) - min(side), 3) for side in zip(*points, strict=True))


def rows(answer):
    """Return the members of the form, the lowest first, as typed."""
    return [{name: row[name].value() for name in row.fields} for row in answer.context["form"].rows]


# Families


def test_a_preset_is_drawn_before_anything_is_typed(office, shop):
    answer = office.get("/profiles/new/", {"way": "family", "start": "crown cornice"})
    assert 'class="drawing"' in answer.content.decode()
    assert [row["member"] for row in rows(answer)][:3] == ["fascia", "cyma_reversa", "fillet"]


@pytest.mark.parametrize(
    ("start", "kind", "key"),
    [("urn finial", "turned", "half_profile"), ("keystone", "cutout", "outlines"), ("band", "moulding", "section")],
)
def test_a_family_brings_the_kind_that_is_cut_from_it(office, shop, start, kind, key):
    form = office.get("/profiles/new/", {"way": "family", "start": start}).context["form"]
    assert form.chosen_kind == kind
    assert key in form.shown()


def test_a_stack_is_saved_and_its_next_revision_opens_with_the_same_rows(office, shop):
    office.post(NEW["family"], STACK)
    assert size(shape()["section"]) == (3, 5)
    again = office.get("/profiles/TP-90/revise/")
    assert again.context["way"] == "family"
    assert [row["height"] for row in rows(again)] == ["3", "2"]
    changed = STACK | {"member-0-height": "4"}
    assert office.post("/profiles/TP-90/revise/", changed).status_code == 302
    assert size(shape()["section"]) == (3, 6)
    assert Profile.objects.get(code="TP-90").current.source["recipe"]["members"][0]["height"] == "4"


@pytest.mark.parametrize(
    ("act", "members", "focus"),
    [
        ("add", ["fascia", "ovolo", "fillet"], 2), ("up-0", ["ovolo", "fascia"], 1),
        ("down-1", ["ovolo", "fascia"], 0), ("down-0", ["fascia", "ovolo"], 0), ("out-0", ["ovolo"], 0),
        ("as-1", ["fascia", "ovolo"], 1), ("out-9", ["fascia", "ovolo"], None), ("x", ["fascia", "ovolo"], None),
    ],
)  # fmt: skip
def test_rows_are_added_moved_and_taken_out_and_the_page_comes_back_at_them(office, shop, act, members, focus):
    answer = office.post(NEW["family"], STACK | {"row": act})
    assert (answer.status_code, [row["member"] for row in rows(answer)]) == (200, members)
    focused = [
        i for i, row in enumerate(answer.context["form"].rows) if "autofocus" in row.fields["member"].widget.attrs
    ]
    assert focused == ([] if focus is None else [focus])
    assert not Profile.objects.filter(code="TP-90").exists()


def test_rows_of_another_way_mean_nothing(office, shop):
    assert office.post(NEW["points"], HEAD | {"row": "out-0"}).status_code == 422


def test_another_member_keeps_its_lengths_and_begins_with_its_own_direction(office, shop):
    answer = office.post(NEW["family"], STACK | {"member-1-member": "scotia", "row": "as-1"})
    assert rows(answer)[1] == {"member": "scotia", "height": "2", "out": "2", "direction": "in"}


def test_what_a_member_refuses_stands_beside_its_number(office, shop, words):
    answer = office.post(NEW["family"], STACK | {"member-1-out": "0.001"})
    assert answer.status_code == 422
    assert "too small to be cut" in answer.context["form"].rows[1].errors["out"][0]
    picture = office.post(NEW["family"], STACK | {"member-0-height": "", "picture": "1"})
    assert "Height: The height is missing" in words(picture)


def test_a_metric_shop_starts_with_metric_numbers(office, shop):
    shop.rules.unit = "mm"
    shop.rules.save()
    assert rows(office.get("/profiles/new/", {"way": "family", "start": "three-step cornice"}))[0]["height"] == "75"


def test_a_kind_is_not_cut_from_another_shape(office, shop, words):
    answer = office.post(NEW["family"], STACK | {"kind": "turned"})
    assert answer.status_code == 422
    assert not Profile.objects.filter(code="TP-90").exists()


# Points


@pytest.mark.parametrize("arc", ["bulge 1", "r 3/4"])
def test_a_third_value_makes_an_arc(office, shop, arc):
    office.post(NEW["points"], HEAD | {"kind": "moulding", "text": f"0, 0\n6, 0, {arc}\n6, 1 1/2\n0, 1 1/2"})
    points = shape()["section"]
    assert size(points) == pytest.approx((6.75, 1.5), abs=0.002)
    assert all(math.isclose(math.dist((x, y), (6, 0.75)), 0.75, abs_tol=1e-6) for x, y in points if x > 6)
    assert arc in office.get("/profiles/TP-90/revise/").context["form"]["text"].value()


def test_a_half_profile_is_typed_as_heights_and_radii(office, shop):
    office.post(NEW["points"], HEAD | {"kind": "turned", "text": "0, 3\n1, 3\n4, 1 1/2\n9, 1/2"})
    assert shape() == {"half_profile": [[0, 3], [1, 3], [4, 1.5], [9, 0.5]]}


def test_a_half_profile_ends_at_its_last_corner(office, shop):
    answer = office.post(NEW["points"], HEAD | {"kind": "turned", "text": "0, 3\n4, 1, r 5"})
    assert "has no next one" in answer.context["form"].errors["text"][0]


def test_a_hole_is_typed_after_an_empty_line(office, shop):
    ring, hole, other = "0, 0\n9, 0\n9, 9\n0, 9", "3, 3\n6, 3\n6, 6\n3, 6", "20, 0\n24, 0\n24, 4"
    office.post(NEW["points"], HEAD | {"kind": "cutout", "text": f"{ring}\n\n{hole}\n\n{other}"})
    assert [(one["name"], len(one["holes"])) for one in shape()["outlines"]] == [("shape 1", 1), ("shape 2", 0)]


def test_outlines_that_cross_are_refused_with_the_place(office, shop, words):
    text = "0, 0\n9, 0\n9, 9\n0, 9\n\n5, 5\n15, 5\n15, 15\n5, 15"
    answer = office.post(NEW["points"], HEAD | {"kind": "cutout", "text": text})
    assert answer.status_code == 422
    assert "cross or touch at (" in answer.context["form"].errors["text"][0]


# Letters


def test_letters_keep_their_counters_and_their_cap_height(office, shop):
    office.post(NEW["text"], HEAD | {"kind": "cutout", "text": "HBB", "font": "SignSans-Bold.ttf", "cap_height": "12"})
    outlines = shape()["outlines"]
    assert [(one["name"], len(one["holes"])) for one in outlines] == [("H", 0), ("B", 2), ("B 2", 2)]
    assert math.isclose(size(outlines[0]["outer"])[1], 12, abs_tol=0.0005)


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("text", "A\u4e2d", "has no “\u4e2d”"),
        ("text", " ", "required"),
        ("cap_height", "0", "more than 0"),
        ("font", "x", "valid"),
    ],
)
def test_letters_that_cannot_be_set_are_refused_beside_their_field(office, shop, field, text, said):
    typed = HEAD | {"kind": "cutout", "text": "A", "font": "SignSans-Bold.ttf", "cap_height": "12"}
    answer = office.post(NEW["text"], typed | {field: text})
    assert answer.status_code == 422
    assert said in answer.context["form"].errors[field][0]


def test_a_way_that_draws_another_shape_is_not_offered(office, shop):
    assert [way for way, _ in office.get("/profiles/TP-14/revise/", {"way": "text"}).context["ways"]] == [
        "family", "points", "drawing",
    ]  # fmt: skip
