"""What a request asks for, read so that nothing typed into an address can break a page."""

MOST_WORDS = 6
LONGEST = 100
MOST_DIGITS = 9  # what every database keeps in a whole number


def typed(request, name: str = "find") -> str:
    """Return the text that was looked for, without what no text has."""
    return request.GET.get(name, "").replace("\x00", "").strip()[:LONGEST]


def written(request, name: str, most: int = 200) -> str:
    """Return a text of a posted form that has no form class, such as a reason: no longer than its column."""
    return request.POST.get(name, "").replace("\x00", "").strip()[:most]


def words(text: str) -> list[str]:
    """Return the words of a text, each of which must be found."""
    return text.split()[:MOST_WORDS]


def whole(text: str) -> int:
    """Return a whole number from a form or an address; 0 for anything else."""
    return int(text) if text.isdecimal() and len(text) <= MOST_DIGITS else 0
