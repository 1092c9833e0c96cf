"""Profiles of the shop's library: a revision never changes; the next one takes its place for new lines."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.db.models import Max

from orders.models import Profile, ProfileRevision
from shop.acts import Act


@transaction.atomic
def add_profile(code: str, name: str, revision: dict[str, Any], act: Act) -> Profile:
    """Return a new profile with its first revision."""
    profile = Profile.objects.create(code=code, name=name)
    revise(profile, revision, act)
    return profile


@transaction.atomic
def revise(profile: Profile, revision: dict[str, Any], act: Act) -> ProfileRevision:
    """Return the next revision of a profile; lines keep the one that they were entered with."""
    last = profile.revisions.aggregate(last=Max("number"))["last"] or 0
    return ProfileRevision.objects.create(profile=profile, number=last + 1, made_by=act.by, made_at=act.at, **revision)
