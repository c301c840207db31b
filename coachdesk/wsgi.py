"""The WSGI application, for the built-in server and any other."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coachdesk.settings")
application = get_wsgi_application()
