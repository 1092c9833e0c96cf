"""The profile library: revisions that never change, orders that have an older one, fonts, files out and in."""

import pytest
from shapely import LineString, Polygon, hausdorff_distance

from cutsheets.codes import make_sheet_code
from cutsheets.errors import CutsheetError
from cutsheets.families import PRESETS, as_typed, build
from cutsheets.files.dxf import read_dxf
from cutsheets.files.svg import read_svg
from cutsheets.kinds import turned
from cutsheets.letters import SHIPPED, shipped_font
from cutsheets.solids import Section
from cutsheets.tracing import as_half_profile
from orders import entry, fonts, moves, profiles
from orders.lines import work_out
from orders.models import Line, Order, ProfileRevision
from orders.scanning import scan
from orders.shapes import read_shape, write_shape

READERS = {"dxf": read_dxf, "svg": read_svg}
DEEPER = {"section": [[0, 0], [1.5, 0], [2, 0.5], [2, 4.25], [2.5, 4.5], [2.5, 5.25], [0, 5.25]], "bare": "wall"}


def revision(shape, unit="in", way="points"):
    return {"unit": unit, "shape": shape, "source": {"way": way}}


def letters(text, high=120.0):
    return {"outlines": fonts.as_outlines(fonts.set_letters(text, SHIPPED[0], high))}


@pytest.fixture
def surround(shop):
    """Profile TP-22 of the demo, a window surround 2-1/2 × 5 in."""
    return shop.profiles["TP-22"].profile


@pytest.fixture
def on_surround(shop, mina):
    """Return the function that makes an order, a draft or released, with eight pieces of TP-22."""

    def make(*, release=True):
        order = entry.create_order({"customer": shop.customer, "job": "Mill Row, six doors"}, mina)
        spec = {"pieces": [{"length": 40, "qty": 8}]}
        data = {"grade": shop.grades["Firm 1.5"], "profile": shop.profiles["TP-22"], "spec": spec}
        entry.save_line(order, data, mina, version=order.version)
        order.refresh_from_db()
        if release:
            moves.release(order, mina)
        return Order.objects.get(pk=order.pk)

    return make


# A revision stands


@pytest.mark.parametrize("used", [True, False])
def test_a_saved_revision_cannot_be_changed_by_anybody(shop, on_surround, refused, used):
    if used:
        on_surround()
    row = shop.profiles["TP-22"]
    row.shape = DEEPER
    refused("revision-stands", row.save)
    refused("revision-stands", ProfileRevision.objects.filter(pk=row.pk).update, shape=DEEPER)
    row.refresh_from_db()
    assert row.shape["section"][3] == [2, 4]


def test_a_profile_that_an_order_uses_cannot_be_deleted(surround, on_surround):
    on_surround()
    with pytest.raises(Exception, match="protected"):
        surround.delete()


# Orders with an older one


def older():
    return [line.order.number for line in profiles.on_older(Line.objects.order_by("order__number"))]


def test_the_next_revision_marks_open_orders_and_no_others(shop, surround, on_surround, mina):
    draft, released, dropped = on_surround(release=False), on_surround(), on_surround()
    moves.cancel(dropped, "double entry", mina)
    assert older() == []
    profiles.revise(surround, revision(DEEPER), mina)
    assert older() == [draft.number, released.number]
    assert profiles.profile_words(released.lines.get()) == "TP-22 rev A; rev B is newer"
    assert draft.lines.get().profile == shop.profiles["TP-22"]


def test_a_draft_takes_the_newest_revision_without_a_sheet(surround, on_surround, mina):
    draft = on_surround(release=False)
    profiles.revise(surround, revision(DEEPER), mina)
    line = profiles.take_newest(draft, draft.lines.get(), mina, version=draft.version)
    assert (str(line.profile), Order.objects.get(pk=draft.pk).revision, older()) == ("TP-22 rev B", 0, [])


def test_a_released_order_that_takes_it_over_gets_its_next_sheet_and_old_paper_is_refused(
    surround, on_surround, mina, bo
):
    order = on_surround()
    paper = make_sheet_code(order.number, "A")
    profiles.revise(surround, revision(DEEPER), mina)
    assert scan(paper, bo).code == "ok"
    profiles.take_newest(order, order.lines.get(), mina, version=order.version)
    answer = scan(paper, bo)
    assert (answer.code, answer.details["letter_now"]) == ("old-sheet", "B")
    said = {row["what"]: (row["old"], row["new"]) for row in answer.details["changes"]}
    assert said["A section"] == ("TP-22 rev A", "TP-22 rev B")
    assert said["A finished"] == ("2-1/2 × 5", "2-1/2 × 5-1/4")


def test_letters_of_the_same_size_over_all_are_other_letters_and_make_a_new_sheet(shop, mina):
    sign = profiles.add_profile("LT-1", "Number", "cutout", revision(letters("H"), "mm", "text"), mina)
    order = entry.create_order({"customer": shop.customer, "job": "Sign", "unit": "mm"}, mina)
    data = {"kind": "cutout", "grade": shop.grades["Firm 1.5"], "profile": sign.current, "spec": {"thick": 50}}
    entry.save_line(order, data, mina, version=order.version)
    order.refresh_from_db()
    moves.release(order, mina)
    order.refresh_from_db()
    other = letters("H")
    other["outlines"][0]["outer"] = [(x, -y + 120) for x, y in other["outlines"][0]["outer"]]
    profiles.revise(sign, revision(other, "mm"), mina)
    profiles.take_newest(order, order.lines.get(), mina, version=order.version)
    order.refresh_from_db()
    assert (order.revision, order.revisions.get(number=2).changes[0]["what"]) == (2, "A profile")


def test_the_newest_revision_is_not_taken_twice_or_over_somebody_elses_save(surround, on_surround, mina, refused):
    order = on_surround()
    refused("newest-already", profiles.take_newest, order, order.lines.get(), mina, version=order.version)
    profiles.revise(surround, revision(DEEPER), mina)
    refused("changed-meanwhile", profiles.take_newest, order, order.lines.get(), mina, version=order.version - 1)
    assert order.lines.get().profile.number == 1


# Shop fonts


def test_a_line_is_set_in_a_font_of_the_shop(shop, mina, draft):
    fonts.add_font("Tern Point Slab", shipped_font(SHIPPED[1]), "own, kept by Ada", mina)
    line = Line(order=draft, mark="L", kind="cutout", grade=shop.grades["Firm 1.5"])
    line.spec = {"text": "INN", "font": "Tern Point Slab", "cap_height": 12, "thick": 2}
    own = work_out(line)
    line.spec["font"] = SHIPPED[1]
    assert own.views == work_out(line).views
    line.spec["font"] = "Nobody’s"
    with pytest.raises(CutsheetError, match="Tern Point Slab") as caught:
        work_out(line)
    assert (caught.value.code, caught.value.where) == ("font", "font")


def test_what_is_no_font_is_not_kept(shop, mina):
    with pytest.raises(CutsheetError):
        fonts.add_font("Broken", b"OTTO" + bytes(200), "none", mina)
    assert "Broken" not in dict(fonts.font_choices())


# Files out and in again

SHAPES = {
    "cornice": ("moulding", "in", build(as_typed(PRESETS["crown cornice"], "in"), "in")),
    "metric base": ("moulding", "mm", build(as_typed(PRESETS["wall base"], "mm"), "mm")),
    "twisted square": ("twisted", "in", {"section": [[-3, -3], [3, -3], [3, 3], [-3, 3]]}),
    "urn": ("turned", "in", build(as_typed(PRESETS["urn finial"], "in"), "in")),
    "letters": ("cutout", "mm", letters("B8%")),
}


def lines_of(kind, shape, unit):
    """Return the rings and chains of a shape as a drawing has them, mm."""
    read = read_shape(kind, shape, unit)
    if "half_profile" in shape:
        return [Polygon([(0, 0), *((radius, height) for height, radius in read)]).exterior]
    if isinstance(read, Section):
        return [Polygon(read.points).exterior]
    return [Polygon(ring).exterior for one in read for part in one.parts for ring in part.rings]


@pytest.mark.parametrize("form", ["dxf", "svg"])
@pytest.mark.parametrize("name", SHAPES)
def test_a_revision_goes_out_as_a_drawing_and_comes_back_within_a_thousandth(name, form):
    kind, unit, shape = SHAPES[name]
    drawn = READERS[form](write_shape(kind, shape, unit, form))
    assert (drawn.unit, drawn.troubles) == (unit, ())
    back = [Polygon(ring).exterior for outline in drawn.outlines for ring in outline.rings]
    wanted = lines_of(kind, shape, unit)
    assert len(back) == len(wanted)
    for line in wanted:
        assert min(hausdorff_distance(line, other) for other in back) < 0.001


def test_a_half_profile_comes_back_as_the_same_half_profile():
    kind, unit, shape = SHAPES["urn"]
    drawn = read_dxf(write_shape(kind, shape, unit, "dxf"))
    back = turned.read({"half_profile": as_half_profile(drawn)}, "mm")
    assert LineString(back.side).hausdorff_distance(LineString(turned.read(shape, unit).side)) < 0.001
