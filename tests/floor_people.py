"""Devices and people of the floor for the tests of pages: pairing a tablet, naming a person."""

import re

from django.test import Client

from cutsheets.codes import ALPHABET

CODE = re.compile(f"[{ALPHABET}]{{8}}")


def code_for(manager, station, name="Tablet"):
    """Return the code that the manager's page shows once."""
    page = manager.post("/shop/devices/", {"station": station.pk, "name": name}).content.decode()
    return re.search(r'class="code">([^<]+)<', page)[1]


def paired(code) -> Client:
    """Return a browser that was paired by this code."""
    client = Client()
    assert client.post("/station/pair/", {"code": code}).status_code == 302
    return client


def name_by_pin(tablet, person, pin, station="saw-1", **more):
    return tablet.post(f"/station/{station}/who/", {"person": person.pk, "pin": pin, **more})
