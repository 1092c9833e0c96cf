"""A library from before shapes had kinds is kept as it was: its sections, their bare edges, its letters."""

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

BEFORE, AFTER = [("orders", "0002_piece_flat")], [("orders", "0003_profile_shapes")]
SECTION = [["0", "0"], ["5 1/2", "0"], [5, 2], [0, 2]]


@pytest.fixture
def migrate(transactional_db):
    """Return a function that takes the database to a migration and returns its models; in the end it is the newest."""

    def to(target):
        executor = MigrationExecutor(connection)
        executor.migrate(target)
        return MigrationExecutor(connection).loader.project_state(target).apps.get_model

    yield to
    executor = MigrationExecutor(connection)
    executor.migrate(executor.loader.graph.leaf_nodes())


@pytest.mark.parametrize(("bare", "kept"), [("wall", "wall"), ([0, 2], [0, 2]), ("", "wall")])
def test_sections_become_shapes_and_go_back_again(migrate, bare, kept):
    model = migrate(BEFORE)
    profile = model("orders", "Profile").objects.create(code="TP-14", name="Cornice")
    model("orders", "ProfileRevision").objects.create(profile=profile, number=1, unit="in", section=SECTION, bare=bare)
    revision = migrate(AFTER)("orders", "ProfileRevision").objects.get()
    assert revision.shape == {"section": SECTION, "bare": kept}
    assert (revision.source, revision.profile.kind, revision.grade) == ({"way": "points"}, "moulding", None)
    revision = migrate(BEFORE)("orders", "ProfileRevision").objects.get()
    assert (revision.section, revision.bare) == (SECTION, kept)
