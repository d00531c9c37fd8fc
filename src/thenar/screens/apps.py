"""The screens app: what people see."""

from django.apps import AppConfig


class ScreensConfig(AppConfig):
    """What people see."""

    name = "thenar.screens"
    label = "screens"
