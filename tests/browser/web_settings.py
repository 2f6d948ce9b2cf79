"""The service's own settings for the process of `real_web`; scripts come straight from the apps."""

from config.settings import *  # noqa: F403

STATIC_ROOT = None
WHITENOISE_USE_FINDERS = True
