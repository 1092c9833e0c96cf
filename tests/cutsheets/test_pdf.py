"""The file as a reader's program gets it: bookmarks, words, fonts, the same bytes twice."""

from cutsheets.sheets.furniture import print_words
from cutsheets.sheets.page import Pen
from tests.cutsheets.paper_reader import document


def new_pen(page="letter", **more):
    return Pen(page, **{"title": "Traveller 4182 C", "author": "Tern Point", "subject": "a porch, Osgood", **more})


def test_bookmarks_name_their_pages_in_the_order_of_the_paper():
    pen = new_pen()
    pen.bookmark("Plan 118")
    pen.bookmark("Łódź, Большой театр", 1)
    pen.next_page()
    pen.bookmark("order 4182 C", 1)
    pen.next_page()
    pen.next_page()
    pen.bookmark("Plan 119")
    found = [(mark.level, mark.get_title(), mark.get_dest().get_index()) for mark in document(pen.finish()).get_toc()]
    assert found == [(0, "Plan 118", 0), (1, "Łódź, Большой театр", 0), (1, "order 4182 C", 1), (0, "Plan 119", 3)]


def test_a_second_print_says_that_it_is_a_reprint():
    assert [print_words(number) for number in (1, 2, 11)] == ["print 1", "reprint 2", "reprint 11"]
