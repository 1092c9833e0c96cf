"""Tags of blocks and remnants: chosen on a page, printed on tags or sheets of labels."""

from django.shortcuts import render

from orders import tag_paper
from orders.forms.tags import FIRST_GRID, TagsForm
from shop.acts import Act
from shop.models import ShopRules, StockPiece
from shop.refusals import Refused
from shop.roles import EVERYONE, STATION, allowed

from .prints import pdf

MOST = 100  # tags at once, some 2 ms of work each: no request waits for them
GRID = "tag-grid"  # in the session: what this person printed on last


@allowed(EVERYONE)
def stock_tags(request):
    """Show the named blocks and remnants with how to print their tags; a post prints the ticked ones."""
    data = request.POST if request.method == "POST" else None
    asked = (request.GET if data is None else data).getlist("tag")[:MOST]
    chosen = list(StockPiece.objects.filter(tag__in=asked).select_related("grade", "parent").order_by("tag"))
    form = TagsForm(data, initial={"grid": request.session.get(GRID, FIRST_GRID)})
    if data is not None and form.is_valid():
        try:
            paper = tag_paper.print_tags(chosen, Act(request.user), **form.cleaned_data)
        except Refused as refusal:
            form.add_error("start" if refusal.code == "label-start" else None, refusal.sentence)
        else:
            request.session[GRID] = form.cleaned_data["grid"]
            return pdf(paper, f"tag-{chosen[0].tag}.pdf" if len(chosen) == 1 else "tags.pdf")
    shown = StockPiece.objects.filter(tag__in=(*asked, *request.GET.getlist("tag")[:MOST])).select_related("grade")
    context = {
        "form": form, "pieces": shown.order_by("tag"), "chosen": {piece.pk for piece in chosen},
        "unit": ShopRules.current().unit,
    }  # fmt: skip
    return render(request, "stock/tags.html", context, status=422 if form.errors else 200)


@allowed(STATION)
def station_tags(request, code):
    """Do the same under an address of a station, beyond which a person named at a device does not come."""
    return stock_tags(request)
