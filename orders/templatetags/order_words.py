"""The words of an order and of what happened to it, as pages say them."""

from django import template
from django.utils.safestring import SafeString

from orders import lines
from orders.answers import DONE_WORDS
from orders.models import Move
from orders.profiles import newer_letter, profile_words
from orders.workflow import Count, Counts, Operation, Word
from shop.templatetags.look import state

register = template.Library()
register.filter("what", lines.what)
register.filter("newer_letter", newer_letter)
register.filter("profile_words", profile_words)

MARKS: dict[Word, str] = {
    "draft": "todo", "released": "todo", "in work": "started", "done": "done", "on hold": "held",
    "cancelled": "cancelled",
}  # fmt: skip
SAID = {
    "release": "released as sheet A", "hold": "put on hold", "resume": "going on again", "cancel": "cancelled",
    "revise": "new sheet", "saw": "sawn", "cut": "cut", "saw-miscut": "ruined at the saw",
    "cut-miscut": "ruined at the wire", "coat": "coated", "pack": "packed", "coat-miscut": "ruined before the coat",
    "pack-miscut": "ruined before packing", "start": "taken in hand", "pause": "waits",
}  # fmt: skip


@register.simple_tag
def order_word(word: Word) -> SafeString:
    """Return the word of an order with its mark."""
    return state(MARKS[word], word)


@register.filter
def count_of(counts: Counts, operation: Operation) -> Count:
    """Return the count of one operation."""
    return getattr(counts, operation)


@register.filter
def done_word(operation: Operation) -> str:
    """Return what is said of what an operation has done: “sawn”."""
    return DONE_WORDS[operation]


@register.filter
def miscuts(counts: Counts) -> str:
    """Return how many were ruined and where: “1 at the saw, 2 at the wire”; behind it where more comes after it."""
    later = counts.coat.due or counts.pack.due
    places = ((counts.saw.miscut, "at the saw"), (counts.cut.miscut, "after the saw" if later else "at the wire"))
    return ", ".join(f"{count} {place}" for count, place in places if count)


@register.filter
def move_words(move: Move) -> str:
    """Return one move in words: “3 blanks of A sawn”, “put on hold: deposit not in”."""
    said = SAID.get(move.action, move.action.replace("-", " "))
    if move.undoes_id:
        said = f"taken back: {SAID.get(move.undoes.action, said)}"
    if move.qty:
        what = "blank" if "saw" in (move.action, move.undoes.action if move.undoes_id else "") else "piece"
        mark = f" of {move.line.mark}" if move.line else ""
        said = f"{abs(move.qty)} {what}{'' if abs(move.qty) == 1 else 's'}{mark} {said}"
    return f"{said}: {move.reason}" if move.reason else said


@register.filter
def kind_word(kind: str) -> str:
    """Return the trade's word for a kind of part, in the middle of a sentence."""
    return lines.KIND_WORDS[kind].lower()
