"""A database of its own for a benchmark that needs one: made on the configured server, removed afterwards."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from statistics import quantiles

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
django.setup()

from django.db import connection  # noqa: E402 - Django must be set up first


@contextmanager
def scratch_database() -> Iterator[str]:
    """Yield the name of the database's kind; everything written meanwhile goes to a database that is then removed."""
    own = connection.settings_dict["NAME"]
    connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        yield connection.vendor
    finally:
        connection.creation.destroy_test_db(own, verbosity=0)


def percentiles(seconds: list[float]) -> tuple[float, float]:
    """Return the median and the slowest of a hundred, in milliseconds."""
    steps = quantiles((each * 1000 for each in seconds), n=100)
    return steps[49], steps[98]
