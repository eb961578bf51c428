"""Studies that take minutes: how often a stated uncertainty holds, how often a hint is right."""
