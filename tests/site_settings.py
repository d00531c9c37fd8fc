"""The product's own settings, with a data folder that is thrown away and a quick password hash."""

import os
import tempfile

os.environ.setdefault("THENAR_DATA", tempfile.mkdtemp(prefix="thenar-test-"))
# The browser driver keeps an event loop running; Django would take later tests for asynchronous code.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

from thenar.site.settings import *  # noqa: F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
