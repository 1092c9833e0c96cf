"""A profile holds a shape of any kind, the foam and the coat that it usually gets, and how it was made."""

import django.db.models.deletion
from django.db import migrations, models


def shape_from_section(apps, schema_editor):
    for revision in apps.get_model("orders", "ProfileRevision").objects.all():
        revision.shape = {"section": revision.section, "bare": revision.bare or "wall"}
        revision.source = {"way": "points"}
        revision.save(update_fields=["shape", "source"])


def section_from_shape(apps, schema_editor):
    for revision in apps.get_model("orders", "ProfileRevision").objects.all():
        revision.section = revision.shape.get("section", [])
        revision.bare = revision.shape.get("bare", "wall")
        revision.save(update_fields=["section", "bare"])


class Migration(migrations.Migration):
    dependencies = [("orders", "0002_piece_flat"), ("shop", "0001_initial")]

    operations = [
        migrations.AddField("profile", "kind", models.CharField(default="moulding", max_length=12)),
        migrations.AddField(
            "profilerevision",
            "shape",
            models.JSONField(
                default=dict, help_text='{"section": …, "bare": …}, {"half_profile": …} or {"outlines": …}'
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            "profilerevision",
            "source",
            models.JSONField(default=dict, help_text='{"way": "points"}: points, family, drawing or text'),
        ),
        migrations.AddField(
            "profilerevision",
            "grade",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                to="shop.grade",
                verbose_name="usual foam",
            ),
        ),
        migrations.AddField(
            "profilerevision",
            "coat_system",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                to="shop.coatsystem",
                verbose_name="usual coat",
            ),
        ),
        migrations.AlterField(
            "profilerevision", "number", models.PositiveIntegerField(help_text="1 is revision A")
        ),
        migrations.AlterField("profilerevision", "section", models.JSONField(default=list)),
        migrations.RunPython(shape_from_section, section_from_shape),
        migrations.RemoveField("profilerevision", "section"),
        migrations.RemoveField("profilerevision", "bare"),
    ]
