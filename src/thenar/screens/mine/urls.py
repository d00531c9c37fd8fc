"""Addresses: for a worker: my record, my plan, my letters to agree, who looked."""

from django.urls import path

from thenar.screens.mine import products, views

urlpatterns = [
    path("mine/", views.mine, name="mine"),
    path("mine/checks/<slug:ref>/", views.my_check, name="my_check"),
    path("mine/plans/<slug:ref>/plan.pdf", views.my_plan_pdf, name="my_plan_pdf"),
    path("mine/letters/<slug:ref>/", views.my_letter, name="my_letter"),
    path("mine/letters/<slug:ref>/letter.pdf", views.my_letter_pdf, name="my_letter_pdf"),
    path("mine/products/", products.own_products, name="own_products"),
    path("mine/lists/<slug:ref>/list.pdf", products.my_list_pdf, name="my_list_pdf"),
    path("mine/looked/", views.who_looked, name="who_looked"),
]
