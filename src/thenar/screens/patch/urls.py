"""Addresses: patch tests, allergies, and products that may not suit someone."""

from django.urls import path

from thenar.screens.patch import (
    allergies,
    applying,
    concerns,
    files,
    following,
    from_file,
    one_test,
    proposing,
    quality,
    reading,
)

urlpatterns = [
    path("workers/<slug:ref>/allergies/", allergies.allergies, name="allergies"),
    path("workers/<slug:ref>/allergies/add/", allergies.allergy_add, name="allergy_add"),
    path("workers/<slug:ref>/allergies/immediate/", allergies.immediate_add, name="immediate_add"),
    path("allergies/<slug:ref>/withdraw/", allergies.allergy_withdraw, name="allergy_withdraw"),
    path("workers/<slug:ref>/patch-tests/new/", applying.patch_test_new, name="patch_test_new"),
    path("workers/<slug:ref>/patch-tests/file/", from_file.patch_test_from_file, name="patch_test_from_file"),
    path("patch-tests/quality/", quality.patch_test_quality, name="patch_test_quality"),
    path("patch-tests/file/", files.patch_test_file, name="patch_test_file"),
    path("patch-tests/<slug:ref>/", one_test.patch_test, name="patch_test"),
    path("patch-tests/<slug:ref>/read/", reading.patch_test_read, name="patch_test_read"),
    path("patch-tests/<slug:ref>/relevance/", following.patch_test_relevance, name="patch_test_relevance"),
    path("patch-tests/<slug:ref>/end/", following.patch_test_end, name="patch_test_end"),
    path("patch-tests/<slug:ref>/propose/", proposing.patch_test_propose, name="patch_test_propose"),
    path("concerns/<slug:ref>/", concerns.concern, name="concern"),
]
