"""What the pages that follow others ask every second or two."""

from django.http import HttpResponse
from django.views.decorators.http import require_safe

from shop.live import newest
from shop.roles import EVERYONE, allowed

from .asking import whole


@require_safe
@allowed(EVERYONE)
def newest_move(request):
    """Answer with the newest of everything that happened, or to one order; nothing where the page has seen it."""
    now = newest(whole(request.GET.get("order", "")), foam="foam" in request.GET)
    if request.GET.get("seen") == now:
        return HttpResponse(status=204)
    return HttpResponse(now, content_type="text/plain")
