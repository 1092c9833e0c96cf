"""Addresses of the whole site; the pages of orders come from their own app, named here only as a string."""

from django.urls import include, path

from shop.views import badges, devices, health, live, people, who

urlpatterns = [
    # devices of the floor and who stands at them: before the addresses that take any word
    path("station/pair/", devices.pair, name="station-pair"),
    path("station/live/", live.newest_move, name="station-live"),
    path("station/<slug:code>/who/", who.who, name="station-who"),
    path("station/<slug:code>/who/leave/", who.leave, name="station-leave"),
    path("station/<slug:code>/who/pin/", who.own_pin, name="station-own-pin"),
    path("shop/devices/", devices.device_list, name="devices"),
    path("shop/devices/<int:pk>/revoke/", devices.device_revoke, name="device-revoke"),
    path("shop/badges/<int:pk>/pin/", badges.badge_pin, name="badge-pin"),
    path("", include("orders.urls")),
    path("", include("shop.pages")),
    path("healthz", health.healthz, name="healthz"),
    path("sign-in/", people.SignIn.as_view(), name="sign-in"),
    path("sign-out/", people.SignOut.as_view(), name="sign-out"),
]
