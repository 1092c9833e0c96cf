"""Tag numbers of blocks and remnants: a letter, a hyphen and a number that is never given twice."""

from shop.models import StockPiece

BLOCK, REMNANT = "K-", "R-"


def free_tags(prefix: str, count: int, *, taken: tuple[str, ...] = ()) -> list[str]:
    """Return the next `count` tags of this kind (`K-0007`, …) above every one on the books or in `taken`.

    Numbers are compared as numbers; tags of another form are left alone. Reads every tag of the kind: O(n).
    """
    known = [*StockPiece.objects.filter(tag__startswith=prefix).values_list("tag", flat=True), *taken]
    numbers = [int(tag[len(prefix) :]) for tag in known if tag[len(prefix) :].isdecimal()]
    first = max(numbers, default=0) + 1
    return [f"{prefix}{number:04d}" for number in range(first, first + count)]
