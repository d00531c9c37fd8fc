"""The web application, as a WSGI server loads it."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "thenar.site.settings")
application = get_wsgi_application()
