"""Guesses are counted: after five wrong ones of the same thing at one address nothing is tried for some minutes.

The counter is the one of the sign-in page (django-axes), with the same limits; the pages here say themselves how long
to wait.
"""

from axes.handlers.proxy import AxesProxyHandler
from axes.helpers import get_cool_off
from axes.utils import reset
from django.http import HttpRequest

from shop.refusals import Refused


def refuse_guessers(request: HttpRequest, what: str) -> None:
    """Raise Refused `too-many` where `what` was guessed wrongly too often from this address."""
    if not AxesProxyHandler.is_allowed(request, {"username": what}):
        wait = -(-int(get_cool_off().total_seconds()) // 60)
        raise Refused("too-many", f"Too many wrong tries. Wait {wait} minutes, or ask the manager.")


def count_wrong(request: HttpRequest, what: str) -> None:
    """Count a wrong guess of `what`."""
    AxesProxyHandler.user_login_failed(__name__, {"username": what}, request)
    request.axes_locked_out = False  # else the middleware would answer with the page of wrong passwords


def forget_wrong(what: str) -> None:
    """Forget the wrong guesses of `what`: it was right at last."""
    reset(username=what)
