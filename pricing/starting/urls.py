"""Addresses of the first pages of a new studio."""

from django.urls import path

from pricing.starting import views

urlpatterns = [
    path("starting/", views.questions, name="starting"),
    path("starting/sizes/", views.sizes, name="starting-sizes"),
    path("starting/shelf/", views.shelf, name="starting-shelf"),
    path("starting/prices/", views.prices, name="starting-prices"),
    path("starting/leave/", views.leave, name="starting-leave"),
]
