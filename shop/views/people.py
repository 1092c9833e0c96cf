"""Sign in and sign out; django-axes counts wrong passwords and answers with locked.html."""

from urllib.parse import urlsplit

from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.views import LoginView, LogoutView, redirect_to_login
from django.urls import reverse

from shop.models import ShopRules
from shop.roles import Role


class SignInFirst(LoginRequiredMiddleware):
    """Middleware: sends whoever is signed out to sign in, and from there back to the page that he had before him."""

    def handle_no_permission(self, request, view_func):
        """Lead back to the page on which something was pressed: the address of the act itself shows nothing."""
        if request.method in ("GET", "HEAD"):
            return super().handle_no_permission(request, view_func)
        came = urlsplit(request.headers.get("Referer", ""))
        page = came._replace(scheme="", netloc="").geturl() if came.netloc == request.get_host() else reverse("home")
        return redirect_to_login(page)


class SignInForm(AuthenticationForm):
    error_messages = {
        "invalid_login": "That name and password do not belong together. Check both; small and capital letters differ.",
        "inactive": "This person no longer works here. Ask your administrator.",
    }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "Name"


class SignIn(LoginView):
    template_name = "sign_in.html"
    form_class = SignInForm
    redirect_authenticated_user = True

    def get_redirect_url(self):
        """Return the page that somebody was sent here from; the bare address of the shop is nobody's page."""
        asked = super().get_redirect_url()
        return "" if asked == reverse("home") else asked

    def get_default_redirect_url(self):
        """Lead the saw hand to the stations, everybody else to the orders."""
        return reverse("stations") if self.request.user.role == Role.FLOOR else super().get_default_redirect_url()

    def get_context_data(self, **kwargs):
        return super().get_context_data(shop_name=ShopRules.current().name, **kwargs)


class SignOut(LogoutView):
    pass
