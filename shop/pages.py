"""Addresses of the shop's own pages: stock and settings."""

from django.urls import path

import shop.addresses  # noqa: F401 - registers <name:…>
from shop.views import live, setup, stock

urlpatterns = [
    path("live/", live.newest_move, name="live"),
    path("stock/", stock.stock, name="stock"),
    path("stock/receive/", stock.receive, name="stock-receive"),
    path("stock/<name:tag>/", stock.stock_piece, name="stock-piece"),
    path("stock/<name:tag>/measured/", stock.stock_count, {"what": "measured"}, name="stock-measured"),
    path("stock/<name:tag>/missing/", stock.stock_count, {"what": "missing"}, name="stock-missing"),
    path("stock/<name:tag>/found/", stock.stock_count, {"what": "found"}, name="stock-found"),
    path("stock/<name:tag>/scrap/", stock.stock_count, {"what": "scrap"}, name="stock-scrap"),
    path("shop/", setup.shop, name="shop"),
    path("shop/<slug:name>/", setup.shop_list, name="shop-list"),
    path("shop/<slug:name>/add/", setup.shop_edit, name="shop-add"),
    path("shop/<slug:name>/<int:pk>/", setup.shop_edit, name="shop-edit"),
]
