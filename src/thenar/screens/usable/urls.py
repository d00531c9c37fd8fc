"""Addresses: what one worker may use: products compared, gloves for a task, lists given out."""

from django.urls import path

from thenar.screens.usable import comparing, gloves, lists

urlpatterns = [
    path("workers/<slug:ref>/products/", comparing.worker_products, name="worker_products"),
    path(
        "workers/<slug:ref>/products/<slug:product_ref>/overrule/",
        comparing.overrule,
        name="overrule",
    ),
    path("workers/<slug:ref>/gloves/", gloves.worker_gloves, name="worker_gloves"),
    path("workers/<slug:ref>/list/", lists.worker_list, name="worker_list"),
    path("lists/<slug:ref>/list.pdf", lists.issued_list_pdf, name="issued_list_pdf"),
]
