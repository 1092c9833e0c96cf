"""How tags are printed: on which labels, from which one on."""

from django import forms

from cutsheets.sheets.tags import TAG_GRIDS

FIRST_GRID = "tag-4x2"


class TagsForm(forms.Form):
    """The grid of labels, and the first one that is left on the sheet."""

    grid = forms.ChoiceField(choices=[(name, grid.words) for name, grid in TAG_GRIDS.items()], label="Printed on")
    start = forms.IntegerField(
        min_value=1, max_value=max(grid.per_page for grid in TAG_GRIDS.values()), initial=1, label="First label",
        help_text="of a sheet of labels; row by row",
    )  # fmt: skip
