"""Addresses of the products."""

from django.urls import path

from thenar.screens.products import adding, declaring, importing, listing, product_page, stocking

urlpatterns = [
    path("products/", listing.products, name="products"),
    path("products/new/", adding.product_new, name="product_new"),
    path("products/import/", importing.product_import, name="product_import"),
    path("products/import/<str:key>/", importing.product_import_changes, name="product_import_changes"),
    path("products/<slug:ref>/", product_page.product, name="product"),
    path("products/<slug:ref>/declare/", declaring.product_declare, name="product_declare"),
    path("products/<slug:ref>/accept/", product_page.product_accept, name="product_accept"),
    path("products/<slug:ref>/refuse/", product_page.product_refuse, name="product_refuse"),
    path("products/<slug:ref>/stock/", stocking.product_stock, name="product_stock"),
    path("products/<slug:ref>/price/", adding.product_price, name="product_price"),
]
