"""A font of the shop's own, for its letters."""

from django import forms

from cutsheets.letters import LARGEST_FONT, SHIPPED
from orders.models import LetterFont


class FontForm(forms.Form):
    file = forms.FileField(label="Font, TTF or OTF", widget=forms.FileInput(attrs={"accept": ".ttf,.otf"}))
    name = forms.CharField(max_length=40, help_text="as lines will call it")
    licence = forms.CharField(
        max_length=200, label="Licence", help_text="under which the shop may cut letters from it, and who keeps it"
    )

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file.size > LARGEST_FONT:
            raise forms.ValidationError(f"This font is larger than {LARGEST_FONT // 10**6} MB; use a plainer one.")
        return file

    def clean_name(self):
        name = " ".join(self.cleaned_data["name"].split())
        if not name.isprintable() or name in SHIPPED or LetterFont.objects.filter(name__iexact=name).exists():
            raise forms.ValidationError("Another font has this name; choose one that tells them apart.")
        return name
