"""Addresses of the whole site; the pages of orders come from their own app, named here only as a string."""

from django.urls import include, path

from shop.views import health, people

urlpatterns = [
    path("", include("orders.urls")),
    path("", include("shop.pages")),
    path("healthz", health.healthz, name="healthz"),
    path("sign-in/", people.SignIn.as_view(), name="sign-in"),
    path("sign-out/", people.SignOut.as_view(), name="sign-out"),
]
