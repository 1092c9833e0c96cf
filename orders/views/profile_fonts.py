"""The fonts that letters can be set in: those that came along, and those that the shop uploaded."""

from django.contrib import messages
from django.shortcuts import redirect, render

from cutsheets.drawings.scene import Polygon, Scene
from cutsheets.errors import CutsheetError
from orders import fonts as letter_fonts
from orders.forms.fonts import FontForm
from orders.models import LetterFont
from shop.acts import Act
from shop.roles import DESK, MANAGER, allowed, may

SAMPLE = "RAgs 3&8"
HIGH = 50.0  # mm of capitals in a sample


@allowed(DESK, write=MANAGER)
def fonts(request):
    """List the fonts with a sample of each, and take in one more."""
    form = FontForm(*((request.POST, request.FILES) if request.method == "POST" else ()))
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            font = letter_fonts.add_font(data["name"], data["file"].read(), data["licence"], Act(request.user))
        except CutsheetError as error:
            form.add_error("file", error.message)
        else:
            messages.success(request, f"Letters can be set in {font}.")
            return redirect("profile-fonts")
    own = {font.name: font for font in LetterFont.objects.defer("data").select_related("added_by")}
    rows = [
        {"label": label, "font": own.get(name), "scene": _sample(name)} for name, label in letter_fonts.font_choices()
    ]
    context = {"form": form, "rows": rows, "may_add": may(request.user, MANAGER)}
    return render(request, "profiles/fonts.html", context, status=422 if form.errors else 200)


def _sample(font: str) -> Scene | None:
    """Return some letters of a font, or None where it lacks one of them."""
    try:
        letters = letter_fonts.set_letters(SAMPLE, font, HIGH)
    except CutsheetError:
        return None
    return Scene(tuple(Polygon(part.rings, fill="foam", weight="hair") for _, part in letters))
