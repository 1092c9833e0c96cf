from django import forms


class QuoteForm(forms.Form):
    until = forms.DateField(
        label="Holds until", error_messages={"required": "Say until when the quote holds."},
        widget=forms.DateInput(attrs={"type": "date"}),
    )  # fmt: skip
