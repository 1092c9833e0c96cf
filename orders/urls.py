"""Addresses of orders, customers, profiles, plans, stations and the day's foam."""

from django.urls import path

import shop.addresses  # noqa: F401 - registers <iso:…> and <name:…>
from orders.views import customers, day, imports, lines, orders, plans, prints, profiles, station

urlpatterns = [
    path("", orders.order_list, name="home"),
    path("orders/", orders.order_list, name="orders"),
    path("orders/new/", orders.order_new, name="order-new"),
    path("orders/import/", imports.order_import, name="order-import"),
    path("orders/<int:number>/", orders.order_page, name="order"),
    path("orders/<int:number>/export/", imports.order_export, name="order-export"),
    path("orders/<int:number>/release/", orders.order_release, name="order-release"),
    path("orders/<int:number>/hold/", orders.order_hold, name="order-hold"),
    path("orders/<int:number>/resume/", orders.order_resume, name="order-resume"),
    path("orders/<int:number>/cancel/", orders.order_cancel, name="order-cancel"),
    path("orders/<int:number>/figures/", lines.order_figures, name="order-figures"),
    path("orders/<int:number>/lines/new/", lines.line_new, name="order-line-new"),
    path("orders/<int:number>/lines/<int:pk>/", lines.line_page, name="order-line"),
    path("orders/<int:number>/lines/<int:pk>/copy/", lines.line_copy, name="order-line-copy"),
    path("orders/<int:number>/lines/<int:pk>/delete/", lines.line_delete, name="order-line-delete"),
    path("customers/", customers.customer_list, name="customers"),
    path("customers/new/", customers.customer_new, name="customer-new"),
    path("customers/<int:pk>/", customers.customer_page, name="customer"),
    path("profiles/", profiles.profile_list, name="profiles"),
    path("profiles/new/", profiles.profile_new, name="profile-new"),
    path("profiles/<name:code>/", profiles.profile_page, name="profile"),
    path("profiles/<name:code>/revise/", profiles.profile_revise, name="profile-revise"),
    # stations
    path("station/", station.stations, name="stations"),
    path("station/<slug:code>/", station.station, name="station"),
    path("station/<slug:code>/scan/", station.station_scan, name="station-scan"),
    path("station/<slug:code>/count/", station.station_count, name="station-count"),
    path("station/<slug:code>/miscut/", station.station_miscut, name="station-miscut"),
    path("station/<slug:code>/undo/", station.station_undo, name="station-undo"),
    path("station/<slug:code>/open/", station.station_open, name="station-open"),
    path("station/<slug:code>/put-back/", station.station_put_back, name="station-put-back"),
    path("station/<slug:code>/give-up/", station.station_give_up, name="station-give-up"),
    path("station/<slug:code>/finish/", station.station_finish, name="station-finish"),
    # the day's foam
    path("day/", day.day, name="day"),
    path("day/<iso:of>/", day.day, name="day-on"),
    path("day/<iso:of>/close/", day.day_close, name="day-close"),
    path("day/<iso:of>/foam.csv", day.day_csv, name="day-csv"),
    # plans and paper
    path("plans/", plans.plans, name="plans"),
    path("plans/new/", plans.plan_new, name="plan-new"),
    path("plans/<int:number>/", plans.plan, name="plan"),
    path("plans/<int:number>/accept/", plans.plan_accept, name="plan-accept"),
    path("plans/<int:number>/throw-away/", plans.plan_throw_away, name="plan-throw-away"),
    path("plans/<int:number>/stop/", plans.plan_stop, name="plan-stop"),
    path("plans/<int:number>/saw-sheets/", prints.plan_saw_sheets, name="plan-saw-sheets"),
    path("orders/<int:number>/traveller/", prints.order_traveller, name="order-traveller"),
    path("prints/", prints.prints, name="prints"),
]
