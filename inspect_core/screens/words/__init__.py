"""Plain words for the screens: hints, questions and labels."""
