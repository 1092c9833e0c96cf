"""Why not better: what holds the bound of a day, in values and in sentences."""

from dataclasses import replace
from time import process_time

import pytest

from cutsheets.planning import plan
from cutsheets.planning.bounds import Bound
from cutsheets.planning.check import Stats
from cutsheets.planning.reasons import SENTENCES, reasons, say_reason
from tests.cutsheets.plan_days import ANY, blank, block, inches, instance, remnant

BLOCK = block(inches(96, 48, 48), "B48")


def why(day, **found):
    """The reasons of a day by their code."""
    result = plan(day, iterations=20)
    return {reason.code: reason for reason in reasons(day, result.bound, result.stats)}


def test_the_volume_of_the_blanks_needs_so_many_blocks():
    found = why(instance(blank("A", inches(48, 48, 24), 5), stock=[BLOCK]))
    assert (found["volume"].count, found["volume"].share) == (2, pytest.approx(1.25))
    assert say_reason(found["volume"], "in").endswith("fill 1.25 blocks: no plan opens fewer than 2.")


def test_kerf_and_skin_count_in_the_volume():
    """Eight cubes of half the block: without kerf they fill it, with kerf they are more than a block."""
    day = instance(blank("A", inches(24, 24, 24), 16), stock=[BLOCK], kerf=3_175)
    assert why(day)["volume"].share == pytest.approx(16 * 24.125**3 / (96.125 * 48.125**2))


def test_few_blanks_still_need_a_whole_block_and_it_comes_in_one_size():
    found = why(instance(blank("A", inches(48, 48, 24), 1), stock=[BLOCK]))
    assert found["one-block"].share == pytest.approx(0.25)
    assert say_reason(found["one-size"], "in") == "1.0: blocks come in one size only, 96 × 48 × 48 in."


def test_blanks_over_half_a_block_need_one_each():
    day = instance(blank("A", inches(50, 25, 25), 3), blank("B", inches(60, 30, 30), 2), stock=[BLOCK])
    found = why(day)["alone"]
    assert (found.names, found.count) == (("B", "A"), 5)


def test_blanks_that_share_a_block_are_not_said_to_need_one_each():
    assert "alone" not in why(instance(blank("A", inches(48, 48, 48), 4), stock=[BLOCK]))


def test_where_the_volume_would_do_the_shapes_are_named():
    """Cubes of 24 with a kerf between them: 3 × 1 × 1 of them in a block, four by volume."""
    day = instance(blank("A", inches(24, 24, 24), 16), stock=[BLOCK], kerf=3_175)
    assert (why(day)["shapes"].count, why(day)["shapes"].share) == (6, 2)


def test_a_blank_that_fits_only_one_way_is_named():
    """A cornice of 96 fits only along the block; a short blank of the same day lies as it likes."""
    day = instance(blank("LONG", inches(90, 20, 10), 1, rot=ANY), blank("A", [9, 8, 7], 1, rot=ANY), stock=[BLOCK])
    assert "one-way" not in why(day)  # on its flat or on its edge
    day["blanks"][0]["size"] = inches(90, 47, 10)
    narrow = day | {"stock": [block(inches(96, 48, 20), "B20")]}
    assert why(narrow)["one-way"].names == ("LONG",)
    assert say_reason(why(narrow)["one-way"], "mm").endswith("2286 × 1193.8 × 254 mm.")


def test_remnants_that_give_no_blank_are_named():
    day = instance(
        blank("A", inches(48, 48, 24), 1), stock=[BLOCK],
        remnants=[remnant("R1", inches(47, 90, 90), 9), remnant("R2", inches(48, 48, 24), 9)],
    )  # fmt: skip
    assert why(day)["remnants-too-small"].names == ("R1",)


def test_the_limits_of_the_saw_and_the_foam_kept_for_a_blank_are_named():
    saw = {"height": inches(48)[0], "length": inches(95)[0]}
    kept = blank("A", inches(48, 48, 24), 2, **{"from": ["B48"]})
    day = instance(kept, blank("B", inches(4, 4, 4), 1), stock=[BLOCK])
    result = plan(day, iterations=5)
    found = {reason.code: reason for reason in reasons(day | {"saw": saw}, result.bound, result.stats)}
    assert "saw-height" not in found
    assert (found["saw-length"].names, found["saw-length"].lengths) == (("B48",), (saw["length"],))
    assert (found["kept-for"].names, found["kept-for"].count) == (("B48",), 2)


def test_a_plan_that_opens_more_blocks_than_the_bound_is_told():
    day = instance(blank("A", inches(24, 24, 24), 16), stock=[BLOCK])
    result = plan(day, iterations=5)
    assert [each.code for each in reasons(day, result.bound, replace(result.stats, new_blocks=3))][-1] == "above"
    assert "above" not in why(day)


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_every_reason_has_a_sentence_that_ends_in_a_full_stop(unit):
    day = instance(blank("A", inches(50, 25, 25), 3), stock=[BLOCK], remnants=[remnant("R1", [5, 5, 5], 9)])
    said = [say_reason(reason, unit) for reason in why(day).values()]
    assert said
    assert all(sentence.endswith(".") and "{" not in sentence for sentence in said)
    assert all(sentence.endswith((".", "{said}.")) for sentence in SENTENCES.values())


def test_two_hundred_sizes_and_remnants_take_a_page_no_time():
    """Blanks of which no two share a block: every pair is looked at in every piece of foam."""
    blanks = [blank(f"A{n}", inches(50 + n / 8, 26, 25), 1, rot=ANY) for n in range(200)]
    rack = [remnant(f"R-{n:04}", inches(60 + n / 8, 30, 30), 9) for n in range(200)]
    day = instance(*blanks, stock=[BLOCK], remnants=rack)
    began = process_time()
    found = {reason.code: reason for reason in reasons(day, Bound(), Stats())}
    assert process_time() - began < 1.0
    assert found["alone"].count == 200
