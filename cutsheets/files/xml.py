"""XML from strangers, read into a plain tree: no document type, no entities, nothing fetched, nothing very deep.

An entity that names ten others, ten deep, is a file of one kilobyte and a text of gigabytes; an external one reads
other files. Both need a document type declaration, so a file that has one is refused before anything else is done.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from xml.parsers import expat

from cutsheets.errors import CutsheetError
from cutsheets.tracing.drawn import refusal, too_large

MOST_ELEMENTS = 100_000
DEEPEST_TREE = 100
SAVE_PLAIN = "save it again as plain SVG"


@dataclass(slots=True)
class Element:
    """One element: its name with its namespace before it (`http://… rect`), attributes, and what it holds."""

    name: str
    attributes: Mapping[str, str]
    children: list[Element] = field(default_factory=list)


def parse_xml(data: bytes) -> Element:
    """Return the root of an XML file; raises CutsheetError `drawing-unsafe`, `drawing-size` or `drawing-broken`."""
    top = Element("", {})
    open_elements = [top]
    count = 0

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal count
        count += 1
        if count > MOST_ELEMENTS or len(open_elements) > DEEPEST_TREE:
            raise too_large(f"has more than {MOST_ELEMENTS:,} elements, or groups more than {DEEPEST_TREE} deep")
        element = Element(name, attributes)
        open_elements[-1].children.append(element)
        open_elements.append(element)

    def refuse(*_: object) -> int:
        raise refusal(
            "drawing-unsafe", f"This file declares a document type (<!DOCTYPE …>); {SAVE_PLAIN}, or delete it."
        )

    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = start
    parser.EndElementHandler = lambda _: open_elements.pop()
    parser.StartDoctypeDeclHandler = parser.EntityDeclHandler = parser.ExternalEntityRefHandler = refuse
    if b"<!DOCTYPE" in data or b"<!ENTITY" in data:  # a second lock: the parser's own handlers see every encoding
        refuse()
    try:
        parser.Parse(data, True)
    except (expat.ExpatError, ValueError, LookupError) as error:  # also an encoding that does not exist
        if isinstance(error, CutsheetError):
            raise
        raise refusal("drawing-broken", f"This is not well-formed XML ({error}); {SAVE_PLAIN}.") from error
    return top.children[0]
