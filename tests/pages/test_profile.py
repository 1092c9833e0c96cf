"""Profiles: the list, the page of one, its points, its files; revised, never changed under a line."""

import pytest

from orders.models import Profile
from shop.models import CoatSystem

STEPPED = "0, 0\n5, 0\n5, 2\n3, 2\n3, 7\n0, 7"
NEW = {
    "code": "tp-60", "name": "Stepped cornice", "kind": "moulding", "unit": "in", "text": STEPPED, "bare": "wall",
}  # fmt: skip
NEXT = {"unit": "in", "text": "0, 0\n5, 0\n5, 2 1/2\n3, 2 1/2\n3, 7\n0, 7", "bare": "wall", "note": "deeper step"}


def test_a_profile_is_drawn_by_its_points(office, shop):
    assert office.post("/profiles/new/", NEW).headers["Location"] == "/profiles/TP-60/"
    revision = Profile.objects.get(code="TP-60").current
    assert (revision.number, revision.shape["section"][1]) == (1, [5, 0])
    assert "<svg" in office.get("/profiles/TP-60/").content.decode()


def test_points_pasted_in_brackets_are_read_too(office, shop):
    office.post("/profiles/new/", NEW | {"text": "[[0, 0], [5, 0], [5, 2], [0, 2]]"})
    assert Profile.objects.get(code="TP-60").current.shape["section"][2] == [5, 2]


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("text", "0, 0\n5, 0", "needs three points or more"),
        ("text", "0, 0\n5\n5, 2", "Line 2: “5” is no point"),
        ("text", "0, 0\n5..1, 0\n5, 2", "Line 2: “5..1” is not a length"),
        ("text", "0, 0\n5, 5\n5, 0\n0, 5", "cross"),
        ("text", "[[0, 0], [5, 0]", "no list"),
        ("text", "0, 0\n5 m, 0\n5 m, 5 m", "across"),
        ("bare", "9", "There is no edge 9"),
        ("code", "tp-14", "on the list already"),
        ("code", "tp 14!", "letters, digits"),
    ],
)
def test_a_section_that_is_none_is_refused_beside_its_field(office, shop, words, field, text, said):
    answer = office.post("/profiles/new/", NEW | {field: text})
    assert answer.status_code == 422
    assert said in words(answer)
    assert not Profile.objects.filter(code="TP-60").exists()


def test_the_next_revision_leaves_the_lines_of_the_one_before(office, draft):
    line = draft.lines.get()
    office.post("/profiles/TP-14/revise/", NEXT)
    assert Profile.objects.get(code="TP-14").current.number == 2
    line.refresh_from_db()
    assert line.profile.number == 1
    form = office.get(f"/orders/{draft.number}/lines/{line.pk}/").context["form"]
    offered = [str(revision) for revision in form.part.fields["profile"].queryset if revision.profile.code == "TP-14"]
    assert offered == ["TP-14 rev B", "TP-14 rev A"]


def test_the_picture_follows_the_points_and_saves_nothing(office, shop, words):
    drawn = office.post("/profiles/TP-14/revise/", NEXT | {"picture": "1"})
    assert "<svg" in drawn.content.decode()
    assert "<h1" not in drawn.content.decode()
    crossed = office.post("/profiles/TP-14/revise/", NEXT | {"picture": "1", "text": "0, 0\n5, 5\n5, 0\n0, 5"})
    assert "cross" in words(crossed)
    assert Profile.objects.get(code="TP-14").current.number == 1


def test_a_profile_is_found_by_its_code_or_its_name(office, shop):
    rows = office.get("/profiles/", {"find": "sill"}).context["rows"]
    assert [row["profile"].code for row in rows] == ["TP-31"]


def test_the_floor_looks_at_profiles_but_draws_none(floor, shop, words):
    assert "Draw the next revision" not in words(floor.get("/profiles/TP-14/"))
    assert floor.post("/profiles/TP-14/revise/", NEXT).status_code == 403


# The list, the page, the files


def test_profiles_are_listed_by_what_is_cut_from_them(office, shop):
    office.post("/profiles/new/", NEW | {"code": "fn-1", "kind": "turned", "text": "0, 3\n4, 1"})
    listed = {
        kind: [row["profile"].code for row in office.get("/profiles/", {"kind": kind}).context["rows"]]
        for kind in ("turned", "moulding", "sofa")
    }
    assert listed["turned"] == ["FN-1"]
    assert "FN-1" not in listed["moulding"]
    assert len(listed["sofa"]) == 6


def test_the_page_says_who_has_which_revision(office, draft, words):
    office.post("/profiles/TP-14/revise/", NEXT)
    said = words(office.get("/profiles/TP-14/"))
    assert said.index("Revision B, in use for new lines") < said.index("Revision A")
    assert "deeper step" in said
    assert "Mina O." in said
    assert "Open orders with an older revision" in said
    assert f"{draft.number} Osgood & Lyle Builders" in said
    assert "TP-14 rev A; rev B is newer" in said
    assert [row["revision"].used for row in office.get("/profiles/TP-14/").context["revisions"]] == [0, 1]


def test_the_usual_foam_and_coat_stand_with_the_revision(office, shop, words):
    usual = {"grade": shop.grades["Firm 1.5"].pk, "coat_system": CoatSystem.objects.get(name__startswith="Hard").pk}
    office.post("/profiles/new/", NEW | usual)
    revision = Profile.objects.get(code="TP-60").current
    assert (revision.grade_id, revision.coat_system_id) == (usual["grade"], usual["coat_system"])
    assert "Usual foam Firm 1.5 Usual coat Hard coat 3/16" in words(office.get("/profiles/TP-60/"))


def test_a_profile_that_is_no_longer_offered_stays_with_its_lines(office, draft, words):
    office.post("/profiles/TP-14/offer/")
    assert "no longer offered to new lines" in words(office.get("/profiles/"))
    form = office.get(f"/orders/{draft.number}/lines/new/").context["form"]
    assert "TP-14" not in [row.profile.code for row in form.part.fields["profile"].queryset]
    assert draft.lines.get().profile.profile.code == "TP-14"
    office.post("/profiles/TP-14/offer/")
    assert Profile.objects.get(code="TP-14").active


@pytest.mark.parametrize(
    ("form", "kind", "begins"), [("dxf", "image/vnd.dxf", b"  0"), ("svg", "image/svg+xml", b"<svg")]
)
def test_a_revision_is_handed_out_as_a_file_and_never_shown_in_the_page(floor, shop, form, kind, begins):
    answer = floor.get(f"/profiles/TP-14/1/{form}/")
    assert answer.headers["Content-Type"] == kind
    assert answer.headers["Content-Disposition"] == f'attachment; filename="TP-14-rev-A.{form}"'
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.content.startswith(begins)


@pytest.mark.parametrize("path", ["TP-14/9/dxf/", "TP-14/1/exe/", "NONE/1/dxf/"])
def test_a_file_that_is_none_is_not_found(office, shop, path):
    assert office.get(f"/profiles/{path}").status_code == 404


def test_two_people_who_draw_the_next_revision_do_not_draw_over_each_other(office, manager, shop, words):
    after = office.get("/profiles/TP-14/revise/").context["form"]["after"].value()
    manager.post("/profiles/TP-14/revise/", NEXT | {"after": after})
    answer = office.post("/profiles/TP-14/revise/", NEXT | {"after": after})
    assert answer.status_code == 422
    assert "Raf A. drew revision B of TP-14 meanwhile" in words(answer)
    assert Profile.objects.get(code="TP-14").revisions.count() == 2
