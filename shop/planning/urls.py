"""Addresses of the backlog."""

from django.urls import path

from shop.planning import views

urlpatterns = [
    path("backlog/", views.backlog_page, name="backlog"),
    path("backlog/order/", views.order, name="order"),
    path("backlog/arrived/", views.parcels_arrived, name="parcels-arrived"),
    path("backlog/needs/<int:number>/<int:need>/", views.need_page, name="need"),
    path(
        "backlog/needs/<int:number>/<int:need>/substitutes/",
        views.need_substitutes,
        name="need-substitutes",
    ),
    path("backlog/needs/<int:number>/<int:need>/part/", views.need_part, name="need-part"),
    path("jobs/<int:number>/finish/", views.finish, name="finish"),
    path("orders/<int:number>/", views.parcel, name="parcel"),
    path("flow/", views.flow_page, name="flow"),
]
