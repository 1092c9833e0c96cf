"""The short codes on paper: what a sheet's barcode says, and how a slip in it is caught.

    BY 4182 C U      order 4182, sheet letter C                   BK 2207 X    block K-2207
    BY 4182 C2 8     the same, for its line 2 only                BR 0231 G    remnant R-0231
    BS 118 P1 7      saw sheet of plan 118, page 1                BP 14 B K    profile 14, revision B
    BB 4182 C 3 J    bundle 3 of order 4182 at sheet letter C
    BN 7K2M9XHD 1    the badge of a person: eight random signs that stand for nothing

The last character checks the rest. The alphabet has 31 symbols: the digits, and the letters without I, O, Q, S and Z,
which are read or written as 1, 0 and 0, 5, 2. The check character follows the construction of the pure systems of
ISO/IEC 7064 with one check character: modulus M, radix r, and the sum of a(i)·r^(i-1), counted from the right with the
check character as a(1), must be 1 modulo M. (The standard fixes its own pairs of M and r; 31 and 3 are chosen here for
this alphabet.)

Why 31 and 3. 31 is prime and not below the number of symbols, so a wrong character changes the sum by
(a-b)·3^k, never a multiple of 31: every single wrong character is caught. 3 is a primitive root of 31: its powers
3^0 … 3^29 are all different, so swapping two characters a and b changes the sum by (a-b)·(3^j - 3^k), again never a
multiple of 31: every swap of any two different characters is caught, next to each other or not, in codes of up to
30 characters. A character lost or too many is caught in thirty cases of thirty-one, as in any code of varying length.
The S of `BS` counts as the 5 that it looks like; it stands nowhere else.

A code always begins with a letter: python-barcode 0.16.1 loses a leading pair of digits 99.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from cutsheets.errors import CutsheetError

ALPHABET = "0123456789ABCDEFGHJKLMNPRTUVWXY"
LETTERS = ALPHABET[10:]
MODULUS = len(ALPHABET)
RADIX = 3
SECRET = 8  # random signs of a badge: 31^8, close to 2^40
LONGEST = 30  # 3^30 = 1 modulo 31: from there on weights repeat, and a swap could pass

_VALUE = {symbol: value for value, symbol in enumerate(ALPHABET)} | {"S": 5}
_ORDER = re.compile(rf"BY([0-9]+)([{LETTERS}]+)([1-9][0-9]*)?")
_PLAN = re.compile(r"BS([0-9]+)P([0-9]+)")
_STOCK = re.compile(r"B([KR])([0-9]+)")
_PROFILE = re.compile(rf"BP([0-9]+)([{LETTERS}]+)")
_BUNDLE = re.compile(rf"BB([0-9]+)([{LETTERS}]+)([1-9][0-9]*)")
_BADGE = re.compile(rf"BN([{ALPHABET}]{{{SECRET}}})")
# a code of ours, whole or damaged
_OURS = re.compile(rf"B[YSKRPB][0-9A-Z]*[0-9][0-9A-Z]*|BN[0-9A-Z]{{{SECRET - 2},{SECRET + 3}}}")
_START = re.compile(r"B[YSKRPBN]")
_SECRET = re.compile(rf"^BN.*|BN[0-9A-Z]{{{SECRET - 2},}}")
# what a scanner may send before a code; one set for another keyboard loses the bracket
_PREFIX = re.compile(r"\]C[0-4]|^\s*C[0-4](?=B)", re.IGNORECASE)

StockKind = Literal["block", "remnant"]
_STOCK_LETTER: dict[StockKind, str] = {"block": "K", "remnant": "R"}
_STOCK_KIND: dict[str, StockKind] = {"K": "block", "R": "remnant"}


@dataclass(frozen=True, slots=True)
class OrderCode:
    """A sheet of an order: its number, the letter of the sheet, and the number of its line where it is for one."""

    number: int
    revision: str
    line: int | None = None


@dataclass(frozen=True, slots=True)
class PlanCode:
    """One page of the saw sheet of one cutting plan."""

    number: int
    page: int


@dataclass(frozen=True, slots=True)
class StockCode:
    """The tag of one block or remnant."""

    kind: StockKind
    number: int


@dataclass(frozen=True, slots=True)
class ProfileCode:
    """The repeat sheet of a profile: its number in the library and the letter of the revision."""

    number: int
    revision: str


@dataclass(frozen=True, slots=True)
class BundleCode:
    """The label of a bundle: its order, the letter of the sheet that it was packed by, the number of the bundle."""

    number: int
    revision: str
    bundle: int


@dataclass(frozen=True, slots=True)
class BadgeCode:
    """The badge of a person: whoever holds it is taken for that person, so it is never shown and never kept."""

    secret: str


Code = OrderCode | PlanCode | StockCode | ProfileCode | BundleCode | BadgeCode


def check_character(body: str) -> str:
    """Return the character that must follow `body`.

    >>> check_character("BY4182C")
    'U'
    """
    total = 0
    for symbol in body:
        total = (total + _VALUE[symbol]) * RADIX % MODULUS
    return ALPHABET[(1 - total) % MODULUS]


def revision_letter(n: int) -> str:
    """Return the letter of the n-th sheet, from 1: A to Y without I, O, Q, S, then AA, AB and so on.

    >>> [revision_letter(n) for n in (1, 3, 9, 21, 22, 43)]
    ['A', 'C', 'J', 'Y', 'AA', 'BA']
    """
    if n < 1:
        raise CutsheetError("code-unknown-form", f"Sheets are counted from 1; {n} has no letter.")
    letters = ""
    while n:
        n, place = divmod(n - 1, len(LETTERS))
        letters = LETTERS[place] + letters
    return letters


def make_sheet_code(number: int, revision: str, line: int | None = None) -> str:
    """Return the code of a sheet of an order, or of one line of it; the text printed below the bars is the same.

    >>> make_sheet_code(4182, "C"), make_sheet_code(4182, "C", 2)
    ('BY4182CU', 'BY4182C28')
    """
    return _checked(f"BY{number}{revision}{'' if line is None else line}", _ORDER)


def make_plan_code(number: int, page: int = 1) -> str:
    """Return the code of one page of a saw sheet.

    >>> make_plan_code(118, 1)
    'BS118P17'
    """
    return _checked(f"BS{number}P{page}", _PLAN)


def make_stock_code(kind: StockKind, number: int) -> str:
    """Return the code of a tag: four figures or more.

    >>> make_stock_code("remnant", 231)
    'BR0231G'
    """
    return _checked(f"B{_STOCK_LETTER[kind]}{number:04d}", _STOCK)


def make_profile_code(number: int, revision: str) -> str:
    """Return the code of a repeat sheet.

    >>> make_profile_code(14, "B")
    'BP14BK'
    """
    return _checked(f"BP{number}{revision}", _PROFILE)


def make_bundle_code(number: int, revision: str, bundle: int) -> str:
    """Return the code of the label of a bundle.

    >>> make_bundle_code(4182, "C", 3)
    'BB4182C3J'
    """
    return _checked(f"BB{number}{revision}{bundle}", _BUNDLE)


def make_badge_code(secret: str) -> str:
    """Return the code of a badge.

    >>> make_badge_code("7K2M9XHD")
    'BN7K2M9XHD1'
    """
    return _checked(f"BN{secret}", _BADGE)


def shown(text: str) -> str:
    """Return a scanned text as it may be shown and kept: of a badge, whole or damaged, only that it is one.

    >>> shown("]C0bn 7k2m9xhd"), shown(" BY4182CU ")
    ('BN…', 'BY4182CU')
    """
    code = _bare(text)
    return _SECRET.sub("BN…", code) if _SECRET.search(code) else text.strip()


def read_code(text: str) -> Code:
    """Return what a scanned or typed code stands for.

    Blanks, hyphens and small letters are allowed, a scanner's symbology prefix (]C0, ]C1) is dropped, and a code that
    was read twice in one breath is that code. Raises CutsheetError: `code-together` for two codes in one text,
    `code-damaged` for a code of ours whose check character is wrong or whose end is missing, `code-unknown-form` for
    anything else. The nearest code is never guessed, and of two codes none is taken.

    >>> read_code("by 4182-c u")
    OrderCode(number=4182, revision='C', line=None)
    >>> read_code("]C0BS118P17")
    PlanCode(number=118, page=1)
    """
    code, said = _bare(text), shown(text)[:40]
    half = code[: len(code) // 2]
    if found := _whole(half if half * 2 == code else code):
        return found
    if _are_two(code):
        raise CutsheetError("code-together", f"“{said}” is more than one code; scan one of them again.")
    if len(code) > LONGEST or not _OURS.fullmatch(code):
        raise CutsheetError("code-unknown-form", f"“{said}” is no code of this shop; scan the one on a sheet or tag.")
    raise CutsheetError("code-damaged", f"“{said}” was misread or mistyped; scan it again or type it as printed.")


def _whole(code: str) -> Code | None:
    """Return what a text stands for that is a code of ours from its first to its last character."""
    found = _parse(code[:-1]) if len(code) <= LONGEST and _OURS.fullmatch(code) else None
    # made again, so that a code that no sheet ever carried (a zero too many) is refused too
    return found if found and make_code(found) == code else None


def _are_two(code: str) -> bool:
    """Return whether a text is a whole code and the beginning or the rest of another one."""
    if len(code) > 3 * LONGEST or not _START.match(code):
        return False
    places = [found.start() for found in _START.finditer(code, 1)]
    return any(_whole(code[:place]) or _whole(code[place:]) for place in places)


def _bare(text: str) -> str:
    """Return a code as its characters: without the scanner's prefix, blanks and hyphens, in capitals."""
    return re.sub(r"[\s-]", "", _PREFIX.sub("", text)).upper()


def make_code(code: Code) -> str:
    """Return the text of a code: what `read_code` reads back."""
    match code:
        case OrderCode(number, revision, line):
            return make_sheet_code(number, revision, line)
        case PlanCode(number, page):
            return make_plan_code(number, page)
        case StockCode(kind, number):
            return make_stock_code(kind, number)
        case ProfileCode(number, revision):
            return make_profile_code(number, revision)
        case BundleCode(number, revision, bundle):
            return make_bundle_code(number, revision, bundle)
        case BadgeCode(secret):
            return make_badge_code(secret)


def _parse(body: str) -> Code | None:
    for form, made in _FORMS:
        if found := form.fullmatch(body):
            return made(*found.groups())
    return None


_FORMS: tuple[tuple[re.Pattern[str], Callable[..., Code]], ...] = (
    (_ORDER, lambda number, letter, line: OrderCode(int(number), letter, int(line) if line else None)),
    (_PLAN, lambda number, page: PlanCode(int(number), int(page))),
    (_STOCK, lambda kind, number: StockCode(_STOCK_KIND[kind], int(number))),
    (_PROFILE, lambda number, letter: ProfileCode(int(number), letter)),
    (_BUNDLE, lambda number, letter, bundle: BundleCode(int(number), letter, int(bundle))),
    (_BADGE, BadgeCode),
)


def _checked(body: str, form: re.Pattern[str]) -> str:
    if not form.fullmatch(body) or len(body) >= LONGEST:
        raise CutsheetError("code-unknown-form", f"“{body}” cannot be a code: whole numbers from 0, letters {LETTERS}.")
    return body + check_character(body)
