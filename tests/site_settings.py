"""The product's own settings, with a data folder that is thrown away and a quick password hash."""

import os
import tempfile

os.environ.setdefault("THENAR_DATA", tempfile.mkdtemp(prefix="thenar-test-"))

from thenar.site.settings import *  # noqa: F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
