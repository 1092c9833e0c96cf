"""A line of every kind on the order page: typed, worked out, saved, opened again, exported, and complained of."""

import json
import re
from dataclasses import replace

import pytest

from cutsheets.files.job import read_job, write_job
from cutsheets.kinds import KINDS
from orders.exchange.jobs import export_job, import_job
from orders.forms.kinds import FORMS
from orders.lines import KIND_WORDS, work_out
from orders.models import Line, Profile, ProfileRevision
from orders.views.showing import field_words
from shop.models import CoatSystem, Station

# What somebody types for a line of each kind, what of it is on the page again, and how much of it the ledger says.
# All sizes are invented; the columns, arches and wings are plain shop sizes (common practice, no source).
BALUSTER = "0, 3\n1, 3\n4, 1 1/2\n9, 1/2"
TYPED = {
    "moulding": ({"way": "sprung", "face": "4 1/2", "thick": "3/4", "spring": "45", "pieces-0-length": "5'",
                  "pieces-0-qty": "1"},
                 "1 piece 5' long"),
    "column": ({"plan": "round", "round": "14", "height": "7'-6\"", "build": "shells", "shells": "2", "post": "square",
                "post_side": "4", "clearance": "1/4", "qty": "2"}, "2 columns 7'-6\" high in 2 shells"),
    "taper": ({"ends": "round", "base_round": "10", "top_round": "7", "length": "6'"}, "1 taper 6' long"),
    "turned": ({"way": "own", "half_profile": BALUSTER, "stub_base": "1 1/2"}, "1 turned part"),
    "twisted": ({"way": "square", "square": "6", "length": "60", "turns": "0.5", "hand": "left"},
                "1 twisted part 60 long, left hand"),
    "arch": ({"way": "span", "span": "54", "rise": "9", "width": "4", "thick": "2", "longest_part": "36"},
             "1 arch, span 54, rise 9"),
    "cutout": ({"way": "text", "text": "LIBRARY", "font": "SignSans-Bold.ttf", "cap_height": "12", "thick": "3",
                "lay": "row", "gap": "1", "margin": "1/2"}, "7 letters LIBRARY"),
    "mould": ({"cavity_l": "24", "cavity_w": "14", "cavity_h": "12", "draft": "3", "piece_l": "28", "piece_w": "18",
               "piece_h": "15", "wall": "4", "floor": "4", "halves": "2"}, "1 mould in two halves, opening 24 × 14"),
    "wing": ({"root": "naca", "root_naca": "0012", "root_chord": "220 mm", "tip": "naca", "tip_naca": "0012",
              "tip_chord": "150 mm", "span": "700 mm", "sweep": "40 mm", "hands": ["left", "right"],
              "ahead": "8 mm", "behind": "8 mm", "above": "5 mm", "below": "5 mm", "gap": "1300 mm",
              "root_offset": "150 mm", "stations": "0.3, 0.6"}, "1 pair of wing cores, span 700 mm"),
    "panel": ({"l": "48", "w": "24", "h": "6"}, "1 piece"),
}  # fmt: skip
# A value that cannot be cut, the field that it stands beside, and what is said there.
WRONG = {
    "moulding": ({"pieces-0-length": "14.2'"}, "pieces-0-length", "means two lengths"),
    "column": ({"post_side": "12"}, "post_side", ""),
    "taper": ({"top_round": "0"}, "top_round", "more than 0"),
    "turned": ({"half_profile": "0, 3\n4, 1\n2, 2"}, "half_profile", ""),
    "twisted": ({"length": ""}, "length", "Type this: long."),
    "arch": ({"rise": "30"}, "rise", "above half the span"),
    "cutout": ({"cap_height": "two"}, "cap_height", "is not a length"),
    "mould": ({"cavity_w": "40"}, "cavity_w", ""),
    "wing": ({"gap": "600 mm"}, "gap", "towers"),
    "panel": ({"h": "5 13"}, "h", "means two lengths"),
}
# The keys of the job file that follow, lengths as typed.
SPECS = {
    "moulding": {"sprung": {"face": "4 1/2", "thick": "3/4", "spring": "45"}, "pieces": [{"length": "5'", "qty": 1}]},
    "column": {"round": "14", "height": "7'-6\"", "shells": 2, "void": {"square": "4", "clearance": "1/4"}},
    "taper": {"base": {"round": "10"}, "top": {"round": "7"}, "length": "6'"},
    "turned": {"half_profile": [["0", "3"], ["1", "3"], ["4", "1 1/2"], ["9", "1/2"]], "stub": {"base": "1 1/2"}},
    "twisted": {"square": "6", "length": "60", "turns": 0.5, "hand": "left"},
    "arch": {"span": "54", "rise": "9", "width": "4", "thick": "2", "longest_part": "36"},
    "cutout": {"text": "LIBRARY", "font": "SignSans-Bold.ttf", "cap_height": "12", "thick": "3", "lay": "row",
               "gap": "1", "margin": "1/2"},
    "mould": {"cavity": ["24", "14", "12"], "draft": "3", "piece": ["28", "18", "15"], "wall": "4", "floor": "4",
              "halves": 2},
    "wing": {"root": {"naca": "0012", "chord": "220 mm"}, "tip": {"naca": "0012", "chord": "150 mm"},
             "span": "700 mm", "sweep": "40 mm", "hands": ["left", "right"],
             "margin": {"ahead": "8 mm", "behind": "8 mm", "above": "5 mm", "below": "5 mm"},
             "towers": {"gap": "1300 mm", "root_offset": "150 mm"}, "stations": [0.3, 0.6]},
    "panel": {"size": ["48", "24", "6"]},
}  # fmt: skip
KIND_NAMES = [name for name in TYPED if name in KINDS]


@pytest.fixture
def post(office, draft, shop):
    """Return a function that posts a new line of a kind."""
    head = {"mark": "K", "qty": "1", "grade": shop.grades["Firm 1.5"].pk, "coat": "0", "version": draft.version}

    def send(kind, where="lines/new/", **more):
        own, _ = TYPED[kind]
        rows = {}
        for name in FORMS[kind].row_sets:
            used = any(field.startswith(f"{name}-0-") for field in own)
            rows |= {f"{name}-TOTAL_FORMS": str(int(used)), f"{name}-INITIAL_FORMS": "0"}
        return office.post(f"/orders/{draft.number}/{where}", {**head, "kind": kind, **rows, **own, **more})

    return send


def line_of(order, mark="K"):
    return order.lines.get(mark=mark)


def beside(answer, name):
    """Return what is said beside a field of the form, wherever in the line it stands."""
    for form, _ in answer.context["form"].every_form():
        for field in form:
            if field.html_name == name:
                return " ".join(field.errors)
    raise AssertionError(f"no field {name}")


def test_every_kind_of_the_core_has_its_form_and_its_word():
    assert set(FORMS) == set(KIND_WORDS) == set(TYPED)
    assert set(KINDS) <= set(FORMS)


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_a_form_and_the_core_agree_on_what_a_profile_fills(kind):
    assert FORMS[kind].shape == KINDS[kind].shape


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_figures_and_a_picture_follow_while_the_line_is_typed(post, draft, words, kind):
    answer = post(kind, "figures/")
    said = words(answer)
    for heading in ("Finished", "Foam", "Blank, long × wide × high", "Weight", "Wire", "Yield of the blanks"):
        assert heading in said
    assert "of line K: finished" in answer.content.decode()
    assert answer.context["pictures"]
    assert draft.lines.count() == 1


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_a_place_is_told_by_the_label_of_its_field(kind):
    line, form = Line(kind=kind), FORMS[kind]
    for name in form.own_names():
        place = re.sub(r"\.(\d+)", r"[\1]", form.place_of(name))
        assert field_words(place, line) == f"{form.base_fields[name].label}: "
    for name, rows in form.row_sets.items():
        for field in rows.form.base_fields:
            if not field.endswith("angle"):
                label = rows.form.base_fields[field].label.lower()
                assert field_words(f"{name}[1].{field}", line).endswith(f" 2, {label}: ")


def test_a_place_beyond_the_fields_is_told_in_words():
    moulding, shapes = Line(kind="moulding"), Line(kind="cutout")
    assert field_words("section[4]", moulding) == "Section, corner 5: "
    assert field_words("runs[0].left.outside", moulding) == "Run 1, left end: "
    assert field_words("outlines[1].outer[3]", shapes) == "Shape 2, outline, corner 4: "
    assert field_words("runs[0]", moulding) == "Run 1: "
    assert field_words("qty", moulding) == "Times: "
    assert field_words("", moulding) == ""


TRIANGLE = {"name": "R", "outer": "0, 0\n5, 0\n0, 5", "qty": "1"}
TWICE = {f"outlines-{number}-{name}": text for number in (0, 1) for name, text in TRIANGLE.items()}
SAID = {
    "arch": ({"rise": "30"}, "give inside radius and a sweep above 180 instead"),
    "cutout": (
        {"way": "own", "outlines-TOTAL_FORMS": "2", **TWICE}, "raise its quantity, or write another name",
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", SAID)
def test_no_sentence_names_a_key_of_a_job_file(post, words, kind):
    typed, said = SAID[kind]
    answer = post(kind, **typed)
    assert answer.status_code == 422
    assert said in words(answer)


def figures_of(scene):
    """Return the figures in a picture as they are written in words."""
    return {str(part).replace(" ", "-") for shape in scene.shapes for part in getattr(shape, "parts", ())}


def test_each_slab_of_letters_is_told_with_its_own_size(office, draft, post, words, monkeypatch):
    monkeypatch.setitem(TYPED["cutout"][0], "text", "I" * 30 + "MMM")
    answer = post("cutout", "figures/")
    told = [title for _, title in answer.context["pictures"]]
    lengths = [re.search(r"foam (\S+( \S+)?) by", title)[1] for title in told]
    drawn = [figures_of(scene) for scene, _ in answer.context["pictures"]]
    assert len(set(lengths)) > 1
    assert all(length in figures for length, figures in zip(lengths, drawn, strict=True))
    assert "Finished capitals 12 high, 3 thick" in words(answer)
    assert "Foam as drawn, 3 thick" in words(answer)
    post("cutout")
    assert "capitals 12 × 3" in words(office.get(f"/orders/{draft.number}/"))


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_what_is_typed_becomes_the_keys_of_the_job_file(post, draft, kind):
    post(kind)
    assert line_of(draft).spec == SPECS[kind]


WAYS = {
    "a pair of hands": (
        "twisted", {"hand": "pair"}, {"square": "6", "length": "60", "turns": 0.5, "hand": "pair"}),
    "staves": ("column", {"plan": "regular", "sides": "8", "across_flats": "16", "build": "staves", "stave": "2"},
               {"regular": {"sides": 8, "across_flats": "16"}, "height": "7'-6\"", "staves": {"thick": "2"}}),
    "round post": ("column", {"post": "round", "post_round": "5"},
                   {"round": "14", "height": "7'-6\"", "shells": 2, "void": {"round": "5", "clearance": "1/4"}}),
    "taper of sections": (
        "taper", {"ends": "section", "base_section": "0, 0\n8, 0\n8, 8\n0, 8", "top_section": "1, 1\n7, 1\n7, 7\n1, 7"},
        {"base": [["0", "0"], ["8", "0"], ["8", "8"], ["0", "8"]],
         "top": [["1", "1"], ["7", "1"], ["7", "7"], ["1", "7"]], "length": "6'"}),
    "arch by its radius": ("arch", {"way": "radius", "inside_radius": "24", "sweep": "180"},
                           {"inside_radius": "24", "sweep": "180", "width": "4", "thick": "2", "longest_part": "36"}),
    "shape with a hole": (
        "cutout", {"way": "own", "outlines-TOTAL_FORMS": "1", "outlines-0-name": "ring", "outlines-0-qty": "3",
                   "outlines-0-outer": "0,0\n9,0\n9,9\n0,9", "outlines-0-holes": "3,3\n6,3\n6,6\n3,6"},
        {"thick": "3", "lay": "row", "gap": "1", "margin": "1/2", "outlines": [
            {"name": "ring", "qty": 3, "outer": [["0", "0"], ["9", "0"], ["9", "9"], ["0", "9"]],
             "holes": [[["3", "3"], ["6", "3"], ["6", "6"], ["3", "6"]]]}]}),
}  # fmt: skip


@pytest.mark.parametrize("way", WAYS)
def test_a_kind_may_be_given_in_another_way_and_is_shown_in_it_again(post, office, draft, way):
    kind, typed, spec = WAYS[way]
    assert post(kind, **typed).status_code == 302
    assert line_of(draft).spec == spec
    page = office.get(f"/orders/{draft.number}/lines/{line_of(draft).pk}/")
    shown = {field.html_name: field.value() for field in page.context["form"].part}
    chosen = [name for name in typed if name in shown and isinstance(shown[name], str)]
    assert {name: shown[name] for name in chosen} == {name: typed[name] for name in chosen}


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_a_saved_line_shows_again_what_was_typed(post, office, draft, words, kind):
    assert post(kind).status_code == 302
    line = line_of(draft)
    page = office.get(f"/orders/{draft.number}/lines/{line.pk}/")
    shown = {field.html_name: field.value() for form, _ in page.context["form"].every_form() for field in form}
    own, said = TYPED[kind]
    assert {name: str(shown[name]) if isinstance(own[name], str) else shown[name] for name in own} == own
    assert said in words(page)


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_saving_an_opened_line_as_it_stands_changes_nothing(post, office, draft, kind):
    post(kind)
    line = line_of(draft)
    page = office.get(f"/orders/{draft.number}/lines/{line.pk}/")
    draft.refresh_from_db()
    shown = {"version": draft.version}
    for form, _ in page.context["form"].every_form():
        shown |= {field.html_name: field.value() for field in form if field.value() is not None} | shown
    for rows in page.context["form"].part.sets.values():
        shown |= {field.html_name: field.value() for field in rows.management_form}
    assert office.post(f"/orders/{draft.number}/lines/{line.pk}/", shown).status_code == 302
    assert line_of(draft).spec == line.spec


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_what_cannot_be_cut_is_said_beside_its_field_and_nothing_is_saved(post, draft, kind):
    wrong, name, said = WRONG[kind]
    answer = post(kind, **wrong)
    assert answer.status_code == 422
    assert said in beside(answer, name)
    assert beside(answer, name)
    assert 'aria-invalid="true"' in answer.content.decode()
    assert draft.lines.count() == 1


@pytest.mark.parametrize("unit", ["in", "mm"])
@pytest.mark.parametrize("kind", KIND_NAMES)
def test_a_line_goes_out_in_a_job_file_and_comes_back_the_same(post, draft, mina, kind, unit):
    post(kind)
    line = line_of(draft)
    line.spec["allow"] = {"kerf": "1/8 in"}
    line.save()
    job = read_job(export_job(draft, sections=True))
    first = import_job(json.dumps(write_job(replace(job, unit=unit))), mina) if unit == "mm" else draft
    again = import_job(export_job(first), mina)
    assert line_of(again).spec == line_of(first).spec
    assert line_of(again).spec["allow"]["kerf"] in ("1/8 in", 3.175)
    assert sizes(line_of(again)) == pytest.approx(sizes(line))


def sizes(line):
    """Return what must not change on the way: every blank of a line with its count, and its foam."""
    worked = work_out(line)
    return [
        *(figure for blank in worked.blanks for figure in (blank.qty, blank.size.l, blank.size.w, blank.size.h)),
        worked.quantities.core_volume,
    ]


def test_a_profile_of_another_kind_is_offered_where_its_shape_fits_and_goes_out_drawn(post, draft, office, mina):
    profile = Profile.objects.create(code="BAL-1", name="Baluster foot", kind="turned")
    points = [[0, 3], [1, 3], [4, "1 1/2"], [9, 0.5]]
    revision = ProfileRevision.objects.create(profile=profile, number=1, unit="in", shape={"half_profile": points})
    offered = office.get(f"/orders/{draft.number}/lines/new/").context["form"].part.fields["profile"].queryset
    assert revision not in offered
    assert post("turned", way="profile", profile=revision.pk).status_code == 302
    line = line_of(draft)
    assert (line.profile, "half_profile" in line.spec) == (revision, False)
    drawn = read_job(export_job(draft, sections=True))
    assert [one.kind for one in drawn.lines] == ["moulding", "turned"]
    assert line_of(import_job(export_job(draft), mina)).profile == revision


# Choosing a kind


def choose(office, draft, kind, **headers):
    typed = {"more": "kind", "kind": kind, "mark": "Q", "title": "Porch", "length": "6'", "grade": ""}
    return office.post(f"/orders/{draft.number}/lines/new/", typed, headers=headers)


def test_choosing_a_kind_fetches_its_fields_and_keeps_what_was_typed(office, draft):
    answer = choose(office, draft, "taper", **{"HX-Request": "true"})
    page = answer.content.decode()
    assert 'name="base_round"' in page
    assert 'value="6&#x27;"' in page
    assert "<html" not in page
    assert "fault" not in page
    assert answer.headers["HX-Trigger-After-Settle"] == "kind-shown"


def test_choosing_a_kind_works_without_scripts(office, draft):
    answer = choose(office, draft, "taper")
    page = answer.content.decode()
    assert answer.status_code == 200
    assert 'name="base_round"' in page
    assert 'value="Porch"' in page
    assert draft.lines.count() == 1


def test_a_kind_that_takes_no_coat_asks_for_none_and_keeps_none(office, post, draft):
    assert 'name="coat"' not in choose(office, draft, "panel").content.decode()
    post("panel", coat="1/8")
    assert line_of(draft).coat == "0"


def test_a_way_that_was_not_chosen_counts_for_nothing(post, draft):
    post("column", sides="7", across_flats="no length", stave="2")
    assert set(line_of(draft).spec) == {"round", "height", "shells", "void"}


def test_a_profile_brings_its_usual_foam_and_coat_to_the_page(office, draft, shop):
    coat = CoatSystem.objects.first()
    profile = Profile.objects.create(code="SILL-1", name="Sill")
    ProfileRevision.objects.create(
        profile=profile, number=1, unit="in", shape={"section": [[0, 0], [5, 0], [5, 2], [0, 3]], "bare": "wall"},
        grade=shop.grades["Dense 2.0"], coat_system=coat,
    )  # fmt: skip
    page = office.get(f"/orders/{draft.number}/lines/new/").content.decode()
    assert f'data-grade="{shop.grades["Dense 2.0"].pk}"' in page
    assert f'data-coat_system="{coat.pk}"' in page


# What stands in the way


def test_a_part_that_no_machine_takes_is_said_while_it_is_typed(post, words):
    Station.objects.filter(kind="cutter").update(swing=50.8, centres=2540)
    said = words(post("turned", "figures/"))
    assert "Line K, part K1, fits no wire cutter" in said
    assert "swing: needs" in said


def test_a_length_is_read_back_under_its_field_for_every_kind(post):
    page = post("column", "figures/").content.decode()
    assert 'id="id_height_echo" hx-swap-oob="true">= 90 in</p>' in page


def test_the_wire_runs_half_a_kerf_outside_the_foam(post, words):
    # plane geometry: a section of 6 × 2 with a kerf of 1/16 needs a path of 6-1/16 × 2-1/16
    said = words(post("moulding", "figures/", way="own", section="0, 0\n6, 0\n6, 2\n0, 2", bare="none"))
    assert "Path of the wire, over all 6 1/16 × 2 1/16 in" in said.replace("-", " ")


def test_a_length_is_read_back_only_where_its_field_is_shown(post):
    assert "id_coat_echo" in post("column", "figures/").content.decode()
    assert "id_coat_echo" not in post("panel", "figures/").content.decode()
