"""`python -m inspect_core.terminal` is the same as `bartack`."""

from inspect_core.terminal import main

main()
