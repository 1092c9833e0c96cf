"""Days and moments as sheets and pages write them: short, the day before the month, so that none is read as a month."""

from __future__ import annotations

from datetime import date, datetime


def say_day(day: date) -> str:
    """Return a day as the floor reads it.

    >>> say_day(date(2026, 12, 3))
    'Thu 3 Dec'
    """
    return f"{day:%a} {day.day} {day:%b}"


def say_moment(moment: datetime) -> str:
    """Return a day with its year and the time.

    >>> say_moment(datetime(2026, 11, 23, 14, 12))
    'Mon 23 Nov 2026 14:12'
    """
    return f"{say_day(moment)} {moment.year} {moment:%H:%M}"
