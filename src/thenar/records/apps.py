"""The records app: what is kept."""

from django.apps import AppConfig


class RecordsConfig(AppConfig):
    """What is kept."""

    name = "thenar.records"
    label = "records"
