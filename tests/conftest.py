"""What holds for every test."""

from hypothesis import settings

# How long one example takes depends on what else the machine does; speed is measured in tests/bench, not here.
settings.register_profile("bartack", deadline=None)
settings.load_profile("bartack")
