"""Columns of our own: foam volume, exact to the cubic micrometre."""

from decimal import Decimal

from django.db import models


class VolumeField(models.Field):
    """A whole number of cubic micrometres, exact in both databases.

    A large block has more than 2^63 µm³: PostgreSQL keeps it as numeric, SQLite as text; sums are made in Python.
    """

    description = "Volume in cubic micrometres"

    def db_type(self, connection):
        return "numeric(40, 0)" if connection.vendor == "postgresql" else "text"

    def from_db_value(self, value, expression, connection):
        return None if value is None else int(value)

    def to_python(self, value):
        return None if value in (None, "") else int(value)

    def get_db_prep_value(self, value, connection, prepared=False):
        if value is None:
            return None
        return Decimal(value) if connection.vendor == "postgresql" else str(int(value))
