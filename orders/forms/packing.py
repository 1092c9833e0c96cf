"""What is asked before paper for the coat bench and the packer is printed."""

from django import forms

from cutsheets.sheets.bundlelabels import bundle_grids
from shop.form_fields import CountField

MOMENT = forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")


class CoatedForm(forms.Form):
    """When the coat was put on, if that is known already."""

    coated = forms.DateTimeField(
        required=False, label="Coated at", widget=MOMENT, help_text="empty: for the pencil",
        error_messages={"invalid": "Type day and time of the coat, or leave it empty for the pencil."},
    )  # fmt: skip


class LabelsForm(forms.Form):
    """On which labels, and which one is the first that is left on the sheet."""

    grid = forms.ChoiceField(
        label="Labels", choices=lambda: [(grid.name, grid.words) for grid in bundle_grids()],
        error_messages=dict.fromkeys(("required", "invalid_choice"), "Choose the labels on the list."),
    )  # fmt: skip
    start = CountField(label="First label left", most=100)
