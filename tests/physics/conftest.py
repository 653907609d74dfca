"""Properties are not timed: a busy machine is no reason to fail."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
