"""Fonts of the shop's own: taken in by a manager, tried first, used by lines."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from cutsheets.letters import LARGEST_FONT, SHIPPED, shipped_font
from orders.models import LetterFont

SERIF = shipped_font(SHIPPED[1])
TYPED = {"name": "Tern Point Slab", "licence": "bought, kept by Ada"}


def upload(client, data=SERIF, **typed):
    return client.post("/profiles/fonts/", TYPED | typed | {"file": SimpleUploadedFile("slab.ttf", data)})


def test_a_manager_takes_a_font_in_and_lines_are_offered_it(manager, office, draft, words):
    assert upload(manager).status_code == 302
    font = LetterFont.objects.get()
    assert (font.name, bytes(font.data) == SERIF, font.added_by.username) == ("Tern Point Slab", True, "raf")
    said = words(office.get("/profiles/fonts/"))
    assert "Tern Point Slab bought, kept by Ada. Raf A." in said
    assert b"Tern Point Slab" in office.get("/profiles/new/?way=text").content
    line = {"kind": "cutout", "more": "kind", "version": draft.version}
    assert b"Tern Point Slab" in office.post(f"/orders/{draft.number}/lines/new/", line).content


@pytest.mark.parametrize(
    ("data", "said"),
    [(b"", "empty"), (b"wOF2" + bytes(99), "no TTF or OTF font"), (b"OTTO" + bytes(99), "broken or of a rare kind"),
     (bytes(LARGEST_FONT + 1), "larger than 4 MB")],
    ids=["empty", "packed", "broken", "large"],
)  # fmt: skip
def test_what_is_no_font_is_answered_with_a_sentence(manager, shop, data, said):
    answer = upload(manager, data)
    assert answer.status_code == 422
    assert said in answer.context["form"].errors["file"][0]
    assert not LetterFont.objects.exists()


@pytest.mark.parametrize("name", [SHIPPED[0], "tern point  SLAB"])
def test_two_fonts_never_have_one_name(manager, shop, name):
    upload(manager)
    assert "Another font has this name" in upload(manager, name=name).context["form"].errors["name"][0]


def test_the_office_looks_at_fonts_and_takes_none_in(office, shop, words):
    assert "A manager takes in another font." in words(office.get("/profiles/fonts/"))
    assert upload(office).status_code == 403
