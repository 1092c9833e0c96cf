"""The screens that refuse a scan: told apart by ground and shape, by word and by sound; with what to do now."""

import re
from itertools import combinations
from pathlib import Path

import pytest
from django.conf import settings
from floor_shop import plan_for

from cutsheets.codes import make_plan_code, make_profile_code, make_sheet_code
from orders import moves, prints
from orders.models import CuttingRun, Print, Profile
from orders.views.station_refused import PIECES, TEMPLATES, TITLES
from shop.models import Person

BASE = Path(settings.BASE_DIR)
REFUSED = sorted((BASE / "templates/station/refused").glob("*.html"))


def found(pattern, text):
    return re.search(pattern, text, re.DOTALL)[1]


def ground(css, name):
    return found(rf"\.{name}(?:\.st-no)? {{ background: ([^;]+);", css)


def looks():
    """Return of each refusal its sound, its word, and its ground with its shape."""
    css = (BASE / "static/css/station.css").read_text(encoding="utf-8")
    for file in REFUSED:
        page = file.read_text(encoding="utf-8")
        name = found(r'class="st-no (is-[a-z]+)"', page)
        shape = re.search(r"station\.svg' %}#(?!scan)([a-z]+)", page)
        shape = shape[1] if shape else found(r'class="(st-silhouette|st-foams)"', page)
        word = found(r"<h1>(.+?)</h1>", page)
        word = file.stem if "no.title" in word else word  # its titles are looked at below
        yield file.stem, found(r'data-sound="([a-z]+)"', page), word, (ground(css, name), shape)


def test_no_two_refusals_share_a_sound_a_word_or_a_ground_with_its_shape():
    assert len(REFUSED) >= 8
    for (one, *of_one), (other, *of_other) in combinations(looks(), 2):
        for mine, theirs in zip(of_one, of_other, strict=True):
            assert mine != theirs, (one, other, mine)


def test_every_sound_of_a_screen_has_notes_of_its_own():
    script = (BASE / "static/js/sounds.js").read_text(encoding="utf-8")
    notes = dict(re.findall(r"^    ([a-z]+): (\[\[.+\]\]),$", script, re.MULTILINE))
    assert len(set(notes.values())) == len(notes)
    assert {sound for _, sound, *_ in looks()} <= set(notes)


def test_no_two_titles_are_the_same_word():
    titles = [*TITLES.values(), *PIECES.values()]
    assert len(set(titles)) == len(titles)
    assert set(TEMPLATES.values()) <= {file.stem for file in REFUSED}


# What each says -------------------------------------------------------------------------------------------------------


@pytest.fixture
def scanned(floor, words):
    return lambda code, station="saw-1": words(floor.post(f"/station/{station}/scan/", {"raw": code}))


def test_an_old_sheet_says_what_changed_who_changed_it_and_who_can_reprint(scanned, shop, order, mina):
    prints.keep(Print.Sheet.TRAVELLER, mina, order=order, revision=1)
    moves.raise_revision(order, [{"what": "A blank high", "old": "10", "new": "11"}], mina)
    page = scanned(make_sheet_code(order.number, "A"))
    for words in ("Old sheet", "Sheet B is in force.", "A blank high 10 11", "Mina O.", "printed "):
        assert words in page
    assert "Mina O. or Raf" in page.replace("can print sheet B", "")
    Person.objects.filter(role__in=("office", "manager")).update(is_active=False)
    assert "the office can print sheet B" in scanned(make_sheet_code(order.number, "A"))


def test_the_saw_sheet_of_a_plan_that_was_thrown_away_is_an_old_sheet(scanned, shop, order):
    run = plan_for(shop, order)
    CuttingRun.objects.update(state="void")
    page = scanned(make_plan_code(run.number, 1))
    assert "Old sheet Tear it up. Plan 118 was thrown away." in page


def test_a_saw_sheet_at_the_wire_is_sent_to_the_saw(scanned, shop, order):
    run = plan_for(shop, order)
    page = scanned(make_plan_code(run.number, 1), "cutter-1")
    assert "Not here Take it to Saw 1 Plan 118" in page


def test_a_repeat_sheet_is_sent_to_the_office(scanned, shop):
    page = scanned(make_profile_code(Profile.objects.first().pk, "A"))
    assert "Not here Take it to The office" in page


def test_a_plan_of_which_nothing_is_left_is_done(scanned, shop, order):
    run = plan_for(shop, order)
    run.sources.update(state="done")
    assert "Done Nothing of plan 118 is left to saw. Plan 118" in scanned(make_plan_code(run.number, 1))
