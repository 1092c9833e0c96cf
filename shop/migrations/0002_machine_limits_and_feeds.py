from decimal import Decimal

import django.core.validators
import django.db.models.deletion
from django.db import migrations, models
from django.db.models import F

OVER = Decimal("101.6")  # 4 in: what a wire must be longer than the longest blank, as it was typed so far


def from_blank_to_wire(apps, _schema):
    apps.get_model("shop", "Station").objects.update(wire=F("wire") + OVER)


def from_wire_to_blank(apps, _schema):
    apps.get_model("shop", "Station").objects.update(wire=F("wire") - OVER)


def length(verbose_name=None, **options):
    return models.DecimalField(
        decimal_places=6, max_digits=13, **({"verbose_name": verbose_name} if verbose_name else {}), **options
    )


class Migration(migrations.Migration):
    dependencies = [("shop", "0001_initial")]

    operations = [
        migrations.RenameField("station", "longest", "wire"),
        migrations.RenameField("station", "widest", "travel"),
        migrations.RenameField("station", "highest", "height"),
        migrations.AlterField("station", "wire", length("wire length", blank=True, null=True)),
        migrations.AlterField("station", "travel", length("cross-travel", blank=True, null=True)),
        migrations.AlterField("station", "height", length(blank=True, null=True)),
        migrations.AddField(
            "station", "swing", length(blank=True, null=True, help_text="largest diameter that turns")
        ),
        migrations.AddField("station", "centres", length("length between centres", blank=True, null=True)),
        migrations.AddField(
            "shoprules",
            "wire_over",
            length(
                "wire longer than its blank",
                default=OVER,
                help_text="an 8 ft block wants about 4 in more wire than its length; a 16 ft block likewise",
            ),
        ),
        migrations.RunPython(from_blank_to_wire, from_wire_to_blank),
        migrations.CreateModel(
            name="WireFeed",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "feed",
                    length(
                        "feed a minute",
                        default=Decimal("1397.0"),
                        help_text="1 lb foam: about 55 in a minute; denser foam is slower",
                        validators=[django.core.validators.MinValueValidator(1)],
                    ),
                ),
                (
                    "entry",
                    models.DecimalField(
                        decimal_places=2,
                        default=Decimal("0.5"),
                        max_digits=6,
                        validators=[django.core.validators.MinValueValidator(0)],
                        verbose_name="minutes a way in or out",
                    ),
                ),
                (
                    "handling",
                    models.DecimalField(
                        decimal_places=2,
                        default=0,
                        help_text="put it on the machine and take it off",
                        max_digits=6,
                        validators=[django.core.validators.MinValueValidator(0)],
                        verbose_name="minutes to handle a part",
                    ),
                ),
                (
                    "grade",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="feeds", to="shop.grade"
                    ),
                ),
                (
                    "station",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="feeds",
                        to="shop.station",
                        verbose_name="machine",
                    ),
                ),
            ],
            options={"ordering": ("grade", F("station__name").asc(nulls_first=True))},
        ),
        migrations.AddConstraint(
            "wirefeed",
            models.UniqueConstraint(
                fields=("grade", "station"),
                name="one_feed_a_grade_and_machine",
                violation_error_message="This grade has a feed on this machine already; change that one.",
            ),
        ),
        migrations.AddConstraint(
            "wirefeed",
            models.UniqueConstraint(
                condition=models.Q(("station", None)),
                fields=("grade",),
                name="one_feed_a_grade_on_any_machine",
                violation_error_message="This grade has a feed on any machine already; change that one.",
            ),
        ),
    ]
