"""Addresses: the way in: the first page, signing in and out, the demo's doors."""

from django.urls import path

from thenar.screens.front import views

urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", views.sign_in, name="sign_in"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("demo/<slug:who>/", views.demo_door, name="demo_door"),
]
