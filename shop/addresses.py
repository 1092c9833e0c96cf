"""What may stand in an address: `<iso:…>` a day, `<name:…>` the name of something. Registered once, by this import."""

from datetime import date

from django.urls import register_converter
from django.urls.converters import StringConverter


class NameInAddress(StringConverter):
    """The name of something, such as a tag or the code of a profile; no name holds a NUL."""

    regex = r"[^/\x00]+"


class IsoDay:
    """A day of this century in an address, such as 2026-11-24; anything else is no address of ours."""

    regex = "20[0-9]{2}-[0-9]{2}-[0-9]{2}"

    def to_python(self, value: str) -> date:
        return date.fromisoformat(value)

    def to_url(self, value: date) -> str:
        return value.isoformat()


register_converter(IsoDay, "iso")
register_converter(NameInAddress, "name")
