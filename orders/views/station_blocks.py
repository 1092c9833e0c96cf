"""Blocks at the saw that are not as planned: measured before they are opened, no good, or with a rest worth keeping."""

from functools import partial

from django.views.decorators.http import require_POST

from orders import sawing
from orders.forms.station import MeasuredForm, RestForm
from shop.models import ShopRules
from shop.roles import STATION, allowed
from shop.views.asking import written

from .station import act_of, acting, back, load, source_of, typed
from .station_asking import ASKED


@require_POST
@allowed(STATION)
def station_measured(request, code):
    """Leave a waiting piece out of its plan in the size that was measured; a wrong size is asked for again."""
    here, source = load(code), source_of(request)
    form = MeasuredForm(request.POST, piece=source.piece, unit=ShopRules.current().unit)

    def leave_out():
        sawing.leave_out(source, form.size_um, form.cleaned_data["reason"], act_of(request, here))

    return typed(request, here, form, leave_out, partial(ASKED["measure"], form=form))


@acting
def station_no_good(request, here, act):
    """Leave a waiting piece out of its plan and off the rack, with the reason."""
    sawing.leave_out(source_of(request), None, written(request, "reason"), act)
    return back(request, here)


@require_POST
@allowed(STATION)
def station_keep_rest(request, code):
    """Put a rest that no plan knew of on the rack under the tag that the page has shown."""
    here, source = load(code), source_of(request)
    form = RestForm(request.POST, parent=source.piece, unit=ShopRules.current().unit)

    def keep():
        tag, place = written(request, "tag", 20), form.cleaned_data["place"]
        sawing.keep_rest(source, tag, form.size_um, act_of(request, here), place=place)

    return typed(request, here, form, keep, partial(ASKED["rest"], form=form))
