"""The demo loads at any hour: its “today” may be two minutes old, and its yesterday a Friday."""

from datetime import datetime
from unittest.mock import patch

import pytest
from django.utils import timezone

from orders.demo import load
from orders.models import Move
from shop.models import DayClose


@pytest.mark.django_db
def test_the_demo_loads_two_minutes_into_a_monday():
    monday = timezone.make_aware(datetime(2026, 11, 30, 0, 2))
    with patch("django.utils.timezone.now", return_value=monday):
        assert load(passwords=False)
    friday = timezone.localdate(DayClose.objects.latest("day").closed_at)
    assert (friday.year, friday.month, friday.day) == (2026, 11, 27)
    assert Move.objects.latest("happened_at").happened_at <= monday
